"""The rules: read from files, changed by the shop, held against measurements.

A rule names one measurement, a comparison and its limits; it holds no expressions. What is odd goes into a measurement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from pathlib import Path

from preflight.errors import UsageError
from preflight.language import ENGLISH, Language
from preflight.measure.catalogue import MEASURES
from preflight.model import Finding, Measurement, PrintSize, Verdict
from preflight.records import dataclass
from preflight.rulebook.files import read_folder, rules_folder
from preflight.rulebook.judge import Unjudged, judge, sample, verdict
from preflight.rulebook.rule import GROUPS, Found, Limits, Rule, Words
from preflight.shopdata import Shop
from preflight.tomlfile import load_toml

__all__ = [
    "Found",
    "Limits",
    "Rule",
    "Rulebook",
    "Unjudged",
    "Verdict",
    "Words",
    "load_rulebook",
    "sample",
    "verdict",
]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The rules of one shop, those switched off left out.

    Parameters
    ----------
    rules
        In the order in which they are listed: by group, then by name.
    off
        Ids of the rules that the shop switched off.
    language
        Of the words, and in which figures are written.
    """

    rules: tuple[Rule, ...]
    off: tuple[str, ...] = field(default=())
    language: Language = ENGLISH

    def judge(
        self, measures: Mapping[str, Measurement], size: PrintSize | None
    ) -> tuple[tuple[Finding, ...], tuple[Unjudged, ...]]:
        """Findings, worst first, and the rules that could not be judged; see ``preflight.rulebook.judge.judge``."""
        return judge(self.rules, measures, size, self.language)

    def fine(
        self,
        measures: Mapping[str, Measurement],
        findings: Iterable[Finding],
        unjudged: Iterable[Unjudged],
    ) -> tuple[str, ...]:
        """What was looked at and found well, a sentence a rule, in the order in which the rules are listed.

        Left out are the rules with a finding, those that could not be judged or did not apply, and those without words
        for it. What is measured only where something is wrong counts as looked at.
        """
        told = {finding.rule for finding in findings} | {gap.rule for gap in unjudged}
        return tuple(
            dict.fromkeys(
                rule.words.fine
                for rule in self.rules
                if rule.words.fine and rule.id not in told and _looked_at(measures.get(rule.measure), rule)
            )
        )

    def rule(self, name: str) -> Rule:
        """The rule with this id.

        Raises
        ------
        UsageError
            When there is none, or the shop switched it off.
        """
        for rule in self.rules:
            if rule.id == name:
                return rule
        if name in self.off:
            raise UsageError(f"the rule '{name}' is switched off in the shop file", "Switch it on to read about it.")
        from difflib import get_close_matches

        near = get_close_matches(name, [rule.id for rule in self.rules], n=1)
        step = f"Did you mean {near[0]}? " if near else ""
        raise UsageError(f"there is no rule '{name}'", f"{step}'preflight rules' lists them.")

    def reach(self, measure: str, kind: str | None = None) -> float | None:
        """How far a measure must look: the softest limit that any rule sets on it, None when no rule does.

        Parameters
        ----------
        measure
            Id of the measurement.
        kind
            Kind of it; None for the softest over all kinds.
        """
        limits = [
            (rule.found, each.softest)
            for rule in self.rules
            if rule.measure == measure
            for name, each in rule.limits.items()
            if kind is None or name in (kind, "")
        ]
        values = [value for _, value in limits if value is not None]
        if not values:
            return None
        return max(values) if limits[0][0] is Found.BELOW else min(values)


def _looked_at(measurement: Measurement | None, rule: Rule) -> bool:
    """Whether the question of a rule was answered."""
    if measurement is None:
        return MEASURES[rule.measure].on_opening
    return measurement.applies and measurement.why_not is None


def load_rulebook(shop: Shop, extra: Path | None = None, language: Language = ENGLISH) -> Rulebook:
    """Read the program's rules, the shop's own, and what the shop changes.

    Parameters
    ----------
    shop
        Its settings: changes to rules, limits that rules take from it, and a folder of its own rules.
    extra
        Another folder of rules, added to the others.
    language
        For the words of the program's own rules. What the shop wrote stays as the shop wrote it.

    Raises
    ------
    SettingsError
        For a slip in a rule or shop file: file, line, key, what is wrong and what to write instead.
    """
    ours = read_folder(rules_folder(), shop)
    if language is not ENGLISH:
        from preflight.rulebook.translated import translated

        ours = [translated(rule, language) for rule in ours]
    folders = [folder for folder in dict.fromkeys((shop.rules_folder, extra)) if folder is not None]
    rules = _without_clash([*ours, *(rule for folder in folders for rule in read_folder(folder, shop))])
    rules.sort(key=lambda rule: (GROUPS.index(rule.group), rule.id))
    if not shop.rules:
        return Rulebook(tuple(rules), language=language)
    from preflight.rulebook.changes import with_changes

    off = tuple(name for name, change in shop.rules.items() if change.off)
    return Rulebook(tuple(with_changes(rules, shop)), off, language)


def _without_clash(rules: Iterable[Rule]) -> list[Rule]:
    """The rules, each id once and each rule that another defers to known."""
    by_id: dict[str, Rule] = {}
    for rule in rules:
        other = by_id.setdefault(rule.id, rule)
        if other is not rule:
            what = f"there is a rule '{rule.id}' already, in {other.file}"
            step = "Give yours another name. To change limits or words of a rule, use the shop file."
            raise load_toml(rule.file).slip("id", what, step)
    for rule in by_id.values():
        for name in rule.defers_to:
            if name not in by_id:
                step = "Name a rule that 'preflight rules' lists."
                raise load_toml(rule.file).slip("defers_to", f"there is no rule '{name}'", step)
    return list(by_id.values())
