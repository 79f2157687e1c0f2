"""The shop's own grams, from jobs that were weighed: for one square metre, for each job, and for a day's cleaning.

Each channel is weighed and fitted by itself::

    grams = (g/m²) × m² at 100 %  +  (g per job) × jobs  +  (g per day) × days with cleaning
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from datetime import date
from typing import NamedTuple

import numpy as np

from preflight.ink.leastsquares import Doubles, solve
from preflight.ink.student import quantile
from preflight.model import CHANNELS
from preflight.records import dataclass
from preflight.shop import Grams

#: Weighings that must be left over after one for each amount that is sought: fewer say next to nothing of the scatter.
SPARE = 3
#: The largest job must take so many times the area of the smallest, or amount per m² and per job look the same.
LEAST_SPREAD = 2.0
#: A g/m² that may be off by more than this share, either way, is no better than the default: it is not told.
WIDEST = 0.35
#: A weighing is worth a look when chance alone would put one of all of them as far off so seldom.
_SELDOM = 0.001
#: Among more weighings than this one slip hardly draws the fit to itself, and the fit of all serves to look at each.
_MANY = 100
_STEPS = (1.0, 0.1, 0.01, 0.001)


@dataclass(frozen=True, slots=True)
class Weighing:
    """One line of the shop's records: what was printed between two weighings, and what was gone."""

    day: date
    job: str
    areas_m2: Mapping[str, float]  #: of every channel, at 100 %, all copies
    grams: Mapping[str, float]  #: of the channels that were weighed
    jobs: int = 1  #: 0: nothing was printed, only cleaned
    cleaning_days: float = 0.0
    separation: str = ""  #: the profile that the areas come from
    mode: str = ""
    line: int = 0  #: in the file of records


@dataclass(frozen=True, slots=True)
class Pair:
    """One weighing beside what the fit says of it, g."""

    weighing: Weighing
    weighed: float
    predicted: float
    sigma: float  #: how far a weighing of this size lies off, one standard deviation
    far_off: bool = False  #: worth a look for a slip of the pen


