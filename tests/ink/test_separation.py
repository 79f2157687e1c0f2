"""The separation as the rest of the program sees it. Its exactness is tested in tests/outside/test_colour.py."""

import pickle
from pathlib import Path

import numpy as np
import pytest
from PIL import ImageCms

from preflight.errors import SettingsError
from preflight.ink.separation import ProfileSeparation, open_separation
from preflight.intake.colour import reference_profile
from preflight.model import Separation
from preflight.shop import SeparationSettings, Shop, load_shop

COLOURS = np.array([[255, 255, 255], [0, 0, 0], [128, 128, 128], [0, 255, 0], [200, 120, 100]], np.uint8)
WHITE, BLACK, GREY, GREEN, BRICK = range(5)


@pytest.fixture(scope="module")
def bundled() -> ProfileSeparation:
    return open_separation(Shop.default())


def test_the_bundled_one_says_that_it_is_not_for_film(bundled: ProfileSeparation) -> None:
    as_seen_by_others: Separation = bundled
    assert as_seen_by_others.name == "FOGRA39L coated TAC300"
    assert as_seen_by_others.caveat is not None
    assert "not with a profile of your film" in as_seen_by_others.caveat


def test_inks(bundled: ProfileSeparation) -> None:
    inks = bundled.inks(COLOURS)
    assert inks.dtype == np.float32
    assert inks.shape == (5, 4)
    assert inks.min() >= 0
    assert inks.max() <= 1
    assert not inks[WHITE].any()  # white is the shop's white ink, not a colour
    assert inks[BLACK].sum() > 2.5
    assert inks[BLACK, 3] > 0.9
    assert inks[GREEN, 1] == 0  # no magenta in a green


def test_shift_and_print(bundled: ProfileSeparation) -> None:
    shift, printed = bundled.shift(COLOURS), bundled.printed(COLOURS)
    assert shift.dtype == np.float32
    assert printed.dtype == np.uint8
    assert shift[WHITE] < 1e-9
    assert list(printed[WHITE]) == [255, 255, 255]
    assert shift[GREY] < 1.5  # within reach of the print
    assert shift[BRICK] < 1.5
    assert shift[GREEN] > 10  # no print reaches the screen's green
    assert np.abs(printed[BRICK].astype(int) - COLOURS[BRICK]).max() <= 4


def test_no_colours_give_no_answers(bundled: ProfileSeparation) -> None:
    none = np.zeros((0, 3), np.uint8)
    assert bundled.inks(none).shape == (0, 4)
    assert bundled.shift(none).shape == (0,)
    assert bundled.printed(none).shape == (0, 3)


def test_it_can_be_handed_to_another_process(bundled: ProfileSeparation) -> None:
    bundled.shift(COLOURS)
    other = pickle.loads(pickle.dumps(bundled))
    assert np.array_equal(other.inks(COLOURS), bundled.inks(COLOURS))
    assert (other.name, other.caveat) == (bundled.name, bundled.caveat)


def test_other_colours_after_the_first_are_not_mixed_up(bundled: ProfileSeparation) -> None:
    table = COLOURS.copy()
    first = bundled.inks(table)
    table[0] = 0
    assert np.array_equal(bundled.inks(table)[0], first[BLACK])
    assert np.array_equal(bundled.inks(COLOURS), first)


def test_settings_change_the_inks() -> None:
    icc = reference_profile()
    all_settings = [
        SeparationSettings(),
        SeparationSettings(black_point=False),
        SeparationSettings(intent="perceptual"),
        SeparationSettings(intent="absolute"),
    ]
    tables = [ProfileSeparation(icc, settings).inks(COLOURS) for settings in all_settings]
    for n, one in enumerate(tables):
        assert all(not np.array_equal(one, other) for other in tables[:n])


def test_a_missing_intent_is_said() -> None:
    icc = reference_profile().replace(b"B2A1", b"XXA1")
    assert ProfileSeparation(icc, SeparationSettings(intent="perceptual")).caveat is None
    caveat = ProfileSeparation(icc, SeparationSettings()).caveat
    assert caveat is not None
    assert "no table for the relative intent" in caveat


def test_a_shops_own_profile(tmp_path: Path) -> None:
    (tmp_path / "film.icc").write_bytes(reference_profile())
    (tmp_path / "shop.toml").write_text('[separation]\nprofile = "film.icc"\nintent = "perceptual"', encoding="utf-8")
    separation = open_separation(load_shop(tmp_path / "shop.toml"))
    assert separation.caveat is None
    expected = ProfileSeparation(reference_profile(), SeparationSettings(intent="perceptual"))
    assert np.array_equal(separation.inks(COLOURS), expected.inks(COLOURS))


def broken() -> dict[str, tuple[bytes, str]]:
    icc, srgb = reference_profile(), ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return {
        "empty": (b"", "no ICC profile"),
        "no profile": (b"GIF89a" * 100, "no ICC profile"),
        "cut in the head": (icc[:100], "no ICC profile"),
        "cut in the tables": (icc[:60_000], "lacks the tables"),
        "no way to ink": (icc.replace(b"B2A", b"XXA"), "lacks the tables"),
        "no way back": (icc.replace(b"A2B", b"XXA"), "lacks the tables"),
        "for RGB": (srgb, "for RGB, not for CMYK"),
        "scanner": (icc.replace(b"prtrCMYK", b"scnrCMYK"), 'of the class "scnr"'),
        "device link": (icc.replace(b"prtrCMYK", b"linkCMYK"), 'of the class "link"'),
    }


@pytest.mark.parametrize("case", broken())
def test_a_profile_that_cannot_be_used(tmp_path: Path, case: str) -> None:
    icc, what = broken()[case]
    (tmp_path / "film.icc").write_bytes(icc)
    (tmp_path / "shop.toml").write_text('name = "x"\n[separation]\nprofile = "film.icc"', encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        open_separation(load_shop(tmp_path / "shop.toml"))
    assert what in caught.value.what
    assert "film.icc" in caught.value.what
    assert (caught.value.file, caught.value.line) == (str(tmp_path / "shop.toml"), 3)
    assert caught.value.key == "separation.profile"


def test_a_profile_that_went_away(tmp_path: Path) -> None:
    shop = Shop(separation=SeparationSettings(profile=tmp_path / "none.icc"))
    with pytest.raises(SettingsError, match="the profile cannot be read"):
        open_separation(shop)
