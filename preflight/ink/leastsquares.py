"""Weighted least squares with no amount below zero, and how far each amount may be off. Many fits at once.

Three amounts at most are sought here: grams per square metre, per job and per day. So the best fit without negative
amounts is found exactly, by trying each of the seven choices of amounts that are above zero. SciPy's ``nnls`` gives
the same (a test holds the two together), does one fit at a time, and costs 0.5 s of import and 140 MB on the disk.
"""

from __future__ import annotations

from itertools import product
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from preflight.ink.student import quantile
from preflight.records import dataclass

Doubles: TypeAlias = npt.NDArray[np.float64]

#: How exact the statements are.
CONFIDENCE = 0.95
#: Share of a weighing that it scatters by: the first guess, and the least that is believed.
_SCATTER, _LEAST_SCATTER = 0.05, 0.005
#: Rounds of weighting by what the fit before says; the amounts then move by less than a thousandth (measured).
_ROUNDS = 6


@dataclass(frozen=True, slots=True)
class Solution:
    """Amounts and their intervals, each float64 of shape (trials, amounts); the rest of shape (trials,) or as said."""

    amounts: Doubles  #: none below zero
    low: Doubles
    high: Doubles
    free: Doubles  #: the amounts when they may be negative
    predicted: Doubles  #: g, shape (trials, jobs)
    sigma: Doubles  #: how far one weighing lies off, as a standard deviation in g, shape (trials, jobs)


def nonnegative(design: Doubles, measured: Doubles) -> Doubles:
    """Amounts that are zero or more and leave the least squared rest.

    Parameters
    ----------
    design
        Shape (trials, jobs, amounts), at most three amounts.
    measured
        Shape (trials, jobs).

    Returns
    -------
    Doubles
        Shape (trials, amounts).

    Notes
    -----
    The sought fit, left free on those amounts that it has above zero, is the plain least-squares fit on them: so it is
    among the plain fits on every choice of amounts, and of those without a negative amount the one with the least rest.
    """
    trials, _, count = design.shape
    square = np.einsum("tji,tjk->tik", design, design)
    diagonal = np.einsum("tii->ti", square)  # a view: a hair more there, so that like columns can be solved for
    diagonal[:] = np.where(diagonal == 0, 1.0, diagonal * (1 + 1e-12))
    right = np.einsum("tji,tj->ti", design, measured)
    best, gained = np.zeros((trials, count)), np.zeros(trials)
    for choice in product((False, True), repeat=count):
        used = np.flatnonzero(choice)
        if not len(used):
            continue
        solved = np.linalg.solve(square[:, used[:, None], used], right[:, used, None])[..., 0]
        gain = (solved * right[:, used]).sum(axis=1)
        better = (solved >= 0).all(axis=1) & (gain > gained)
        best[better] = 0.0
        best[np.ix_(better, used)] = solved[better]
        gained[better] = gain[better]
    return best


def solve(design: Doubles, measured: Doubles, step: float) -> Solution:
    """Fit amounts to weighings whose scatter grows with what is weighed.

    Parameters
    ----------
    design
        What each job took of each amount (square metres, jobs, days), shape (jobs, amounts), of full rank, with more
        jobs than amounts.
    measured
        Grams, shape (trials, jobs).
    step
        The step of the scale, g. A difference of two readings scatters by step ÷ √6 (each is even within its step).

    Returns
    -------
    Solution

    Notes
    -----
    A weighing of 100 g is off by more than one of 1 g, and none is better than its scale. So each is divided by its
    expected scatter, √(a² + (b × grams)²). The grams are those that the fit says: with those of the weighing itself,
    the ones that came out too low would count most. a and b are found from what the fit leaves over, in the same way
    as the amounts; a is never less than the scale's step allows.

    The intervals are those of the free fit (Student's t), cut at zero, and widened where they do not hold the amount.
    That is honest at the bound too: an amount of zero that could as well be 0.2 is told as "0 to 0.2", and the others
    keep the width that this doubt gives them. Fixing it at zero would make them look surer than they are.
    """
    trials, jobs = measured.shape
    count = design.shape[1]
    predicted, fixed, share = measured, np.full(trials, step**2 / 6), np.full(trials, _SCATTER**2)
    for turn in range(_ROUNDS):
        sigma = _sigma(predicted, fixed, share)
        scaled = design[None] / sigma[..., None]
        amounts = nonnegative(scaled, measured / sigma)
        predicted = amounts @ design.T
        if turn:
            fixed, share = _scatter(predicted, measured, sigma, jobs / (jobs - count), step)
    inverse = np.linalg.inv(np.einsum("tji,tjk->tik", scaled, scaled))
    free = np.einsum("tik,tjk,tj->ti", inverse, scaled, measured / sigma)
    rest = ((measured - free @ design.T) / sigma) ** 2
    spread = np.sqrt(rest.sum(axis=1) / (jobs - count))
    half = quantile(CONFIDENCE, jobs - count) * spread[:, None] * np.sqrt(np.einsum("tii->ti", inverse))
    low = np.minimum(np.maximum(free - half, 0.0), amounts)
    high = np.maximum(free + half, amounts)
    return Solution(amounts, low, high, free, predicted, sigma * spread[:, None])


def _sigma(predicted: Doubles, fixed: Doubles, share: Doubles) -> Doubles:
    sigma = np.sqrt(fixed[:, None] + share[:, None] * np.maximum(predicted, 0.0) ** 2)
    floor = np.maximum(1e-3 * sigma.max(axis=1, keepdims=True), 1e-12)
    result: Doubles = np.maximum(sigma, floor)
    return result


def _scatter(
    predicted: Doubles, measured: Doubles, sigma: Doubles, freedom: float, step: float
) -> tuple[Doubles, Doubles]:
    """The scatter that is the same for all, g², and the share of what is weighed, squared; each of shape (trials,)."""
    parts = np.stack([np.ones_like(predicted), predicted**2], axis=-1) / (sigma**2)[..., None]
    found = nonnegative(parts, (measured - predicted) ** 2 / sigma**2 * freedom)
    return np.maximum(found[:, 0], step**2 / 6), np.maximum(found[:, 1], _LEAST_SCATTER**2)
