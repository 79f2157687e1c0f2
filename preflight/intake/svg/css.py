"""Style sheets and style attributes of a drawing: which declarations hold for an element.

CSS Syntax 3, Selectors 3 and the cascade of CSS 2, as far as they are needed to know how wide a line is and which
letters are shown. A rule whose selector is beyond that is counted, so that the report can say so.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import count
from typing import Any, TypeAlias

from preflight.intake.svg.limits import MOST_RULES, MOST_STYLE, MOST_TRIES, too_complex
from preflight.intake.svg.tree import Node

#: Property → its value as written, and whether it is important.
Declarations: TypeAlias = Mapping[str, tuple[str, bool]]
Specificity: TypeAlias = tuple[int, int, int]

#: What is looked at; everything else in a style sheet is passed over.
PROPERTIES = frozenset(
    "display visibility opacity fill fill-opacity stroke stroke-width stroke-opacity stroke-dasharray vector-effect "
    "font font-family font-size filter mask clip-path mix-blend-mode isolation color marker marker-start marker-mid "
    "marker-end width height".split()
)
#: Embedded fonts and pictures: long, and of no matter here.
_DATA = re.compile(r"""url\(\s*(["']?)data:[^)"']*\1\s*\)""", re.IGNORECASE)
#: A style attribute that needs no parser: no strings, no brackets but those of a simple reference, no escapes.
_PLAIN = re.compile(r"""^(?:[^"'(){}\\/@]|url\(#[^"'(){}\\/]*\))*$""")
_IMPORTANT = re.compile(r"!\s*important\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Compound:
    """Conditions on one element: ``rect.thin[fill]``."""

    tag: str | None = None
    ids: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    attributes: tuple[tuple[str, str, str], ...] = ()  #: name, operator ("" = is there), value

    def fits(self, node: Node) -> bool:
        if self.tag is not None and node.tag != self.tag:
            return False
        if any(node.attributes.get("id") != one for one in self.ids):
            return False
        if self.classes and not set(self.classes) <= set(node.attributes.get("class", "").split()):
            return False
        return all(_holds(node.attributes.get(name), operator, value) for name, operator, value in self.attributes)


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector with its declarations. ``steps`` go from the element outwards: "" itself, " " or ">" above."""

    steps: tuple[tuple[str, Compound], ...]
    declarations: Declarations
    specificity: Specificity
    order: int

    def fits(self, node: Node) -> bool:
        return self.steps[0][1].fits(node) and _above(node, self.steps[1:]) is True


@dataclass(slots=True)
class Sheet:
    """All style sheets of a drawing."""

    by_key: dict[str, list[Rule]] = field(default_factory=lambda: defaultdict(list))
    linked: list[str] = field(default_factory=list)  #: what they name outside the file
    fonts: int = 0  #: fonts that they bring along
    passed_over: int = 0  #: rules that were not understood
    tries: int = 0  #: rules held against an element

    def declarations(self, node: Node) -> dict[str, str]:
        """What holds for an element: its attributes, the style sheets, its style attribute; important ones last."""
        own = style_attribute(node.attributes["style"]) if "style" in node.attributes else {}
        found = {name: node.attributes[name] for name in PROPERTIES & node.attributes.keys()}
        if not self.by_key:
            found.update((name, value) for name, (value, _) in own.items())
            return found
        important: dict[str, str] = {}
        for declarations in (*(rule.declarations for rule in self._fitting(node)), own):
            for name, (value, matters) in declarations.items():
                (important if matters else found)[name] = value
        return {**found, **important}

    def _fitting(self, node: Node) -> list[Rule]:
        keys = ["*", node.tag, "#" + node.attributes.get("id", "")]
        keys += ["." + name for name in set(node.attributes.get("class", "").split())]
        candidates = [rule for key in keys for rule in self.by_key.get(key, ())]
        self.tries += len(candidates)
        if self.tries > MOST_TRIES:
            raise too_complex("its style sheets have too many rules for its elements")
        fitting = [rule for rule in candidates if rule.fits(node)]
        return sorted(fitting, key=lambda rule: (rule.specificity, rule.order))


def read_sheets(texts: Iterable[str]) -> Sheet:
    """Parse the style sheets of a drawing.

    Raises
    ------
    IntakeError
        When they are beyond the limits.
    """
    sheet, order, letters = Sheet(), count(), 0
    for text in texts:
        short = _DATA.sub("url(data:)", text)
        letters += len(short)
        if letters > MOST_STYLE:
            raise too_complex(f"its style sheets are longer than {MOST_STYLE >> 20} MB")
        _read(short, sheet, order)
    return sheet


def style_attribute(text: str) -> Declarations:
    """The declarations of a style attribute."""
    return _style_attribute(text) if len(text) < 4096 else _style_attribute.__wrapped__(text)


@lru_cache(maxsize=4096)
def _style_attribute(text: str) -> Declarations:
    if _PLAIN.match(text):
        return dict(_plain(text))
    import tinycss2

    short = _DATA.sub("url(data:)", text)
    if len(short) > MOST_STYLE:
        raise too_complex("a style attribute is too long")
    return _declared(tinycss2.parse_blocks_contents(short, skip_comments=True, skip_whitespace=True))


def _plain(text: str) -> Iterator[tuple[str, tuple[str, bool]]]:
    for declaration in text.split(";"):
        name, colon, value = declaration.partition(":")
        name = name.strip().lower()
        if colon and name in PROPERTIES:
            yield name, (_IMPORTANT.sub("", value).strip(), bool(_IMPORTANT.search(value)))


def _declared(items: Iterable[Any]) -> Declarations:
    import tinycss2

    return {
        item.lower_name: (tinycss2.serialize(item.value).strip(), item.important)
        for item in items
        if item.type == "declaration" and item.lower_name in PROPERTIES
    }


def _read(text: str, sheet: Sheet, order: Iterator[int]) -> None:
    import tinycss2

    for item in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
        if item.type == "at-rule":
            _at_rule(item, sheet)
        elif item.type == "qualified-rule":
            _rule(item, sheet, order)
        else:
            sheet.passed_over += 1


def _at_rule(rule: Any, sheet: Sheet) -> None:
    """Imports and fonts; the library that draws passes over all others as well (measured for @media)."""
    if rule.lower_at_keyword == "import":
        sheet.linked += [f"style sheet {address}" for address in _addresses(rule.prelude)]
    elif rule.lower_at_keyword == "font-face":
        addresses = list(_addresses(rule.content or []))
        sheet.fonts += 1
        sheet.linked += [f"font {address}" for address in addresses if not address.lower().startswith("data:")]


def _addresses(tokens: Iterable[Any]) -> Iterator[str]:
    for token in tokens:
        if token.type in ("url", "string"):
            yield token.value
        elif token.type == "function" and token.lower_name == "url":
            yield from (one.value for one in token.arguments if one.type == "string")


def _rule(rule: Any, sheet: Sheet, order: Iterator[int]) -> None:
    import tinycss2

    declared = _declared(tinycss2.parse_blocks_contents(rule.content, skip_comments=True, skip_whitespace=True))
    if not declared:
        return
    for tokens in _split(rule.prelude):
        place = next(order)
        if place >= MOST_RULES:
            raise too_complex(f"its style sheets hold more than {MOST_RULES:,} rules")
        steps = _steps(tokens)
        if steps is None:
            sheet.passed_over += 1
            continue
        sheet.by_key[_key(steps[0][1])].append(Rule(steps, declared, _specificity(steps), place))


def _split(tokens: Iterable[Any]) -> Iterator[list[Any]]:
    """A list of selectors at its commas."""
    one: list[Any] = []
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            yield one
            one = []
        else:
            one.append(token)
    yield one


def _steps(tokens: list[Any]) -> tuple[tuple[str, Compound], ...] | None:
    """A selector taken apart, the element itself first; None where it is beyond what is understood."""
    while tokens and tokens[0].type == "whitespace":
        tokens = tokens[1:]
    while tokens and tokens[-1].type == "whitespace":
        tokens = tokens[:-1]
    parts: list[tuple[str, list[Any]]] = [("", [])]
    for token in tokens:
        literal = token.value if token.type == "literal" else None
        if token.type == "whitespace":
            if parts[-1][1]:
                parts.append((" ", []))
        elif literal == ">":
            if parts[-1][1]:
                parts.append((">", []))
            else:
                parts[-1] = (">", [])
        else:
            parts[-1][1].append(token)
    compounds = [_compound(part) for _, part in parts]
    if any(one is None for one in compounds):
        return None
    # The sign stands before the inner element and tells how the outer one is found.
    signs = [sign for sign, _ in parts[1:]]
    inside_out = list(zip(["", *reversed(signs)], reversed(compounds), strict=True))
    return tuple((sign, compound) for sign, compound in inside_out if compound is not None)


def _compound(tokens: list[Any]) -> Compound | None:
    tag: str | None = None
    ids: list[str] = []
    classes: list[str] = []
    attributes: list[tuple[str, str, str]] = []
    place = 0
    while place < len(tokens):
        token = tokens[place]
        after = tokens[place + 1] if place + 1 < len(tokens) else None
        place += 1
        if token.type == "ident" and place == 1:
            tag = token.value
        elif token.type == "literal" and token.value == "*" and place == 1:
            continue
        elif token.type == "hash":
            ids.append(token.value)
        elif token.type == "literal" and token.value == "." and after is not None and after.type == "ident":
            classes.append(after.value)
            place += 1
        elif token.type == "[] block" and (condition := _condition(token.content)) is not None:
            attributes.append(condition)
        else:
            return None
    return Compound(tag, tuple(ids), tuple(classes), tuple(attributes)) if tokens else None


def _condition(tokens: Iterable[Any]) -> tuple[str, str, str] | None:
    """``[name]``, ``[name=value]`` and the other five operators."""
    told = [token for token in tokens if token.type != "whitespace"]
    if not told or told[0].type != "ident":
        return None
    if len(told) == 1:
        return told[0].value, "", ""
    operator = "".join(token.value for token in told[1:-1] if token.type == "literal")
    if operator not in ("=", "~=", "|=", "^=", "$=", "*=") or told[-1].type not in ("ident", "string"):
        return None
    return told[0].value, operator, told[-1].value


def _holds(found: str | None, operator: str, value: str) -> bool:
    if found is None:
        return False
    if operator in ("", "="):
        return not operator or found == value
    if operator == "~=":
        return value in found.split()
    if operator == "|=":
        return found == value or found.startswith(f"{value}-")
    if not value:
        return False
    return {"^=": found.startswith(value), "$=": found.endswith(value), "*=": value in found}[operator]


def _above(node: Node, steps: tuple[tuple[str, Compound], ...]) -> bool | None:
    """Whether the outer parts of a selector are found among an element's ancestors.

    Returns
    -------
    bool or None
        False where another ancestor may still fit, None where none can: no search is repeated.
    """
    if not steps:
        return True
    (sign, compound), rest = steps[0], steps[1:]
    outer = node.parent
    if sign == ">":
        if outer is None:
            return None
        return _above(outer, rest) if compound.fits(outer) else False
    while outer is not None:
        if compound.fits(outer):
            found = _above(outer, rest)
            if found is not False:
                return found
        outer = outer.parent
    return None


def _key(compound: Compound) -> str:
    """Under which the rules for an element are looked up."""
    if compound.ids:
        return "#" + compound.ids[0]
    if compound.classes:
        return "." + compound.classes[0]
    return compound.tag or "*"


def _specificity(steps: tuple[tuple[str, Compound], ...]) -> Specificity:
    compounds = [compound for _, compound in steps]
    return (
        sum(len(one.ids) for one in compounds),
        sum(len(one.classes) + len(one.attributes) for one in compounds),
        sum(one.tag is not None for one in compounds),
    )
