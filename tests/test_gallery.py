"""The gallery: its page shows every picture with words, the pictures are small, and the script makes them again."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
GALLERY = ROOT / "docs" / "gallery"
PAGE = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")


def test_every_picture_is_shown_with_words() -> None:
    shown = dict(re.findall(r"!\[([^\]]+)\]\(gallery/([\w-]+\.png)\)", PAGE))
    assert sorted(shown.values()) == sorted(path.name for path in GALLERY.iterdir())
    assert len(shown) <= 8
    assert all(len(words) > 20 for words in shown)


def test_pictures_are_small_enough_to_travel() -> None:
    for path in GALLERY.iterdir():
        assert path.stat().st_size <= 150_000, path.name
        with Image.open(path) as picture:
            picture.load()
            assert min(picture.size) >= 400


@pytest.mark.slow
def test_the_script_makes_them_again(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "docs" / "make_gallery.py"), "--folder", str(tmp_path)],
        capture_output=True, text=True, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    made = {path.name for path in tmp_path.iterdir()}
    assert {path.name for path in GALLERY.glob("pdf-*.png")} <= made <= {path.name for path in GALLERY.iterdir()}
