"""Rules about rules."""

from __future__ import annotations

import importlib
import pkgutil
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from preflight.measure.catalogue import MEASURES, UNREAD
from preflight.rulebook import Found, Rule, Rulebook, sample
from preflight.rulebook.files import known_placeholders, rules_folder
from preflight.rulebook.rule import GROUPS, TRUST, out_of_order
from preflight.rulebook.words import placeholders, slip_in

from .conftest import ROOT, all_rules

#: The rules of the first release (the contract's table), the ticket's, and that for a white plate of the customer's.
EXPECTED = [
    *("low-resolution", "enlarged-picture", "size-unknown", "size-differs", "wider-than-film", "nothing-to-print"),
    *("cropped-at-edge", "soft-edge", "translucent-area", "faint-residue", "background-left", "painted-checkerboard"),
    *("edge-fringe", "thin-line", "thin-gap", "no-white-under", "stray-specks", "heavy-ink", "colour-shift"),
    *("low-contrast", "unreadable-code", "cut-short", "unreadable-file", "wrong-extension", "unreadable-ticket"),
    *("small-text", "font-missing", "hairline-stroke", "spot-ink", "overprint", "extra-pages", "locked-file"),
    *("linked-picture", "active-content", "own-white"),
]

each_rule = pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)


def test_every_promised_rule_is_there(rulebook: Rulebook) -> None:
    assert sorted(rule.id for rule in rulebook.rules) == sorted(EXPECTED)


def test_every_measurement_has_a_rule(rulebook: Rulebook) -> None:
    assert {rule.measure for rule in rulebook.rules} == set(MEASURES)


def test_rules_are_listed_by_group_then_name(rulebook: Rulebook) -> None:
    keys = [(GROUPS.index(rule.group), rule.id) for rule in rulebook.rules]
    assert keys == sorted(keys)


@each_rule
def test_the_file_is_named_after_the_rule(rule: Rule) -> None:
    assert Path(rule.file).name == f"{rule.id}.toml"
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)


@each_rule
def test_the_unit_is_the_measurements(rule: Rule) -> None:
    assert rule.unit == MEASURES[rule.measure].unit


@each_rule
def test_the_limits_stand_in_order(rule: Rule) -> None:
    assert all(out_of_order(rule.found, limits) is None for limits in rule.limits.values())
    assert rule.limits or rule.found is Found.PRESENT


@each_rule
def test_every_kind_has_limits(rule: Rule) -> None:
    kinds = MEASURES[rule.measure].kinds or (None,)
    if rule.found is not Found.PRESENT:
        assert all(rule.limits_for(kind) is not None for kind in kinds)


@each_rule
def test_the_placeholders_can_be_filled(rule: Rule) -> None:
    known = known_placeholders(MEASURES[rule.measure])
    for text in (rule.words.seen, rule.words.why, rule.words.fix, rule.words.operator_seen, rule.words.operator_hint):
        assert slip_in(text, known) is None
    assert slip_in(rule.words.title, ()) is None


@each_rule
def test_the_words_of_the_example_are_whole(rule: Rule) -> None:
    """No sentence falls away for want of a figure when everything was measured; only ``{zero}`` may."""
    said = sample(rule)
    assert said is not None
    for template, text in ((rule.words.seen, said.seen), (rule.words.fix, said.fix)):
        if "zero" not in placeholders(template):
            assert text.count(". ") == template.count(". ")
        assert text
        assert "{" not in text


@each_rule
def test_a_figure_and_its_limit_are_told(rule: Rule) -> None:
    # A limit of nothing tells nothing; a lock is told by its reason.
    if rule.found is Found.PRESENT or rule.id in ("nothing-to-print", "locked-file"):
        return
    told = set(placeholders(rule.words.seen))
    assert "value" in told or "share" in told
    assert told & {"limit", "aim"}


@each_rule
def test_a_source_and_its_trust_are_given(rule: Rule) -> None:
    assert len(rule.source) > 20
    assert rule.trust in TRUST


@each_rule
def test_the_example_is_described_and_found(rule: Rule) -> None:
    assert rule.example is not None
    assert rule.example.good.endswith(".")
    assert rule.example.bad.endswith(".")
    assert sample(rule) is not None


@each_rule
def test_a_rule_defers_only_to_others(rule: Rule) -> None:
    assert rule.id not in rule.defers_to


def test_unread_measurements_are_known() -> None:
    assert set(UNREAD) <= set(MEASURES)
    assert all(MEASURES[name].on_opening for name in UNREAD)


def test_every_file_of_the_folder_is_a_rule(rulebook: Rulebook) -> None:
    assert rules_folder() == ROOT / "rules"
    assert {path.name for path in rules_folder().iterdir()} == {f"{rule.id}.toml" for rule in rulebook.rules}


def test_the_wheel_takes_the_folder_along() -> None:
    """The build back-end puts rules/ inside the package; tests of the built wheel itself lie with packaging."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert config["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"] == {"rules": "preflight/rules"}


def test_the_folder_inside_the_package_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import preflight

    package = tmp_path / "preflight"
    (tmp_path / "rules").mkdir()
    package.mkdir()
    monkeypatch.setattr(preflight, "__path__", [str(package)])
    assert rules_folder() == tmp_path / "rules"
    (package / "rules").mkdir()
    assert rules_folder() == package / "rules"


def test_a_missing_folder_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import preflight
    from preflight.errors import SettingsError

    monkeypatch.setattr(preflight, "__path__", [str(tmp_path / "preflight")])
    with pytest.raises(SettingsError, match="Install the program again"):
        rules_folder()


def test_reading_the_rules_needs_no_imaging_library() -> None:
    code = (
        "import sys\n"
        "from preflight.rulebook import load_rulebook\nfrom preflight.shop import Shop\n"
        "load_rulebook(Shop.default())\n"
        "print(sorted({'cv2', 'pyvips', 'PIL', 'scipy', 'skimage', 'rich'} & set(sys.modules)))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=True, timeout=60
    )
    assert ran.stdout.strip() == "[]"


def test_the_rulebooks_modules_stay_small() -> None:
    package = importlib.import_module("preflight.rulebook")
    for module in pkgutil.iter_modules(package.__path__, "preflight.rulebook."):
        source = importlib.import_module(module.name).__file__
        assert source is not None
        assert len(Path(source).read_text(encoding="utf-8").splitlines()) < 300, module.name
