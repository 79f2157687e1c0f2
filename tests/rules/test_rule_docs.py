"""The pages made from the rules, and the rules as a terminal shows them."""

from __future__ import annotations

import importlib.util
import io
import re
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from rich.console import Console, RenderableType

from preflight.report.rules_text import change_lines, limit_lines, render_list, render_rule
from preflight.rulebook import Rule, Rulebook, load_rulebook
from preflight.shop import Shop, load_shop

from .conftest import ROOT, all_rules

each_rule = pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    """docs/make_rules.py, which is a script and no package."""
    spec = importlib.util.spec_from_file_location("make_rules", ROOT / "docs" / "make_rules.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pages_are_current(maker: ModuleType, rulebook: Rulebook) -> None:
    texts = maker.pages(rulebook)
    written = {path.name: path.read_text(encoding="utf-8") for path in (ROOT / "docs" / "rules").glob("*.md")}
    stale = sorted(name for name in texts.keys() | written.keys() if texts.get(name) != written.get(name))
    assert not stale, "run: python docs/make_rules.py"


@each_rule
def test_a_page_tells_all_of_its_rule(maker: ModuleType, rulebook: Rulebook, rule: Rule) -> None:
    page = maker.pages(rulebook)[f"{rule.id}.md"]
    assert rule.example is not None
    for text in (rule.words.title, rule.measure, rule.source, rule.trust, rule.example.good, rule.example.bad):
        assert text in page
    assert "{" not in page


def test_links_of_the_index_lead_somewhere(maker: ModuleType, rulebook: Rulebook) -> None:
    texts = maker.pages(rulebook)
    assert set(re.findall(r"\]\(([^)]+)\)", texts["README.md"])) == set(texts) - {"README.md"}


def shown(what: RenderableType, width: int = 80) -> str:
    stream = io.StringIO()
    Console(file=stream, width=width, color_system=None, highlight=False).print(what)
    return stream.getvalue()


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_list_names_every_rule_and_fits(rulebook: Rulebook) -> None:
    text = shown(render_list(rulebook))
    assert max(map(len, text.splitlines())) <= 80
    assert "\x1b" not in text
    for rule in rulebook.rules:
        assert f"  {rule.id} " in text
    assert "STOP below 0.35 mm" in text
    assert "35 rules." in text


@each_rule
def test_a_rule_is_explained_in_full_and_fits(rule: Rule) -> None:
    text = shown(render_rule(rule))
    assert max(map(len, text.splitlines())) <= 80
    assert rule.example is not None
    for part in (rule.words.title, rule.measure, *limit_lines(rule), rule.trust):
        assert flat(part) in flat(text)
    # Wrapped text stands in its column, so the words are looked for in order.
    assert re.search(r"\s+".join(map(re.escape, rule.source.split())), text)
    assert "{" not in text


def test_a_narrow_window_loses_nothing(rulebook: Rulebook) -> None:
    text = shown(render_rule(rulebook.rule("heavy-ink")), width=40)
    assert max(map(len, text.splitlines())) <= 40
    assert flat("Fine detail closes up") in flat(text)


@each_rule
def test_what_it_says_to_write_keeps_the_rule_as_it_is(rule: Rule, tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text("\n".join(change_lines(rule)), encoding="utf-8")
    assert tomllib.loads(path.read_text(encoding="utf-8"))
    same = load_rulebook(load_shop(path)).rule(rule.id)
    assert (same.limits, same.severity) == (rule.limits, rule.severity)


def test_what_the_shop_changed_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    text = "[rules.thin-line]\nstop = 0.2\n[rules.thin-gap]\noff = true\n"
    text += "[rules.heavy-ink.customer]\nfix = 'Use [less] ink.'\n"
    path.write_text(text, encoding="utf-8")
    rules = load_rulebook(load_shop(path))
    assert "STOP below 0.2 mm" in shown(render_list(rules))
    assert "Switched off in the shop file: thin-gap." in shown(render_list(rules))
    assert "Changed in the shop file: limits." in shown(render_rule(rules.rule("thin-line")))
    assert "Use [less] ink." in shown(render_rule(rules.rule("heavy-ink")))  # brackets are no markup


def test_kinds_stand_above_their_limits() -> None:
    lines = limit_lines(load_rulebook(Shop.default()).rule("low-resolution"))
    assert lines == [
        "continuous-tone:",
        "  STOP below 150 ppi",
        "  ASK below 200 ppi",
        "line-art:",
        "  STOP below 150 ppi",
        "  ASK below 300 ppi",
    ]
