"""Rule files of a shop's own, and every slip in them: file, line, key, and what to write instead."""

from __future__ import annotations

import pickle
import time
from pathlib import Path

import pytest

from preflight.errors import SettingsError, UsageError
from preflight.rulebook import Rulebook, load_rulebook
from preflight.shop import Film, Shop

from .conftest import GOOD_RULE

SHOP = Shop.default()


def test_own_rules_are_added(rulebook: Rulebook, own_rules: Path) -> None:
    more = load_rulebook(SHOP, own_rules)
    assert {rule.id for rule in more.rules} - {rule.id for rule in rulebook.rules} == {"our-line"}
    assert more.rule("our-line").words.title == "Our lines"


def test_own_rules_may_lie_where_the_shop_file_says(own_rules: Path) -> None:
    shop = Shop(rules_folder=own_rules)
    assert load_rulebook(shop).rule("our-line").example is None
    assert load_rulebook(shop, own_rules).rule("our-line")  # the same folder twice is one folder


def test_a_rulebook_goes_to_other_processes(rulebook: Rulebook) -> None:
    assert pickle.loads(pickle.dumps(rulebook)) == rulebook


def test_the_printable_width_is_the_shops() -> None:
    shop = Shop(film=Film(width_mm=600, printable_mm=590))
    assert load_rulebook(shop).rule("wider-than-film").limits[""].stop == 590


@pytest.mark.parametrize(
    ("line", "spoiled", "key", "number", "said", "step"),
    [
        ("stop = 0.30", "stop = 0,30", "stop", 9, "comma", "0.30"),
        ("stop = 0.30", 'stop = "0.30"', "limits.stop", 9, "not a number", "without quotes"),
        ("stop = 0.30", "stop = nan", "limits.stop", 9, "no number to count with", "plain number"),
        ("stop = 0.30", "stop = -1", "limits.stop", 9, "less than it can be", "Write a value from 0"),
        ("stop = 0.30", "stop = true", "limits.stop", 9, "not a number", "decimal point"),
        ("stop = 0.30", 'stop = "film.width"', "limits.stop", 9, "not a number", "decimal point"),
        ("stop = 0.30", "stop = 0.45", "limits.stop", 9, "passed before ask", "passed last"),
        ("stop = 0.30", "halt = 0.30", "limits.halt", 9, "not a setting", "Known here: stop, ask, note"),
        ("stop = 0.30", "stop = 0.3\nstop = 0.4", "limits.stop", 10, "", ""),
        ('unit = "mm"', 'unit = "px"', "unit", 5, "measured in mm", 'unit = "mm"'),
        ('found = "below"', 'found = "under"', "found", 4, "not known", '"below"'),
        ('measure = "narrowest-line"', 'measure = "narowest-line"', "measure", 3, "not known", "narrowest-line"),
        ('id = "our-line"', 'id = "our-lines"', "id", 1, "named our-line.toml", "the same"),
        ('id = "our-line"', 'id = "Our Line"', "id", 1, "is no id", "hyphens"),
        ('group = "detail"', 'group = "details"', "group", 2, "not known", "detail"),
        ('title = "Our lines"', 'titel = "Our lines"', "customer.title", None, "missing", "Add a line title"),
        ('title = "Our lines"', 'title = "Our {value}"', "customer.title", 13, "not known here", "without braces"),
        ('why = "It breaks."', 'why = "It breaks at {width}."', "customer.why", 15, "{width} is not known", "{value}"),
        ('why = "It breaks."', 'why = "It breaks {."', "customer.why", 15, "brace", "{value}"),
        ('why = "It breaks."', 'why = "It is {value|mm}."', "customer.why", 15, "no placeholder", "{value}"),
        ('why = "It breaks."', "why = 3", "customer.why", 15, "not text", "quotes"),
        ('trust = "measured here"', 'trust = "M"', "source.trust", 24, "not known", "measured here"),
        ('defers_to = "low-resolution"', 'defers_to = "low-res"', "defers_to", 6, "no rule 'low-res'", "lists"),
        ('hint = "Look closely."', 'hint = "Look closely."\nnote = "x"', "operator.note", 21, "not a", "seen, hint"),
        ("ask = 0.40", "ask = 0.40\n[limits.line-art]\nask = 1", "limits.line-art", None, "not a setting", "stop"),
    ],
)  # fmt: skip
def test_a_slip_is_answered(
    own_rules: Path, line: str, spoiled: str, key: str, number: int | None, said: str, step: str
) -> None:
    path = own_rules / "our-line.toml"
    assert line in GOOD_RULE
    path.write_text(GOOD_RULE.replace(line, spoiled), encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_rulebook(SHOP, own_rules)
    slip = caught.value
    assert slip.file == str(path)
    assert slip.key == key
    assert number is None or slip.line == number
    assert said in slip.what
    assert step in slip.next_step
    assert str(path) in str(slip)


def test_limits_must_be_given(own_rules: Path) -> None:
    path = own_rules / "our-line.toml"
    path.write_text(GOOD_RULE.replace("stop = 0.30\nask = 0.40\n", ""), encoding="utf-8")
    with pytest.raises(SettingsError, match="no limit"):
        load_rulebook(SHOP, own_rules)


def test_every_kind_needs_limits(own_rules: Path) -> None:
    path = own_rules / "our-line.toml"
    text = GOOD_RULE.replace("narrowest-line", "effective-ppi").replace('"mm"', '"ppi"')
    text = text.replace("[limits]\nstop = 0.30\nask = 0.40", "[limits.line-art]\nask = 400")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"\[limits.continuous-tone\]"):
        load_rulebook(SHOP, own_rules)


