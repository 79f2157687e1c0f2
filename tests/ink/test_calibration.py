"""The shop's own grams: against SciPy, against simulated weighings whose truth is known, and what is refused."""

from __future__ import annotations

import time
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls
from scipy.stats import t as student

from preflight.ink.calibration import SPARE, Weighing, calibrate, profiles, scale_step
from preflight.ink.leastsquares import Doubles, nonnegative, solve
from preflight.ink.student import between, quantile

DAY = date(2026, 11, 24)
TRIALS, JOBS, NOISE = 1000, 30, 0.05
#: Invented shops: grams per m², per job, per day of cleaning. The last two have amounts at the bound.
TRUTHS = ((8.6, 0.15, 0.4), (18.4, 0.4, 1.8), (8.0, 0.0, 0.4), (8.0, 0.0, 0.0))


# ---- Student's t and the fit without negative amounts, against SciPy -------------------------------------------------


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 27, 28, 100, 1001])
def test_quantiles_are_those_of_scipy(freedom: int) -> None:
    for share in (0.5, 0.95, 0.999):
        assert quantile(share, freedom) == pytest.approx(student.ppf((1 + share) / 2, freedom), rel=1e-9)
        assert between(quantile(share, freedom), freedom) == pytest.approx(share, rel=1e-9)


def test_beyond_the_last_freedom_the_quantile_hardly_moves() -> None:
    assert quantile(0.95, 100_000) == pytest.approx(student.ppf(0.975, 100_000), rel=1e-3)


@given(st.integers(0, 2**32 - 1), st.integers(1, 3), st.integers(3, 40))
def test_the_fit_is_that_of_scipy(seed: int, amounts: int, jobs: int) -> None:
    chance = np.random.default_rng(seed)
    design = np.abs(chance.standard_normal((jobs, amounts)))
    measured = chance.standard_normal((5, jobs)) * 3 + design @ (chance.standard_normal(amounts) * 2)
    ours = nonnegative(np.broadcast_to(design, (5, *design.shape)), measured)
    for row, each in zip(measured, ours, strict=True):
        theirs, _ = nnls(design, row)
        assert each == pytest.approx(theirs, rel=1e-6, abs=1e-8)
        assert (each >= 0).all()


def test_like_columns_and_empty_ones_end_in_no_failure() -> None:
    design = np.ones((1, 6, 3))
    design[..., 2] = 0
    found = nonnegative(design, np.full((1, 6), 2.0))
    assert np.isfinite(found).all()
    assert found.sum() == pytest.approx(2.0)


# ---- simulated weighings ---------------------------------------------------------------------------------------------


def simulated(truth: tuple[float, ...], chance: np.random.Generator, jobs: int = JOBS) -> tuple[Doubles, Doubles]:
    """A design of jobs as a shop has them, and 1,000 rounds of weighing them on a scale of 0.01 g."""
    area = np.exp(chance.uniform(np.log(0.02), np.log(0.6), jobs))
    days = chance.integers(0, 3, jobs).astype(float)
    design = np.stack([area, np.ones(jobs), days], axis=1)[:, : len(truth)]
    weighed = design @ np.array(truth) * (1 + NOISE * chance.standard_normal((TRIALS, jobs)))
    return design, np.maximum(np.round(weighed, 2), 0.0)


