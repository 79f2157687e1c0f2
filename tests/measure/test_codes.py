"""Codes in the art: found, measured, and read as they will lie on the garment."""

import numpy as np
import pytest

from preflight.measure.codes import expected_modules
from preflight.model import Measurement
from tests.measure.pictures import (
    FONTS,
    INK,
    blurred,
    cover,
    film,
    lettering,
    measured,
    over,
    photo,
    plain,
    px,
    solid,
    star,
)

TEXT = "order 10427, sleeve"
BLACK, WHITE = (20, 20, 20), (255, 255, 255)
#: Sub-pixels that codes are drawn in, so that modules need not be whole pixels.
FINE = 8


def enlarged(symbol: np.ndarray, module: float, tall: int = 0) -> np.ndarray:
    """Coverage of a symbol of 0 and 1, each module ``module`` px (in eighths), with quiet film around."""
    side = round(module * FINE)
    fine = np.repeat(symbol, side, axis=1)
    fine = np.repeat(fine, tall * FINE if tall else side, axis=0).astype(float)
    rows, columns = (-(-length // FINE) + 140 for length in fine.shape)
    page = np.zeros((rows * FINE, columns * FINE))
    page[70 * FINE + 5 : 70 * FINE + 5 + fine.shape[0], 60 * FINE + 11 : 60 * FINE + 11 + fine.shape[1]] = fine
    return page.reshape(rows, FINE, columns, FINE).mean(axis=(1, 3))


def qr(millimetres: float, ppi: float = 300.0, error: str = "m") -> tuple[np.ndarray, float]:
    """Coverage of a QR code and its module in mm, rounded to what can be drawn."""
    import segno

    symbol = np.array([list(row) for row in segno.make(TEXT, error=error, micro=False).matrix])
    module = round(px(millimetres, ppi) * FINE) / FINE
    return enlarged(symbol, module), module / px(1, ppi)


def bars(kind: str, text: str, millimetres: float, ppi: float = 300.0) -> tuple[np.ndarray, float]:
    """Coverage of a bar code and its module in mm."""
    import zxingcpp

    drawn = np.array(zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, kind)).to_image(scale=1))
    row = drawn[5] < 128
    ink = np.flatnonzero(row)
    module = round(px(millimetres, ppi) * FINE) / FINE
    return enlarged(row[None, ink[0] : ink[-1] + 1], module, tall=130), module / px(1, ppi)


def on_own_paper(covered: np.ndarray, dark: tuple[int, int, int] = BLACK) -> np.ndarray:
    """The code on a white patch of its own, printed with it."""
    height, width = covered.shape
    patch = np.zeros((height, width))
    patch[20:-20, 20:-20] = 255
    return np.dstack([over(plain(WHITE, width, height), covered, dark), patch.astype(np.uint8)])


def code(art: np.ndarray, *garments: str, ppi: float = 300.0) -> Measurement:
    return measured(art, "code-module", ppi, garments=garments)


# ---- modules ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("millimetres", [0.3, 0.396, 0.5, 0.8, 1.3])
@pytest.mark.parametrize("ppi", [300, 600])
def test_module_of_a_qr_code(millimetres: float, ppi: float) -> None:
    covered, module = qr(millimetres, ppi)
    seen = code(film(covered, BLACK), "white", ppi=ppi)
    assert seen.value == pytest.approx(module, rel=0.03)
    assert seen.details["text"] == TEXT
    (spot,) = seen.spots
    assert (spot.x, spot.y) == (pytest.approx(60, abs=2), pytest.approx(70, abs=2))


@pytest.mark.parametrize(
    ("kind", "text"), [("EAN13", "4012345678901"), ("EAN8", "40123455"), ("Code128", "ORDER-10427")]
)
@pytest.mark.parametrize("millimetres", [0.2, 0.4, 0.6])
def test_module_of_a_bar_code(kind: str, text: str, millimetres: float) -> None:
    covered, module = bars(kind, text, millimetres)
    seen = code(film(covered, BLACK), "white")
    assert seen.value == pytest.approx(module, rel=0.006)
    assert seen.details["text"] == text
    assert code(np.rot90(film(covered, BLACK)), "white").value == pytest.approx(module, rel=0.006)


def test_a_symbol_of_29_modules() -> None:
    # GS1 General Specifications: 29 modules of 0.396 mm with 4 modules of quiet zone are 14.652 mm wide
    import segno

    symbol = segno.make("https://shop.example/sleeve/10427", error="m", version=3)
    assert len(list(symbol.matrix)) == 29
    covered = enlarged(np.array([list(row) for row in symbol.matrix]), px(0.396, 600))
    seen = code(film(covered, BLACK), "white", ppi=600)
    assert seen.value * (29 + 8) == pytest.approx(14.652, rel=0.03)


def test_the_smallest_code_counts() -> None:
    small, large = qr(0.35)[0], qr(0.9)[0]
    page = np.zeros((max(len(small), len(large)), small.shape[1] + large.shape[1]))
    page[: len(large), : large.shape[1]] = large
    page[: len(small), large.shape[1] :] = small
    seen = code(film(page, BLACK), "white")
    assert seen.spots_total == 2
    assert seen.value == seen.spots[0].value == pytest.approx(0.35, rel=0.04)
    assert seen.spots[1].value == pytest.approx(0.9, rel=0.04)


# ---- on the garment ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("garments", [("white",), ("yellow",), ("#f2e8d0", "white")])
def test_a_dark_code_reads_on_light_cloth(garments: tuple[str, ...]) -> None:
    covered, module = qr(0.6)
    assert code(film(covered, BLACK), *garments).value == pytest.approx(module, rel=0.03)


