"""The long run, by hand: every parser in turn.

    python -m tests.fuzz --minutes 60 --folder FOLDER --write

With atheris (``pip install atheris``: Python up to 3.13, Linux and macOS) new files are made where they reach new code;
without it, by chance alone from the good files. Each parser has its own process, its share of the time and a folder
for what it finds; ``--again`` gives such a file to a parser once more.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.metadata
import importlib.util
import io
import os
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TypeAlias

from tests.bench.tables import machine, put, table

#: Parser, files, minutes, how much was found.
Row: TypeAlias = tuple[str, int, float, int]
_ROOT = Path(__file__).parents[2]
_DONE = re.compile(r"Done (\d+) runs in (\d+) second|stat::number_of_executed_units:\s*(\d+)|^#(\d+)\s", re.MULTILINE)
#: Seconds after which one file counts as an endless loop, and megabytes.
_ENDLESS, _MEMORY = 20, 3000


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--minutes", type=float, default=10.0, help="for all parsers together")
    options.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "fuzz", help="for what is found")
    options.add_argument("--only", nargs="*", default=(), help="parsers whose name contains one of these")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--chance", action="store_true", help="without atheris though it is installed")
    options.add_argument("--again", type=Path, help="give this file to the parsers")
    options.add_argument("--write", action="store_true", help="write the table to docs/reliability.md")
    options.add_argument("--child", help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.child is not None:
        return _child(asked)
    from .targets import all_targets, give

    chosen = [one for one in all_targets() if not asked.only or any(part in one.name for part in asked.only)]
    if asked.again is not None:
        with tempfile.TemporaryDirectory() as folder:
            for target in chosen:
                print(target.name, give(target, asked.again.read_bytes(), Path(folder)))
        return 0
    asked.folder.mkdir(parents=True, exist_ok=True)
    rows = [_one(target.name, asked, asked.minutes * 60 / len(chosen)) for target in chosen]
    text = _told(rows, asked)
    print(text)
    if asked.write:
        put("reliability.md", "fuzz", text)
    return 1 if any(found for *_, found in rows) else 0


def _told(rows: Sequence[Row], asked: argparse.Namespace) -> str:
    files, minutes, found = (sum(row[column] for row in rows) for column in (1, 2, 3))
    how = f"guided by atheris {importlib.metadata.version('atheris')}" if _guides(asked) else "by chance"
    opening = f"{machine()}; {how}, seed {asked.seed}: {files:,} files in {minutes:.0f} minutes, **{found}** found."
    shown = [(name, f"{files:,}", f"{minutes:.1f}", found) for name, files, minutes, found in rows]
    return f"{opening}\n\n{table(('parser', 'files', 'minutes', 'found'), shown)}"


def _one(name: str, asked: argparse.Namespace, seconds: float) -> Row:
    """Fuzz one parser in a process of its own until its time is over."""
    place = asked.folder / name.replace(" ", "-")
    place.mkdir(exist_ok=True)
    until, count, start, found = time.monotonic() + seconds, 0, time.monotonic(), 0
    seed = asked.seed
    while (left := until - time.monotonic()) > 1:
        run = [sys.executable, "-m", "tests.fuzz", "--child", name, "--minutes", str(left / 60), "--folder", str(place)]
        run += ["--seed", str(seed), *(["--chance"] if asked.chance else [])]
        before = set(place.glob("*-*"))
        done = subprocess.run(run, capture_output=True, text=True, errors="replace", cwd=_ROOT, check=False,
                              env=os.environ | {"PYTHONPATH": str(_ROOT)})  # fmt: skip
        count += max((int(next(filter(None, match))) for match in _DONE.findall(done.stderr)), default=0)
        new = set(place.glob("*-*")) - before
        if done.returncode == 0 and not new:
            break
        found += 1
        seed += 1
        said = f"{done.stdout[-20_000:]}{done.stderr[-20_000:]}\nended with {done.returncode}\n"
        (place / f"said.{found}.txt").write_text(said, encoding="utf-8")
        print(f"{name}: {done.stderr.strip().splitlines()[-1:]} {[path.name for path in new]}", file=sys.stderr)
        if found >= 20:
            break
    row = (name, count, (time.monotonic() - start) / 60, found)
    print(*row, file=sys.stderr, flush=True)
    return row


def _guides(asked: argparse.Namespace) -> bool:
    return importlib.util.find_spec("atheris") is not None and not asked.chance


def _child(asked: argparse.Namespace) -> int:
    """The process that fuzzes one parser."""
    return _guided(asked) if _guides(asked) else _by_chance(asked)


def _guided(asked: argparse.Namespace) -> int:
    import atheris

    with atheris.instrument_imports(include=["preflight"]), contextlib.redirect_stderr(io.StringIO()):
        from .targets import all_targets, give

        target = next(one for one in all_targets() if one.name == asked.child)
    corpus = asked.folder / "corpus"
    corpus.mkdir(exist_ok=True)
    for number, data in enumerate(target.seeds):
        (corpus / f"seed{number}").write_bytes(data)
    lines = [f'"{"".join(f"{chr(92)}x{byte:02x}" for byte in word)}"\n' for word in target.words if 0 < len(word) <= 60]
    (asked.folder / "words.dict").write_text("".join(lines), encoding="ascii")
    scratch = Path(tempfile.mkdtemp(prefix="fuzz-"))
    arguments = [
        "fuzz", f"-max_total_time={max(1, int(asked.minutes * 60))}", f"-timeout={_ENDLESS}",
        f"-rss_limit_mb={_MEMORY}",
        f"-seed={asked.seed}", f"-artifact_prefix={asked.folder}/", f"-dict={asked.folder}/words.dict",
        "-max_len=20000",
        "-print_final_stats=1", "-verbosity=1", str(corpus),
    ]  # fmt: skip
    atheris.Setup(arguments, lambda data: give(target, data, scratch))
    atheris.Fuzz()
    return 0


def _by_chance(asked: argparse.Namespace) -> int:
    from .mutate import KINDS, MOST, mutated
    from .targets import all_targets, give

    target = next(one for one in all_targets() if one.name == asked.child)
    rng, count, until = random.Random(asked.seed), 0, time.monotonic() + asked.minutes * 60
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        while time.monotonic() < until:
            steps = [(rng.randrange(KINDS), rng.randrange(MOST), rng.randrange(MOST)) for _ in range(rng.randrange(9))]
            data = mutated(target.seeds, target.words, rng.randrange(MOST), steps)
            count += 1
            try:
                give(target, data, Path(folder))
            except BaseException:  # noqa: BLE001 - what escapes is what is looked for
                (asked.folder / f"crash-{asked.seed}-{count}").write_bytes(data)
                traceback.print_exc()
                print(f"#{count} ", file=sys.stderr)
                return 1
    print(f"Done {count} runs in {int(asked.minutes * 60)} second", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
