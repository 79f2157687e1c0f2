"""How much of a drawing is read and drawn before it counts as too much, and what is said then.

The figures are judgement, set from measurements: 12,600 clip-art and pictogram files by many people stay below a sixth
of each, hostile files go beyond.
"""

from __future__ import annotations

from preflight.errors import IntakeError
from preflight.intake.head import AS_PNG

#: Bytes of the file, and of what a compressed one unpacks to.
MOST_BYTES = 64 << 20
MOST_ELEMENTS = 200_000
#: Elements inside elements. The library that draws stops at 256.
MOST_DEPTH = 200
MOST_ATTRIBUTES = 300
#: Letters that entities may add to a document.
MOST_ADDED = 4 << 20
MOST_ENTITIES = 500
LONGEST_ENTITY = 2_000
#: Elements as they are shown: each use of a piece counts again.
MOST_SHOWN = 70_000
#: Corners of all outlines as they are shown.
MOST_CORNERS = 600_000
#: Pieces of text as they are shown.
MOST_TEXTS = 10_000
MOST_STYLE = 1 << 20
#: Letters of one style attribute, embedded data apart.
LONGEST_STYLE = 1 << 18
MOST_RULES = 5_000
#: Rules of style sheets that are held against elements.
MOST_TRIES = 2_000_000
#: Objects of a kind that are handed on: of more, the worst.
MOST_KEPT = 2_000
#: Names of outside files and of things that act.
MOST_NAMED = 100


def too_complex(why: str) -> IntakeError:
    """The error for a drawing that would cost too much to read or to draw. The caller adds the file's name."""
    return IntakeError(f"the drawing is too complex to open safely: {why}", AS_PNG)
