"""What is put together in English where a file is read or measured, collected for the catalogues of translations.

Reasons are clauses ("the file is empty"); next steps and assumptions are whole sentences. A figure in one of them, or
a word that comes from the file, is a name in braces, by which the report finds it again.
"""

from __future__ import annotations

import ast
import importlib
import itertools
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
_FILES = (
    *("preflight/child/fate.py", "preflight/engine.py", "preflight/concluding.py", "preflight/shopdata.py"),
    *("preflight/ink/separation.py", "preflight/rulebook/judge.py", "preflight/views/draw.py"),
)
_FOLDERS = ("preflight/intake", "preflight/measure")
#: Calls whose first argument is a reason, and other names that reasons have.
_REASON_CALLS = frozenset(
    {"IntakeError", "ChildDied", "unreadable", "cut_short", "too_complex", "unread", "Stopped", "_damaged"}
)
_REASON_NAMES = frozenset({"what", "why", "reason", "why_not", "_NO_SIZE", "_NO_DOCUMENT"})
#: Texts that reach nobody's report: slips of a shop file, what libraries say.
_NOT_TOLD = frozenset(
    {
        "MediaBox is undefined",
        "without a name",
        "Name the CMYK output profile of your printer and film, or delete the line to take the reference.",
    }
)
_MOST = 16
_SENTENCE = re.compile(r"[A-Z{].* .*[.:?]", re.DOTALL)


def clauses_and_sentences(told: Callable[..., Any]) -> Iterator[Any]:
    """Every reason, next step and assumption, as ``told(context, message, places=...)``."""
    files = [ROOT / name for name in _FILES]
    for folder in _FOLDERS:
        files += sorted((ROOT / folder).rglob("*.py"))
    for path in files:
        place = path.relative_to(ROOT).as_posix()
        for context, text in _Module(path, place).texts():
            if text not in _NOT_TOLD:
                yield told(context, text, places=[place])
    yield from _things(told)
    for word in ("frames", "pages", "pictures"):  # Head.frame_word
        yield told("clause", word, places=["preflight/intake/head.py"], notes=["As in: The file holds 3 frames."])
    for word in ("any cloth", "(letters that cannot be read)", "(without a name)"):
        yield told("clause", word, places=["preflight/measure"])
    from preflight.intake.sniff import FORMATS

    for known in FORMATS.values():  # what "it is {what}" goes on with
        yield told("clause", known.what, places=["preflight/intake/sniff.py"], notes=["Goes on from: it is …"])
        if known.instead:
            yield told("sentence", known.instead, places=["preflight/intake/sniff.py"])


def _things(told: Callable[..., Any]) -> Iterator[Any]:
    """What in a file could act by itself: the words of ``active-content``."""
    for place in ("preflight/intake/pdf/document.py", "preflight/intake/svg/outside.py"):
        module = _Module(ROOT / place, place)
        for function, node in module.nodes():
            for text in module.known(node, function) if isinstance(node, (ast.Constant, ast.JoinedStr)) else ():
                if re.match(r" (that|in a) ", text):
                    yield told("thing", f"{{what}}{text}", places=[place], notes=["{what} is such as: a script"])
                elif re.match(r"(an?|another) [^.]*$", text):
                    yield told("thing", text, places=[place])
    yield told("thing", "{what}: {address}", places=["preflight/intake/pdf/document.py"])


class _Module:
    def __init__(self, path: Path, place: str) -> None:
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.module = importlib.import_module(place.removesuffix(".py").removesuffix("/__init__").replace("/", "."))
        self.functions = {node.name: node for node in ast.walk(self.tree) if isinstance(node, ast.FunctionDef)}

    def nodes(self) -> Iterator[tuple[ast.FunctionDef | None, ast.AST]]:
        """Every node but docstrings, with the function that it stands in."""
        docs = {id(node.value) for node in ast.walk(self.tree) if isinstance(node, ast.Expr)}
        yield from ((function, node) for function, node in self._nodes(self.tree, None) if id(node) not in docs)

    def texts(self) -> Iterator[tuple[str, str]]:
        for function, node in self.nodes():
            if isinstance(node, (ast.Constant, ast.JoinedStr)):
                for text in self.known(node, function):
                    if _SENTENCE.fullmatch(text) and "\n" not in text and not text.startswith("{"):
                        yield "sentence", text
            for clause in _reasons(node):
                for text in self.known(clause, function):
                    if " " in text and not _SENTENCE.fullmatch(text) and re.search(r"[a-z]{2}", text):
                        yield "clause", text

    def _nodes(
        self, node: ast.AST, function: ast.FunctionDef | None
    ) -> Iterator[tuple[ast.FunctionDef | None, ast.AST]]:
        """Every node with the function it stands in; the inside of an f-string is left to the f-string."""
        for child in ast.iter_child_nodes(node):
            yield function, child
            if not isinstance(child, ast.JoinedStr):
                yield from self._nodes(child, child if isinstance(child, ast.FunctionDef) else function)

    def known(self, node: ast.AST, function: ast.FunctionDef | None) -> list[str]:
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


def _reasons(node: ast.AST) -> Iterator[ast.expr]:
    """The parts of a piece of code that are reasons."""
    if isinstance(node, ast.Call):
        yield from _reasons_of_call(node)
    elif isinstance(node, ast.Assign):
        for target in node.targets:
            yield from _reasons_of_assignment(target, node.value)
    elif isinstance(node, ast.Return) and isinstance(node.value, ast.Tuple):  # reason and next step
        yield from node.value.elts[:1]
    elif isinstance(node, ast.Dict):
        pairs = zip(node.keys, node.values, strict=True)
        yield from (value for name, value in pairs if isinstance(name, ast.Constant) and name.value == "reason")
    elif isinstance(node, ast.arguments):
        yield from (default for default in node.defaults if isinstance(default, ast.Constant))


def _reasons_of_call(node: ast.Call) -> Iterator[ast.expr]:
    name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    if name in _REASON_CALLS:
        yield from node.args[3:4] if name == "unread" else node.args[:1]
    yield from (each.value for each in node.keywords if each.arg in _REASON_NAMES)


def _reasons_of_assignment(target: ast.expr, value: ast.expr) -> Iterator[ast.expr]:
    if isinstance(target, ast.Name) and target.id in _REASON_NAMES:
        yield value
    elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        pairs = zip(target.elts, value.elts, strict=False)
        yield from (each for one, each in pairs if isinstance(one, ast.Name) and one.id in _REASON_NAMES)


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
