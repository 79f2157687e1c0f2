"""What a child sends: a library that a file has taken over may send anything."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from preflight.child import Limits
from preflight.child.job import Job
from preflight.child.plain import to_plain
from preflight.child.underway import Child
from preflight.model import Box, Coverage, Examination, Measurement, PixelFacts, PrintSize

from .targets import Target

_EXAMINATION = Examination(
    facts=PixelFacts(
        format="PNG",
        width=9,
        height=9,
        has_alpha=True,
        colour="rgb",
        bits=8,
        density_ppi=(300.0, 300.0),
        density_from="pHYs",
        icc=None,
        icc_name=None,
    ),
    page=1,
    print_size=PrintSize((9, 9), Box(0, 0, 9, 9), 300.0, 9.0, 9.0, "ticket"),
    measures={"fade-width": Measurement("fade-width", 0.3, "mm", details={"a": "b"})},
    coverage=Coverage({"cyan": 1.0}, 1.0, 1.0, 1.0),
    coverage_fixed={},
    separation="x",
    assumptions=("It is assumed.",),
)


def _heard(data: bytes, folder: Path) -> object:
    child: Child[Any] = Child(Job(None, lambda path, room: None, Examination), Limits(), _NONE, _NONE, folder, 0.0)  # type: ignore[arg-type,return-value]
    outcome = None
    for start in range(0, len(data), 500):
        outcome = child.hear(data[start : start + 500])
        if outcome is not None:
            break
    assert outcome is None or isinstance(outcome, (Examination, Exception))
    return outcome


_NONE: Any = None


def targets() -> Iterator[Target]:
    """The one."""
    messages: tuple[dict[str, Any], ...] = (
        {"answer": to_plain(_EXAMINATION), "peak": 9}, {"opened": 1.5}, {"pages": 3}, {"memory": True},
        {"refused": {"what": "it is cut", "next_step": "Send it again.", "rule": "cut-short"}},
        {"failed": {"name": "KeyError", "trace": "here"}},
    )  # fmt: skip
    seeds = tuple(json.dumps(message).encode() + b"\n" for message in messages)
    words = (
        *b'{ } [ ] " : , null true NaN 1e999 -1 "answer" "peak" "__class__" \xff \\ud800'.split(),
        b"\n",
        b"[" * 3000,
    )
    yield Target("answers of a child", _heard, (seeds[1] + seeds[0], *seeds), words)
