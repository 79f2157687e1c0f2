"""What a shop changes in the rules: limits, severity, words, or a rule switched off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from difflib import get_close_matches

from preflight.errors import SettingsError
from preflight.measure.catalogue import MEASURES
from preflight.model import Severity
from preflight.rulebook.files import known_placeholders
from preflight.rulebook.rule import Found, Limits, Rule, out_of_order
from preflight.rulebook.words import slip_in
from preflight.shopdata import RuleChange, Shop

#: Words that hold no placeholders, by their setting, and what they are called.
_WITHOUT_FIGURES = {"title": "the title", "fine": "this text"}


def with_changes(rules: Iterable[Rule], shop: Shop) -> list[Rule]:
    """The rules as the shop wants them; those it switched off are left out.

    Raises
    ------
    SettingsError
        When the shop changes a rule that there is not, a limit of an unknown kind or in another unit, puts limits in
        the wrong order, or uses an unknown placeholder. It names the shop file, the line and the setting.
    """
    by_id = {rule.id: rule for rule in rules}
    for name in shop.rules:
        if name not in by_id:
            near = get_close_matches(name, by_id, n=1)
            step = f"Did you mean {near[0]}? " if near else ""
            raise _slip(shop, name, "", f"there is no rule '{name}'", f"{step}'preflight rules' lists them.")
    changed = {name: _changed(by_id[name], change, shop) for name, change in shop.rules.items() if not change.off}
    return [changed.get(name, rule) for name, rule in by_id.items() if name not in shop.rules or name in changed]


def _changed(rule: Rule, change: RuleChange, shop: Shop) -> Rule:
    limits = _limits(rule, change, shop)
    words = _words(rule, change, shop)
    severity = rule.severity if change.severity is None else Severity(change.severity)
    changed = ["limits"] if change.limits or change.kinds else []
    changed += ["severity"] if change.severity is not None else []
    changed += ["words"] if change.customer or change.operator else []
    return replace(rule, limits=limits, severity=severity, words=rule.words._replace(**words), changed=tuple(changed))


def _limits(rule: Rule, change: RuleChange, shop: Shop) -> dict[str, Limits]:
    """The rule's limits with the shop's. A limit without a kind is meant for every kind."""
    if rule.found is Found.PRESENT and (change.limits or change.kinds):
        name = next(iter((*change.limits, *change.kinds)))
        raise _slip(shop, rule.id, name, f"{rule.id} has no limits", "Change its severity, or switch it off.")
    for key, unit in change.units.items():
        if unit.replace("²", "2") != rule.unit:
            step = f"Write the number in {rule.unit}."
            raise _slip(shop, rule.id, key, f"the limits of {rule.id} are in {rule.unit}, not in {unit}", step)
    kinds = MEASURES[rule.measure].kinds
    for kind in change.kinds:
        if kind not in kinds:
            step = f"Known kinds: {', '.join(kinds)}." if kinds else "Write the limits without a kind."
            raise _slip(shop, rule.id, kind, f"{rule.id} knows no kind '{kind}'", step)
    limits = {kind: _merged(old, change.limits) for kind, old in rule.limits.items()}
    for kind, new in change.kinds.items():
        limits[kind] = _merged(limits.get(kind) or limits.get("") or Limits(), new)
    for kind, merged in limits.items():
        slip = out_of_order(rule.found, merged)
        if slip is not None:
            raise _wrong_order(rule, change, kind, merged, slip, shop)
    return limits


def _merged(old: Limits, new: Mapping[str, float | None]) -> Limits:
    return old._replace(**new)


def _wrong_order(
    rule: Rule, change: RuleChange, kind: str, limits: Limits, slip: tuple[str, str], shop: Shop
) -> SettingsError:
    """Named at the limit that the shop wrote itself: the other may be the rule's own."""
    harsh, mild = slip
    own = change.kinds.get(kind, {})
    name = next((f"{kind}.{each}" for each in slip if each in own), None)
    name = name or next((each for each in slip if each in change.limits), harsh)
    hard, soft = limits.of(Severity(harsh)), limits.of(Severity(mild))
    about = f" for {kind}" if kind else ""
    more = "below" if rule.found is Found.BELOW else "above"
    what = f"{rule.id} would{about} stand at {harsh} = {hard:g} and {mild} = {soft:g}, so {mild} would never count"
    step = f"A value {more} a limit is a finding: give {mild} the limit that is passed first, or change both."
    return _slip(shop, rule.id, name, what, step)


def _words(rule: Rule, change: RuleChange, shop: Shop) -> dict[str, str]:
    """The shop's words, by the field of ``Words``."""
    known = known_placeholders(MEASURES[rule.measure])
    words = {}
    for group, texts, prefix in (("customer", change.customer, ""), ("operator", change.operator, "operator_")):
        for name, text in texts.items():
            bare = name in _WITHOUT_FIGURES
            slip = slip_in(text, () if bare else known)
            if slip is not None:
                allowed = f"Write {_WITHOUT_FIGURES[name]} without braces." if bare else _listed(known)
                raise _slip(shop, rule.id, f"{group}.{name}", slip, allowed)
            words[prefix + name] = " ".join(text.split())
    return words


def _listed(known: tuple[str, ...]) -> str:
    return f"Use {', '.join(f'{{{name}}}' for name in known)}."


def _slip(shop: Shop, rule: str, name: str, what: str, next_step: str) -> SettingsError:
    """A SettingsError at a setting of the shop file's ``[rules.ID]``."""
    key = f"rules.{rule}.{name}".rstrip(".")
    return SettingsError(what, next_step, key=key) if shop.source is None else shop.source.slip(key, what, next_step)
