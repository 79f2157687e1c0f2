"""One round of the benchmark, on a seed that docs/accuracy.md does not use, held to the aims it states."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from . import scenes, widths
from .accuracy import numbers, run
from .scoring import ALARMS, Score

SEED = 20


@pytest.fixture(scope="module")
def scores(tmp_path_factory: pytest.TempPathFactory) -> list[Score]:
    keep = tmp_path_factory.mktemp("looked-at")
    return list(run(range(len(scenes.schedule())), SEED, keep, jobs=1))


def test_a_kind_picks_its_cases() -> None:
    order = scenes.schedule()
    picked = numbers(3, 400, "rim")
    assert {order[number % len(order)][0] for number in picked} == {"rim of another ground", "rim on a photograph"}
    assert len(picked) == sum("rim" in order[number % len(order)][0] for number in range(3, 403))
    assert numbers(3, 400, "") == list(range(3, 403))


def test_the_program_fails_on_no_case(scores: list[Score]) -> None:
    assert [(s.file, s.failed) for s in scores if s.failed] == []


def test_planted_faults_are_found(scores: list[Score]) -> None:
    missed = [(s.file, c.kind, c.rule, c.how) for s in scores for c in s.caught if c.how != "found"]
    planted = sum(len(s.caught) for s in scores)
    assert planted >= 80
    assert len(missed) <= 0.02 * planted, missed


def test_quiet_places_stay_quiet(scores: list[Score]) -> None:
    loud = [(s.file, s.kind, rule) for s in scores for rule, severity in s.alarms if severity in ALARMS]
    assert len(loud) <= 0.01 * sum(len(s.quiet) for s in scores), loud


@pytest.mark.parametrize("what", ["line", "gap"])
def test_widths_are_right_to_a_fiftieth_of_a_millimetre(what: str, tmp_path: Path) -> None:
    picked = [trial for trial in widths.trials(1) if trial.what == what][::7]
    read = [widths.read(trial, str(tmp_path)) for trial in picked]
    assert [r.trial for r in read if r.said is None] == []
    error = np.array([(r.said or 0) - r.trial.width for r in read])
    assert np.abs(error).max() <= 0.02
