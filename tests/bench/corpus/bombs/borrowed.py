"""The bombs that tests make: their files, without what the tests say of them."""

from __future__ import annotations

import contextlib
import inspect
import itertools
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

from tests.intake.pdf import making, test_bombs
from tests.intake.svg import test_hostile


class _MadeError(Exception):
    """A test has written its file: no more is wanted of it."""


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    for name, (data, _) in test_hostile.BOMBS.items():
        yield _name(name, "svg"), _bytes(data)
    for name, data in test_hostile.DRAWN.items():
        yield _name(name, "svg"), _bytes(data)
    with tempfile.TemporaryDirectory(prefix="bombs-") as folder:
        for name, test in inspect.getmembers(test_bombs, inspect.isfunction):
            if name.startswith("test_"):
                for number, options in enumerate(_parameters(test)):
                    data = _written(test, options, Path(folder))
                    if data is not None:
                        yield _name(f"{name.removeprefix('test_')} {number or ''}".strip(), "pdf"), data


def _name(told: str, ending: str) -> str:
    return f"{ending}-{told.replace(' ', '-').replace('_', '-')}.{ending}"


def _bytes(data: str | bytes) -> bytes:
    return data if isinstance(data, bytes) else data.encode()


def _parameters(test: Callable[..., None]) -> list[dict[str, Any]]:
    """Every set of parameters that the test is run with."""
    choices = []
    for mark in getattr(test, "pytestmark", []):
        if mark.name == "parametrize":
            name, values = mark.args
            choices.append([{name: value} for value in values])
    return [dict(itertools.chain(*(one.items() for one in chosen))) for chosen in itertools.product(*choices)]


def _written(test: Callable[..., None], options: dict[str, Any], folder: Path) -> bytes | None:
    """The first document that a test writes; None when it writes none."""
    path = folder / "art.pdf"
    path.unlink(missing_ok=True)

    def make(*arguments: Any, **more: Any) -> Path:
        making.make(path, *arguments, **more)
        raise _MadeError

    known = {"make": make, "tmp_path": folder} | options
    wanted = {name: known[name] for name in inspect.signature(test).parameters}
    with contextlib.suppress(_MadeError), mock.patch.object(test_bombs, "open_pdf", side_effect=_MadeError):
        test(**wanted)
    return path.read_bytes() if path.exists() else None
