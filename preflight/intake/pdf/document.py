"""What a document says as a whole: locks, layers, colour intent, and everything in it that could act."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.intake.pdf import values
from preflight.intake.pdf.layers import Layers, read_layers
from preflight.intake.pdf.library import ODD_VALUES, Opened
from preflight.intake.pdf.values import Value
from preflight.records import dataclass

#: At most so many things that act are named.
_MOST_NAMED = 100
_DEEPEST = 40
_MOST_NODES = 2_000
_MOST_CHAINED = 20
#: Action types of ISO 32000-1, Table 198 (from memory), that reach outside the page. The rest only turns pages.
_ACTIONS = {
    "JavaScript": "a script",
    "Launch": "a command that starts a program or opens a file",
    "URI": "a link to an outside address",
    "SubmitForm": "a command that sends data away",
    "ImportData": "a command that reads another file",
    "GoToR": "a link into another file",
    "GoToE": "a link into an attached file",
    "Rendition": "a film or a sound",
    "Movie": "a film",
    "Sound": "a sound",
    "RichMediaExecute": "a film or a sound",
    "GoTo3DView": "a three-dimensional view",
}
_ANNOTATIONS = {
    "FileAttachment": "an attached file",
    "Movie": "a film",
    "Sound": "a sound",
    "Screen": "a film or a sound",
    "RichMedia": "a film, a sound or a moving picture",
    "3D": "a three-dimensional model",
}
_ADDRESSES = ("/URI", "/F", "/UF")


@dataclass(frozen=True, slots=True)
class Document:
    """Facts that are the same for every page."""

    pages: int
    encrypted: bool
    layers: Layers
    output_intent: str | None
    output_profile: bytes | None  #: the intent's ICC profile
    active: tuple[str, ...]
    repaired: bool
    size_guessed: bool


def read_document(opened: Opened) -> Document:
    """Facts of a whole document. What is damaged beyond reading counts as not there."""
    root = opened.pdf.Root
    intent, profile = _output_intent(root)
    return Document(
        pages=opened.pages,
        encrypted=bool(opened.pdf.is_encrypted),
        layers=read_layers(root),
        output_intent=intent,
        output_profile=profile,
        active=tuple(_named(_in_document(root))),
        repaired=opened.repaired,
        size_guessed=opened.size_guessed,
    )


def active_on_page(page: Value) -> tuple[str, ...]:
    """What on a page could act, in words: scripts, links outside, attachments, films."""
    return tuple(_named(_on_page(page)))


def _named(found: Iterator[str]) -> Iterator[str]:
    """Each once, at most so many."""
    seen: dict[str, None] = {}
    for words in found:
        seen.setdefault(words)
        if len(seen) >= _MOST_NAMED:
            break
    yield from seen


def _in_document(root: Value) -> Iterator[str]:
    yield from _acts(values.get(root, "/OpenAction"), " that runs when the file is opened")
    for _, action in values.entries(values.get(root, "/AA"), _MOST_CHAINED):
        yield from _acts(action, " that runs when the file is printed, saved or closed")
    names = values.get(root, "/Names")
    for _, action in _tree(values.get(names, "/JavaScript")):
        yield from _acts(action, " that runs when the file is opened")
    for label, specification in _tree(values.get(names, "/EmbeddedFiles")):
        yield _attached(specification, label)
    for specification in values.items(values.get(root, "/AF"), _MOST_NAMED):
        yield _attached(specification, "")
    form = values.get(root, "/AcroForm")
    if values.get(form, "/XFA") is not None:
        yield "a form that is a program of its own (XFA)"


def _on_page(page: Value) -> Iterator[str]:
    for _, action in values.entries(values.get(page, "/AA"), _MOST_CHAINED):
        yield from _acts(action, " that runs when the page is shown")
    for annotation in values.items(values.get(page, "/Annots"), _MOST_NODES):
        kind = values.name(values.get(annotation, "/Subtype")) or ""
        if kind == "FileAttachment":
            yield _attached(values.get(annotation, "/FS"), "")
        elif kind in _ANNOTATIONS:
            yield _ANNOTATIONS[kind]
        yield from _acts(values.get(annotation, "/A"), "")
        for _, action in values.entries(values.get(annotation, "/AA"), _MOST_CHAINED):
            yield from _acts(action, " in a form field or a button")


def _acts(action: Value, when: str) -> Iterator[str]:
    """An action and those that follow it."""
    waiting = [action]
    for _ in range(_MOST_CHAINED):
        if not waiting:
            return
        action = waiting.pop()
        if not values.is_dictionary(action):
            continue
        kind = values.name(values.get(action, "/S")) or ""
        words = _ACTIONS.get(kind, "")
        if words:
            address = _address(action)
            yield f"{words}{when}: {address}" if address else f"{words}{when}"
        following = values.get(action, "/Next")
        waiting += [following] if values.is_dictionary(following) else list(values.items(following, 20))


def _address(action: Value) -> str:
    for key in _ADDRESSES:
        target = values.get(action, key)
        if values.is_dictionary(target):
            target = values.get(target, "/UF") or values.get(target, "/F")
        words = values.text(target)
        if words:
            return words
    return ""


def _attached(specification: Value, label: str) -> str:
    called = values.text(values.get(specification, "/UF")) or values.text(values.get(specification, "/F")) or label
    return f"an attached file: {called}" if called else "an attached file"


def _tree(root: Value) -> Iterator[tuple[str, Value]]:
    """Entries of a name tree (ISO 32000-1, 7.9.6); a tree that bites its tail ends."""
    waiting = [(root, 0)]
    for _ in range(_MOST_NODES):
        if not waiting:
            return
        node, depth = waiting.pop()
        leaf = list(values.items(values.get(node, "/Names"), 2 * _MOST_NAMED))
        for label, value in zip(leaf[::2], leaf[1::2], strict=False):
            yield values.text(label), value
        if depth < _DEEPEST:
            waiting += [(kid, depth + 1) for kid in values.items(values.get(node, "/Kids"), _MOST_NODES)]


def _output_intent(root: Value) -> tuple[str | None, bytes | None]:
    """Name of the first output intent that has one, and its profile; ISO 32000-1, Table 365 (from memory)."""
    for intent in values.items(values.get(root, "/OutputIntents"), 20):
        keys = ("/OutputConditionIdentifier", "/OutputCondition", "/Info")
        name = next((words for key in keys if (words := values.text(values.get(intent, key)))), None)
        profile = values.get(intent, "/DestOutputProfile")
        if name is None and profile is None:
            continue
        return name or "without a name", _profile(profile)
    return None, None


def _profile(stream: Value) -> bytes | None:
    if not values.is_stream(stream):
        return None
    try:
        return bytes(stream.read_bytes())
    except ODD_VALUES:
        return None
