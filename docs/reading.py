"""What the sources can say: the texts that an expression can become, with names in braces for what is not known."""

from __future__ import annotations

import ast
import importlib
import itertools
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
#: Texts that one expression may become at most.
_MOST = 16


class Module:
    """A module of ours: its syntax tree, and the module itself for its constants."""

    def __init__(self, path: Path, place: str) -> None:
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.module = importlib.import_module(place.removesuffix(".py").removesuffix("/__init__").replace("/", "."))
        self.functions = {node.name: node for node in ast.walk(self.tree) if isinstance(node, ast.FunctionDef)}

    def nodes(self) -> Iterator[tuple[ast.FunctionDef | None, ast.AST]]:
        """Every node but docstrings, with the function that it stands in."""
        docs = {id(node.value) for node in ast.walk(self.tree) if isinstance(node, ast.Expr)}
        yield from ((function, node) for function, node in self._nodes(self.tree, None) if id(node) not in docs)

    def _nodes(
        self, node: ast.AST, function: ast.FunctionDef | None
    ) -> Iterator[tuple[ast.FunctionDef | None, ast.AST]]:
        """Every node with the function it stands in; the inside of an f-string is left to the f-string."""
        for child in ast.iter_child_nodes(node):
            yield function, child
            if not isinstance(child, ast.JoinedStr):
                yield from self._nodes(child, child if isinstance(child, ast.FunctionDef) else function)

    def known(self, node: ast.AST, function: ast.FunctionDef | None) -> list[str]:
        """What an expression of a function can say, with names in braces for figures."""
        return [text for text in self._templates(node, function) if text is not None]

    def _templates(self, node: ast.AST, function: ast.FunctionDef | None, depth: int = 4) -> list[str | None]:
        """What an expression can say, with names in braces for figures; None among it: also what is not known here."""
        if isinstance(node, ast.Constant):
            return [node.value if isinstance(node.value, str) else None]
        if isinstance(node, ast.IfExp):
            return [*self._templates(node.body, function, depth), *self._templates(node.orelse, function, depth)]
        if isinstance(node, ast.BoolOp):
            return [text for each in node.values for text in self._templates(each, function, depth)]
        if isinstance(node, ast.JoinedStr):
            return [*self._of_fstring(node, function, depth)]
        if isinstance(node, ast.Name) and depth:
            return self._of_name(node.id, function, depth - 1)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and depth:
            called = self.functions.get(node.func.id)
            returned = [one.value for one in ast.walk(called) if isinstance(one, ast.Return)] if called else [node]
            return [text for each in returned if each for text in self._templates(each, called, depth - 1)]
        return [None]

    def _of_name(self, name: str, function: ast.FunctionDef | None, depth: int) -> list[str | None]:
        texts: list[str | None] = []
        for node in ast.walk(function) if function is not None else ():
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    texts += self._assigned(target, node.value, name, function, depth)
        value = getattr(self.module, name, None)
        if not texts and isinstance(value, str):
            texts = [value]
        return list(dict.fromkeys(texts)) or [None]

    def _assigned(
        self, target: ast.expr, value: ast.expr, name: str, function: ast.FunctionDef | None, depth: int
    ) -> list[str | None]:
        if isinstance(target, ast.Name) and target.id == name:
            return self._templates(value, function, depth)
        if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            pairs = zip(target.elts, value.elts, strict=False)
            return [text for one, other in pairs for text in self._assigned(one, other, name, function, depth)]
        return []

    def _of_fstring(self, node: ast.JoinedStr, function: ast.FunctionDef | None, depth: int) -> list[str]:
        choices, taken = [], set[str]()
        for part in node.values:
            if isinstance(part, ast.Constant):
                choices.append([str(part.value)])
            elif isinstance(part, ast.FormattedValue):
                found = self._templates(part.value, function, depth) if part.format_spec is None else [None]
                known = [text for text in found if text is not None]
                if known and len(known) == len(found):
                    choices.append(known)
                else:
                    choices.append([f"{{{_name(part.value, taken)}}}"])
        every = ("".join(each) for each in itertools.islice(itertools.product(*choices), _MOST))
        return list(dict.fromkeys(_each_once(text) for text in every))


def _each_once(text: str) -> str:
    """The text with another name for a figure whose name is taken in it."""
    taken = set[str]()

    def renamed(match: re.Match[str]) -> str:
        name, number = match[1], 1
        while name in taken:
            number += 1
            name = f"{match[1]}{number}"
        taken.add(name)
        return f"{{{name}}}"

    return re.sub(r"\{(\w+)\}", renamed, text)


def _name(node: ast.expr, taken: set[str]) -> str:
    """A name for a figure: the last word of what it is made of."""
    words = [word for word in re.findall(r"[a-z_]{2,}", ast.unparse(node)) if word not in ("join", "len", "str")]
    bare = words[-1].strip("_") if words else "figure"
    if isinstance(node, (ast.Name, ast.Attribute)):
        bare = ast.unparse(node).rpartition(".")[2].lower().strip("_")
    name, number = bare, 1
    while name in taken:
        number += 1
        name = f"{bare}{number}"
    taken.add(name)
    return name
