"""The shop's logo: a small PNG or JPEG, looked at when the shop file is read and again when a report is made."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.errors import SettingsError
from preflight.report.letterhead import Logo, read_logo
from preflight.shop import Letterhead, Shop, load_shop
from preflight.shopfile import LARGEST_LOGO

PNG = b"\x89PNG\r\n\x1a\n"
JPEG = b"\xff\xd8\xff\xe0"


def shop_with(folder: Path, data: bytes, name: str = "logo.png") -> Shop:
    (folder / name).write_bytes(data)
    (folder / "shop.toml").write_text(f'name = "Corner Press"\n[letterhead]\nlogo = "{name}"\n', encoding="utf-8")
    return load_shop(folder / "shop.toml")


@pytest.mark.parametrize(("start", "kind"), [(PNG, "image/png"), (JPEG, "image/jpeg")])
def test_a_logo_is_known_by_its_content(start: bytes, kind: str, tmp_path: Path) -> None:
    shop = shop_with(tmp_path, start + b"rest")
    assert read_logo(shop.letterhead) == Logo(kind, start + b"rest")


@pytest.mark.parametrize(
    "data", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", b"%PDF-1.7", b"\x89PNG\r\n"]
)
def test_anything_else_is_refused_with_its_line(data: bytes, tmp_path: Path) -> None:
    with pytest.raises(SettingsError) as slip:
        shop_with(tmp_path, data)
    assert (slip.value.line, slip.value.key) == (3, "letterhead.logo")
    assert "neither PNG nor JPEG" in slip.value.what
    assert "small PNG or JPEG" in slip.value.next_step


def test_a_large_logo_is_refused(tmp_path: Path) -> None:
    shop_with(tmp_path, PNG + bytes(LARGEST_LOGO - len(PNG)))
    with pytest.raises(SettingsError, match="larger than 300 kB"):
        shop_with(tmp_path, PNG + bytes(LARGEST_LOGO))


def test_a_logo_that_went_away_or_changed_leaves_the_letterhead_without_one(tmp_path: Path) -> None:
    letterhead = shop_with(tmp_path, PNG).letterhead
    assert letterhead.logo is not None
    letterhead.logo.write_bytes(b"<script>")
    assert read_logo(letterhead) is None
    letterhead.logo.write_bytes(PNG + bytes(LARGEST_LOGO))
    assert read_logo(letterhead) is None
    letterhead.logo.unlink()
    assert read_logo(letterhead) is None
    assert read_logo(Letterhead()) is None
