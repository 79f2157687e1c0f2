"""The demo: an order that shows what the program finds, drawn anew each time."""

from __future__ import annotations

from pathlib import Path

import pytest
import segno

from preflight import cli
from preflight.demo import PIECES, make_order
from preflight.demo.artworks import CODE_ROWS, CODE_TEXT
from preflight.engine import Checker
from preflight.errors import UsageError
from preflight.model import ExitStatus, Report, Verdict
from preflight.rulebook import load_rulebook
from preflight.shop import Shop, load_shop
from preflight.ticket import Order

#: What each artwork is there to show.
SHOWN = {
    "crest.png": None,
    "sunflower.png": None,
    "bee.jpg": "background-left",
    "watering-can.png": "painted-checkerboard",
    "carrots.png": "low-resolution",
    "moon.png": "soft-edge",
    "garlic.png": "thin-line",
    "aubergine.png": "low-contrast",
    "seed-swap.png": "unreadable-code",
}


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Report]:
    folder = tmp_path_factory.mktemp("demo")
    paths = list(make_order(folder))
    shop = load_shop(folder / "shop.toml")
    checker = Checker(Order(), shop, load_rulebook(shop))
    return {path.name: checker(path) for path in paths}


def test_every_piece_is_made(reports: dict[str, Report]) -> None:
    assert list(reports) == [piece.name for piece in PIECES] == list(SHOWN)


@pytest.mark.parametrize(("name", "rule"), SHOWN.items())
def test_every_fault_is_found_and_the_good_ones_are_ready(
    reports: dict[str, Report], name: str, rule: str | None
) -> None:
    report = reports[name]
    if rule is None:
        assert (report.verdict, report.findings) == (Verdict.READY, ())
    else:
        # Its own fault and no other: a newcomer believes what is said here. Hairlines get no white either.
        besides = {"no-white-under"} if rule == "thin-line" else set()
        assert {finding.rule for finding in report.findings} == {rule} | besides
        assert report.verdict in (Verdict.STOP, Verdict.ASK)


def test_every_piece_has_a_ticket_and_a_price(reports: dict[str, Report]) -> None:
    for report in reports.values():
        assert report.ticket.width_mm is not None
        assert report.ticket.copies > 1
        assert report.cost is not None
        assert report.cost.total > 0


def test_the_prices_are_set(reports: dict[str, Report]) -> None:
    assert not set(Shop.default().assumptions) & set(reports["crest.png"].assumptions)


def test_the_code_says_what_it_should() -> None:
    made = segno.make(CODE_TEXT, error="m", micro=False, boost_error=False)
    assert tuple("".join("#" if module else "." for module in row) for row in made.matrix) == CODE_ROWS


def test_the_folder_must_be_new_or_empty(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me", encoding="utf-8")
    with pytest.raises(UsageError, match="not empty"):
        make_order(tmp_path)
    with pytest.raises(UsageError):
        make_order(tmp_path / "mine.txt")
    with pytest.raises(UsageError):
        make_order(tmp_path / "mine.txt" / "below")
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_the_command_shows_the_order_and_what_to_try_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as ended:
        cli.main(["demo", "try out"])
    out, err = capsys.readouterr()
    assert (ended.value.code, err) == (ExitStatus.READY, "")
    assert f"{len(PIECES)} artworks: 2 ready" in out
    commands = [line for line in out.splitlines() if line.startswith("  preflight ")]
    assert max(len(line) for line in out.splitlines() if line not in commands) <= 80
    assert "fumes" in out
    for line in commands:
        if "check" in line or "watch" in line:
            with pytest.raises(SystemExit) as checked:
                cli.main([part.strip('"') for part in _split(line)[1:]])
            assert checked.value.code == ExitStatus.STOP
    assert (tmp_path / "bee.html").is_file()
    assert (tmp_path / "answered" / "morning.html").is_file()
    assert [path.name for path in (tmp_path / "try out").iterdir()] == ["shop.toml"]
    with pytest.raises(SystemExit) as again:
        cli.main(["demo", "try out"])
    assert again.value.code == ExitStatus.USED_WRONGLY


def _split(line: str) -> list[str]:
    """A command line's words; a quoted one may hold spaces."""
    parts = line.strip().split('"')
    return [word for number, part in enumerate(parts) for word in ([part] if number % 2 else part.split())]
