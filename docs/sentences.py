"""What is put together in English where a file is read or measured, collected for the catalogues of translations.

Reasons are clauses ("the file is empty"); next steps and assumptions are whole sentences. A figure in one of them, or
a word that comes from the file, is a name in braces, by which the report finds it again.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from typing import Any

from docs.reading import ROOT, Module

_FILES = (
    *("preflight/child/fate.py", "preflight/engine.py", "preflight/concluding.py", "preflight/shopdata.py"),
    *("preflight/ink/separation.py", "preflight/rulebook/judge.py", "preflight/views/draw.py"),
)
_FOLDERS = ("preflight/intake", "preflight/measure")
#: Where slips in a ticket are found, and functions there that read what no ticket has.
_TICKETS = ("preflight/ticket.py", "preflight/tomlfile.py", "preflight/tomlslips.py", "preflight/textfile.py",
            "preflight/units.py")  # fmt: skip
_NO_TICKETS = frozenset({"_there", "read_options", "_option_size", "section", "take_flag", "take_number", "take_mass"})
#: Calls that tell of a slip, and which of their arguments says what is wrong.
_SLIP_CALLS = {"SettingsError": 0, "UsageError": 0, "UnitError": 0, "slip": 1, "Slip": 2}
#: Calls whose first argument is a reason, and other names that reasons have.
_REASON_CALLS = frozenset(
    {"IntakeError", "ChildDied", "unreadable", "cut_short", "too_complex", "unread", "Stopped", "_damaged"}
)
_REASON_NAMES = frozenset({"what", "why", "reason", "why_not", "_NO_SIZE", "_NO_DOCUMENT"})
#: Texts that reach nobody's report: slips of a shop file, what libraries say, made-up figures of the rules' pages.
_NOT_TOLD = frozenset(
    {
        "MediaBox is undefined",
        "without a name",
        'art.ticket.toml, line 1, garments: the garment colour "navi" is not known',
        "Choose another colour, or tell us which one you mean.",
        "Name the CMYK output profile of your printer and film, or delete the line to take the reference.",
    }
)
_SENTENCE = re.compile(r"[A-Z{].* .*[.:?]", re.DOTALL)


def clauses_and_sentences(told: Callable[..., Any]) -> Iterator[Any]:
    """Every reason, next step and assumption, as ``told(context, message, places=...)``."""
    files = [ROOT / name for name in _FILES]
    for folder in _FOLDERS:
        files += sorted((ROOT / folder).rglob("*.py"))
    for path in files:
        place = path.relative_to(ROOT).as_posix()
        for context, text in _texts(Module(path, place)):
            if text not in _NOT_TOLD:
                yield told(context, text, places=[place])
    yield from _things(told)
    yield from _slips(told)
    yield from _words(told)


def _words(told: Callable[..., Any]) -> Iterator[Any]:
    """What stands in the place of a name in braces, and what is put together in more than one place."""
    for word in ("frames", "pages", "pictures"):  # Head.frame_word
        yield told("clause", word, places=["preflight/intake/head.py"], notes=["As in: The file holds 3 frames."])
    for kind in ("whole numbers", "signed numbers", "floating-point numbers", "mixed"):
        yield told("clause", kind, places=["preflight/intake/heads/tiff.py"], notes=["As in: 8 bits, signed numbers"])
    for count in ("{number} instruction", "{number} instructions"):
        text = f"{count} on the page made no sense and had no effect, as in other programs."
        yield told("sentence", text, places=["preflight/intake/pdf/facts.py"])
    for word in ("any cloth", "(letters that cannot be read)", "(without a name)"):
        yield told("clause", word, places=["preflight/measure"])
    from preflight.intake.sniff import FORMATS

    for known in FORMATS.values():  # what "it is {what}" goes on with
        yield told("clause", known.what, places=["preflight/intake/sniff.py"], notes=["Goes on from: it is …"])
        if known.instead:
            yield told("sentence", known.instead, places=["preflight/intake/sniff.py"])
            if re.search(r"\b[a-z]{2}", known.name):  # others are names of their own, such as XCF
                yield told("format", known.name, places=["preflight/intake/sniff.py"], notes=["What a file is."])


def _slips(told: Callable[..., Any]) -> Iterator[Any]:
    """What can be wrong with a ticket, and the next steps."""
    for place in _TICKETS:
        module = Module(ROOT / place, place)
        for function, node in module.nodes():
            if function is not None and function.name in _NO_TICKETS:
                continue
            for slip in _slips_of(node):
                for text in module.known(slip, function):
                    yield told("slip", text, places=[place])
            if isinstance(node, (ast.Constant, ast.JoinedStr)):
                for whole in module.known(node, function):
                    text = re.sub(r"^\{\w+\}(?=[A-Z])", "", whole)  # "Did you mean …? "
                    if _is_sentence(text):
                        yield told("slip", text, places=[place])
    for word in ("a length", "a list", "a group", "a date or time", "list", "long text"):
        yield told("slip", word, places=["preflight/tomlslips.py"], notes=["As in: a list is not text"])
    yield told("slip", "line {number}", notes=["Of a file."])
    yield told("slip", "Did you mean {word}?", places=["preflight/tomlslips.py"])


def _slips_of(node: ast.AST) -> Iterator[ast.expr]:
    """The parts of a piece of code that say what is wrong with a setting."""
    if isinstance(node, ast.Call):
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        at = _SLIP_CALLS.get(name)
        if at is not None:
            yield from node.args[at : at + 1]
    elif isinstance(node, ast.Return) and isinstance(node.value, ast.Tuple) and len(node.value.elts) == 2:
        yield from node.value.elts[:1]  # what, and the next step


def _things(told: Callable[..., Any]) -> Iterator[Any]:
    """What in a file could act by itself: the words of ``active-content``."""
    for place in ("preflight/intake/pdf/document.py", "preflight/intake/svg/outside.py"):
        module = Module(ROOT / place, place)
        for function, node in module.nodes():
            for text in module.known(node, function) if isinstance(node, (ast.Constant, ast.JoinedStr)) else ():
                if re.match(r" (that|in a) ", text):
                    yield told("thing", f"{{what}}{text}", places=[place], notes=["{what} is such as: a script"])
                elif re.match(r"(an?|another) [^.]*$", text):
                    yield told("thing", text, places=[place])
    yield told("thing", "{what}: {address}", places=["preflight/intake/pdf/document.py"])


def _texts(module: Module) -> Iterator[tuple[str, str]]:
    """Context and text of all that a module says."""
    for function, node in module.nodes():
        if isinstance(node, (ast.Constant, ast.JoinedStr)):
            yield from (("sentence", text) for text in module.known(node, function) if _is_sentence(text))
        for clause in _reasons(node):
            for text in module.known(clause, function):
                if " " in text and not _SENTENCE.fullmatch(text) and re.search(r"[a-z]{2}", text):
                    yield "clause", text


def _is_sentence(text: str) -> bool:
    return bool(_SENTENCE.fullmatch(text)) and "\n" not in text and not text.startswith("{")


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
