"""Data classes that cost a third of the usual to define.

The standard decorator writes the source of six methods for each class and compiles every one: 0.45 ms, and a check
defines 64 classes before it looks at a file (measured). Here only ``__init__`` is written; comparing, hashing and
showing are shared by all. To a type checker it is the standard decorator, which is what keeps ``frozen`` records from
being changed: at run time nothing does.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(*, frozen: bool = False, slots: bool = False, eq: bool = True):
        """The standard decorator's options that this house uses, with their standard meaning."""

        def made(cls: type) -> type:
            kind = dataclasses.dataclass(slots=slots, eq=False, repr=False)(cls)
            if "__repr__" not in cls.__dict__:
                kind.__repr__ = _repr
            if eq:
                kind.__eq__ = _equal
                kind.__hash__ = _hash if frozen else None
            return kind

        return made


def _equal(self: object, other: object) -> Any:
    """Whether both are of one class and all that is compared is equal."""
    if other.__class__ is not self.__class__:
        return NotImplemented
    return _compared(self) == _compared(other)


def _hash(self: object) -> int:
    return hash(_compared(self))


def _compared(record: object) -> tuple[object, ...]:
    fields = dataclasses.fields(record)  # type: ignore[arg-type]
    return tuple(getattr(record, field.name) for field in fields if field.compare)


def _repr(self: object) -> str:
    fields = dataclasses.fields(self)  # type: ignore[arg-type]
    shown = ", ".join(f"{field.name}={getattr(self, field.name)!r}" for field in fields if field.repr)
    return f"{type(self).__qualname__}({shown})"