def test_present_needs_a_severity_and_no_limits(own_rules: Path) -> None:
    path = own_rules / "our-line.toml"
    text = GOOD_RULE.replace('found = "below"', 'found = "present"')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_rulebook(SHOP, own_rules)
    assert caught.value.key == "severity"
    path.write_text(text.replace('unit = "mm"', 'unit = "mm"\nseverity = "ask"'), encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_rulebook(SHOP, own_rules)
    assert caught.value.key == "limits"


def test_an_id_that_is_taken_is_told(own_rules: Path) -> None:
    (own_rules / "our-line.toml").rename(own_rules / "thin-line.toml")
    path = own_rules / "thin-line.toml"
    path.write_text(GOOD_RULE.replace('id = "our-line"', 'id = "thin-line"'), encoding="utf-8")
    with pytest.raises(SettingsError, match="there is a rule 'thin-line' already") as caught:
        load_rulebook(SHOP, own_rules)
    assert (caught.value.file, caught.value.line) == (str(path), 1)
    assert "shop file" in caught.value.next_step


def test_a_folder_without_rules_is_told(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="holds no rule"):
        load_rulebook(SHOP, tmp_path)
    with pytest.raises(SettingsError, match="is not there"):
        load_rulebook(SHOP, tmp_path / "nowhere")
    file = tmp_path / "a.toml"
    file.write_text(GOOD_RULE, encoding="utf-8")
    with pytest.raises(SettingsError, match="this is a file"):
        load_rulebook(SHOP, file)


def test_other_files_in_the_folder_are_left_alone(own_rules: Path) -> None:
    (own_rules / "README.md").write_text("Ours.", encoding="utf-8")
    (own_rules / "old").mkdir()
    assert load_rulebook(SHOP, own_rules).rule("our-line")


def test_an_unknown_rule_is_told_with_a_guess(rulebook: Rulebook) -> None:
    with pytest.raises(UsageError, match="Did you mean thin-line"):
        rulebook.rule("thin-lines")
    with pytest.raises(UsageError, match="no rule 'xyz'"):
        rulebook.rule("xyz")


def test_windows_line_ends_change_nothing(own_rules: Path) -> None:
    path = own_rules / "our-line.toml"
    path.write_bytes(GOOD_RULE.replace("\n", "\r\n").encode())
    assert load_rulebook(SHOP, own_rules).rule("our-line").words.fix == "Make it {aim} wide."


def test_reading_all_rules_is_quick() -> None:
    """The best of several runs: 15 ms of CPU is what a check can spare; about half was measured."""
    load_rulebook(SHOP)
    best = 1.0
    for _ in range(7):
        start = time.process_time()
        load_rulebook(SHOP)
        best = min(best, time.process_time() - start)
    assert best < 0.015
