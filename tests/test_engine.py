"""One artwork's way, with measuring replaced by figures of our own: what is joined, judged, priced and said."""

from __future__ import annotations

import hashlib
import math
import pickle
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight import intake
from preflight.child import ChildFailed
from preflight.engine import TRACEBACK, Checker
from preflight.errors import ChildDied, IntakeError
from preflight.ink.cost import price, saving
from preflight.ink.grams import weigh
from preflight.jobs import answers
from preflight.measure import examine
from preflight.model import (
    CHANNELS,
    Artwork,
    Box,
    Coverage,
    Examination,
    Measurement,
    PixelFacts,
    PrintSize,
    Report,
    Separation,
    Severity,
    Ticket,
    Verdict,
)
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order
from tests.direct import Direct, OpenRoom

FACTS = PixelFacts("PNG", 600, 400, True, "rgb", 8, None, None, None, None)
SIZE = PrintSize((600, 400), Box(50, 20, 500, 300), 254.0, 50.0, 30.0, "ticket")
COVERAGE = Coverage(dict.fromkeys(CHANNELS, 800.0), 250.0, 100.0, 1000.0)
#: Nothing wrong anywhere: values that pass the shipped rules.
CLEAN = {
    "effective-ppi": (300.0, "ppi", "line-art"),
    "detail-ppi": (None, "ppi", None),
    "size-missing": (0.0, "count", None),
    "proportion-difference": (None, "%", None),
    "print-width": (30.0, "mm", None),
    "printed-share": (60.0, "%", None),
    "cut-edge": (0.0, "mm", None),
    "fade-width": (None, "mm", None),
    "translucent-area": (0.0, "mm2", None),
    "residue-area": (0.0, "mm2", None),
    "background-share": (None, "%", None),
    "checkerboard-cell": (None, "px", None),
    "fringe-share": (0.0, "%", None),
    "narrowest-line": (None, "mm", None),
    "narrowest-gap": (None, "mm", None),
    "area-without-white": (0.0, "mm2", None),
    "speck-count": (0.0, "count", None),
    "total-ink": (250.0, "%", None),
    "colour-shift": (2.0, "dE00", None),
    "contrast": (None, "ratio", None),
    "code-module": (None, "mm", None),
    "smallest-text": (None, "pt", None),
    "missing-fonts": (0.0, "count", None),
    "thinnest-stroke": (None, "mm", None),
    "spot-inks": (0.0, "count", None),
    "white-plate": (None, "%", None),
    "overprinted-objects": (0.0, "count", None),
    "linked-pictures": (0.0, "count", None),
    "active-content": (0.0, "count", None),
    "file-lock": (0.0, "count", None),
}
MEASURES = {name: Measurement(name, value, unit, kind=kind) for name, (value, unit, kind) in CLEAN.items()}
EXAMINATION = Examination(FACTS, 1, SIZE, MEASURES, COVERAGE, {}, "the file's own inks", ("It was assumed.",))


@pytest.fixture
def art(tmp_path: Path) -> Path:
    path = tmp_path / "art.png"
    Image.new("RGBA", (8, 8), (10, 200, 30, 255)).save(path)
    return path


def checker(order: Order | None = None) -> Checker:
    shop = Shop.default()
    return Checker(order or Order(), shop, load_rulebook(shop))


def check(path: Path, run: Checker) -> Report:
    """As ``engine.check``, but in this process, where measuring can be replaced."""
    ((report,),) = answers([path], run.way, Direct(), 1)
    return report


def examined(monkeypatch: pytest.MonkeyPatch, answer: Examination | Exception) -> list[Ticket]:
    """Let measuring give ``answer``; the tickets it was asked with."""
    tickets: list[Ticket] = []

    def fake(
        _artwork: Artwork, ticket: Ticket, _shop: Shop, _separation: Separation, reach: Mapping[str, float]
    ) -> Examination:
        assert reach == {"narrowest-line": 0.5, "narrowest-gap": 0.4}
        tickets.append(ticket)
        if isinstance(answer, Exception):
            raise answer
        return answer

    monkeypatch.setattr(examine, "examine", fake)
    return tickets


def with_measure(measure: Measurement) -> Examination:
    return replace(EXAMINATION, measures={**MEASURES, measure.id: measure})


