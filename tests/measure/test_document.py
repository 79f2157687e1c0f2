"""What a document's objects tell, at the size of the print."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.measure import document, whiteplate
from preflight.measure.catalogue import MEASURES
from preflight.measure.sheet import Sheet
from preflight.model import (
    Area,
    Box,
    DocumentFacts,
    InkFact,
    Measurement,
    PixelFacts,
    PlacedPicture,
    PrintSize,
    StrokeLine,
    TextRun,
)

#: A page of 100 by 50 mm, drawn with 1200 by 600 px.
CANVAS = (1200, 600)
FACTS = PixelFacts("PDF", *CANVAS, True, "rgb", 8, None, None, None, None, drawn=True)


def area(x: float = 10.0, y: float = 20.0, width: float = 30.0, height: float = 15.0) -> Area:
    return Area(x, y, width, height)


def printed(width_mm: float | None) -> PrintSize:
    """The whole page, printed that wide."""
    ppi = None if width_mm is None else CANVAS[0] * 25.4 / width_mm
    return PrintSize(CANVAS, Box(0, 0, *CANVAS), ppi, width_mm, width_mm and width_mm / 2, "ticket")


def page(width_mm: float | None = 100.0, **facts: object) -> document.Page:
    return document.page_of(DocumentFacts(1, 100.0, 50.0, True, **facts), printed(width_mm))  # type: ignore[arg-type]


def measured(which: str, of: document.Page, inks: tuple[InkFact, ...] = ()) -> Measurement:
    return next(one for one in document.measure(of, inks) if one.id == which)


def sheet(noise: bool = False) -> Sheet:
    alpha4 = np.full((150, 300), 255, np.uint8)
    sample4 = np.full((150, 300, 4), 255, np.uint8)
    if noise:
        sample4[..., 1] = np.random.default_rng(1).integers(100, 150, (150, 300))
    return Sheet(FACTS, *CANVAS, np.full((600, 1200), 255, np.uint8), alpha4, sample4, None, None)


@pytest.mark.parametrize("width", [50.0, 100.0, 250.0])
def test_text_is_as_large_as_it_prints(width: float) -> None:
    runs = (TextRun(area(), "A", 9.0, True, "large"), TextRun(area(x=50), "B", 6.0, True, " small "))
    found = measured("smallest-text", page(width, texts=runs))
    assert found.value == pytest.approx(6.0 * width / 100)
    assert found.details == {"text": "small", "font": "B"}
    assert [spot.value for spot in found.spots] == pytest.approx([6.0 * width / 100, 9.0 * width / 100])


def test_places_are_in_pixels_of_the_drawing() -> None:
    found = measured("smallest-text", page(250.0, texts=(TextRun(area(), "A", 9.0, True, "x"),)))
    (spot,) = found.spots
    assert (spot.x, spot.y, spot.width, spot.height) == pytest.approx((120.0, 240.0, 360.0, 180.0))


@pytest.mark.parametrize("width", [50.0, 250.0])
def test_strokes_are_as_wide_as_they_print_and_zero_stays_zero(width: float) -> None:
    lines = (StrokeLine(area(), 0.4), StrokeLine(area(), 0.2))
    assert measured("thinnest-stroke", page(width, strokes=lines)).value == pytest.approx(0.2 * width / 100)
    assert measured("thinnest-stroke", page(width, strokes=(*lines, StrokeLine(area(), 0.0)))).value == 0.0


def test_without_a_size_nothing_is_taken_for_fine() -> None:
    of = page(None, texts=(TextRun(area(), "A", 9.0, True, "x"),))
    for name in ("smallest-text", "thinnest-stroke"):
        found = measured(name, of)
        assert found.value is None
        assert found.why_not
        assert found.applies


def test_a_document_without_objects_has_nothing_small() -> None:
    for name in ("smallest-text", "thinnest-stroke"):
        found = measured(name, page())
        assert (found.value, found.why_not) == (None, None)


def test_fonts_are_counted_once_each() -> None:
    runs = [TextRun(area(x=x), font, 9.0, inside, "x") for x, font, inside in [(0, "A", False), (9, "A", False)]]
    runs += [TextRun(area(), "B", 9.0, True, "x"), TextRun(area(), "C", 9.0, False, "x")]
    found = measured("missing-fonts", page(texts=tuple(runs)))
    assert found.value == 2
    assert found.details == {"fonts": "A, C"}
    assert found.spots_total == 3


def test_long_lists_are_cut() -> None:
    assert document.listed(str(number) for number in range(8)) == "0, 1, 2, 3, 4 and 3 more"
    assert document.listed(["", "b"]) == "(without a name), b"


def test_spot_colours_that_mark_nothing_do_not_count() -> None:
    inks = (
        InkFact("Cyan", "process"),
        InkFact("White", "white", 0.5),
        InkFact("Gold", "spot", 0.2),
        InkFact("Unused", "spot", 0.0),
        InkFact("Unmeasured", "spot"),
    )
    found = measured("spot-inks", page(), inks)
    assert found.value == 2
    assert found.details == {"names": "Gold, Unmeasured"}


def test_the_rest_is_counted() -> None:
    of = page(overprint=(area(), area()), linked=("a.tif",), active=("a script",), encrypted=True)
    names = ("overprinted-objects", "linked-pictures", "active-content", "file-lock")
    assert [measured(name, of).value for name in names] == [2, 1, 1, 1]
    assert [measured(name, page()).value for name in names] == [0, 0, 0, 0]


def test_a_picture_file_raises_no_such_question() -> None:
    named = {one.id: one for one in document.none_of_a_document()}
    assert set(named) == {one.id for one in document.measure(page(), ())} | {"white-plate"}
    for one in named.values():
        assert one.value is None
        assert not one.applies
        assert one.why_not
        assert one.unit == MEASURES[one.id].unit


DRAWN = Measurement("effective-ppi", 300.0, "ppi", kind="line-art")
SHARP = Measurement("detail-ppi", None, "ppi")


def pictures(*facts: tuple[float, tuple[int, int], Area]) -> tuple[PlacedPicture, ...]:
    return tuple(PlacedPicture(place, pixels, ppi) for ppi, pixels, place in facts)


@pytest.mark.parametrize("width", [50.0, 100.0, 200.0])
def test_the_lowest_placed_picture_counts(width: float) -> None:
    placed = pictures((400.0, (600, 300), area()), (150.0, (177, 88), area(x=60)))
    ppi, detail = document.of_placed_pictures(page(width, pictures=placed), sheet(), DRAWN, SHARP)
    assert ppi.value == pytest.approx(150.0 * 100 / width)
    assert ppi.spots[0].x == pytest.approx(720.0)
    assert detail.value is None


def test_pictures_whose_pixels_nobody_sees_do_not_count() -> None:
    placed = pictures((1.0, (1, 1), area()), (20.0, (2, 200), area()), (50.0, (60, 60), area(width=1, height=1)))
    ppi, detail = document.of_placed_pictures(page(pictures=placed), sheet(), DRAWN, SHARP)
    assert (ppi.value, ppi.why_not) == (None, None)
    assert (detail.value, detail.why_not) == (None, None)


def test_the_kind_is_that_of_the_picture() -> None:
    placed = pictures((220.0, (260, 130), area()))
    of = page(pictures=placed)
    assert document.of_placed_pictures(of, sheet(), DRAWN, SHARP)[0].kind == "line-art"
    assert document.of_placed_pictures(of, sheet(noise=True), DRAWN, SHARP)[0].kind == "continuous-tone"


@pytest.mark.parametrize(("found", "told"), [(140.0, None), (115.0, None), (60.0, 60.0)])
def test_less_detail_than_the_placed_picture_promises_is_told(found: float, told: float | None) -> None:
    """A picture of 150 ppi, drawn with 300, shows the detail of 150: that is the drawing's doing."""
    placed = pictures((150.0, (177, 88), area()))
    soft = Measurement("detail-ppi", found, "ppi", details={"pixels_ppi": "300 ppi", "factor": "2"})
    _, detail = document.of_placed_pictures(page(pictures=placed), sheet(), DRAWN, soft)
    assert detail.value == told
    if told is not None:
        assert detail.details["pixels_ppi"] == "150 ppi"


def plate(share: float) -> list[tuple[int, np.ndarray]]:  # type: ignore[type-arg]
    """A white plate below the left part of the art, in pieces."""
    whole = np.zeros((600, 1200), np.uint8)
    whole[:, : round(1200 * share)] = 255
    return [(y, whole[y : y + 256]) for y in range(0, 600, 256)]


@pytest.mark.parametrize(("share", "bare"), [(1.0, 0.0), (0.5, 50.0), (0.0, 100.0)])
def test_art_that_their_white_leaves_bare(share: float, bare: float) -> None:
    found = whiteplate.measure(sheet(), plate(share), ["White"])
    assert found.value == pytest.approx(bare, abs=0.5)
    assert found.details["names"] == "White"


def test_a_pulled_in_plate_is_no_difference() -> None:
    art = sheet()
    art.alpha4[:] = 0
    art.alpha4[20:120, 20:250] = 255
    theirs = np.zeros((600, 1200), np.uint8)
    theirs[84:476, 84:996] = 255
    assert whiteplate.measure(art, [(0, theirs)], ["White"]).value == 0.0


def test_no_plate_no_question() -> None:
    found = whiteplate.measure(sheet(), [], [])
    assert (found.value, found.why_not) == (None, None)
