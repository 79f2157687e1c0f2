"""What a shop changes in the rules, in its own file."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.errors import SettingsError, UsageError
from preflight.model import Measurement, Severity
from preflight.rulebook import Rulebook, load_rulebook
from preflight.rulebook.rule import Limits
from preflight.shop import load_shop


def changed(tmp_path: Path, text: str) -> Rulebook:
    path = tmp_path / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return load_rulebook(load_shop(path))


def slip(tmp_path: Path, text: str) -> SettingsError:
    with pytest.raises(SettingsError) as caught:
        changed(tmp_path, text)
    assert caught.value.file == str(tmp_path / "shop.toml")
    return caught.value


def test_a_rule_is_switched_off(tmp_path: Path) -> None:
    rules = changed(tmp_path, "[rules.stray-specks]\noff = true\n")
    assert rules.off == ("stray-specks",)
    assert "stray-specks" not in {rule.id for rule in rules.rules}
    with pytest.raises(UsageError, match="switched off"):
        rules.rule("stray-specks")
    many = {"speck-count": Measurement("speck-count", 50.0, "count")}
    assert all(found.rule != "stray-specks" for found in rules.judge(many, None)[0])


def test_limits_change(tmp_path: Path) -> None:
    rules = changed(tmp_path, '[rules.thin-line]\nstop = "0.3mm"\nask = 0.45\n')
    assert rules.rule("thin-line").limits == {"": Limits(stop=0.3, ask=0.45)}
    assert rules.rule("thin-line").changed == ("limits",)
    assert rules.rule("thin-gap").changed == ()


def test_a_limit_is_taken_away(tmp_path: Path) -> None:
    rules = changed(tmp_path, '[rules.thin-line]\nask = "off"\n')
    assert rules.rule("thin-line").limits[""] == Limits(stop=0.35)
    measure = {"narrowest-line": Measurement("narrowest-line", 0.45, "mm")}
    assert all(found.rule != "thin-line" for found in rules.judge(measure, None)[0])


def test_a_limit_is_added(tmp_path: Path) -> None:
    rules = changed(tmp_path, "[rules.thin-gap]\nstop = 0.2\n")
    assert rules.rule("thin-gap").limits[""] == Limits(stop=0.2, ask=0.4)


def test_a_rule_without_any_limit_left_says_nothing(tmp_path: Path) -> None:
    rules = changed(tmp_path, '[rules.thin-gap]\nask = "off"\n')
    measure = {"narrowest-gap": Measurement("narrowest-gap", 0.01, "mm")}
    findings, unjudged = rules.judge(measure, None)
    assert all(found.rule != "thin-gap" for found in findings)
    assert all(gap.rule != "thin-gap" for gap in unjudged)


def test_limits_of_one_kind(tmp_path: Path) -> None:
    limits = changed(tmp_path, "[rules.low-resolution.line-art]\nask = 250\n").rule("low-resolution").limits
    assert limits["line-art"] == Limits(stop=150, ask=250)
    assert limits["continuous-tone"] == Limits(stop=150, ask=200)


def test_a_limit_without_a_kind_is_for_every_kind(tmp_path: Path) -> None:
    limits = changed(tmp_path, "[rules.low-resolution]\nstop = 100\n").rule("low-resolution").limits
    assert limits["line-art"] == Limits(stop=100, ask=300)
    assert limits["continuous-tone"] == Limits(stop=100, ask=200)


def test_severity_holds_for_every_finding_of_the_rule(tmp_path: Path) -> None:
    rules = changed(tmp_path, '[rules.thin-line]\nseverity = "note"\n')
    measure = {"narrowest-line": Measurement("narrowest-line", 0.1, "mm")}
    found = next(found for found in rules.judge(measure, None)[0] if found.rule == "thin-line")
    assert (found.severity, found.limit) == (Severity.NOTE, 0.35)


def test_words_change(tmp_path: Path) -> None:
    text = (
        '[rules.thin-line.customer]\nfix = """\nMake it {aim},\nor ring us."""\n'
        '[rules.thin-line.operator]\nhint = "Ring them."\n'
    )
    words = changed(tmp_path, text).rule("thin-line").words
    assert words.fix == "Make it {aim}, or ring us."
    assert words.operator_hint == "Ring them."
    assert words.title == "Lines too thin to print"


def test_an_unknown_rule(tmp_path: Path) -> None:
    found = slip(tmp_path, "\n[rules.thin-lines]\noff = true\n")
    assert (found.key, found.line) == ("rules.thin-lines", 2)
    assert "Did you mean thin-line?" in found.next_step


def test_an_unknown_kind(tmp_path: Path) -> None:
    found = slip(tmp_path, "[rules.low-resolution.photo]\nstop = 100\n")
    assert (found.key, found.line) == ("rules.low-resolution.photo", 1)
    assert "continuous-tone, line-art" in found.next_step
    assert "without a kind" in slip(tmp_path, "[rules.thin-line.photo]\nstop = 0.1\n").next_step


def test_a_limit_in_another_unit(tmp_path: Path) -> None:
    found = slip(tmp_path, '[rules.heavy-ink]\nstop = 350\nask = "3mm"\n')
    assert (found.key, found.line) == ("rules.heavy-ink.ask", 3)
    assert "in %" in found.next_step
    found = slip(tmp_path, '[rules.low-resolution.line-art]\nask = "250 mm"\n')
    assert found.key == "rules.low-resolution.line-art.ask"


def test_the_rules_own_unit_is_welcome(tmp_path: Path) -> None:
    rules = changed(tmp_path, '[rules.translucent-area]\nstop = "6 mm²"\n[rules.soft-edge]\nstop = "0.05cm"\n')
    assert rules.rule("translucent-area").limits[""].stop == 6
    assert rules.rule("soft-edge").limits[""].stop == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("text", "key", "line"),
    [
        ("[rules.thin-line]\nstop = 0.6\n", "rules.thin-line.stop", 2),
        ("[rules.thin-line]\nask = 0.2\n", "rules.thin-line.ask", 2),
        ("[rules.heavy-ink]\nstop = 290\n", "rules.heavy-ink.stop", 2),
        ("[rules.low-resolution.line-art]\nask = 100\n", "rules.low-resolution.line-art.ask", 2),
    ],
)
def test_limits_in_the_wrong_order(tmp_path: Path, text: str, key: str, line: int) -> None:
    found = slip(tmp_path, text)
    assert (found.key, found.line) == (key, line)
    assert "would never count" in found.what


def test_equal_limits_are_no_slip(tmp_path: Path) -> None:
    """A shop that turns every question into a stop may write it so."""
    rules = changed(tmp_path, "[rules.thin-line]\nstop = 0.5\n")
    measure = {"narrowest-line": Measurement("narrowest-line", 0.45, "mm")}
    found = next(found for found in rules.judge(measure, None)[0] if found.rule == "thin-line")
    assert found.severity is Severity.STOP


def test_limits_for_a_rule_without_any(tmp_path: Path) -> None:
    found = slip(tmp_path, "[rules.painted-checkerboard]\nstop = 3\n")
    assert found.key == "rules.painted-checkerboard.stop"
    assert "severity" in found.next_step


def test_an_unknown_placeholder(tmp_path: Path) -> None:
    found = slip(tmp_path, '[rules.thin-line.customer]\nwhy = "At {widht} it breaks."\n')
    assert (found.key, found.line) == ("rules.thin-line.customer.why", 2)
    assert "{widht}" in found.what
    assert "{value}" in found.next_step
    assert "title" in slip(tmp_path, '[rules.thin-line.customer]\ntitle = "At {value}"\n').next_step


def test_a_change_to_an_own_rule(tmp_path: Path, own_rules: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(f'rules_folder = "{own_rules.name}"\n[rules.our-line]\nask = 0.6\n', encoding="utf-8")
    assert load_rulebook(load_shop(path)).rule("our-line").limits[""] == Limits(stop=0.3, ask=0.6)
