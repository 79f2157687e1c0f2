"""How many planted faults are found, and how often the program cries wolf.

    python -m tests.bench.accuracy --count 550 --seed 5 --jobs 2 --write

draws the cases, asks the program about each, and prints the tables. ``--write`` puts them into docs/accuracy.md.
``--kind rim`` draws only the cases of the kinds with that in their name, for looking into one fault.
Every miss and every false alarm is written to a JSON file in ``--keep``, with the picture it happened on.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import partial
from pathlib import Path

from .asking import answer
from .scene import RULES
from .scenes import CLEAN, FAULTS, build, schedule
from .scoring import ALARMS, Caught, Score, score
from .tables import put, share, table


def one(number: int, seed: int, keep: Path) -> Score:
    """Build, ask, judge; the file stays only when something went wrong."""
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        built = build(seed, number, Path(folder))
        judged = score(built.case, answer(built.case.path, built.case.ticket))
        if judged.bad:
            (keep / built.case.path.name).write_bytes(built.case.path.read_bytes())
            record = _record(judged) | {"ticket": asdict(built.case.ticket), "ppi": built.case.ppi}
            record["planted"] = [asdict(p) for p in built.case.planted]
            record["open"] = sorted(built.case.open)
            text = json.dumps(record, indent=1)
            (keep / f"{built.case.path.name}.json").write_text(text, encoding="utf-8")
    return judged


def run(numbers: Iterable[int], seed: int, keep: Path, jobs: int) -> Iterator[Score]:
    todo = partial(one, seed=seed, keep=keep)
    if jobs == 1:
        yield from map(todo, numbers)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(todo, numbers)


def numbers(first: int, count: int, kind: str) -> list[int]:
    """The cases to draw; with a part of a kind's name only those of such kinds."""
    order = schedule()
    return [number for number in range(first, first + count) if kind in order[number % len(order)][0]]


def _record(judged: Score) -> dict[str, object]:
    return {
        "file": judged.file,
        "kind": judged.kind,
        "missed": [asdict(c) for c in judged.caught if c.how != "found"],
        "severity": [asdict(c) for c in judged.caught if c.severity_right is False],
        "alarms": [f"{rule}: {severity}" for rule, severity in judged.alarms],
        "failed": judged.failed,
        "said": [{"rule": f.rule, "severity": f.severity, "value": f.value, "seen": f.seen, "places": f.places[:5]}
                 for f in judged.answer.findings],
        "not_measured": judged.answer.not_measured,
    }  # fmt: skip


def kinds_table(scores: list[Score]) -> str:
    """A row for each kind of case: its own planted faults and its false alarms."""
    rows = []
    names = [kind for kind, _, _ in FAULTS + CLEAN]
    for kind in names:
        own = [s for s in scores if s.kind == kind]
        if not own:
            continue
        caught = [c for s in own for c in s.caught]
        rows.append((kind, len(own), *_caught_cells(caught), *_alarm_cells(own)))
    everything = [c for s in scores for c in s.caught]
    rows.append(("**all**", len(scores), *_caught_cells(everything), *_alarm_cells(scores)))
    head = ("kind of case", "cases", "planted", "found", "share", "other place only", "severity right",
            "quiet places", "false alarms", "share", "notes")  # fmt: skip
    return table(head, rows)


def _caught_cells(caught: list[Caught]) -> tuple[object, ...]:
    found = sum(c.how == "found" for c in caught)
    judged = [c.severity_right for c in caught if c.severity_right is not None]
    elsewhere = sum(c.how == "elsewhere" for c in caught)
    return len(caught), found, share(found, len(caught)), elsewhere, share(sum(judged), len(judged))


def _alarm_cells(scores: list[Score]) -> tuple[object, ...]:
    quiet = sum(len(s.quiet) for s in scores)
    alarms = [severity for s in scores for _, severity in s.alarms]
    loud = sum(severity in ALARMS for severity in alarms)
    return quiet, loud, share(loud, quiet), len(alarms) - loud


