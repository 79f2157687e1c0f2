"""Layers that a document can switch off, and which of them are off in print.

Optional content: ISO 32000-1, 8.11 (from memory). The default configuration decides; where it names groups whose
state depends on the use (its AS entries for the event Print), their own PrintState does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import too_complex
from preflight.intake.pdf.values import Key, Value
from preflight.records import dataclass

_MOST_LAYERS = 10_000
_DEEPEST = 32
_MOST_CONDITIONS = 1_000
_MOST_USES = 100
_UNNAMED = "a layer without a name"


@dataclass(frozen=True, slots=True)
class Layers:
    """The layers of a document: names by object number, and those that do not print."""

    names: dict[Key, str] = field(default_factory=dict)
    off: frozenset[Key] = frozenset()

    def hiding(self, content: Value) -> str | None:
        """The layer that keeps content from printing; None when it prints.

        Parameters
        ----------
        content
            An optional content group, or a membership dictionary of several.

        Raises
        ------
        IntakeError
            When the conditions of a membership dictionary do not come to an end.
        """
        if not values.is_dictionary(content):
            return None
        if values.name(values.get(content, "/Type")) != "OCMD":
            key = values.key_of(content)
            return self._name(key) if key in self.off else None
        if self._shows(content):
            return None
        hidden = [self._name(key) for key in _groups(content) if key in self.off]
        return hidden[0] if hidden else next((self._name(key) for key in _groups(content)), _UNNAMED)

    def _name(self, key: Key) -> str:
        return self.names.get(key, _UNNAMED)

    def _shows(self, membership: Value) -> bool:
        expression = values.get(membership, "/VE")
        if any(True for _ in values.items(expression, 1)):
            return self._holds(expression, _DEEPEST, iter(range(_MOST_CONDITIONS)))
        on = [key not in self.off for key in _groups(membership)]
        if not on:
            return True
        policy = values.name(values.get(membership, "/P"))
        if policy == "AllOn":
            return all(on)
        if policy == "AnyOff":
            return not all(on)
        return not any(on) if policy == "AllOff" else any(on)

    def _holds(self, expression: Value, depth: int, left: Iterator[int]) -> bool:
        """A visibility expression: a group, or an array of And, Or, Not and expressions; ``left`` runs out."""
        if next(left, None) is None:
            raise too_complex("its layers depend on one another without end")
        if values.is_dictionary(expression):
            return values.key_of(expression) not in self.off
        operator, *operands = list(values.items(expression, _MOST_CONDITIONS)) or [None]
        word = values.name(operator)
        if depth == 0 or word not in ("And", "Or", "Not"):
            return True
        held = (self._holds(operand, depth - 1, left) for operand in operands)
        if word == "Not":
            return not next(held, False)
        return all(held) if word == "And" else any(held)


def read_layers(root: Value) -> Layers:
    """The layers of a document, from its catalogue."""
    properties = values.get(root, "/OCProperties")
    groups = {values.key_of(group): group for group in values.items(values.get(properties, "/OCGs"), _MOST_LAYERS)}
    groups.pop((0, 0), None)
    if not groups:
        return Layers()
    default = values.get(properties, "/D")
    named = {key: values.text(values.get(group, "/Name")) or _UNNAMED for key, group in groups.items()}
    off = set(groups) if values.name(values.get(default, "/BaseState")) == "OFF" else set()
    off -= _keys(values.get(default, "/ON"))
    off |= _keys(values.get(default, "/OFF")) & set(groups)
    for use in values.items(values.get(default, "/AS"), _MOST_USES):
        _apply(use, groups, off)
    off -= {key for key in off if not _is_for_viewing(groups[key])}
    return Layers(named, frozenset(off))


def _apply(use: Value, groups: dict[Key, Value], off: set[Key]) -> None:
    """A usage application: the states that groups take by themselves when the document is printed."""
    if values.name(values.get(use, "/Event")) != "Print":
        return
    categories = {values.name(one) for one in values.items(values.get(use, "/Category"), 100)}
    for key in _keys(values.get(use, "/OCGs")) & set(groups):
        usage = values.get(groups[key], "/Usage")
        states = [
            values.name(values.get(values.get(usage, f"/{category}"), f"/{category}State"))
            for category in ("Print", "View", "Export")
            if category in categories
        ]
        if "OFF" in states:
            off.add(key)
        elif "ON" in states:
            off.discard(key)


def _is_for_viewing(group: Value) -> bool:
    """Groups of another intent than View have no say in what shows."""
    intent = values.get(group, "/Intent")
    names = {values.name(intent)} if values.name(intent) else {values.name(one) for one in values.items(intent, 100)}
    return not names or bool(names & {"View", "All"})


def _keys(array: Value) -> set[Key]:
    return {values.key_of(one) for one in values.items(array, _MOST_LAYERS)} - {(0, 0)}


def _groups(membership: Value) -> list[Key]:
    """Groups of a membership dictionary: one, or an array."""
    groups = values.get(membership, "/OCGs")
    found = [groups] if values.is_dictionary(groups) else values.items(groups, _MOST_CONDITIONS)
    return [values.key_of(group) for group in found if values.is_dictionary(group)]
