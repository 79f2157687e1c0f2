"""Plain data for the way out of the child: what it sends is read as text and checked against the types of our model.

A pickle would let a child that a hostile file has taken over run code in the parent. JSON cannot, and every value is
held to the type that the model's field has before it is believed.
"""

from __future__ import annotations

import binascii
import dataclasses
import enum
import functools
import types
import typing
from collections.abc import Callable, Mapping
from typing import Any, TypeAlias, TypeVar

T = TypeVar("T")
_Read: TypeAlias = Callable[[Any], Any]


class MisfitError(ValueError):
    """A value that is not of the type it should have."""


def to_plain(value: Any) -> Any:
    """A dataclass of the model, and what may stand in one, as JSON knows it.

    Raises
    ------
    TypeError
        For anything else.
    """
    if value is None or type(value) in (str, int, float, bool):
        return value
    if dataclasses.is_dataclass(value):
        kind: Any = type(value)
        return {name: to_plain(getattr(value, name)) for name in _names(kind)}
    if isinstance(value, tuple | list):
        return [to_plain(part) for part in value]
    if isinstance(value, Mapping):
        return {str(key): to_plain(part) for key, part in value.items()}
    if isinstance(value, bytes):
        return binascii.b2a_base64(value, newline=False).decode("ascii")
    if isinstance(value, enum.Enum):
        return value.value
    if hasattr(value, "item"):  # a number of numpy
        return to_plain(value.item())
    raise TypeError(f"{type(value).__name__} does not leave the child")


def from_plain(kind: type[T], value: Any) -> T:
    """Back from JSON to ``kind``, every part checked against its annotation.

    Raises
    ------
    MisfitError
        When anything has another type, is missing or is too much.
    """
    annotation: Any = kind
    fitting: T = _reader(annotation)(value)
    return fitting


@functools.cache
def _names(kind: Any) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))


@functools.cache
def _reader(kind: Any) -> _Read:
    """Function from JSON to ``kind``, an annotation."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return _union(arguments)
    if origin is tuple:
        return _tuple(arguments)
    if origin is list:
        return _list(arguments[0])
    if origin is not None and issubclass(origin, Mapping):
        return _mapping(*arguments)
    if dataclasses.is_dataclass(kind):
        return _record(kind)
    if isinstance(kind, type) and issubclass(kind, enum.Enum):
        return _member(kind)
    if kind in _SIMPLE:
        return _SIMPLE[kind]
    raise TypeError(f"{kind} does not leave the child")


def _misfit(value: Any, wanted: str) -> MisfitError:
    return MisfitError(f"{type(value).__name__} where {wanted} was expected")


def _nothing(value: Any) -> None:
    if value is not None:
        raise _misfit(value, "nothing")


def _number(value: Any) -> float:
    if type(value) is not float and type(value) is not int:
        raise _misfit(value, "a number")
    try:
        return float(value)
    except OverflowError:
        raise _misfit(value, "a number of this size") from None


def _exactly(kind: type) -> _Read:
    def read(value: Any) -> Any:
        if type(value) is not kind:
            raise _misfit(value, kind.__name__)
        return value

    return read


def _bytes(value: Any) -> bytes:
    if type(value) is not str:
        raise _misfit(value, "bytes")
    try:
        return binascii.a2b_base64(value, strict_mode=True)
    except (binascii.Error, ValueError):
        raise _misfit(value, "bytes") from None


_SIMPLE: dict[Any, _Read] = {
    type(None): _nothing,
    float: _number,
    str: _exactly(str),
    int: _exactly(int),
    bool: _exactly(bool),
    bytes: _bytes,
}


def _record(kind: Any) -> _Read:
    hints = typing.get_type_hints(kind)
    parts = {name: _reader(hints[name]) for name in _names(kind)}

    def read(value: Any) -> Any:
        if type(value) is not dict or value.keys() != parts.keys():
            raise _misfit(value, kind.__name__)
        return kind(**{name: part(value[name]) for name, part in parts.items()})

    return read


def _tuple(kinds: tuple[Any, ...]) -> _Read:
    if len(kinds) == 2 and kinds[1] is Ellipsis:
        every = _list(kinds[0])
        return lambda value: tuple(every(value))
    parts = [_reader(kind) for kind in kinds]

    def read(value: Any) -> Any:
        if type(value) is not list or len(value) != len(parts):
            raise _misfit(value, f"{len(parts)} values")
        return tuple(part(one) for part, one in zip(parts, value, strict=True))

    return read


def _list(kind: Any) -> _Read:
    part = _reader(kind)

    def read(value: Any) -> Any:
        if type(value) is not list:
            raise _misfit(value, "a list")
        return [part(one) for one in value]

    return read


def _mapping(key: Any, kind: Any) -> _Read:
    name, part = _reader(key), _reader(kind)

    def read(value: Any) -> Any:
        if type(value) is not dict:
            raise _misfit(value, "a table")
        return {name(one): part(other) for one, other in value.items()}

    return read


def _union(kinds: tuple[Any, ...]) -> _Read:
    parts = [_reader(kind) for kind in kinds]

    def read(value: Any) -> Any:
        for part in parts:
            try:
                return part(value)
            except MisfitError:
                continue
        raise _misfit(value, "another type")

    return read


def _member(kind: type[enum.Enum]) -> _Read:
    def read(value: Any) -> Any:
        try:
            return kind(value)
        except ValueError:
            raise _misfit(value, kind.__name__) from None

    return read
