"""Every text that a report for people can show, collected from the sources for the catalogues of translations.

Three kinds: what passes through ``language.say`` and ``many``, the words of the rules, and what is put together in
English where a file is read or measured (reasons, next steps, assumptions), which the report retells.
"""

from __future__ import annotations

import ast
import importlib
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from docs.sentences import clauses_and_sentences  # noqa: E402
from preflight.language import NUMBERS  # noqa: E402
from preflight.measure.catalogue import MEASURES  # noqa: E402
from preflight.rulebook import Rule, load_rulebook, sample  # noqa: E402
from preflight.rulebook.rule import TRUST  # noqa: E402
from preflight.rulebook.words import ASK_US, UNIT_WORDS, rule_context, sentences_of  # noqa: E402
from preflight.shop import Shop  # noqa: E402

#: Where reports for people are made.
_REPORTS = ("preflight/report", "preflight/commands", "preflight/overnight")
#: Words that reach ``say`` through data, by where they come from.
_FROM_DATA = {
    ("preflight/report/shopside.py", "part"): ("ink", "powder", "film", "waste"),  # Cost.parts
    ("preflight/report/shopside.py", "name"): ("cyan", "magenta", "yellow", "black", "white"),  # model.CHANNELS
}
_FIELDS = ("title", "seen", "why", "fix", "as_is", "fine", "operator_seen", "operator_hint")


@dataclass(slots=True)
class Told:
    """A message: its context ("" for none), its English, the English for several, and what translators should know."""

    context: str
    message: str
    plural: str = ""
    places: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        """For messages to people."""
        return f"{self.context}: {self.message}" if self.context else self.message


class UnknownWords(Exception):  # noqa: N818 - it is a question to who wrote the code
    """A call of ``say`` whose words this script cannot find."""


def everything() -> list[Told]:
    """All messages, each once, in the order in which a translator best reads them."""
    merged: dict[tuple[str, str], Told] = {}
    for told in (*_said(), *_words_of_figures(), *_of_rules(), *_of_measures(), *clauses_and_sentences(Told)):
        known = merged.setdefault((told.context, told.message), told)
        if known is not told:
            known.plural = known.plural or told.plural
            known.places += [place for place in told.places if place not in known.places]
    return list(merged.values())


# --- what passes through say and many ---------------------------------------------------------------------------------


def _said() -> Iterator[Told]:
    yield Told("", NUMBERS, notes=["The numbers 0 to 10 as words, with commas between and no spaces."])
    for folder in _REPORTS:
        for path in sorted((ROOT / folder).rglob("*.py")):
            place = path.relative_to(ROOT).as_posix()
            tree = ast.parse(path.read_text(encoding="utf-8"))
            module = place.removesuffix(".py").replace("/", ".")
            for function in [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]:
                for call in [node for node in ast.walk(function) if isinstance(node, ast.Call)]:
                    yield from _of_call(call, function, module, place)


def _of_call(call: ast.Call, function: ast.FunctionDef, module: str, place: str) -> Iterator[Told]:
    name = _called(call.func)
    if name == "many":
        one, more = call.args[:2]
        if not (isinstance(one, ast.Constant) and isinstance(more, ast.Constant)):
            raise UnknownWords(f"{place}, line {call.lineno}: write both sentences of many() as plain texts")
        yield Told("", one.value, more.value, places=[place])
    elif name == "say":
        for text in _texts(call.args[0], function, module, place):
            yield Told("", text, places=[place])


def _called(func: ast.expr) -> str:
    """``say`` or ``many`` of a language; "" for any other call. ``say`` may be a short name for it."""
    if isinstance(func, ast.Attribute) and ast.unparse(func.value).endswith("language"):
        return func.attr
    return "say" if isinstance(func, ast.Name) and func.id == "say" else ""


def _texts(node: ast.expr, function: ast.FunctionDef, module: str, place: str) -> list[str]:
    """The texts that an argument of ``say`` can be."""
    found = _FROM_DATA.get((place, ast.unparse(node)))
    texts = list(found or ()) + [text for text in _resolved(node, function, module) if text]
    if not texts:
        raise UnknownWords(
            f"{place}, line {node.lineno}: cannot find the words of say({ast.unparse(node)}); write them there, in a "
            f"table of this module, or in _FROM_DATA of docs/messages.py"
        )
    return texts


def _resolved(node: ast.expr, function: ast.FunctionDef, module: str) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _resolved(node.body, function, module)
        yield from _resolved(node.orelse, function, module)
    elif isinstance(node, ast.Subscript):  # a table
        yield from _flat(_value(module, node.value))
    elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("part_of"):
        marks = importlib.import_module("preflight.report.marks")
        yield from (*_flat(marks._PARTS), marks.ALL_OVER)
    elif isinstance(node, ast.Name):
        yield from _of_name(node.id, function, module)


def _of_name(name: str, function: ast.FunctionDef, module: str) -> Iterator[str]:
    """What a name of a function stands for: a table of the module, or plain texts that it is set to or goes through."""
    for node in ast.walk(function):
        if isinstance(node, (ast.comprehension, ast.For)) and name in _names(node.target):
            yield from _listed(node.iter, function, module)
        elif isinstance(node, ast.Assign) and any(name in _names(target) for target in node.targets):
            yield from _listed(node.value, function, module)
    yield from _flat(_value(module, ast.Name(name)))


