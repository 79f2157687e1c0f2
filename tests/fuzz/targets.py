"""What is given to each parser, how, and what must come of it: an answer, or a refusal in plain words, in time."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from preflight.errors import PreflightError

_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]")


@dataclass(frozen=True, slots=True)
class Target:
    """One parser.

    Parameters
    ----------
    name
        Of the parser.
    parse
        Gives it the bytes; the folder is one to write into. May raise PreflightError and nothing else.
    seeds
        Good files.
    words
        What they are made of.
    seconds
        Of the processor, that one file may take.
    examples
        In the short run.
    """

    name: str
    parse: Callable[[bytes, Path], object]
    seeds: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()
    seconds: float = 2.0
    examples: int = 200


class TooLongError(AssertionError):
    """The parser came to an end, but not in time."""


def give(target: Target, data: bytes, folder: Path) -> bool:
    """Let the parser read it; True for an answer, False for a refusal.

    Raises
    ------
    AssertionError
        When a refusal is none that people understand, or took too long.
    """
    start, refusal = time.process_time(), None
    try:
        target.parse(data, folder)
    except PreflightError as refused:
        refusal = refused
    seconds = time.process_time() - start
    if refusal is not None:
        assert refusal.what, "no reason is given"
        assert refusal.what[-1] not in ".!", f"not a clause: {refusal.what!r}"
        assert refusal.next_step.rstrip('"”)').endswith("."), f"not a sentence: {refusal.next_step!r}"
        assert not _CONTROL.search(refusal.what + refusal.next_step), "control characters reach the terminal"
    if seconds > target.seconds:
        raise TooLongError(f"{target.name}: {seconds:.1f} s")
    return refusal is None


def all_targets() -> Sequence[Target]:
    """Every parser."""
    from . import answers, drawings, pictures, settings

    return (*settings.targets(), *pictures.targets(), *drawings.targets(), *answers.targets())
