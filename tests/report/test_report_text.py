"""The report at a terminal: what it says, in which order, and that no customer's file can steer the terminal."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from preflight.measure.catalogue import MEASURES
from preflight.model import Place, Saving, Severity, Ticket, Verdict
from preflight.report import terminal
from preflight.report.text import document, render
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from tests.report.samples import finding, report, saving_report, unread_report, unsized_report


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def flat(page: str) -> str:
    return " ".join(page.split())


def test_a_report_says_what_where_why_and_how_to_mend() -> None:
    page = flat(document([report()]))
    for part in (
        "orders/badge.png STOP The customer must change the file.",
        "File PNG, 3400 × 2300 px",
        "Print 280 × 186.7 mm at 300 ppi",
        "Order 12 copies, on #1d1d1f and navy, mode fine, reference Fair 7",
        "STOP Title of thin-line thin-line Narrowest line 0.21 mm, passed the limit of 0.35 mm.",
        "Where 0.22 mm, 10 mm from the left and 20 mm from the top (6 × 0.3 mm)",
        "Why White is pulled in under the colour.",
        "Fix Make these lines at least 0.5 mm wide.",
        "Ink 7.50 g for one copy: cyan 0.50, magenta 1.00, yellow 1.50, black 2.00, white 2.50",
        "Cost 14.81 EUR for 12 copies, 1.23 EUR each (9.50 to 22.25 in all): "
        "ink 6.10, powder 3.20, film 4.30, waste 1.21",
        "Film 2.35 m, turned by a quarter",
        "Time 42 minutes",
        f"Could not be measured - {MEASURES['detail-ppi'].what}: there is no detail to judge by",
        "Taken for granted - The separation is not a film profile.",
    ):
        assert part in page


def test_findings_keep_their_order() -> None:
    page = document([report(Verdict.STOP, finding("first"), finding("second", Severity.ASK))])
    assert page.index("Title of first") < page.index("Title of second")


@pytest.mark.parametrize(("places", "more"), [(3, None), (4, "and 1 more"), (15, "and 12 more")])
def test_three_places_are_told_and_the_rest_counted(places: int, more: str | None) -> None:
    page = document([report(Verdict.STOP, finding(places=places))])
    assert page.count("mm from the top") == 3
    assert (more in page) if more else ("more" not in page)


def test_places_that_are_not_carried_are_counted_too() -> None:
    page = document([report(Verdict.STOP, replace(finding(places=5), places_total=500))])
    assert "and 497 more" in page


def test_a_place_without_a_value_has_no_figure() -> None:
    bare = replace(finding(), places=(Place(1.0, 2.0, 3.0, 4.0, None),), places_total=1)
    assert "Where 1 mm from the left and 2 mm from the top (3 × 4 mm)" in flat(document([report(Verdict.STOP, bare)]))


def test_a_question_that_does_not_arise_is_no_gap() -> None:
    assert "no garment was ordered" not in document([report()])


def test_savings_are_told_with_their_sign() -> None:
    assert "Saves 12.3 g of ink, 1.05 EUR a copy" in flat(document([saving_report()]))
    more = replace(finding(), saves=Saving(-0.5, -0.04))
    page = flat(document([report(Verdict.STOP, more)]))
    assert "Costs 0.5 g of ink, 0.040 EUR a copy: the mended file needs more" in page
    nothing = replace(finding(), saves=Saving(0.001, 0.0))
    assert "Saves" not in document([report(Verdict.STOP, nothing)])


def test_an_unread_file_is_not_checked_and_shows_no_figures() -> None:
    page = document([unread_report()])
    assert "NOT CHECKED" in page
    assert "It ends in the middle. Export it again." in page
    assert page.count("Export it again.") == 1
    for word in ("READY", "Ink", "Cost", "Print", "File"):
        assert word not in page


def test_an_unknown_size_is_said() -> None:
    page = document([unsized_report()])
    assert "size unknown" in page
    assert "Cost" not in page


def test_a_size_from_the_file_is_said() -> None:
    sized = report()
    assert sized.print_size is not None
    page = document([replace(sized, print_size=replace(sized.print_size, size_from="file"))])
    assert "as the file itself says" in page


def test_several_files_end_with_a_tally() -> None:
    page = document([report(), unread_report(), report(Verdict.READY)])
    assert "3 artworks: 1 ready, 1 stop, 1 not checked.\n" in page
    assert "files:" not in document([report()])


@pytest.mark.parametrize("words", ["a" * 300, "word " * 80])
def test_piped_lines_fit_80_columns_and_carry_no_codes(words: str) -> None:
    long = replace(finding(), operator=words, why=words, title=words)
    page = document([replace(report(Verdict.STOP, long), file=words, assumptions=(words,))])
    assert max(map(len, page.splitlines())) <= 80
    assert "\x1b" not in page
    assert not [line for line in page.splitlines() if line != line.rstrip()]


NASTY = "x\x1b[2J\x1b]0;owned\x07\u202egnp.exe\n[red]bold[/red] :smile: \udcff"


def test_nothing_from_a_customer_reaches_the_terminal_as_a_command() -> None:
    nasty = replace(finding(), operator=NASTY, why=NASTY, fix=NASTY + ".", title=NASTY)
    whole = replace(
        report(Verdict.STOP, nasty),
        file=NASTY,
        assumptions=(NASTY,),
        format=NASTY,
        ticket=Ticket(garments=(NASTY,), mode=NASTY, reference=NASTY),
    )
    for page in (document([whole]), on_terminal(whole)):
        for letter in ("\x1b[2J", "\x1b]0", "\x07", "\u202e", "\udcff"):
            assert letter not in page
        assert page.count("[red]") >= 8  # markup stays what the customer wrote
        assert ":smile:" in page
        page.encode("utf-8")


def on_terminal(whole: object) -> str:
    stream = Terminal()
    console = terminal.console(stream)
    console.width = 300
    console.print(render(whole))  # type: ignore[arg-type]
    return stream.getvalue()


def test_a_wide_window_does_not_make_long_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "220")
    assert terminal.console(Terminal()).width == terminal.WIDEST
    monkeypatch.setenv("COLUMNS", "70")
    assert terminal.console(Terminal()).width == 70


@pytest.mark.parametrize("rule", [rule.id for rule in load_rulebook(Shop.default()).rules])
def test_the_command_to_read_more_stands_on_one_line(rule: str) -> None:
    page = document([report(Verdict.STOP, finding(rule))])
    assert page.splitlines()[-1] == f"More about a rule and its limits: preflight rules {rule}"
