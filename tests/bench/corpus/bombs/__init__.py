"""Files made by hand to exhaust, confuse or misuse whoever opens them, and damaged copies of good ones."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeAlias

from . import borrowed, damaged, documents, drawings, odd, painted, pictures, postscript, structured

#: Name and content of each file.
Files: TypeAlias = Iterator[tuple[str, bytes]]

#: Corpus → what makes it.
MAKERS: dict[str, tuple[Callable[[], Files], ...]] = {
    "bombs": (
        pictures.files,
        structured.files,
        documents.files,
        painted.files,
        borrowed.files,
        drawings.files,
        postscript.files,
    ),
    "odd": (odd.files,),
    "damaged": (lambda: damaged.files(random.Random(1)),),
}
TOLD = {
    "bombs": "hand-made: to exhaust, confuse or misuse what opens them",
    "odd": "hand-made: empty, oddly named, not artwork at all",
    "damaged": "good files of each format, cut short or with bytes changed",
}


def make(folder: Path) -> dict[str, int]:
    """Write all of them anew into ``folder``/files; how many there are of each kind."""
    counts = {}
    for corpus, makers in MAKERS.items():
        target = folder / "files" / corpus
        shutil.rmtree(target, ignore_errors=True)
        target.mkdir(parents=True)
        counts[corpus] = 0
        for maker in makers:
            for name, data in maker():
                path = target / name
                if path.exists():
                    raise FileExistsError(f"two files are called {name}")
                path.write_bytes(data)
                counts[corpus] += 1
    return counts