@dataclass(frozen=True, slots=True)
class ChannelFit:
    """What the weighings say of one channel."""

    channel: str
    per_m2: Grams
    per_job: Grams
    per_day: Grams | None  #: None: no weighing spans a day with cleaning
    pairs: tuple[Pair, ...]

    @property
    def scatter(self) -> float:
        """How far the weighings lie off the fit, as a share: root of the mean square, weighed by size."""
        total = sum(pair.predicted**2 for pair in self.pairs)
        return (
            float((sum((pair.weighed - pair.predicted) ** 2 for pair in self.pairs) / total) ** 0.5) if total else 0.0
        )


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why the weighings say nothing of one channel, and what to weigh next."""

    channel: str
    why: str
    next_step: str


@dataclass(frozen=True, slots=True)
class Calibration:
    """What all weighings say."""

    fits: Mapping[str, ChannelFit]
    refusals: Mapping[str, Refusal]
    weighings: tuple[Weighing, ...]
    remarks: tuple[str, ...] = field(default=())  #: whole sentences

    @property
    def jobs(self) -> int:
        """How many weighings were used."""
        return len({id(pair.weighing) for fit in self.fits.values() for pair in fit.pairs})

    @property
    def last(self) -> date:
        """Day of the last weighing that was used."""
        return max(pair.weighing.day for fit in self.fits.values() for pair in fit.pairs)


def calibrate(weighings: Sequence[Weighing]) -> Calibration:
    """Fit every channel that was weighed, or say why not.

    Parameters
    ----------
    weighings
        In any order. Their areas have to come from one profile; see ``profiles``.

    Returns
    -------
    Calibration
        A channel that nobody weighed is in neither mapping.
    """
    fits: dict[str, ChannelFit] = {}
    refusals: dict[str, Refusal] = {}
    for channel in CHANNELS:
        rows = [weighing for weighing in weighings if channel in weighing.grams]
        if not rows:
            continue
        answer = _channel(channel, rows)
        if isinstance(answer, Refusal):
            refusals[channel] = answer
        else:
            fits[channel] = answer
    return Calibration(fits, refusals, tuple(weighings), tuple(_remarks(weighings, fits)))


def profiles(weighings: Sequence[Weighing]) -> list[str]:
    """The profiles that the areas come from. Files with inks of their own go with any: they asked none."""
    names = {name for weighing in weighings for name in weighing.separation.split(" + ") if name}
    return sorted(name for name in names if "own inks" not in name)


def _channel(channel: str, rows: Sequence[Weighing]) -> ChannelFit | Refusal:
    area = np.array([row.areas_m2.get(channel, 0.0) for row in rows])
    jobs = np.array([float(row.jobs) for row in rows])
    days = np.array([row.cleaning_days for row in rows])
    cleaned = bool((days > 0).any())
    refusal = _too_few(channel, area, 3 if cleaned else 2) or _too_like(channel, area)
    refusal = refusal or (_days_alike(channel, jobs, days) if cleaned else None)
    if refusal is not None:
        return refusal
    design = np.stack([area, jobs, days] if cleaned else [area, jobs], axis=1)
    weighed = np.array([row.grams[channel] for row in rows])
    if np.linalg.matrix_rank(design / design.max(axis=0), tol=1e-6) < design.shape[1]:
        return _alike(channel, area)
    solution = solve(design, weighed[None], scale_step(weighed))
    amounts = [
        Grams(*(float(each[0, number]) for each in (solution.amounts, solution.low, solution.high)))
        for number in range(design.shape[1])
    ]
    per_m2 = amounts[0]
    if per_m2.likely <= 0 or per_m2.high - per_m2.low > 2 * WIDEST * per_m2.likely:
        return _too_vague(channel, per_m2, area, _slip(design, weighed, rows))
    slip = _slip(design, weighed, rows)
    said = zip(rows, weighed.tolist(), solution.predicted[0].tolist(), solution.sigma[0].tolist(), strict=True)
    pairs = tuple(Pair(*each, far_off=slip is not None and slip.row is each[0]) for each in said)
    return ChannelFit(channel, per_m2, amounts[1], amounts[2] if cleaned else None, pairs)


def scale_step(grams: Doubles) -> float:
    """The step of the scale, g: the coarsest of 1, 0.1, 0.01 and 0.001 that every weighing is a multiple of."""
    exact = (step for step in _STEPS if np.allclose(grams / step, np.round(grams / step), rtol=0, atol=1e-6))
    return next(exact, _STEPS[-1])


class _Slip(NamedTuple):
    """The weighing that lies farthest from what all others say, when it lies too far for chance."""

    row: Weighing
    weighed: float
    others: float  #: what the others say of it


def _slip(design: Doubles, weighed: Doubles, rows: Sequence[Weighing]) -> _Slip | None:
    """Look at each weighing with the eyes of all others: a slip among them would draw the fit to itself."""
    count, amounts = design.shape
    whole = solve(design, weighed[None], scale_step(weighed)) if count > _MANY else None
    limit = quantile(1 - _SELDOM / count, count - 1 - amounts)
    found, farthest = None, limit
    for number in range(count):
        others = np.arange(count) != number
        left = design[others]
        if np.linalg.matrix_rank(left / np.maximum(left.max(axis=0), 1e-12), tol=1e-6) < amounts:
            continue
        solution = whole or solve(left, weighed[others][None], scale_step(weighed))
        said = float(design[number] @ solution.amounts[0])
        sigma = float(np.interp(said, *_by_size(solution.predicted[0], solution.sigma[0])))
        far = abs(float(weighed[number]) - said) / sigma
        if far > farthest:
            found, farthest = _Slip(rows[number], float(weighed[number]), said), far
    return found


def _by_size(predicted: Doubles, sigma: Doubles) -> tuple[Doubles, Doubles]:
    order = np.argsort(predicted)
    return predicted[order], sigma[order]


# ---- when the weighings say nothing -------------------------------------------------------------------------------


def _too_few(channel: str, area: Doubles, sought: int) -> Refusal | None:
    printed, need = int((area > 0).sum()), sought + SPARE
    if not printed:
        return Refusal(
            channel, f"no weighed job has any {channel} in it", f"Weigh a job with much {channel}, and one with little."
        )
    if len(area) >= need:
        return None
    weighed = "1 weighed job is" if len(area) == 1 else f"{len(area)} weighed jobs are"
    more = f"Weigh {need - len(area)} more, some large and some small."
    if _spread(area) < LEAST_SPREAD:
        more = f"Weigh {need - len(area)} more that differ. {_unlike(channel, area)}"
    return Refusal(channel, f"{weighed} too few for {sought} figures", more)


def _too_like(channel: str, area: Doubles) -> Refusal | None:
    return _alike(channel, area) if _spread(area) < LEAST_SPREAD else None


def _alike(channel: str, area: Doubles) -> Refusal:
    used = area[area > 0]
    why = (
        f"the jobs are too alike: all take {used.min():.3g} to {used.max():.3g} m² of {channel}, so what a job takes "
        "for its area and what it takes anyhow cannot be told apart"
    )
    return Refusal(channel, why, _unlike(channel, area))


def _unlike(channel: str, area: Doubles) -> str:
    """What to print next, so that areas differ."""
    used = area[area > 0]
    much, little = 3 * used.max(), used.min() / 2
    return (
        f"Print one job with about {much:.2g} m² of {channel} at 100 % (the largest one with three times the copies "
        f"will do) and one with at most {little:.2g} m²."
    )


def _spread(area: Doubles) -> float:
    """Largest area ÷ smallest; a weighing without any of this ink tells the fixed amount best of all."""
    return float("inf") if (area == 0).any() else float(area.max() / area.min())


def _days_alike(channel: str, jobs: Doubles, days: Doubles) -> Refusal | None:
    """When each job comes with the same cleaning, the two cannot be told apart."""
    if np.linalg.matrix_rank(np.stack([jobs / max(jobs.max(), 1.0), days / days.max()], axis=1), tol=1e-6) > 1:
        return None
    why = "every weighing spans the same days of cleaning for each job, so the two cannot be told apart"
    return Refusal(channel, why, "Weigh one job with no cleaning in between, and one over more days than the others.")


def _too_vague(channel: str, per_m2: Grams, area: Doubles, slip: _Slip | None) -> Refusal:
    span = f"{per_m2.low:.3g} to {per_m2.high:.3g} g/m²"
    why = f"the weighings scatter so much that {channel} could be anything from {span}"
    if slip is not None:
        return Refusal(channel, why, _look(slip))
    step = f"Print and weigh three jobs with {2 * area.max():.2g} m² of {channel} or more: large ones are read best."
    return Refusal(channel, why, step)


def _look(slip: _Slip) -> str:
    return (
        f"Look at line {slip.row.line} for a slip of the pen: {slip.weighed:.4g} g stand there, and by all the others "
        f"it should be {slip.others:.4g} g."
    )


def _remarks(weighings: Sequence[Weighing], fits: Mapping[str, ChannelFit]) -> Iterator[str]:
    for fit in fits.values():
        for pair in fit.pairs:
            if pair.far_off:
                yield (
                    f"{fit.channel.capitalize()}, line {pair.weighing.line}: {pair.weighed:.4g} g were weighed where "
                    f"the fit says {pair.predicted:.4g} g. Look for a slip of the pen."
                )
        if fit.per_day is None:
            yield f"{fit.channel.capitalize()}: no weighing spans a day with cleaning, so nothing is said of cleaning."
    modes = sorted({weighing.mode for weighing in weighings if weighing.mode})
    if len(modes) > 1:
        yield (
            f"The jobs were printed in several modes ({', '.join(modes)}). If those lay down different amounts, keep "
            "a file of records for each."
        )
