"""A tiny builder of HTML: whatever is put in as text comes out as text.

Every string is escaped, and its invisible and steering characters are shown by number, unless it is ``Markup``, which
only ``tag`` makes.
"""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Iterable
from typing import TypeAlias

from preflight.report.words import plain, unbroken
from preflight.views.model import KINDS, Picture

_NAME = re.compile(r"[a-zA-Z][a-zA-Z0-9-]*")
_VOID = frozenset({"meta", "img"})


class Markup(str):
    """Finished HTML, or the finished value of an attribute."""

    __slots__ = ()


#: What may stand inside an element.
Child: TypeAlias = "str | Markup | Iterable[Child] | None"


def tag(name: str, /, *children: Child, **attributes: str | bool | None) -> Markup:
    """An element.

    Parameters
    ----------
    name
        Of the element.
    children
        Text, which is escaped; elements; lists of both. None is nothing.
    attributes
        Text, which is escaped; True for one without a value; None for none. ``class_`` is "class", and a low line
        inside a name is a hyphen.

    Raises
    ------
    ValueError
        For a name that is none, and for children of an element that has none.
    """
    parts = [name, *(_attribute(key, value) for key, value in attributes.items() if value not in (None, False))]
    if not _NAME.fullmatch(name) or (children and name in _VOID):
        raise ValueError(f"no such element: {name}")
    start = f"<{' '.join(parts)}>"
    return Markup(start if name in _VOID else f"{start}{''.join(_inside(children))}</{name}>")


def joined(*children: Child) -> Markup:
    """Several, one after the other, without an element around them."""
    return Markup("".join(_inside(children)))


def style(css: str) -> Markup:
    """A style sheet of our own.

    Raises
    ------
    ValueError
        When it could end the element.
    """
    if "<" in css:
        raise ValueError("a style sheet holds no markup")
    return Markup(f"<style>{css}</style>")


def data_uri(picture: Picture) -> Markup:
    """A picture as an address that needs no loading, ready to be an attribute.

    Raises
    ------
    ValueError
        For a kind of picture that no report holds.
    """
    if picture.kind not in KINDS:
        raise ValueError("a report holds PNG and JPEG pictures only")
    return data_address(picture.kind, picture.data)


def data_address(kind: str, data: bytes) -> Markup:
    """The same of a picture's bytes; ``kind`` is one of ``KINDS``."""
    return Markup(f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}")


def _attribute(key: str, value: str | bool | None) -> str:
    name = key.rstrip("_").replace("_", "-")
    if not _NAME.fullmatch(name) or name.lower().startswith("on"):
        raise ValueError(f"no such attribute: {name}")
    if value is True:
        return name
    return f'{name}="{value if isinstance(value, Markup) else _escaped(str(value))}"'


def _inside(children: Child) -> Iterable[str]:
    if children is None:
        return
    if isinstance(children, Markup):
        yield str(children)
    elif isinstance(children, str):
        yield unbroken(_escaped(children))
    else:
        for child in children:
            yield from _inside(child)


def _escaped(text: str) -> str:
    return html.escape(plain(text), quote=True)
