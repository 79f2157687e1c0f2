"""Write the page of every rule from ``rules/``: ``python docs/make_rules.py``.

The pages are generated: change the rule file, then run this. A test holds them to the rules.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from preflight.measure.catalogue import MEASURES  # noqa: E402
from preflight.report.rules_text import GROUP_WORDS, change_lines, limit_rows, remarks  # noqa: E402
from preflight.rulebook import Rule, Rulebook, load_rulebook, sample  # noqa: E402
from preflight.rulebook.rule import GROUPS  # noqa: E402
from preflight.shop import Shop  # noqa: E402

FOLDER = ROOT / "docs" / "rules"


def pages(rulebook: Rulebook) -> dict[str, str]:
    """The text of every page, by its file name."""
    texts = {f"{rule.id}.md": "\n".join(_page(rule)) + "\n" for rule in rulebook.rules}
    return texts | {"README.md": "\n".join(_index(rulebook)) + "\n"}


def _index(rulebook: Rulebook) -> Iterator[str]:
    yield "# The rules\n"
    yield "Every rule that artwork is held against, with the limits of a shop that has not changed any. **STOP**: the"
    yield "customer must change the file. **ASK**: talk to the customer before printing. **NOTE**: good to know."
    yield "A shop changes limits, severity and words in its shop file; each page shows how. `preflight rules` prints"
    yield "this list with your own limits.\n"
    yield "Hardly any figure of this trade stands in a published standard. Each page says where its limits come from"
    yield "and how far that can be trusted."
    for group in GROUPS:
        yield f"\n## {GROUP_WORDS[group]}\n"
        yield "| rule | what is wrong | limits |"
        yield "|---|---|---|"
        for rule in rulebook.rules:
            if rule.group == group:
                yield f"| [`{rule.id}`]({rule.id}.md) | {rule.words.title} | {_limits(rule)} |"
    yield "\nThese pages are made from the files in `rules/` by `python docs/make_rules.py`."


def _limits(rule: Rule) -> str:
    return "; ".join(f"{severity} {limit}{f' ({kind})' if kind else ''}" for kind, severity, limit in limit_rows(rule))


def _page(rule: Rule) -> Iterator[str]:
    yield f"# {rule.words.title}\n"
    yield f"Rule `{rule.id}`. It looks at `{rule.measure}`: {MEASURES[rule.measure].what}.\n"
    yield from _table(rule)
    notes = list(remarks(rule))
    yield from ([" ".join(notes) + "\n"] if notes else [])
    said = sample(rule)
    if said is not None:
        yield "## What the customer reads\n"
        yield "With made-up figures:\n"
        yield f"> **{said.title}**  "
        yield f"> {said.seen}"
        yield ">"
        yield f"> *Why:* {said.why}"
        yield ">"
        yield f"> *What to do:* {said.fix}"
        if said.as_is:
            yield ">"
            yield f"> *If printed as it is:* {said.as_is}"
        yield ""
        if rule.words.fine:
            yield f"When all is well: {rule.words.fine}\n"
        yield "## What the shop reads\n"
        yield f"{said.operator}\n"
    yield "## Where the limits come from\n"
    yield f"{rule.source}\n"
    yield f"Trust: {rule.trust}.\n"
    if rule.example is not None:
        yield "## Example\n"
        yield f"- Good: {rule.example.good}"
        yield f"- Bad: {rule.example.bad}\n"
        yield "Both are drawn by `python fixtures/make.py OUT` and are the test of this rule.\n"
    yield "## To change it\n"
    yield "In your shop file, with the values as they are now:\n"
    yield from ("```toml", *change_lines(rule), "```\n")
    yield "`off = true` switches the rule off, and `severity` gives every finding of it the same severity."
    yield f"\n*Made from `rules/{rule.id}.toml` by `python docs/make_rules.py`.*"


def _table(rule: Rule) -> Iterator[str]:
    rows = limit_rows(rule)
    kinds = any(kind for kind, _, _ in rows)
    yield "| kind | answer | limit |" if kinds else "| answer | limit |"
    yield "|---|---|---|" if kinds else "|---|---|"
    for kind, severity, limit in rows:
        yield f"| {kind or 'any other'} | {severity} | {limit} |" if kinds else f"| {severity} | {limit} |"
    yield ""


def main() -> int:
    """Write the pages and take away those of rules that are gone; returns the exit status."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    texts = pages(load_rulebook(Shop.default()))
    for name, text in texts.items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
    for path in FOLDER.glob("*.md"):
        if path.name not in texts:
            path.unlink()
    print(f"{len(texts)} pages in {FOLDER}")  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
