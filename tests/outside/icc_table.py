"""An independent reader of an ICC profile's lookup tables, in floating point and without any shortcut.

Only ``lut16Type`` ("mft2") of version 2 profiles. Source: ICC.1:2001-04, 6.5.8 (lut16Type) and annex A (16-bit Lab:
L* × 652.8, (a* + 128) × 256). How to interpolate is left to the implementation. LittleCMS takes the corners of a cube
(multilinear) where Lab goes in, and tetrahedra in the last three inks where inks go in; so does this.
"""

from __future__ import annotations

import itertools
import struct
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Doubles = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Table:
    curves_in: Doubles  #: (inputs, entries)
    grid: Doubles  #: (points, …, outputs)
    curves_out: Doubles


def read_table(icc: bytes, tag: str) -> Table:
    count = struct.unpack(">I", icc[128:132])[0]
    entries = [struct.unpack(">4sII", icc[132 + 12 * n : 144 + 12 * n]) for n in range(count)]
    offset = next(offset for name, offset, _ in entries if name == tag.encode())
    block = icc[offset:]
    assert block[:4] == b"mft2"
    inputs, outputs, points = block[8], block[9], block[10]
    before, after = struct.unpack(">HH", block[48:52])
    lengths = (inputs * before, points**inputs * outputs, outputs * after)
    numbers = np.frombuffer(block, ">u2", sum(lengths), 52) / 65535
    first, second, third = np.split(numbers, np.cumsum(lengths)[:2])
    grid = second.reshape((points,) * inputs + (outputs,))
    return Table(first.reshape(inputs, before), grid, third.reshape(outputs, after))


def to_inks(table: Table, lab: Doubles) -> Doubles:
    """Inks 0…1 of Lab colours (n, 3)."""
    stored = np.column_stack([lab[:, 0] * 652.8, (lab[:, 1] + 128) * 256, (lab[:, 2] + 128) * 256]) / 65535
    return _look_up(table, stored, _multilinear)


def to_lab(table: Table, inks: Doubles) -> Doubles:
    """Lab of inks 0…1 (n, 4)."""
    stored = _look_up(table, inks, _tetrahedral) * 65535
    return np.column_stack([stored[:, 0] / 652.8, stored[:, 1] / 256 - 128, stored[:, 2] / 256 - 128])


def _look_up(table: Table, values: Doubles, between: Callable[[Doubles, Doubles], Doubles]) -> Doubles:
    inside = np.clip(_curved(table.curves_in, values), 0, 1)
    return _curved(table.curves_out, between(table.grid, inside * (table.grid.shape[0] - 1)))


def _curved(curves: Doubles, values: Doubles) -> Doubles:
    steps = np.linspace(0, 1, curves.shape[1])
    return np.column_stack([np.interp(values[:, n], steps, curve) for n, curve in enumerate(curves)])


def _split(grid: Doubles, at: Doubles) -> tuple[npt.NDArray[np.int64], Doubles]:
    corner = np.minimum(at.astype(np.int64), grid.shape[0] - 2)
    return corner, at - corner


def _multilinear(grid: Doubles, at: Doubles) -> Doubles:
    corner, rest = _split(grid, at)
    total = np.zeros((len(at), grid.shape[-1]))
    for steps in itertools.product((0, 1), repeat=at.shape[1]):
        weight = np.prod(np.where(np.array(steps) == 1, rest, 1 - rest), axis=1)
        total += weight[:, None] * grid[tuple((corner + steps).T)]
    return total


def _tetrahedral(grid: Doubles, at: Doubles) -> Doubles:
    """Tetrahedra over the last three inputs, linear over the first."""
    corner, rest = _split(grid, at)
    ends = []
    for step in (0, 1):
        here = corner.copy()
        here[:, 0] += step
        ends.append(_tetrahedron(grid, here, rest[:, 1:]))
    return ends[0] + (ends[1] - ends[0]) * rest[:, :1]


def _tetrahedron(grid: Doubles, corner: npt.NDArray[np.int64], rest: Doubles) -> Doubles:
    order = np.argsort(-rest, axis=1, kind="stable")
    sorted_rest = np.take_along_axis(rest, order, axis=1)
    falling = np.column_stack([np.ones(len(rest)), sorted_rest, np.zeros(len(rest))])
    here, rows = corner.copy(), np.arange(len(rest))
    total = grid[tuple(here.T)] * (falling[:, :1] - falling[:, 1:2])
    for n in range(3):
        here[rows, order[:, n] + 1] += 1
        total = total + grid[tuple(here.T)] * (falling[:, n + 1] - falling[:, n + 2])[:, None]
    return total
