"""What a web page of an A3 artwork costs, beside the check alone.

    python -m tests.bench.pages

CPU time (user and system) of a fresh process and of its children, the best of the runs, taken by turns, since other
work on the machine slows both. The sheets are those of ``speed``. The aim is 1.5 times.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from .heavy_sheets import PPI, SHEETS, make
from .speed import Cost, about, cost
from .tables import table

AIM = 1.5
_FINE = (0, 10, 11, 12)


def measure(path: Path, width_mm: float, page: Path, times: int) -> tuple[Cost, Cost]:
    """The check, and the check with its page."""
    command = [sys.executable, "-m", "preflight", "check", str(path), "--width", f"{width_mm:.3f}mm"]
    command += ["--size-of", "canvas", "--garment", "navy"]
    plain, paged = [], []
    for _ in range(times):
        plain.append(cost(command, _FINE))
        paged.append(cost([*command, "--format", "html", "--output", str(page)], _FINE))
    return min(plain, key=lambda run: run.cpu), min(paged, key=lambda run: run.cpu)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "bench-sheets")
    options.add_argument("--times", type=int, default=5)
    asked = options.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    page = asked.folder / "page.html"
    rows = []
    for name, told, _, pixels, _, group in SHEETS:
        if group != "a3":
            continue
        path = Path(make(asked.folder, name))
        check, paged = measure(path, pixels[0] * 25.4 / PPI, page, asked.times)
        ratio = paged.cpu / check.cpu
        rows.append((told, f"{check.cpu:.2f}", f"{paged.cpu:.2f}", f"**{ratio:.2f} ×**", f"{AIM:.1f} ×",
                     f"{page.stat().st_size / 1000:.0f}", "yes" if ratio <= AIM else "**no**"))  # fmt: skip
    print(about())
    print(table(("sheet", "check, s CPU", "with its page, s CPU", "ratio", "aim", "page, kB", "kept"), rows))
    return 0


if __name__ == "__main__":
    sys.exit(main())
