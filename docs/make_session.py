"""Write what the program itself says into the pages: ``python docs/make_session.py``.

Terminal sessions, the piece of JSON and the table of limits stand between markers such as ``<!-- session: begin -->``;
what stands between them is replaced, the rest of a page stays as people wrote it. Run it after a change of words,
limits, measuring or prices.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from preflight.demo import make_order  # noqa: E402
from preflight.report.rules_text import limit_rows  # noqa: E402
from preflight.rulebook import Rulebook, load_rulebook  # noqa: E402
from preflight.shop import Shop  # noqa: E402

#: What is typed in the sample session of the README, in the folder of the demo.
SESSION = ("check", "garlic.png", "crest.png", "--shop", "shop.toml")
FINDING = ("check", "garlic.png", "--shop", "shop.toml")
BILL = ("check", "crest.png", "--shop", "shop.toml")
#: Measures and places that are shown of the JSON; the rest is left out and said so.
_SOME_MEASURES = ("effective-ppi", "narrowest-line", "narrowest-gap", "proportion-difference")
_SOME_PLACES = 1
_WIDEST = 110


def run(arguments: Sequence[str], folder: Path) -> tuple[str, int]:
    """Run the command in ``folder``; returns what it prints and its exit status."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"}
    done = subprocess.run(
        [sys.executable, "-m", "preflight", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.stderr:
        raise RuntimeError(f"preflight {' '.join(arguments)}: {done.stderr}")
    return done.stdout, done.returncode


def session(folder: Path) -> str:
    """The sample session: two files of the demo, and the exit status."""
    printed, status = run(SESSION, folder)
    return _fenced("console", f"$ preflight {' '.join(SESSION)}\n{printed.rstrip()}\n$ echo $?\n{status}")


def finding(folder: Path) -> str:
    """One finding as the terminal shows it."""
    printed, _ = run(FINDING, folder)
    return _fenced("text", printed.split("\n\n")[1].rstrip())


def bill(folder: Path) -> str:
    """Ink, cost, film and time as the terminal shows them."""
    printed, _ = run(BILL, folder)
    blocks = [block for block in printed.split("\n\n") if block.startswith(" Ink ")]
    return _fenced("text", blocks[0].rstrip())


def shortened(folder: Path) -> str:
    """The JSON of one file, with a few of its measures and places."""
    printed, _ = run((*FINDING, "--format", "json"), folder)
    document: dict[str, Any] = json.loads(printed)
    (artwork,) = document["artworks"]
    artwork["measures"] = {name: artwork["measures"][name] for name in _SOME_MEASURES}
    for each in artwork["findings"]:
        each["places"] = each["places"][:_SOME_PLACES]
    return _fenced("json", _compact(document))


def _compact(document: Mapping[str, Any]) -> str:
    """JSON with small objects and lists on one line: easier on the eye than what the program writes."""
    lines = json.dumps(document, ensure_ascii=False, indent=2).splitlines()
    return "\n".join(_joined(lines))


def _joined(lines: Sequence[str]) -> Iterator[str]:
    """The lines; an object or list without another in it stands on one line where it fits."""
    at = 0
    while at < len(lines):
        end = at
        if lines[at].endswith(("{", "[")):
            end = next(n for n in range(at + 1, len(lines)) if lines[n].endswith(("{", "[", "}", "]", "},", "],")))
        whole = lines[at] + " ".join(line.strip() for line in lines[at + 1 : end]) + lines[end].strip()
        joined = end > at and not lines[end].endswith(("{", "[")) and len(whole) <= _WIDEST
        yield whole if joined else lines[at]
        at = end + 1 if joined else at + 1


def limits(rulebook: Rulebook) -> str:
    """A table of every rule with its limits, how far they can be trusted, and where they come from."""
    rows = ["| rule | limits | trust | where from |", "|---|---|---|---|"]
    for rule in rulebook.rules:
        told = [f"{severity} {limit}{f' ({kind})' if kind else ''}" for kind, severity, limit in limit_rows(rule)]
        if rule.tolerance:
            told.append(f"room for measuring: {rule.tolerance:g}")
        rows.append(f"| [`{rule.id}`](rules/{rule.id}.md) | {'; '.join(told)} | {rule.trust} | {rule.source} |")
    return "\n".join(rows)


def _fenced(language: str, text: str) -> str:
    return f"```{language}\n{text}\n```"


#: Page and marker → what stands there, made from the folder of the demo.
PARTS: Mapping[tuple[str, str], Callable[[Path], str]] = {
    ("README.md", "session"): session,
    ("docs/for-shops.md", "finding"): finding,
    ("docs/for-shops.md", "bill"): bill,
    ("docs/for-integrators.md", "json"): shortened,
    ("docs/sources.md", "limits"): lambda _: limits(load_rulebook(Shop.default())),
}


def between(page: str, marker: str) -> tuple[str, str, str]:
    """What stands before, between and after the markers of a page.

    Raises
    ------
    LookupError
        When the page has no such markers.
    """
    begin, end = f"<!-- {marker}: begin -->\n", f"<!-- {marker}: end -->"
    before, first, rest = page.partition(begin)
    middle, second, after = rest.partition(end)
    if not first or not second:
        raise LookupError(f"there is no place marked {begin.strip()} … {end}")
    return before + begin, middle, end + after


def main() -> int:
    """Write every part; returns the exit status."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "preflight-demo"
        list(make_order(folder))
        for (name, marker), make in PARTS.items():
            path = ROOT / name
            before, old, after = between(path.read_text(encoding="utf-8"), marker)
            new = make(folder) + "\n"
            path.write_text(before + new + after, encoding="utf-8", newline="\n")
            print(f"{name}, {marker}: {'as it was' if new == old else 'written'}")  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
