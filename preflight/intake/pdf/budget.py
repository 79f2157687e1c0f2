"""How much of a document is read before it counts as too much."""

from __future__ import annotations

from preflight.errors import IntakeError
from preflight.intake.pdf import values
from preflight.intake.pdf.values import Value

#: Content streams of a page: each use of a form counts. Measured: honest artwork stays far below (intake trials).
MOST_STREAMS = 20_000
#: Instructions of a page. The reader holds about 750 bytes for each (measured), so this is also a limit on memory.
MOST_OPERATORS = 1_000_000
MOST_BYTES = 256 << 20
#: Words of one content stream, numbers too: the reader holds an object for each.
MOST_TOKENS = 6_000_000
#: A picture in the stream itself costs as much as so many instructions.
_INLINE = 50
#: Forms inside forms. The drawing library stops near this depth; what it leaves out must not pass as checked.
MOST_DEPTH = 28
#: Marked parts in one another. The drawing library copies the list of them for every object: 200,000 took 1.5 GB.
MOST_MARKS = 1_000
#: Times that a pattern's cell is laid over an area. The drawing library sets each by itself.
MOST_CELLS = 1_000_000
#: Pixels of a placed picture. The drawing library unpacks it whole.
MOST_PIXELS = 400_000_000
#: Saved graphics states. Deeper ones only a bomb has.
MOST_SAVED = 5_000

#: LZW data of so many bytes can swell to 700 MB; as instructions nothing honest comes near it.
_MOST_LZW = 512 << 10
_LZW = {"LZWDecode", "LZW"}

_LETTERS = bytes(
    0x61 if chr(code).isalpha() and code < 128 else 0x20 if chr(code) in "\0\t\n\f\r ()<>[]{}%" else 0x30
    for code in range(256)
)


def too_complex(why: str) -> IntakeError:
    """The error for a file that would cost too much to read. The caller adds the file's name."""
    return IntakeError(
        f"the file is too complex to read safely: {why}",
        "Send it as a PNG with a transparent background, at print size and 300 ppi.",
    )


class Budget:
    """What is left for one page. Every method raises IntakeError when there is nothing left."""

    def __init__(self) -> None:
        self.streams = MOST_STREAMS
        self.operators = MOST_OPERATORS
        self.bytes = MOST_BYTES

    def stream(self, depth: int) -> None:
        """One use of a content stream."""
        if depth > MOST_DEPTH:
            raise too_complex(f"its parts lie more than {MOST_DEPTH} deep in one another")
        self.streams -= 1
        if self.streams < 0:
            raise too_complex(f"a page uses more than {MOST_STREAMS:,} pieces")

    def raw(self, stream: Value) -> None:
        """A content stream before it is decoded: filters that can swell a thousandfold and know no limit."""
        if not _LZW.isdisjoint(filter_names(stream)) and len(stream.read_raw_bytes()) > _MOST_LZW:
            raise too_complex("it holds instructions packed in an old way, and too many of them")

    def content(self, data: bytes) -> None:
        """A decoded content stream, before it is taken apart: no more instructions and values than it has words."""
        self.unpacked(data)
        instructions, tokens = words(data)
        if instructions + _INLINE * data.count(b"ID") > self.operators or tokens > MOST_TOKENS:
            raise _too_many()

    def unpacked(self, data: bytes) -> None:
        """Decoded data of any kind."""
        self.bytes -= len(data)
        if self.bytes < 0:
            raise too_complex(f"a page holds more than {MOST_BYTES >> 20} MB of instructions")

    def play(self, count: int) -> None:
        """Instructions that are followed, or other work that costs as much."""
        self.operators -= count
        if self.operators < 0:
            raise _too_many()


def filter_names(stream: Value) -> list[str]:
    """How a stream is packed, the outermost way first."""
    named = values.get(stream, "/Filter")
    filters = [named] if values.name(named) else values.items(named, 16)
    return [values.name(one) or "" for one in filters]


def words(data: bytes) -> tuple[int, int]:
    """At most so many instructions, and so many instructions and values together, are in a content stream.

    Counted are words that start with a letter, or are a quotation mark, and all words. A few passes over the bytes in
    C: 24 MB in 0.1 s.
    """
    kinds = b" " + data.translate(_LETTERS)
    instructions = kinds.count(b" a") + data.count(b"'") + data.count(b'"')
    return instructions, instructions + kinds.count(b" 0")


def _too_many() -> IntakeError:
    return too_complex(f"a page holds more than {MOST_OPERATORS:,} instructions")
