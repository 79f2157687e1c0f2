"""The morning sheet as a PDF: what the page says, on sheets; whatever a customer calls a file; whole or not at all."""

from __future__ import annotations

import dataclasses
import errno
import html
import io
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from preflight.overnight import morningpdf, mornings
from preflight.overnight.diary import Diary
from preflight.overnight.ledger import Ledger
from preflight.overnight.morning import Sheet, sheet
from preflight.overnight.morningpage import page
from preflight.overnight.morningpdf import document
from preflight.overnight.mornings import PDF, Mornings
from preflight.shop import Shop
from tests.overnight.conftest import Desk, picture
from tests.overnight.test_morning import STATE, row
from tests.report.pdf import reading

ANSWERED = {**STATE, "answered": {}}
THIN = {"title": "Lines too thin", "fix": "Make every line 0.5 mm wide.", "findings": 3}


def night() -> Sheet:
    rows = [
        row("club/front.png"), row("club/back.png", minutes=7.0), row("quick.png", minutes=1.0),
        row("fine.png", mode="fine"), row("band/a.png", "stop", **THIN), row("band/b.png"),
        row("glow.png", "ask", None, width_mm=None, title="Soft edge", fix="Ask whether it is wanted."),
        row("d.txt", "unchecked", None, title="No artwork", fix="Ask for a PNG."),
        dataclasses.replace(row("crest.png"), artwork="ready/crest-2.png"),
    ]  # fmt: skip
    state = {
        "not_yet": {"late.png": "it is still arriving"},
        "left_alone": {"x.lnk": "a link"},
        "tickets_without_artwork": ["lost.ticket.toml"],
    }
    return sheet(rows, state, 10.0, "normal")


def test_everything_that_the_page_says_is_there_and_in_its_order() -> None:
    told, shop = night(), Shop.default()
    text = reading.words(document(told, shop))
    main = re.search(r"<main.*</main>", page(told, shop), re.DOTALL)
    assert main is not None
    missing = [
        piece
        for piece in (reading.tight(html.unescape(each)) for each in re.split(r"<[^>]*>", main[0]))
        if piece not in text and piece != reading.tight("Send the report that is linked here to the customer.")
    ]
    assert missing == []
    heads = ["Printthesefirst", "Whatittakes", "Waitingforthecustomer", "Setaside,andwhy"]
    assert sorted(heads, key=text.index) == heads
    names = [order.name for order in told.first]
    assert names == ["quick.png", "crest.png", "club/", "fine.png"]
    assert sorted(names, key=text.index) == names
    assert text.index("band/") < text.index("glow.png") < text.index("d.txt")


def test_it_says_where_the_report_lies_and_an_artwork_with_a_number() -> None:
    text = reading.words(document(night(), Shop.default()))
    assert "stop/band/a.png.report.html" in text
    assert "ready/crest-2.png" in text
    assert "ready/quick.png" not in text


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_the_shops_paper_fonts_inside_and_nothing_active(paper: str, size: tuple[int, int]) -> None:
    shop = Shop.default()
    shop = dataclasses.replace(shop, letterhead=dataclasses.replace(shop.letterhead, paper=paper, name="The <Press>"))
    data = document(night(), shop)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert {tuple(round(float(side)) for side in one.mediabox[2:]) for one in pdf.pages} == {size}
    fonts = reading.fonts(data)
    assert fonts
    assert all(fonts.values())
    assert reading.active(data) == set()
    assert "The<Press>" in reading.words(data)


def test_an_order_longer_than_a_table_and_the_number_of_each_sheet() -> None:
    rows = [row(f"many/{number:04}.png") for number in range(450)]
    rows += [row(f"bad/{number:04}.png", "stop", **THIN) for number in range(60)]
    data = document(sheet(rows, STATE, 10.0), Shop.default())
    text = reading.words(data)
    assert [name for name in range(450) if f"{name:04}.png,50×40mm" not in text] == []
    assert [name for name in range(60) if f"stop/bad/{name:04}.png.report.html" not in text] == []
    count = reading.sheets(data)
    assert count > 5
    assert all(f"Sheet{number}of{count}" in text for number in range(1, count + 1))


NAUGHTY = [
    "<b>bold</b> & <para>.png", "</para><a href='x:y'>.png", "&lt;&#0;.png", "\u202egnp.exe", "two\nlines\t.png",
    "caf\udce9.png", "印刷" * 40 + ".png", "W" * 250, "\x00\x1b[31m", "%s {0} \\.png", " ", "(" * 200 + ")" * 50,
    "/".join(["d" * 250] * 15) + "/x.png", " ".join(["W" * 9] * 400), "\u00a0" * 300, "\U0001f41d" * 60,
]  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("verdict", ["ready", "ask", "unchecked"])
def test_naughty_names_are_text(verdict: str, paper: str) -> None:
    shop = Shop.default()
    shop = dataclasses.replace(shop, letterhead=dataclasses.replace(shop.letterhead, paper=paper))
    rows = [
        row(f"{folder}{name}", verdict, mode=name, title=name, fix=name, findings=2)
        for name in NAUGHTY
        for folder in ("", f"{name}/", "o/")
    ]
    state = {
        "not_yet": dict.fromkeys(NAUGHTY, "<i>"), "left_alone": dict.fromkeys(NAUGHTY, "&"),
        "tickets_without_artwork": NAUGHTY,
    }  # fmt: skip
    data = document(sheet(rows, state, 10.0), shop)
    text = reading.words(data)
    for shown in (
        "<b>bold</b>&<para>.png", "</para><ahref='x:y'>.png", "&lt;&#0;.png", r"\u202egnp.exe", r"two\x0alines",
        r"caf\udce9.png", "W" * 250,
    ):  # fmt: skip
        assert shown in text, shown
    assert "\u202e" not in text
    assert reading.active(data) == set()