@pytest.mark.parametrize("truth", TRUTHS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_truth_lies_in_the_interval_and_the_grams_are_near_it(truth: tuple[float, ...], seed: int) -> None:
    """30 jobs, 5 % noise. "Within 3 %" is read as: half of the 1,000 trials lie nearer than that."""
    design, weighed = simulated(truth, np.random.default_rng(seed))
    began = time.process_time()
    found = solve(design, weighed, 0.01)
    assert time.process_time() - began < 5
    inside = ((found.low <= truth) & (np.array(truth) <= found.high)).mean(axis=0)
    assert np.median(np.abs(found.amounts[:, 0] / truth[0] - 1)) < 0.03
    for amount, share in zip(truth, inside, strict=True):
        # An amount that is nothing cannot be missed from above: its interval holds it somewhat more often.
        assert 0.90 <= share <= (0.98 if amount else 0.995)


def test_the_grams_are_right_on_average() -> None:
    """Weights from the weighings themselves would put them 0.5 % too low."""
    design, weighed = simulated(TRUTHS[0], np.random.default_rng(7))
    found = solve(design, weighed, 0.01)
    spread = found.amounts[:, 0].std() / np.sqrt(TRIALS)
    assert abs(found.amounts[:, 0].mean() - TRUTHS[0][0]) < 4 * spread
    assert found.amounts[:, 0].mean() == pytest.approx(TRUTHS[0][0], rel=0.003)


def test_scatter_that_is_the_same_for_all_jobs_is_found_out() -> None:
    """Nobody tells the fit what kind of scatter there is: 0.1 g for each weighing, on a scale that shows 0.01 g."""
    chance = np.random.default_rng(11)
    design, _ = simulated(TRUTHS[0], chance)
    weighed = np.maximum(np.round(design @ np.array(TRUTHS[0]) + 0.1 * chance.standard_normal((TRIALS, JOBS)), 2), 0)
    found = solve(design, weighed, 0.01)
    inside = ((found.low <= TRUTHS[0]) & (np.array(TRUTHS[0]) <= found.high)).mean(axis=0)
    assert inside[0] >= 0.90
    assert inside.min() >= 0.85


def test_an_amount_at_its_bound_leaves_the_others_as_unsure_as_they_are() -> None:
    design, weighed = simulated(TRUTHS[3], np.random.default_rng(5))
    found = solve(design, weighed, 0.01)
    bound = found.amounts[:, 1] == 0
    assert 0.2 < bound.mean() < 0.8
    assert (found.low[bound, 1] == 0).all()
    assert (found.high[bound, 1] > 0).mean() > 0.9
    width = found.high[:, 0] - found.low[:, 0]
    assert width[bound].mean() == pytest.approx(width[~bound].mean(), rel=0.25)
    assert ((found.low <= found.amounts) & (found.amounts <= found.high)).all()


@pytest.mark.parametrize(
    ("grams", "step"), [((1.0, 2.0), 1.0), ((1.5, 2.0), 0.1), ((1.21, 2.0), 0.01), ((1.2134, 1.1), 0.001)]
)
def test_the_step_of_the_scale_is_read_off_the_figures(grams: tuple[float, ...], step: float) -> None:
    assert scale_step(np.array(grams)) == step


# ---- whole records ---------------------------------------------------------------------------------------------------


def job(number: int, area: float, grams: float, **more: object) -> Weighing:
    told = {"jobs": 1, "cleaning_days": 0.0, "separation": "film A", **more}
    return Weighing(DAY, f"job {number}", {"cyan": area}, {"cyan": grams}, line=number + 2, **told)  # type: ignore[arg-type]


def exact(areas: tuple[float, ...], days: tuple[float, ...] | None = None) -> list[Weighing]:
    """8 g on a square metre, 0.2 g for each job, 0.5 g for each day; weighed with a hundredth's scatter to and fro."""
    told = days or (0.0,) * len(areas)
    return [
        job(number, area, round((8 * area + 0.2 + 0.5 * day) * (1.01 if number % 2 else 0.99), 4), cleaning_days=day)
        for number, (area, day) in enumerate(zip(areas, told, strict=True))
    ]


def test_the_figures_come_back() -> None:
    areas = (0.05, 0.1, 0.2, 0.4, 0.8, 1.0, 0.3, 0.6)
    found = calibrate(exact(areas, (0, 1, 0, 2, 0, 1, 2, 0)))
    fit = found.fits["cyan"]
    assert fit.per_m2.likely == pytest.approx(8, rel=0.02)
    assert fit.per_job.likely == pytest.approx(0.2, abs=0.03)
    assert fit.per_day is not None
    assert fit.per_day.likely == pytest.approx(0.5, abs=0.05)
    assert 0.005 < fit.scatter < 0.02
    assert (found.jobs, found.last, list(found.fits), found.refusals) == (8, DAY, ["cyan"], {})
    assert not any(pair.far_off for pair in fit.pairs)


def test_what_was_only_cleaned_tells_the_cleaning() -> None:
    rows = exact((0.05, 0.1, 0.2, 0.4, 0.8), (0, 1, 0, 1, 0))
    rows += [job(9, 0.0, 1.0, jobs=0, cleaning_days=2.0), job(10, 0.0, 0.5, jobs=0, cleaning_days=1.0)]
    fit = calibrate(rows).fits["cyan"]
    assert fit.per_day is not None
    assert fit.per_day.likely == pytest.approx(0.5, rel=0.03)


def test_without_cleaning_nothing_is_said_of_it() -> None:
    found = calibrate(exact((0.05, 0.1, 0.2, 0.4, 0.8)))
    assert found.fits["cyan"].per_day is None
    assert any("nothing is said of cleaning" in remark for remark in found.remarks)


def test_two_like_jobs_are_refused_with_the_reason_and_what_to_print() -> None:
    found = calibrate(exact((0.2, 0.2)))
    refusal = found.refusals["cyan"]
    assert not found.fits
    assert "2 weighed jobs are too few for 2 figures" in refusal.why
    assert f"Weigh {SPARE} more that differ" in refusal.next_step
    assert "0.6 m² of cyan" in refusal.next_step  # three times the largest
    assert "at most 0.1 m²" in refusal.next_step  # half the smallest


@pytest.mark.parametrize(
    ("rows", "why", "step"),
    [
        (exact((0.2,) * 12), "too alike: all take 0.2 to 0.2 m²", "0.6 m² of cyan at 100 %"),
        (exact((0.2, 0.21, 0.25, 0.3, 0.33, 0.39, 0.28)), "cannot be told apart", "three times the copies"),
        (exact((0.1, 0.2, 0.4, 0.8)), "4 weighed jobs are too few for 2 figures", "Weigh 1 more"),
        (exact((0.1, 0.2, 0.4, 0.8, 1.6), (1, 0, 1, 0, 1)), "too few for 3 figures", "Weigh 1 more"),
        (exact((0.1, 0.2, 0.4, 0.8, 1.6, 0.3), (1,) * 6), "the same days of cleaning", "with no cleaning in between"),
        ([job(number, 0.0, 0.2) for number in range(8)], "no weighed job has any cyan", "Weigh a job with much cyan"),
        ([job(0, 0.1, 0.9)], "1 weighed job is too few", "Weigh 4 more"),
    ],
)
def test_what_says_nothing_is_refused(rows: list[Weighing], why: str, step: str) -> None:
    found = calibrate(rows)
    assert not found.fits
    assert why in found.refusals["cyan"].why
    assert step in found.refusals["cyan"].next_step


def test_cleaning_that_goes_with_the_area_is_refused() -> None:
    areas = (0.1, 0.2, 0.4, 0.8, 1.6, 0.3, 0.6)
    found = calibrate(exact(areas, tuple(10 * area for area in areas)))
    assert "cyan" in found.refusals


def test_wild_weighings_are_refused_not_dressed_up() -> None:
    chance = np.random.default_rng(3)
    rows = [job(n, area, float(chance.uniform(0.5, 9))) for n, area in enumerate((0.1, 0.3, 0.5, 0.7, 0.9, 1.1))]
    refusal = calibrate(rows).refusals["cyan"]
    assert "scatter so much" in refusal.why


def test_a_slip_of_the_pen_is_pointed_at() -> None:
    rows = exact((0.05, 0.1, 0.2, 0.4, 0.8, 1.0, 0.3, 0.6, 0.5, 0.7))
    wrong = job(4, 0.8, rows[4].grams["cyan"] * 10)
    refusal = calibrate([*rows[:4], wrong, *rows[5:]]).refusals["cyan"]
    assert "line 6 for a slip of the pen: 65.34 g" in refusal.next_step
    slight = job(4, 0.8, rows[4].grams["cyan"] * 1.25)
    found = calibrate([*rows[:4], slight, *rows[5:]])
    assert [pair.weighing.line for pair in found.fits["cyan"].pairs if pair.far_off] == [6]
    assert any("line 6" in remark for remark in found.remarks)


def test_honest_weighings_are_seldom_called_a_slip() -> None:
    chance = np.random.default_rng(8)
    called = 0
    for _ in range(25):
        area = np.exp(chance.uniform(np.log(0.02), np.log(0.6), 15))
        grams = np.round((8.6 * area + 0.15) * (1 + NOISE * chance.standard_normal(15)), 2)
        found = calibrate([job(n, float(a), float(g)) for n, (a, g) in enumerate(zip(area, grams, strict=True))])
        called += any(pair.far_off for fit in found.fits.values() for pair in fit.pairs)
    assert called <= 2


def test_files_with_inks_of_their_own_go_with_any_profile() -> None:
    rows = [job(0, 0.1, 1, separation="film A"), job(1, 0.1, 1, separation="film A + the file's own inks")]
    assert profiles(rows) == ["film A"]
    assert profiles([*rows, job(2, 0.1, 1, separation="film B")]) == ["film A", "film B"]