@pytest.mark.parametrize("garment", ["black", "#1d1d1f", "navy"])
def test_a_dark_code_is_lost_on_dark_cloth(garment: str) -> None:
    for covered, _ in (qr(0.6), bars("EAN13", "4012345678901", 0.5)):
        seen = code(film(covered, BLACK), "white", garment)
        assert seen.value == 0
        assert seen.details["garment"] == garment


def test_an_inverted_code_reads_nowhere() -> None:
    # few readers take light modules on a dark ground
    covered, _ = qr(0.6)
    assert code(film(covered, WHITE), "black").value == 0
    height, width = covered.shape
    assert code(solid(over(plain(BLACK, width, height), covered, WHITE)), "white").value == 0


@pytest.mark.parametrize(
    ("kind", "text"), [("EAN13", "4012345678901"), ("EAN8", "40123455"), ("Code128", "ORDER-10427")]
)
@pytest.mark.parametrize("quarter", [0, 1])
def test_a_light_bar_code_on_dark_reads_nowhere(kind: str, text: str, quarter: int) -> None:
    covered, _ = bars(kind, text, 0.4)
    height, width = covered.shape
    seen = code(np.rot90(film(covered, WHITE), quarter), "black")
    assert seen.value == 0
    assert seen.details["text"] == text
    on_black = solid(over(plain(BLACK, width, height), covered, WHITE))
    assert code(np.rot90(on_black, quarter), "white").value == 0
    assert code(film(covered, WHITE)).value == 0


@pytest.mark.parametrize("garment", ["white", "black", "red"])
def test_a_code_on_its_own_paper_reads_on_any_cloth(garment: str) -> None:
    covered, module = qr(0.6)
    assert code(on_own_paper(covered), garment).value == pytest.approx(module, rel=0.03)


def test_without_an_order_for_a_garment_some_cloth_will_do() -> None:
    covered, module = qr(0.6)
    assert code(film(covered, BLACK)).value == pytest.approx(module, rel=0.03)
    assert code(film(covered, WHITE)).value == 0


def test_pale_ink_has_too_little_contrast() -> None:
    covered, _ = qr(0.6)
    assert code(on_own_paper(covered, (240, 235, 225)), "white").value in (0, None)
    assert code(on_own_paper(covered, (60, 30, 90)), "white").value > 0


def test_a_blurred_code_does_not_scan() -> None:
    covered, module = qr(0.5)
    assert code(film(blurred(covered, 1.0), BLACK), "white").value == pytest.approx(module, rel=0.05)
    assert not code(film(blurred(covered, 9.0), BLACK), "white").value


@pytest.mark.parametrize("quarter", [1, 2, 3])
def test_turned_codes_are_codes(quarter: int) -> None:
    covered, module = qr(0.5)
    assert code(np.rot90(film(covered, BLACK), quarter), "white").value == pytest.approx(module, rel=0.03)


def test_codes_in_a_photograph_and_beside_art() -> None:
    covered, module = qr(0.6)
    rgb = np.tile(photo("coffee.png"), (2, 2, 1))
    height, width = covered.shape
    rgb[100 : 100 + height, 200 : 200 + width] = over(plain(WHITE, width, height), covered, BLACK)
    seen = code(solid(rgb), "black")
    assert seen.value == pytest.approx(module, rel=0.03)
    assert (seen.spots[0].x, seen.spots[0].y) == (pytest.approx(260, abs=2), pytest.approx(170, abs=2))


# ---- none -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["astronaut.png", "brick.png", "page.png", "text.png", "chessboard_GRAY.png"])
def test_pictures_hold_no_codes(name: str) -> None:
    assert code(solid(photo(name)), "black").value is None


def test_drawings_hold_no_codes() -> None:
    y, x = np.mgrid[0:500, 0:700]
    for pattern in (x // 9 % 2, (x // 9 + y // 9) % 2, (x % 23 < 9), (np.hypot(x % 20 - 10, y % 20 - 10) < 6)):
        assert code(film(pattern.astype(float), BLACK), "black").value is None
    assert code(film(lettering("Fine stripes and checks", 20, 300, FONTS["plain"], fine=4)), "black").value is None
    assert code(film(cover(star(250, 250, 7, 20, 240), 500, 500), INK), "black").value is None


@pytest.mark.parametrize("light", [True, False])
def test_stripes_of_any_width_are_no_bar_code(light: bool) -> None:
    rng = np.random.default_rng(7)
    colour, cloth = (WHITE, "black") if light else (BLACK, "white")
    for _ in range(12):
        page = np.zeros((600, 900))
        for top in (40, 320):
            widths = rng.integers(1, 5, 200) * int(rng.integers(3, 7))
            edges = np.cumsum(widths)
            edges = edges[edges < 780][: 2 * (len(edges) // 2)]
            for left, right in zip(edges[::2], edges[1::2], strict=False):
                page[top : top + 220, 60 + left : 60 + right] = 1
        assert code(film(page, colour), cloth).value is None


@pytest.mark.parametrize(
    ("kind", "extra", "modules"),
    [
        ("QR Code", {"Version": "1"}, (21, 21)),  # ISO/IEC 18004: 17 + 4 × version
        ("QRCode", {"Version": "40"}, (177, 177)),
        ("DataMatrix", {"Version": "12x26"}, (26, 12)),
        ("EAN-13", {}, (95, 0)),
        ("EAN-8", {}, (67, 0)),
        ("Code 128", {}, None),
        ("Aztec", {"Version": "x"}, None),
    ],
)
def test_modules_across(kind: str, extra: dict[str, object], modules: tuple[int, int] | None) -> None:
    assert expected_modules(kind, extra) == modules
