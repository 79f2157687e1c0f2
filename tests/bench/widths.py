"""Widths of lines and gaps: what the program says against what was drawn.

    python -m tests.bench.widths --jobs 2 --write

One line or gap to a picture, 0.12 to 0.47 mm (gaps to the limit of 0.40), 300 ppi, at 0 to 90 degrees and bent to
radii of 2 to 10 mm, lying anywhere between the pixels. The table goes into docs/accuracy.md.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image

from preflight.model import Ticket

from . import shapes
from .asking import answer
from .raster import Sheet
from .tables import put, share, table

PPI = 300.0
SIDE_MM = 24.0
LINE_WIDTHS = np.round(np.arange(0.12, 0.4701, 0.025), 4)
GAP_WIDTHS = np.round(np.arange(0.12, 0.3801, 0.02), 4)
ANGLES = (0, 5, 11, 18, 26.57, 33, 40, 45, 52, 61, 70, 78, 85, 90)
RADII = (2, 3, 5, 10)


@dataclass(frozen=True, slots=True)
class Trial:
    """One picture: what to draw."""

    what: str  #: "line" or "gap"
    bend: str  #: "straight" or "bent"
    width: float
    turn: float  #: angle, or radius when bent
    number: int


@dataclass(frozen=True, slots=True)
class Read:
    trial: Trial
    said: float | None


def trials(repeat: int) -> list[Trial]:
    found: list[Trial] = []
    for what, widths in (("line", LINE_WIDTHS), ("gap", GAP_WIDTHS)):
        for width in widths:
            for bend, turns in (("straight", ANGLES), ("bent", RADII)):
                found += [Trial(what, bend, float(width), float(turn), i) for turn in turns for i in range(repeat)]
    return found


def picture(trial: Trial) -> Sheet:
    """The line or gap, a disc beside it, and an offset against the pixel grid by chance."""
    rng = np.random.default_rng([len(trial.what), trial.number, round(trial.width * 1e4), round(trial.turn * 100)])
    sheet = Sheet(SIDE_MM, SIDE_MM, PPI, (float(rng.uniform(0, 0.1)), float(rng.uniform(0, 0.1))))
    colour, middle = (40, 60, 110), SIDE_MM / 2
    if trial.bend == "straight":
        mark = shapes.line(middle, middle, 9, trial.width, trial.turn)
    else:
        sweep = min(200.0, np.degrees(9 / trial.turn))
        start = float(rng.uniform(0, 360))
        half = np.radians(start + sweep / 2)
        x, y = middle - trial.turn * np.cos(half) * 0.6, middle - trial.turn * np.sin(half) * 0.6
        mark = shapes.arc(float(x), float(y), trial.turn, start, sweep, trial.width)
    if trial.what == "line":
        sheet.fill(mark, colour)
        sheet.fill(shapes.disc(2.6, 2.6, 1.6), colour)
    else:
        sheet.fill(shapes.rounded(1, 1, SIDE_MM - 2.2, SIDE_MM - 2.2, 2), colour)
        sheet.cut(mark)
    return sheet


def read(trial: Trial, folder: str) -> Read:
    sheet = picture(trial)
    path = Path(folder) / f"{trial.what}-{trial.bend}-{trial.width}-{trial.turn}-{trial.number}.png"
    Image.fromarray(sheet.rgba(), "RGBA").save(path, compress_level=1)
    ticket = Ticket(width_mm=sheet.width * 25.4 / PPI, size_of="canvas")
    said = answer(path, ticket).values.get(f"narrowest-{trial.what}")
    path.unlink()
    return Read(trial, said)


def report(results: list[Read]) -> str:
    """Error of the width, and how many were not seen at all."""
    groups: dict[str, list[Read]] = defaultdict(list)
    for result in results:
        trial = result.trial
        groups[f"{trial.what}, {trial.bend}"].append(result)
        band = "under 0.20" if trial.width < 0.2 else "0.20–0.35" if trial.width < 0.35 else "0.35 and over"
        groups[f"{trial.what}, {band} mm"].append(result)
    rows = []
    for name, group in sorted(groups.items()):
        error = np.array([r.said - r.trial.width for r in group if r.said is not None])
        unseen = len(group) - len(error)
        if not len(error):
            rows.append((name, len(group), unseen, "–", "–", "–", "–"))
            continue
        within = int((np.abs(error) <= 0.02).sum())
        rows.append((name, len(group), unseen, f"{error.mean():+.3f}", f"{np.abs(error).mean():.3f}",
                     f"{np.abs(error).max():.3f}", share(within, len(group))))  # fmt: skip
    head = ("drawn", "pictures", "not seen", "mean error, mm", "mean size of error", "largest", "within 0.02 mm")
    return table(head, rows)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--jobs", type=int, default=1)
    options.add_argument("--repeat", type=int, default=1, help="pictures for each width and angle")
    options.add_argument("--worst", type=int, default=12, help="how many of the worst to list")
    options.add_argument("--write", action="store_true", help="write the table to docs/accuracy.md")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-") as folder, ProcessPoolExecutor(asked.jobs) as pool:
        results = list(pool.map(partial(read, folder=folder), trials(asked.repeat), chunksize=8))
    print(report(results))
    order = sorted(results, key=lambda r: -1.0 if r.said is None else -abs(r.said - r.trial.width))
    for result in order[: asked.worst]:
        print(result.trial, "said", result.said, file=sys.stderr)
    if asked.write:
        put("accuracy.md", "widths", report(results))
    return 0


if __name__ == "__main__":
    sys.exit(main())