def _listed(node: ast.expr, function: ast.FunctionDef, module: str) -> Iterator[str]:
    if isinstance(node, (ast.Tuple, ast.List, ast.IfExp, ast.Constant)):
        yield from (
            each.value for each in ast.walk(node) if isinstance(each, ast.Constant) and isinstance(each.value, str)
        )
    elif isinstance(node, ast.Name):
        yield from _of_name(node.id, function, module)


def _names(node: ast.expr) -> set[str]:
    return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}


def _value(module: str, node: ast.expr) -> Any:
    """A value of a module by its name, None when there is none."""
    value: Any = importlib.import_module(module)
    for name in ast.unparse(node).split("."):
        value = getattr(value, name, None)
    return value


def _flat(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for each in value.values() for text in _flat(each))
    elif isinstance(value, (tuple, list)):
        yield from (text for each in value for text in _flat(each))


# --- figures, rules, measurements -------------------------------------------------------------------------------------


def _words_of_figures() -> Iterator[Told]:
    for one, more in dict.fromkeys(UNIT_WORDS.values()):
        yield Told("unit", one, more, notes=["Stands behind a number."])
    yield Told("figure", "{count} place", "{count} places", notes=["Such as: We found 3 places."])
    yield Told("sentence", ASK_US, notes=["The next step where nothing better is known."])
    yield Told("figure", "{names} and {number} more", notes=["A list of names that is cut short."])
    for colour in ("white", "black"):
        yield Told("clause", colour, notes=["A colour, as in: Its colour is white."])
    for trust in TRUST:
        yield Told("trust", trust, notes=["How far the source of a limit can be trusted; stands in brackets."])


def _of_rules() -> Iterator[Told]:
    for rule in load_rulebook(Shop.default()).rules:
        for name in _FIELDS:
            text = getattr(rule.words, name)
            if text and text != "{next_step}":
                yield Told(
                    rule_context(rule.id, name), text, places=[f"rules/{rule.id}.toml"], notes=_notes(rule, name)
                )
        yield Told(rule_context(rule.id, "source"), rule.source, places=[f"rules/{rule.id}.toml"])


def _notes(rule: Rule, name: str) -> list[str]:
    said = sample(rule)
    filled = getattr(said, name, "") if said is not None else ""
    return [f"Such as: {filled}"] if "{" in getattr(rule.words, name) and filled else []


def _of_measures() -> Iterator[Told]:
    for quantity in MEASURES.values():
        yield Told("measure", quantity.what, notes=["What is measured, in the table for the shop."])
        if quantity.zero:
            yield Told("zero", quantity.zero, notes=["Stands for {zero} in the words of rules."])


def unresolved(calls: Iterable[str]) -> list[str]:
    """Names of messages that a report asked for and that are not collected: for tests."""
    known = {(told.context, told.message) for told in everything()}
    return [name for name in calls if tuple(name.rpartition("\x04")[::2]) not in known]


# --- what a translation must keep -------------------------------------------------------------------------------------

_HOLE = re.compile(r"\{([^{}]*)\}")
_END = (".", "!", "?", ":")


def slips_in(told: Told, texts: Iterable[str]) -> list[str]:
    """What is wrong with the translations of a message, in words; none for one that is not there."""
    return [slip for number, text in enumerate(texts) if text for slip in _slips(told, text, number)]


def _slips(told: Told, text: str, form: int) -> Iterator[str]:
    english = told.plural if form and told.plural else told.message
    if text != text.strip():
        yield "spaces at an end"
    if english[-1:] in _END and text[-1:] not in _END:
        yield "the full stop is missing"
    if english[-1:] not in _END and text[-1:] == ".":
        yield "a full stop too many"
    if told.message == NUMBERS and text.count(",") != NUMBERS.count(","):
        yield "there must be eleven numbers, from 0 to 10"
    if re.search(r"[{}]", _HOLE.sub("", text)):
        yield "a brace has no partner"
    if told.context.startswith("rule "):
        yield from _slips_of_rule(english, text)
    elif _holes(text) != _holes(english) and not (
        told.plural and not form and _holes(text) == _holes(english) - {"count"}
    ):
        yield f"the names in braces differ: {sorted(_holes(english))} became {sorted(_holes(text))}"


def _slips_of_rule(english: str, text: str) -> Iterator[str]:
    ours, theirs = sentences_of(english), sentences_of(text)
    if len(ours) != len(theirs):
        yield f"{len(theirs)} sentences for {len(ours)}"
        return
    for one, other in zip(ours, theirs, strict=True):
        if _holes(one) != _holes(other):
            yield f"the names in braces differ in “{other}”: {sorted(_holes(one))} became {sorted(_holes(other))}"
    for hole in _HOLE.findall(text):
        if "|" in hole and not re.fullmatch(r"[a-z_]+\|[^{}|]+\|[^{}|]+", hole):
            yield f"{{{hole}}} is not {{name|one|several}}"


def _holes(text: str) -> set[str]:
    return {hole.partition("|")[0] for hole in _HOLE.findall(text)}
