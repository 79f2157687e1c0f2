"""Colour against published data, other libraries, and a reader of ICC tables that is not LittleCMS."""

import csv
import warnings
from pathlib import Path

import numpy as np
import pytest

from preflight.ink.difference import D50_XYZ, ciede2000, srgb_to_lab
from preflight.ink.separation import ProfileSeparation
from preflight.intake.colour import cmyk_to_srgb, reference_profile
from preflight.model import Bytes
from preflight.shop import SeparationSettings
from tests.outside.icc_table import Doubles, read_table, to_inks, to_lab

DATA = Path(__file__).with_name("data")
#: The bundled profile's media white point (its ``wtpt`` tag): the paper.
PAPER_XYZ = np.array([0.84481812, 0.87625122, 0.7461853])


def colours(count: int, seed: int = 7) -> Bytes:
    return np.random.default_rng(seed).integers(0, 256, (count, 3), dtype=np.uint8)


def some_lab(count: int, seed: int) -> Doubles:
    return np.random.default_rng(seed).uniform((0, -120, -120), (100, 120, 120), (count, 3))


# ---- CIEDE2000 --------------------------------------------------------------------------------------------------


def test_ciede2000_equals_the_34_published_pairs() -> None:
    with (DATA / "ciede2000_pairs.csv").open(encoding="utf-8") as stream:
        rows = [[float(row[key]) for key in row if key != "pair"] for row in csv.DictReader(stream)]
    pairs = np.array(rows)
    assert len(pairs) == 34
    found = ciede2000(pairs[:, :3], pairs[:, 3:6])
    # the published values have four decimals
    assert np.abs(found - pairs[:, 6]).max() < 1e-4
    assert np.abs(ciede2000(pairs[:, 3:6], pairs[:, :3]) - pairs[:, 6]).max() < 1e-4


def test_ciede2000_equals_two_libraries() -> None:
    color = pytest.importorskip("skimage.color")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        colour = pytest.importorskip("colour")
    one, other = some_lab(20_000, 1), some_lab(20_000, 2)
    assert np.abs(ciede2000(one, other) - color.deltaE_ciede2000(one, other)).max() < 1e-9
    assert np.abs(ciede2000(one, other) - colour.difference.delta_E_CIE2000(one, other)).max() < 1e-9


def test_lab_of_srgb_equals_a_library() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        colour = pytest.importorskip("colour")
    rgb = colours(5_000)
    xyz = colour.RGB_to_XYZ(
        rgb / 255,
        colour.RGB_COLOURSPACES["sRGB"],
        illuminant=colour.XYZ_to_xy(D50_XYZ),
        chromatic_adaptation_transform="Bradford",
        apply_cctf_decoding=True,
    )
    lab = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(D50_XYZ))
    # the library uses the standard's matrix, which is rounded to four decimals
    assert np.abs(srgb_to_lab(rgb) - lab).max() < 0.03


# ---- the bundled profile ----------------------------------------------------------------------------------------


def patches() -> tuple[Doubles, Doubles]:
    """Inks 0…1 and measured Lab (absolute, D50) of the characterisation data."""
    lines = (DATA / "FOGRA39L.ti3").read_text(encoding="ascii").splitlines()
    table = np.array([[float(word) for word in line.split()] for line in lines if line[:1].isdigit()])
    assert table.shape == (1617, 11)
    return table[:, 1:5] / 100, table[:, 8:11]


def on_paper(lab: Doubles) -> Doubles:
    """Lab as measured, of Lab relative to the paper (ICC.1:2010, 6.3.2.2: XYZ scaled by the media white)."""
    fy = (lab[:, 0] + 16) / 116
    f = np.column_stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200])
    ratio = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * PAPER_XYZ / D50_XYZ
    g = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.column_stack([116 * g[:, 1] - 16, 500 * (g[:, 0] - g[:, 1]), 200 * (g[:, 1] - g[:, 2])])


@pytest.fixture(scope="module")
def separation() -> ProfileSeparation:
    """Without black point compensation, which the independent reader does not do."""
    return ProfileSeparation(reference_profile(), SeparationSettings(black_point=False))


def test_known_inks_have_their_measured_colours(separation: ProfileSeparation) -> None:
    inks, measured = patches()
    tables = ciede2000(on_paper(to_lab(read_table(reference_profile(), "A2B1"), inks)), measured)
    # Seen: mean 0.16, at most 0.59. A profile smooths its data; 8 bits through LittleCMS add rounding (0.31, 1.02).
    assert tables.mean() < 0.2
    assert tables.max() < 0.7
    ours = ciede2000(on_paper(separation._lab(np.rint(inks * 255).astype(np.uint8))), measured)
    assert ours.mean() < 0.35
    assert ours.max() < 1.1


def test_inks_equal_an_exact_reading_of_the_profile(separation: ProfileSeparation) -> None:
    rgb = colours(20_000)
    exact = np.clip(to_inks(read_table(reference_profile(), "B2A1"), srgb_to_lab(rgb)), 0, 1)
    found = separation.inks(rgb).astype(np.float64)
    # 8 bits: half a step is 0.2 %. LittleCMS' default shortcuts are up to 10 % off here.
    assert np.abs(found - exact).max() < 0.0025
    # ink of a whole picture, each channel: the issue asks for 1 %
    assert np.abs(found.sum(axis=0) / exact.sum(axis=0) - 1).max() < 0.001


def test_shift_equals_an_exact_reading_of_the_profile(separation: ProfileSeparation) -> None:
    rgb = colours(20_000)
    lab = to_lab(read_table(reference_profile(), "A2B1"), separation.inks(rgb).astype(np.float64))
    exact = ciede2000(srgb_to_lab(rgb), lab)
    off = separation.shift(rgb) - exact
    assert np.sqrt((off**2).mean()) < 0.15  # Lab in 8 bits; the docstring says 0.14
    assert np.abs(off).max() < 0.93  # a corner of the rounding cell on the grey axis, by arithmetic
    assert abs(off.mean()) < 0.05  # no lean to one side


def test_total_ink_keeps_the_profiles_limit() -> None:
    # made with -l 300; profiles overshoot a nominal limit by up to 4 points
    separation = ProfileSeparation(reference_profile(), SeparationSettings())
    assert 280 < separation.inks(colours(50_000)).sum(axis=1).max() * 100 < 304


# ---- a second profile -------------------------------------------------------------------------------------------


def second_profile() -> bytes:
    pyvips = pytest.importorskip("pyvips")
    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def test_black_of_a_second_profile() -> None:
    separation = ProfileSeparation(second_profile(), SeparationSettings(intent="perceptual"))
    black = separation.inks(np.zeros((1, 3), np.uint8))[0] * 100
    assert black == pytest.approx([20, 0, 82, 99], abs=0.5)  # the profile's known black, another tool's reading


def test_inks_as_srgb_equal_another_library() -> None:
    import pyvips

    icc = second_profile()
    inks = np.random.default_rng(3).integers(0, 256, (5_000, 4), dtype=np.uint8)
    image = pyvips.Image.new_from_memory(inks.tobytes(), len(inks), 1, 4, "uchar").copy(interpretation="cmyk")
    other = image.icc_transform("srgb", input_profile="cmyk", intent="relative", black_point_compensation=True)
    expected = np.frombuffer(other.write_to_memory(), np.uint8).reshape(-1, 3)
    off = np.abs(cmyk_to_srgb(icc)(inks).astype(int) - expected)
    # the other library lets LittleCMS take its shortcuts: alike in the main, not to the last step
    assert off.mean() < 0.6
    assert np.quantile(off, 0.99) <= 6
