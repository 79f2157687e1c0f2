"""Markdown tables, and the places between markers in docs/ that they are written to."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Sequence
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table; the first column left, the others right."""
    lines = ["| " + " | ".join(head) + " |", "|---|" + "---:|" * (len(head) - 1)]
    lines += ["| " + " | ".join(str(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines)


def share(part: int, whole: int) -> str:
    """A percentage that never rounds a fault away."""
    if not whole:
        return "–"
    percent = 100 * part / whole
    if part == whole or part == 0:
        return f"{percent:.0f} %"
    return f"{percent:.1f} %" if 0.1 <= percent <= 99.9 else f"{percent:.2f} %"


def put(document: str, part: str, text: str) -> Path:
    """Write ``text`` between the markers of ``part`` in a document of docs/; the rest stays as people wrote it.

    Raises
    ------
    LookupError
        When the document has no such markers.
    """
    path = DOCS / document
    begin, end = f"<!-- {part}: begin -->", f"<!-- {part}: end -->"
    content = path.read_text(encoding="utf-8")
    if begin not in content or end not in content:
        raise LookupError(f"docs/{document} has no place marked {begin} … {end}")
    before, rest = content.split(begin, 1)
    after = rest.split(end, 1)[1]
    path.write_text(f"{before}{begin}\n{text.strip()}\n{end}{after}", encoding="utf-8", newline="\n")
    return path


def machine() -> str:
    """The machine in a line: processor, cores, Python. No names, no paths."""
    model = platform.processor() or platform.machine()
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                model = line.split(":", 1)[1].strip()
                break
    except OSError:
        pass
    return f"{model}, {os.cpu_count()} cores, {platform.system()}, Python {platform.python_version()}"
