"""An SVG document read into a tree of its elements, within limits, before any library draws it.

XML 1.0 through the parser of the standard library. Nothing outside the file is ever read: no external entity, no
document type definition.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import field
from xml.parsers import expat

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, cut_short, unreadable
from preflight.intake.svg.limits import (
    LONGEST_ENTITY,
    MOST_ADDED,
    MOST_ATTRIBUTES,
    MOST_DEPTH,
    MOST_ELEMENTS,
    MOST_ENTITIES,
    MOST_STYLE,
    too_complex,
)
from preflight.records import dataclass

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
XML = "http://www.w3.org/XML/1998/namespace"
#: Between a namespace and a name: no name holds it.
_BETWEEN = "\n"
_BUFFER = 1 << 20
#: Elements whose own text is kept.
_WORDED = frozenset(("text", "tspan", "textPath", "tref", "a", "style"))
#: Codes of the parser that mean that the document just stops.
_ENDS = {
    expat.errors.codes[text]
    for text in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
    )
}
_AMPLIFIED = expat.errors.codes.get("limit on input amplification factor (from DTD and entities) breached")
#: A reference to another entity inside an entity; the five of XML itself and numbers add nothing.
_NESTED = re.compile(r"&(?!#|(?:amp|lt|gt|quot|apos);)")
_STYLESHEET = re.compile(r"""href\s*=\s*["']([^"']+)["']""")


@dataclass(slots=True, eq=False)
class Node:
    """An element. ``tag`` is the plain name for one of SVG, the namespace in braces and the name for another.

    Names of attributes are plain too; those of XLink and XML keep ``xlink:`` and ``xml:`` before them, those of
    other namespaces their namespace in braces.
    """

    tag: str
    attributes: dict[str, str]
    parent: Node | None
    children: list[Node] = field(default_factory=list)
    text: str = ""  #: its own, without that of its children; only of elements that show or style text

    @property
    def href(self) -> str | None:
        """What it refers to; SVG 2 has the plain name, SVG 1.1 that of XLink."""
        found = self.attributes.get("href", self.attributes.get("xlink:href"))
        return None if found is None else found.strip()

    def walk(self) -> Iterator[Node]:
        """The element and all inside it, in the order of the document."""
        waiting = [self]
        while waiting:
            node = waiting.pop()
            yield node
            waiting.extend(reversed(node.children))


@dataclass(slots=True)
class Document:
    """A drawing's elements."""

    root: Node
    by_id: dict[str, Node]
    style_sheets: tuple[str, ...]  #: text of its style elements
    linked: tuple[str, ...]  #: style sheets outside the file that it names
    root_at: int  #: where the first tag begins, in bytes


def read_tree(data: bytes) -> Document:
    """Parse a document.

    Raises
    ------
    IntakeError
        When it is no SVG, damaged, cut short, or beyond the limits.
    """
    return _Builder(data).document()


class _Builder:
    """The parser's handlers."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._root: Node | None = None
        self._open: list[Node] = []
        self._by_id: dict[str, Node] = {}
        self._linked: list[str] = []
        self._elements = self._entities = self._letters = 0
        self._first = 0
        self._parser = self._made()

    def document(self) -> Document:
        """The tree. Raises as ``read_tree``."""
        try:
            self._parser.Parse(self._data, True)
        except expat.ExpatError as error:
            raise _refused(error) from None
        except (UnicodeError, LookupError, ValueError):  # an encoding that is unknown, or not what the text is in
            raise unreadable("the drawing's text is in an encoding that cannot be read") from None
        if self._root is None or self._root.tag != "svg":
            raise unreadable("this is no SVG drawing: its first element is another")
        sheets = tuple(node.text for node in self._root.walk() if node.tag == "style" and _is_css(node))
        if sum(map(len, sheets)) > MOST_STYLE * 16:
            raise too_complex("its style sheets are too long")
        return Document(self._root, self._by_id, sheets, tuple(self._linked), self._first)

    def _made(self) -> expat.XMLParserType:
        parser = expat.ParserCreate(namespace_separator=_BETWEEN)
        parser.buffer_text = True
        parser.buffer_size = _BUFFER
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        parser.EntityDeclHandler = self._entity
        parser.ProcessingInstructionHandler = self._instruction
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        return parser

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._elements += 1
        if self._elements > MOST_ELEMENTS:
            raise too_complex(f"it has more than {MOST_ELEMENTS:,} elements")
        if len(self._open) >= MOST_DEPTH:
            raise too_complex(f"its elements lie more than {MOST_DEPTH} deep in one another")
        if len(attributes) > MOST_ATTRIBUTES:
            raise too_complex(f"an element has more than {MOST_ATTRIBUTES} attributes")
        self._count(sum(map(len, attributes.values())))
        parent = self._open[-1] if self._open else None
        node = Node(_tag(name), {_attribute(key): value for key, value in attributes.items()}, parent)
        if parent is None:
            self._root = node
            self._first = self._parser.CurrentByteIndex
        else:
            parent.children.append(node)
        self._open.append(node)
        if "id" in node.attributes:
            self._by_id.setdefault(node.attributes["id"], node)

    def _end(self, _name: str) -> None:
        self._open.pop()

    def _characters(self, text: str) -> None:
        self._count(len(text))
        if self._open and self._open[-1].tag in _WORDED:
            self._open[-1].text += text

    def _count(self, letters: int) -> None:
        """Text beyond what stands in the file comes from entities."""
        self._letters += letters
        if self._letters > len(self._data) + MOST_ADDED:
            raise too_complex("its entities repeat too much text")

    def _entity(self, name: str, is_parameter: bool, value: str | None, *_where: str | None) -> None:
        self._entities += 1
        if value is None:
            raise unreadable(f"the drawing calls in another file as its entity '{name[:40]}'", SAVE_AGAIN)
        if is_parameter or _NESTED.search(value):
            raise too_complex("its entities are made of other entities")
        if self._entities > MOST_ENTITIES or len(value) > LONGEST_ENTITY:
            raise too_complex("it declares too many entities, or too long ones")

    def _instruction(self, target: str, data: str) -> None:
        if target == "xml-stylesheet":
            found = _STYLESHEET.search(data)
            self._linked.append(f"style sheet {found[1] if found else data}")


def _tag(name: str) -> str:
    space, _, local = name.rpartition(_BETWEEN)
    return local if space in ("", SVG) else f"{{{space}}}{local}"


def _attribute(name: str) -> str:
    space, _, local = name.rpartition(_BETWEEN)
    if not space:
        return local
    return {XLINK: "xlink:", XML: "xml:"}.get(space, f"{{{space}}}") + local


def _is_css(node: Node) -> bool:
    return node.attributes.get("type", "text/css").strip().lower() in ("", "text/css")


def _refused(error: expat.ExpatError) -> IntakeError:
    """What the parser's refusal means to people."""
    if error.code in _ENDS:
        return cut_short("the drawing ends before its closing tag")
    if _AMPLIFIED is not None and error.code == _AMPLIFIED:
        return too_complex("its entities repeat too much text")
    return unreadable(f"the drawing's XML is damaged in line {error.lineno}")
