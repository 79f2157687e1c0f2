"""What a web page and a PDF of an A3 artwork cost, beside the check alone.

    python -m tests.bench.pages

CPU time (user and system) of a fresh process and of its children, the best of the runs, taken by turns, since other
work on the machine slows both. The sheets are those of ``speed``. The aim is 1.5
times for a web page, 2 times for a PDF.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from .heavy_sheets import PPI, SHEETS, make
from .speed import Cost, about, cost
from .tables import table

#: Most CPU against the check alone, by format.
AIMS = {"html": 1.5, "pdf": 2.0}
_FINE = (0, 10, 11, 12)


def measure(path: Path, width_mm: float, folder: Path, times: int) -> dict[str, Cost]:
    """The check, under "text", and the check with its page, by format."""
    command = [sys.executable, "-m", "preflight", "check", str(path), "--width", f"{width_mm:.3f}mm"]
    command += ["--size-of", "canvas", "--garment", "navy"]
    runs: dict[str, list[Cost]] = {name: [] for name in ("text", *AIMS)}
    for _ in range(times):
        runs["text"].append(cost(command, _FINE))
        for name in AIMS:
            page = folder / f"page.{name}"
            runs[name].append(cost([*command, "--format", name, "--output", str(page)], _FINE))
    return {name: min(each, key=lambda run: run.cpu) for name, each in runs.items()}


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "bench-sheets")
    options.add_argument("--times", type=int, default=5)
    asked = options.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for sheet, told, _, pixels, _, group in SHEETS:
        if group != "a3":
            continue
        path = Path(make(asked.folder, sheet))
        found = measure(path, pixels[0] * 25.4 / PPI, asked.folder, asked.times)
        for name, aim in AIMS.items():
            ratio, size = found[name].cpu / found["text"].cpu, (asked.folder / f"page.{name}").stat().st_size
            rows.append((told, name, f"{found['text'].cpu:.2f}", f"{found[name].cpu:.2f}", f"**{ratio:.2f} ×**",
                         f"{aim:.1f} ×", f"{size / 1000:.0f}", "yes" if ratio <= aim else "**no**"))  # fmt: skip
    print(about())
    heads = ("sheet", "format", "check, s CPU", "with its page, s CPU", "ratio", "aim", "page, kB", "kept")
    print(table(heads, rows))
    return 0


if __name__ == "__main__":
    sys.exit(main())
