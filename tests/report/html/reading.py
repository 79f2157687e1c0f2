"""A page read back with the standard library's parser: what a browser would see."""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

from PIL import Image

VOID = {"meta", "img", "br", "hr", "col", "input", "link"}


@dataclass
class Node:
    """An element."""

    name: str
    attributes: dict[str, str]
    children: list[Node | str] = field(default_factory=list)

    def all(self, name: str = "", class_: str = "") -> Iterator[Node]:
        """This and every element inside it, of that name and with that class."""
        if (not name or self.name == name) and (not class_ or class_ in self.attributes.get("class", "").split()):
            yield self
        for child in self.children:
            if isinstance(child, Node):
                yield from child.all(name, class_)

    def one(self, name: str = "", class_: str = "") -> Node:
        (found,) = self.all(name, class_)
        return found

    @property
    def text(self) -> str:
        return "".join(child if isinstance(child, str) else child.text for child in self.children)

    @property
    def css(self) -> dict[str, str]:
        parts = [part.partition(":") for part in self.attributes.get("style", "").split(";") if part]
        return {name.strip(): value.strip() for name, _, value in parts}


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node("", {})
        self.open = [self.root]
        self.declared: list[str] = []

    def handle_decl(self, decl: str) -> None:
        self.declared.append(decl)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs})
        assert len(node.attributes) == len(attrs), f"an attribute twice in {tag}"
        self.open[-1].children.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].name == tag, f"</{tag}> closes <{self.open[-1].name}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def read(text: str) -> Node:
    """The page; every element must be closed in turn."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    assert reader.declared == ["doctype html"]
    assert reader.open == [reader.root]
    return reader.root


def picture_of(node: Node) -> Image.Image:
    """The picture of an ``img``."""
    found = re.fullmatch(r"data:image/(?:png|jpeg);base64,([A-Za-z0-9+/=]+)", node.attributes["src"])
    assert found is not None
    return Image.open(io.BytesIO(base64.b64decode(found[1]))).convert("RGB")
