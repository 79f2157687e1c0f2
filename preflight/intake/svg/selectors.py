"""Selectors of style sheets, taken apart and held against elements: Selectors 3 without pseudo-classes and siblings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, TypeAlias

from preflight.intake.svg.tree import Node
from preflight.records import dataclass

Specificity: TypeAlias = tuple[int, int, int]
#: From the element outwards: how the next is found ("" itself, " " an ancestor, ">" the parent), and its conditions.
Steps: TypeAlias = "tuple[tuple[str, Compound], ...]"


@dataclass(frozen=True, slots=True)
class Compound:
    """Conditions on one element: ``rect.thin[fill]``."""

    tag: str | None = None
    ids: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    attributes: tuple[tuple[str, str, str], ...] = ()  #: name, operator ("" = is there), value

    def fits(self, node: Node) -> bool:
        """Whether they all hold for an element."""
        if self.tag is not None and node.tag != self.tag:
            return False
        if any(node.attributes.get("id") != one for one in self.ids):
            return False
        if self.classes and not set(self.classes) <= set(node.attributes.get("class", "").split()):
            return False
        return all(_holds(node.attributes.get(name), operator, value) for name, operator, value in self.attributes)


def split_list(tokens: Iterable[Any]) -> Iterator[list[Any]]:
    """A list of selectors at its commas."""
    one: list[Any] = []
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            yield one
            one = []
        else:
            one.append(token)
    yield one


def steps(tokens: list[Any]) -> Steps | None:
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


def above(node: Node, outer_steps: Steps) -> bool | None:
    """Whether the outer parts of a selector are found among an element's ancestors.

    Returns
    -------
    bool or None
        False where another ancestor may still fit, None where none can: no search is repeated.
    """
    if not outer_steps:
        return True
    (sign, compound), rest = outer_steps[0], outer_steps[1:]
    outer = node.parent
    if sign == ">":
        if outer is None:
            return None
        return above(outer, rest) if compound.fits(outer) else False
    while outer is not None:
        if compound.fits(outer):
            found = above(outer, rest)
            if found is not False:
                return found
        outer = outer.parent
    return None


def key(compound: Compound) -> str:
    """Under which the rules for an element are looked up."""
    if compound.ids:
        return "#" + compound.ids[0]
    if compound.classes:
        return "." + compound.classes[0]
    return compound.tag or "*"


def specificity(found: Steps) -> Specificity:
    """How much a selector outweighs others."""
    compounds = [compound for _, compound in found]
    return (
        sum(len(one.ids) for one in compounds),
        sum(len(one.classes) + len(one.attributes) for one in compounds),
        sum(one.tag is not None for one in compounds),
    )