def test_clean_artwork_is_ready(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    examined(monkeypatch, EXAMINATION)
    report = check(art, checker())
    assert report.verdict is Verdict.READY
    assert report.findings == ()
    assert report.file == str(art)
    assert report.format == "PNG"
    assert report.print_size is SIZE
    assert report.sha256 == hashlib.sha256(art.read_bytes()).hexdigest()
    assert report.seconds > 0
    assert "It was assumed." in report.assumptions
    assert "No print mode was ordered: the time is that of mode normal." in report.assumptions


def test_a_passed_limit_becomes_a_finding_and_the_verdict(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    line = Measurement("narrowest-line", 0.2, "mm", details={"length": "4 mm"})
    examined(monkeypatch, with_measure(line))
    report = check(art, checker())
    assert report.verdict is Verdict.STOP
    assert [finding.rule for finding in report.findings] == ["thin-line"]
    assert report.findings[0].severity is Severity.STOP


@pytest.mark.parametrize("odd", [math.nan, math.inf, -math.inf])
def test_a_measure_that_is_no_number_never_passes(art: Path, monkeypatch: pytest.MonkeyPatch, odd: float) -> None:
    examined(monkeypatch, with_measure(Measurement("total-ink", odd, "%")))
    report = check(art, checker())
    assert report.verdict is Verdict.UNCHECKED
    assert report.measures["total-ink"].value is None
    assert report.measures["total-ink"].why_not == "measuring it gave no number"


def test_a_measure_that_could_not_be_taken_leaves_the_artwork_unchecked(
    art: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    examined(monkeypatch, with_measure(Measurement("total-ink", None, "%", why_not="it was dark")))
    assert check(art, checker()).verdict is Verdict.UNCHECKED
    examined(monkeypatch, with_measure(Measurement("total-ink", None, "%", why_not="no ink", applies=False)))
    assert check(art, checker()).verdict is Verdict.READY


def test_ink_and_cost_are_those_of_the_coverage(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    examined(monkeypatch, EXAMINATION)
    report = check(art, checker(Order(copies=3, mode="fast")))
    shop = Shop.default()
    assert report.ink == weigh(COVERAGE, shop, "the file's own inks")
    assert report.ink is not None
    assert report.cost == price(report.ink, SIZE, Ticket(copies=3, mode="fast"), shop)
    assert not any("print mode" in assumption for assumption in report.assumptions)


def test_without_a_print_size_there_is_no_ink_and_no_cost(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    unsized = replace(SIZE, ppi=None, width_mm=None, height_mm=None, size_from="unknown")
    examined(monkeypatch, replace(EXAMINATION, print_size=unsized, coverage=None))
    report = check(art, checker())
    assert report.ink is None
    assert report.cost is None
    assert report.assumptions == ("It was assumed.",)


def test_a_mended_fault_tells_what_it_saves(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    box = Measurement("background-share", 40.0, "%", kind="white", details={"colour": "white"})
    half = Coverage(dict.fromkeys(CHANNELS, 300.0), 250.0, 100.0, 400.0)
    examined(monkeypatch, replace(with_measure(box), coverage_fixed={"background-left": half, "thin-line": COVERAGE}))
    (finding,) = check(art, checker()).findings
    shop = Shop.default()
    assert finding.saves == saving(weigh(COVERAGE, shop, "x"), weigh(half, shop, "x"), shop)
    assert finding.saves is not None
    assert finding.saves.ink_g > 0


def test_the_caveat_of_a_profile_is_said_only_where_it_was_used(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run = checker()
    caveat = run.separation.caveat
    assert caveat is not None
    examined(monkeypatch, EXAMINATION)
    assert caveat not in check(art, run).assumptions
    examined(monkeypatch, replace(EXAMINATION, separation=run.separation.name))
    assert check(art, run).assumptions.count(caveat) == 1


def test_the_ticket_beside_the_artwork_counts_and_an_option_wins(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    art.with_name("art.ticket.toml").write_text('width = "40mm"\ncopies = 5\n', encoding="utf-8")
    tickets = examined(monkeypatch, EXAMINATION)
    report = check(art, checker(Order(copies=2)))
    assert tickets == [Ticket(width_mm=40.0, copies=2)]
    assert report.ticket == tickets[0]


@pytest.mark.parametrize("slip", ['width = "40"', 'mode = "turbo"', 'garments = ["blurple"]', "width = = 3"])
def test_a_bad_ticket_is_a_finding_and_the_file_is_not_measured(
    art: Path, monkeypatch: pytest.MonkeyPatch, slip: str
) -> None:
    art.with_name("art.ticket.toml").write_text(slip, encoding="utf-8")
    tickets = examined(monkeypatch, EXAMINATION)
    report = check(art, checker(Order(width_mm=30.0)))
    assert report.verdict is Verdict.UNCHECKED
    assert [finding.rule for finding in report.findings] == ["unreadable-ticket"]
    assert "art.ticket.toml, line 1" in report.findings[0].seen
    assert report.ticket == Ticket(width_mm=30.0)
    assert tickets == []


@pytest.mark.parametrize(("rule", "measure"), [("cut-short", "file-cut-short"), ("unreadable-file", "file-unreadable")])
def test_a_refused_file_is_unchecked(art: Path, monkeypatch: pytest.MonkeyPatch, rule: str, measure: str) -> None:
    examined(monkeypatch, IntakeError("it ends in the middle", "Export it again.", rule=rule))
    report = check(art, checker())
    assert report.verdict is Verdict.UNCHECKED
    assert [finding.rule for finding in report.findings] == [rule]
    assert dict(report.measures[measure].details) == {
        "reason": "it ends in the middle",
        "next_step": "Export it again.",
    }
    assert (report.format, report.print_size, report.ink, report.cost) == ("PNG", None, None, None)
    assert report.sha256 is not None


def test_a_refused_file_stays_unchecked_when_its_rule_is_off(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    examined(monkeypatch, IntakeError("it is broken", "Export it again."))
    run = checker()
    quiet = replace(run.rulebook, rules=tuple(rule for rule in run.rulebook.rules if rule.id != "unreadable-file"))
    report = check(art, replace(run, rulebook=quiet))
    assert (report.verdict, report.findings) == (Verdict.UNCHECKED, ())


@pytest.mark.parametrize(("failure", "said"), [(KeyError("x"), "KeyError"), (MemoryError(), "memory of this machine")])
def test_a_failure_of_the_program_is_told_and_kept(
    art: Path, monkeypatch: pytest.MonkeyPatch, failure: Exception, said: str
) -> None:
    examined(monkeypatch, failure)
    report = check(art, checker())
    assert report.verdict is Verdict.UNCHECKED
    assert said in report.findings[0].seen
    assert "Traceback" not in report.findings[0].seen + report.findings[0].fix + report.findings[0].operator
    assert "Traceback" in report.extra[TRACEBACK]


def test_a_child_that_died_is_told(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    examined(monkeypatch, ChildDied("reading it needs more than 2 GB of memory", "Send it smaller.", how="memory"))
    report = check(art, checker())
    assert report.verdict is Verdict.UNCHECKED
    assert [finding.rule for finding in report.findings] == ["unreadable-file"]
    assert "needs more than 2 GB" in report.findings[0].seen
    assert "Send it smaller." in report.findings[0].fix


def test_a_failure_in_the_child_is_told_under_its_own_name(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    examined(monkeypatch, ChildFailed("KeyError", "Traceback of the child"))
    report = check(art, checker())
    assert "this program failed on it (KeyError)" in report.findings[0].seen
    assert report.extra[TRACEBACK] == "Traceback of the child"


@pytest.mark.parametrize("name", ["none.png", "", "a\x00b.png", "x" * 5000 + ".png", "folder"])
def test_odd_names_are_answered(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    report = check(tmp_path / name, checker())
    assert report.verdict is Verdict.UNCHECKED
    assert report.sha256 is None
    assert TRACEBACK not in report.extra


def test_a_refusal_on_opening_is_a_finding_too(art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_path: Path, *, pixel_limit: int) -> list[Artwork]:
        assert pixel_limit == Shop.default().pixel_limit
        raise IntakeError("it has too many pixels", "Send a smaller one.")

    monkeypatch.setattr(intake, "open_pages", refuse)
    assert "it has too many pixels" in check(art, checker()).findings[0].seen


def test_the_same_comes_out_of_a_child(art: Path) -> None:
    run = checker(Order(width_mm=20.0))
    assert replace(run(art), seconds=0) == replace(check(art, run), seconds=0)


def test_what_goes_to_a_child_and_the_report_can_be_pickled(art: Path) -> None:
    run = checker(Order(width_mm=20.0))
    run.separation.printed(np.zeros((1, 3), np.uint8))  # opened here, it must not hinder the copy
    job = next(run.way(art))
    work = pickle.loads(pickle.dumps(job)).work
    assert work(art, OpenRoom()).examination.facts.format == "PNG"
    report = run(art)
    assert pickle.loads(pickle.dumps(report)) == report


def test_the_customers_file_is_left_as_it_is(art: Path) -> None:
    before, listed = art.read_bytes(), sorted(art.parent.iterdir())
    check(art, checker(Order(width_mm=20.0)))
    assert art.read_bytes() == before
    assert sorted(art.parent.iterdir()) == listed