def rules_table(scores: list[Score]) -> str:
    """A row for each rule: what it caught, where it should have been quiet, and how far off its places were."""
    caught: dict[str, list[Caught]] = defaultdict(list)
    quiet: dict[str, int] = defaultdict(int)
    alarms: dict[str, list[str]] = defaultdict(list)
    for s in scores:
        for c in s.caught:
            caught[c.rule].append(c)
        for rule in s.quiet:
            quiet[rule] += 1
        for rule, severity in s.alarms:
            alarms[rule].append(severity)
    rows = []
    for rule in RULES:
        found = sum(c.how == "found" for c in caught[rule])
        loud = sum(severity in ALARMS for severity in alarms[rule])
        strays = sum(c.strays > 0 for c in caught[rule])
        rows.append((f"`{rule}`", len(caught[rule]), found, share(found, len(caught[rule])), strays,
                     quiet[rule], loud, share(loud, quiet[rule]), len(alarms[rule]) - loud))  # fmt: skip
    head = ("rule", "planted", "found", "share", "also marked other places", "quiet places", "false alarms", "share",
            "notes")  # fmt: skip
    return table(head, rows)


def summary(scores: list[Score], seed: int) -> str:
    """The figures that the targets are about, in sentences."""
    caught = [c for s in scores for c in s.caught]
    found = sum(c.how == "found" for c in caught)
    quiet = sum(len(s.quiet) for s in scores)
    loud = sum(severity in ALARMS for s in scores for _, severity in s.alarms)
    sound = [s for s in scores if s.kind.startswith("sound")]
    spoiled = sum(any(severity in ALARMS for _, severity in s.alarms) for s in sound)
    kinds = len({s.kind for s in scores if not s.kind.startswith("sound")})
    failed = sum(s.failed is not None for s in scores)
    return (
        f"Seed {seed}, {len(scores)} cases: {len(scores) - len(sound)} with faults of {kinds} kinds, {len(sound)} "
        f"sound ones.\n\n"
        f"- Planted faults found, in the right place: **{found} of {len(caught)}, {share(found, len(caught))}** "
        "(aim: at least 98 %).\n"
        f"- False alarms (`ask` or `stop`) in places that had to stay quiet: **{loud} of {quiet}, "
        f"{share(loud, quiet)}** (aim: at most 1 %).\n"
        f"- Sound artworks with any false alarm: {spoiled} of {len(sound)}, {share(spoiled, len(sound))}.\n"
        f"- Cases on which the program itself failed: {failed}.\n"
    )


def text(scores: list[Score], seed: int) -> str:
    return "\n".join(
        (summary(scores, seed), "### By kind of case\n", kinds_table(scores), "\n### By rule\n", rules_table(scores))
    )


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=550)
    options.add_argument("--first", type=int, default=0, help="number of the first case")
    options.add_argument("--seed", type=int, default=5)
    options.add_argument("--kind", default="", help="only cases of the kinds with this in their name")
    options.add_argument("--jobs", type=int, default=1)
    options.add_argument("--keep", type=Path, help="folder for the pictures that went wrong")
    options.add_argument("--write", action="store_true", help="write the tables to docs/accuracy.md")
    asked = options.parse_args()
    if asked.write and asked.kind:
        options.error("--write needs all kinds: take --kind away.")
    keep = asked.keep or Path(tempfile.gettempdir()) / f"bench-accuracy-{asked.seed}"
    keep.mkdir(parents=True, exist_ok=True)
    scores = []
    for judged in run(numbers(asked.first, asked.count, asked.kind), asked.seed, keep, asked.jobs):
        scores.append(judged)
        if judged.bad:
            print(json.dumps({k: v for k, v in _record(judged).items() if k not in ("said", "not_measured")}),
                  file=sys.stderr)  # fmt: skip
    tables = text(scores, asked.seed)
    print(tables)
    records = [_record(s) for s in scores if s.bad]
    (keep / "all.json").write_text(json.dumps(records, indent=1), encoding="utf-8")
    print(f"\n{len(records)} cases to look at, in {keep}", file=sys.stderr)
    if asked.write:
        put("accuracy.md", "planted", tables)
    return 0


if __name__ == "__main__":
    sys.exit(main())
