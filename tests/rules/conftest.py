"""What the tests of the rules share."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.rulebook import Rule, Rulebook, load_rulebook
from preflight.shop import Shop

ROOT = Path(__file__).resolve().parents[2]

#: A rule file without a slip; tests spoil one line of it.
GOOD_RULE = """\
id = "our-line"
group = "detail"
measure = "narrowest-line"
found = "below"
unit = "mm"
defers_to = "low-resolution"

[limits]
stop = 0.30
ask = 0.40

[customer]
title = "Our lines"
seen = "The line is {value} wide. It should be {aim}."
why = "It breaks."
fix = "Make it {aim} wide."

[operator]
seen = "{value}, limit {limit}."
hint = "Look closely."

[source]
text = "Our own test prints."
trust = "measured here"
"""


@pytest.fixture(scope="session")
def rulebook() -> Rulebook:
    """The program's own rules for a shop without a file."""
    return load_rulebook(Shop.default())


def all_rules() -> list[Rule]:
    """The program's own rules, to make one test of each."""
    return list(load_rulebook(Shop.default()).rules)


@pytest.fixture
def own_rules(tmp_path: Path) -> Path:
    """A folder with one rule of the shop's own."""
    folder = tmp_path / "our-rules"
    folder.mkdir()
    (folder / "our-line.toml").write_text(GOOD_RULE, encoding="utf-8")
    return folder
