"""What in a drawing could act or reach outside. It is reported; nothing of it is ever run or fetched."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.intake.svg.limits import MOST_NAMED
from preflight.intake.svg.pictures import is_data
from preflight.intake.svg.tree import Document, Node

_SCRIPTS = frozenset(("script", "handler", "listener"))
_MEDIA = {
    "video": "a film",
    "audio": "a sound",
    "iframe": "a web page",
    "embed": "a foreign object",
    "object": "a foreign object",
}
#: Elements whose reference is not followed by the walk over what is shown.
_REFERRING = frozenset(
    ("feImage", "tref", "textPath", "pattern", "linearGradient", "radialGradient", "filter", "mpath")
)
_LONGEST = 80


def active(document: Document) -> tuple[str, ...]:
    """What could act, in words: scripts, links to outside addresses, parts of web pages; each once."""
    found: dict[str, None] = {}
    for node in document.root.walk():
        for what in _acts(node):
            if len(found) < MOST_NAMED:
                found.setdefault(what)
    return tuple(found)


def _acts(node: Node) -> Iterator[str]:
    local = node.tag.rpartition("}")[2]
    if local in _SCRIPTS:
        yield "a script"
    if node.tag == "foreignObject" and not node.attributes.get("requiredExtensions"):
        yield "a part of a web page (foreignObject)"
    if local in _MEDIA:
        yield _MEDIA[local]
    address = (node.href or "").replace("\n", "").replace("\t", "")
    if address.lower().startswith(("javascript:", "vbscript:")):
        yield "a script in a link"
    elif node.tag == "a" and address and not address.startswith("#") and not is_data(address):
        yield f"a link to an outside address ({_shown(address)})"
    for name in node.attributes:
        if name[:2].lower() == "on" and name[2:].isalpha():
            yield f"a script in the attribute {_shown(name)}"


def linked_elsewhere(document: Document) -> tuple[str, ...]:
    """Addresses outside the file that filters, gradients and the like refer to; each once."""
    found = {
        _shown(node.href): None
        for node in document.root.walk()
        if node.tag in _REFERRING and node.href and not node.href.startswith("#") and not is_data(node.href)
    }
    return tuple(found)[:MOST_NAMED]


def _shown(text: str) -> str:
    printable = "".join(letter for letter in text if letter.isprintable())
    return printable if len(printable) <= _LONGEST else printable[: _LONGEST - 1] + "…"