def test_a_night_without_files() -> None:
    assert "Nothingwasansweredinthelast24hours" in reading.words(document(sheet([], STATE, 10.0), Shop.default()))


@pytest.fixture
def kept(desk: Desk) -> Any:
    desk.out.mkdir()
    ledger = Ledger(desk.out / "preflight.sqlite")
    yield Mornings(desk.settings(), ledger, Diary(desk.out))
    ledger.close()


@pytest.mark.parametrize("step", ["laying out", "fsync", "replace"])
def test_whole_or_not_at_all(desk: Desk, kept: Mornings, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    """It fails with the one before in place: that stays, the page and the JSON are new, and the log says so once."""
    kept.keep(lambda: ANSWERED)
    before = (desk.out / PDF).read_bytes()
    assert before.startswith(b"%PDF")
    clock = [mornings.time.monotonic() + 1000.0]
    monkeypatch.setattr(mornings.time, "monotonic", lambda: clock[0])

    def fails(*_: Any) -> bytes:
        raise (RecursionError("too deep") if step == "laying out" else OSError(errno.ENOSPC, "No space left on device"))

    with monkeypatch.context() as broken:
        if step == "laying out":
            broken.setattr(morningpdf, "document", fails)
        else:
            real = mornings.write_whole

            def writes(path: Path, data: bytes) -> None:
                with monkeypatch.context() as inner:
                    inner.setattr(*((Path, "replace") if step == "replace" else ("os.fsync",)), fails)
                    real(path, data)

            broken.setattr(mornings, "write_whole", writes)
        for number in range(3):
            clock[0] += 100.0
            kept.keep(lambda number=number: {**ANSWERED, "not_yet": {f"{number}.png": "why"}})  # type: ignore[misc]
    assert (desk.out / PDF).read_bytes() == before
    assert "2.png" in (desk.out / "morning.html").read_text(encoding="utf-8")
    assert [path.name for path in desk.out.iterdir() if path.name.endswith(".part")] == []
    why = "RecursionError: too deep" if step == "laying out" else "No space left on device"
    assert [line["why"] for line in desk.log()] == [why]
    clock[0] += 100.0
    kept.keep(lambda: {**ANSWERED, "not_yet": {"2.png": "why"}})
    assert "2.png" in reading.words((desk.out / PDF).read_bytes())


def test_it_waits_for_a_while_but_not_at_the_end(desk: Desk, kept: Mornings, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [100.0]
    monkeypatch.setattr(mornings.time, "monotonic", lambda: clock[0])

    def slow(told: Sheet, *_: object) -> bytes:
        clock[0] += 2.0
        return " ".join(told.not_yet).encode()

    monkeypatch.setattr(morningpdf, "document", slow)
    for wait, name, last, there in (
        (0.0, "a", False, b"a"), (19.0, "b", False, b"a"), (1.5, "b", False, b"b"), (1.0, "c", True, b"c"),
    ):  # fmt: skip
        clock[0] += wait
        kept.keep(lambda name=name: {**ANSWERED, "not_yet": {name: "why"}}, last=last)  # type: ignore[misc]
        assert (desk.out / PDF).read_bytes() == there


def test_the_watcher_writes_it_and_goes_on_without_it(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.put("order/a & <b>.png", picture(1))
    desk.once()
    assert "order/a&<b>.png" in reading.words((desk.out / PDF).read_bytes())
    (desk.out / PDF).unlink()
    (desk.out / PDF).mkdir()  # nothing can be written there
    desk.put("b.png", picture(2))
    assert desk.once().verdicts == {"ready": 1}
    assert any(line["event"] == "no morning pdf" for line in desk.log())
    assert "b.png" in (desk.out / "morning.html").read_text(encoding="utf-8")


def test_a_pdf_report_beside_the_artwork_and_its_use_for_the_same_bytes(desk: Desk) -> None:
    """Another folder changes nothing in it; under another name the file is checked again."""
    for name in ("one/a.png", "two/a.png", "b.png"):
        desk.put(name)
        desk.once(formats=("pdf",))
    assert {told.file: told.again for told in desk.rows()} == {"one/a.png": False, "two/a.png": True, "b.png": False}
    first, second, other = (
        (desk.out / f"ready/{name}.report.pdf").read_bytes() for name in ("one/a.png", "two/a.png", "b.png")
    )
    assert first == second
    assert "a.png" in reading.words(first)
    assert "one/" not in reading.words(first)
    assert "b.png" in reading.words(other)
    assert "a.png" not in reading.words(other)
    assert list(reading.pictures(first))
    assert "ready/two/a.png.report.pdf" in (desk.out / "morning.html").read_text(encoding="utf-8")


def test_what_lays_out_is_loaded_when_the_first_is_written() -> None:
    code = "import preflight.commands.watch, sys; sys.exit('reportlab' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parents[2], check=False).returncode == 0
