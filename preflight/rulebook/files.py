"""Reading rule files: one TOML file per rule, a closed set of keys, no expressions."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import preflight
from preflight.errors import SettingsError
from preflight.measure.catalogue import MEASURES, Quantity
from preflight.model import Severity
from preflight.rulebook.rule import GROUPS, TRUST, Example, Found, Limits, Rule, Words, out_of_order
from preflight.rulebook.words import FOR_PPI, GENERAL, slip_in
from preflight.shopdata import Shop
from preflight.tomlfile import Section, TomlFile, load_toml

SEVERITIES = tuple(severity.value for severity in Severity)
_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_HIGHEST = 1e9

#: Limits that a rule takes from the shop's settings, by the name it writes for them.
FROM_SHOP: Mapping[str, Callable[[Shop], float]] = {"film.printable_width": lambda shop: shop.film.printable_mm}


def rules_folder() -> Path:
    """The folder of the rules that come with the program: in the installed package, else beside it in a checkout.

    Raises
    ------
    SettingsError
        When there is none: the installation is not whole.
    """
    package = Path(preflight.__path__[0])  # what importlib.resources would say, 8 ms sooner
    for folder in (package / "rules", package.parent / "rules"):
        if folder.is_dir():
            return folder
    raise SettingsError(
        "the rules of the program are missing", "Install the program again.", file=str(package / "rules")
    )


def read_folder(folder: Path, shop: Shop) -> list[Rule]:
    """Every rule of a folder, by file name. What does not end in ``.toml`` is left alone.

    Raises
    ------
    SettingsError
        When the folder cannot be read or holds no rule, and for each slip in a rule file.
    """
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".toml")
    except OSError as slip:
        what = "this folder of rules is not there" if isinstance(slip, FileNotFoundError) else _reason(slip)
        raise SettingsError(what, "Name a folder that holds rule files.", file=str(folder)) from None
    if not paths:
        raise SettingsError("this folder holds no rule", "Put rule files in it that end in .toml.", file=str(folder))
    return [read_rule(path, shop) for path in paths]


def _reason(slip: OSError) -> str:
    if isinstance(slip, NotADirectoryError):
        return "this is a file, and a folder of rules is needed"
    return f"this folder of rules cannot be read ({slip.strerror or 'no reason given'})"


def read_rule(path: Path, shop: Shop) -> Rule:
    """Read one rule file.

    Parameters
    ----------
    path
        The file; its name without ``.toml`` is the rule's id.
    shop
        Where limits such as ``"film.printable_width"`` are taken from.

    Raises
    ------
    SettingsError
        For the first slip: what, file, line, key, and what to write instead.
    """
    file = load_toml(path)
    top = file.top
    name = top.take_text("id", longest=40)
    if not _ID.fullmatch(name):
        raise top.slip("id", f'"{name}" is no id', "Write small letters and hyphens, such as thin-line.")
    if name != path.stem:
        raise top.slip("id", f"the file is named {path.name} but the id is {name}", "Make the two the same.")
    measure = top.take_choice("measure", MEASURES)
    quantity = MEASURES[measure]
    found = Found(top.take_choice("found", [each.value for each in Found]))
    unit = top.take_text("unit", longest=10)
    if unit != quantity.unit:
        step = f'Write unit = "{quantity.unit}" and give the limits in it.'
        raise top.slip("unit", f'{measure} is measured in {quantity.unit}, not "{unit}"', step)
    group = top.take_choice("group", GROUPS)
    severity = _severity(top, found)
    tolerance = 0.0 if found is Found.PRESENT else top.take_number("tolerance", 0.0)
    defers_to = top.take_texts("defers_to", ()) if isinstance(top.data.get("defers_to"), list) else _one(top)
    limits = {} if found is Found.PRESENT else _all_limits(top.section("limits"), quantity, found, shop)
    words = _words(top, quantity)
    source, trust = _source(top.section("source"))
    example = _example(top.section("example")) if top.has("example") else None
    top.finish()
    return Rule(
        id=name,
        group=group,
        measure=measure,
        found=found,
        unit=unit,
        limits=limits,
        severity=severity,
        tolerance=tolerance,
        defers_to=defers_to,
        words=words,
        source=source,
        trust=trust,
        file=file.name,
        example=example,
    )


def _severity(top: Section, found: Found) -> Severity | None:
    if found is Found.PRESENT:
        return Severity(top.take_choice("severity", SEVERITIES))
    return Severity(top.take_choice("severity", SEVERITIES)) if top.has("severity") else None


def _one(top: Section) -> tuple[str, ...]:
    name = top.take_text("defers_to", None, longest=40)
    return () if name is None else (name,)


def _all_limits(section: Section, quantity: Quantity, found: Found, shop: Shop) -> dict[str, Limits]:
    """The general limits and those of each kind that has its own."""
    limits = {"": _limits(section, found, shop)}
    for kind in quantity.kinds:
        inner = section.section(kind)  # asked for in any case, so that a message can list it
        if section.has(kind):
            limits[kind] = _limits(inner, found, shop)
            inner.finish()
            if limits[kind] == Limits():
                raise section.slip(kind, "there is no limit for this kind", "Write stop, ask or note under it.")
    section.finish()
    if limits[""] == Limits():
        del limits[""]
        missing = [kind for kind in quantity.kinds if kind not in limits]
        if missing or not limits:
            where = f"[limits.{missing[0]}]" if missing else "[limits]"
            raise section.file.slip("limits", "the rule has no limit", f"Write stop, ask or note under {where}.")
    return limits


def _limits(section: Section, found: Found, shop: Shop) -> Limits:
    limits = Limits(*(_limit(section, name, shop) for name in SEVERITIES))
    check_order(section.file, section.path, found, limits)
    return limits


def _limit(section: Section, name: str, shop: Shop) -> float | None:
    value = section.data.get(name)
    if isinstance(value, str) and value in FROM_SHOP:
        section.take_text(name)
        return FROM_SHOP[value](shop)
    return section.take_number(name, None, high=_HIGHEST)


def check_order(file: TomlFile, path: str, found: Found, limits: Limits) -> None:
    """Raise SettingsError when a milder limit is passed only after a harsher one, and so never counts."""
    slip = out_of_order(found, limits)
    if slip is not None:
        harsh, mild = slip
        side = "below" if found is Found.BELOW else "above"
        what = f"{harsh} ({limits.of(Severity(harsh)):g}) is passed before {mild} ({limits.of(Severity(mild)):g})"
        step = f"The rule looks for values {side} the limit: make {harsh} the one that is passed last."
        raise file.slip(f"{path}.{harsh}", what, step)


def _words(top: Section, quantity: Quantity) -> Words:
    known = known_placeholders(quantity)
    customer, operator = top.section("customer"), top.section("operator")
    words = Words(
        title=_text(customer, "title", ()),
        seen=_text(customer, "seen", known),
        why=_text(customer, "why", known),
        fix=_text(customer, "fix", known),
        operator_seen=_text(operator, "seen", known),
        operator_hint=_text(operator, "hint", known),
        as_is=_text(customer, "as_is", known) if customer.has("as_is") else "",
        fine=_text(customer, "fine", ()) if customer.has("fine") else "",
    )
    customer.finish()
    operator.finish()
    return words


def known_placeholders(quantity: Quantity) -> tuple[str, ...]:
    """The placeholders that words about this quantity may use."""
    more = FOR_PPI if quantity.unit == "ppi" else ()
    return (*GENERAL, *more, *(("zero",) if quantity.zero else ()), *quantity.details)


def _text(section: Section, name: str, known: tuple[str, ...]) -> str:
    text = " ".join(section.take_text(name, longest=2000, lines=True).split())
    slip = slip_in(text, known)
    if slip is not None:
        allowed = ", ".join(f"{{{each}}}" for each in known)
        step = f"Use {allowed}." if known else "Write this text without braces."
        raise section.slip(name, slip, step)
    return text


def _source(section: Section) -> tuple[str, str]:
    text = _text_without_figures(section, "text")
    trust = section.take_choice("trust", TRUST)
    section.finish()
    return text, trust


def _example(section: Section) -> Example:
    example = Example(
        good=_text_without_figures(section, "good"),
        bad=_text_without_figures(section, "bad"),
        value=section.take_number("value", high=_HIGHEST),
    )
    section.finish()
    return example


def _text_without_figures(section: Section, name: str) -> str:
    return " ".join(section.take_text(name, longest=2000, lines=True).split())
