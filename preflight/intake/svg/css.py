"""Style sheets and style attributes of a drawing: which declarations hold for an element.

CSS Syntax 3, Selectors 3 and the cascade of CSS 2, as far as they are needed to know how wide a line is and which
letters are shown. A rule whose selector is beyond that is counted, so that the report can say so.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from functools import lru_cache
from itertools import count
from typing import Any, TypeAlias

from preflight.intake.svg.limits import LONGEST_STYLE, MOST_RULES, MOST_STYLE, MOST_TRIES, too_complex
from preflight.intake.svg.selectors import Specificity, Steps, above, key, specificity, split_list, steps
from preflight.intake.svg.tree import Node
from preflight.records import dataclass

#: Property → its value as written, and whether it is important.
Declarations: TypeAlias = Mapping[str, tuple[str, bool]]

#: What is looked at; everything else in a style sheet is passed over.
PROPERTIES = frozenset((
    "display", "visibility", "opacity", "fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity",
    "stroke-dasharray", "vector-effect", "font", "font-family", "font-size", "filter", "mask", "clip-path",
    "mix-blend-mode", "isolation", "color", "marker", "marker-start", "marker-mid", "marker-end", "width", "height",
))  # fmt: skip
#: Embedded fonts and pictures: long, and of no matter here.
_DATA = re.compile(r"""url\(\s*(["']?)data:[^)"']*\1\s*\)""", re.IGNORECASE)
#: A style attribute that needs no parser: no strings, no brackets but those of a simple reference, no escapes.
_PLAIN = re.compile(r"""^(?:[^"'(){}\\/@]|url\(#[^"'(){}\\/]*\))*$""")
#: Shorter style attributes are remembered: drawings repeat them.
_CACHED = 4096
_IMPORTANT = re.compile(r"!\s*important\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector with its declarations."""

    steps: Steps
    declarations: Declarations
    specificity: Specificity
    order: int

    def fits(self, node: Node) -> bool:
        """Whether it holds for an element."""
        return self.steps[0][1].fits(node) and above(node, self.steps[1:]) is True


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
        candidates = [rule for one in keys for rule in self.by_key.get(one, ())]
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
    if len(text) < _CACHED:
        return _style_attribute(text)
    short = _DATA.sub("url(data:)", text)
    if len(short) > LONGEST_STYLE:
        raise too_complex("a style attribute is too long")
    return _style_attribute.__wrapped__(short)


@lru_cache(maxsize=4096)
def _style_attribute(text: str) -> Declarations:
    if _PLAIN.match(text):
        return dict(_plain(text))
    import tinycss2

    return _declared(tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True))


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
    for tokens in split_list(rule.prelude):
        place = next(order)
        if place >= MOST_RULES:
            raise too_complex(f"its style sheets hold more than {MOST_RULES:,} rules")
        found = steps(tokens)
        if found is None:
            sheet.passed_over += 1
            continue
        sheet.by_key[key(found[0][1])].append(Rule(found, declared, specificity(found), place))
