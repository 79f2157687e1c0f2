"""By hand: every document of a folder against the drawing library's own list of its objects, and drawn.

    python -m tests.intake.pdf.tally FOLDER

Tells how many pictures, kinds of text and line widths both know, what only one side knows, how each file was answered,
and the slowest. What the drawing library lists as hidden or not is not told apart, and it lists no annotations.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

from preflight.errors import IntakeError
from preflight.intake.pdf import found, open_pdf
from preflight.intake.pdf.matrix import box_after
from tests.intake.pdf.making import LIMIT
from tests.intake.pdf.pdfium_objects import Listed

MOST_PAGES = 20
found.MOST_KEPT = 10**6  # all objects, not the worst


def main(folder: Path) -> None:
    tally, times = Counter(), []
    for path in sorted(folder.rglob("*.pdf")):
        if not path.is_file():
            continue
        start = time.perf_counter()
        try:
            compare(path, tally)
        except IntakeError as refusal:
            tally[f"file: {refusal.what}"] += 1
        else:
            tally["file: read and drawn"] += 1
        times.append((time.perf_counter() - start, str(path.relative_to(folder))))
    for what, count in sorted(tally.items()):
        print(f"{count:7,}  {what}")
    for seconds, name in sorted(times)[-5:]:
        print(f"{seconds:6.2f} s  {name}")


def compare(path: Path, tally: Counter[str]) -> None:
    pages = open_pdf(path, pixel_limit=LIMIT)[:MOST_PAGES]
    with Listed(path) as listed:
        for index, page in enumerate(pages):
            facts, box = page.document, page._file.look().box
            for _ in page.at_ppi(36).strips():
                pass
            if index >= listed.pages:
                tally["page that only we see"] += 1
                continue
            shown = [thing for thing in listed.page(index) if lies_on(thing.box, box)]
            tally["page"] += 1
            unit = 72 / box.unit
            both(
                tally,
                "picture",
                [picture.ppi for picture in facts.pictures],
                [thing.density * unit for thing in shown if thing.kind == "picture" and thing.density],
            )
            both(tally, "text size", {run.size_pt for run in facts.texts}, {
                thing.size * box.unit for thing in shown if thing.kind == "text" and thing.size})  # fmt: skip
            both(tally, "line width", {round(stroke.width_mm, 3) for stroke in facts.strokes}, {
                round(thing.width * box.unit * 25.4 / 72, 3) for thing in shown if thing.kind == "stroke"})  # fmt: skip


def lies_on(thing, box) -> bool:
    left, top, right, bottom = box_after(thing, box.to_mm)
    width, height = box.size_mm
    return right >= 0 and bottom >= 0 and left <= width and top <= height


def both(tally: Counter[str], what: str, ours, theirs) -> None:
    """Pair equal figures, to 0.2 %."""
    left = sorted(theirs)
    for figure in sorted(ours):
        near = next((one for one in left if abs(one - figure) <= max(0.002, 0.002 * figure)), None)
        if near is None:
            tally[f"{what} that only we see"] += 1
        else:
            left.remove(near)
            tally[f"{what} that both see"] += 1
    tally[f"{what} that only the drawing library sees"] += len(left)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
