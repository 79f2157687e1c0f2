"""The bad example of each rule shows its own fault and no other; the good one shows none."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.examples import EXAMPLES
from fixtures.make import main, write
from preflight.engine import Checker, check
from preflight.measure.catalogue import MEASURES, UNREAD
from preflight.model import Report, Severity, Verdict
from preflight.rulebook import Rulebook
from preflight.shop import Shop
from preflight.ticket import Order

from .conftest import all_rules

#: Rules that truly come along with the fault of a bad example, by its rule. None does.
# A line thinner than twice the choke is also without white: two limits, and the second says what will happen to it.
COMES_WITH: dict[str, set[str]] = {"thin-line": {"no-white-under"}}
#: Bad examples of which something could not be measured at all.
UNMEASURED = {"size-unknown"}
#: Rules whose fault is the whole file's or the order's: it lies in no place.
PLACELESS = {
    *("low-resolution", "size-unknown", "size-differs", "wider-than-film", "nothing-to-print"),
    *("cut-short", "unreadable-file", "unreadable-ticket", "wrong-extension", "extra-pages", "locked-file"),
    *("spot-ink", "own-white", "linked-picture", "active-content"),
}
VERDICTS = {Severity.STOP: Verdict.STOP, Severity.ASK: Verdict.ASK, Severity.NOTE: Verdict.READY}

each_rule = pytest.mark.parametrize("rule", [rule.id for rule in all_rules()])


@pytest.fixture(scope="session")
def checker(rulebook: Rulebook) -> Checker:
    return Checker(Order(), Shop.default(), rulebook)


def report_of(rule: str, which: int, folder: Path, checker: Checker) -> Report:
    report = check(write(EXAMPLES[rule][which](), folder, ("good", "bad")[which]), checker)
    assert not report.extra.get("traceback"), report.extra["traceback"]
    return report


def test_every_rule_has_a_pair(rulebook: Rulebook) -> None:
    assert set(EXAMPLES) == {rule.id for rule in rulebook.rules}


@each_rule
def test_the_good_example_is_ready(rule: str, tmp_path: Path, checker: Checker) -> None:
    report = report_of(rule, 0, tmp_path, checker)
    assert [(finding.rule, finding.seen) for finding in report.findings] == []
    assert report.verdict is Verdict.READY


@each_rule
def test_the_bad_example_shows_its_own_fault_only(rule: str, tmp_path: Path, checker: Checker) -> None:
    report = report_of(rule, 1, tmp_path, checker)
    assert {finding.rule for finding in report.findings} == {rule} | COMES_WITH.get(rule, set())
    own = next(finding for finding in report.findings if finding.rule == rule)
    unchecked = own.measure in UNREAD or rule in UNMEASURED
    assert report.verdict is (Verdict.UNCHECKED if unchecked else VERDICTS[own.severity])


@each_rule
def test_the_bad_example_is_told_in_full(rule: str, tmp_path: Path, checker: Checker, rulebook: Rulebook) -> None:
    """The measure gives every detail that the words may use, and a place on the canvas where there is one."""
    report = report_of(rule, 1, tmp_path, checker)
    own = next(finding for finding in report.findings if finding.rule == rule)
    measured = report.measures[own.measure]
    assert measured.unit == MEASURES[own.measure].unit
    assert measured.kind is None or measured.kind in MEASURES[own.measure].kinds
    assert set(MEASURES[own.measure].details) <= set(measured.details)
    for text in (own.title, own.seen, own.why, own.fix, own.operator):
        assert text
        assert "{" not in text
    assert bool(own.places) == (rule not in PLACELESS)
    size = report.print_size
    for place in own.places:
        assert size is not None
        assert size.mm_per_px is not None
        # Leftovers may lie beside the visible art, but never off the canvas.
        x, y = place.x_mm / size.mm_per_px + size.artwork.x, place.y_mm / size.mm_per_px + size.artwork.y
        assert 0 <= round(x) < size.canvas[0]
        assert 0 <= round(y) < size.canvas[1]


def test_the_script_writes_them_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path / "examples")]) == 0
    written = {path.relative_to(tmp_path / "examples").as_posix() for path in tmp_path.rglob("*.*") if path.is_file()}
    assert {f"{rule}/{name}" for rule in EXAMPLES for name in ("good", "bad")} <= {
        name.split(".")[0] for name in written
    }
    assert main([]) == 2
    assert "Usage" in capsys.readouterr().err
