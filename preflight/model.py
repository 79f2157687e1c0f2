"""The plain data that passes between the rooms of the house. Nothing here computes.

Of ours only ``facts`` and ``artwork`` are imported; their classes are handed along under this name.

Units: lengths in millimetres, areas in mm², masses in grams, coverage and opacity in 0…1 unless a name says
otherwise. Pixel coordinates count from the canvas' top left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import IntEnum, StrEnum
from typing import Any, Protocol

from preflight.artwork import Artwork as Artwork
from preflight.artwork import Bytes as Bytes
from preflight.artwork import Drawn as Drawn
from preflight.artwork import Floats as Floats
from preflight.artwork import Strip as Strip
from preflight.artwork import WithInks as WithInks
from preflight.facts import Area as Area
from preflight.facts import DocumentFacts as DocumentFacts
from preflight.facts import InkFact as InkFact
from preflight.facts import PixelFacts as PixelFacts
from preflight.facts import PlacedPicture as PlacedPicture
from preflight.facts import StrokeLine as StrokeLine
from preflight.facts import TextRun as TextRun
from preflight.records import dataclass

#: At most so many places are carried by one finding (contract).
MOST_PLACES = 100
CHANNELS = ("cyan", "magenta", "yellow", "black", "white")


class Severity(StrEnum):
    """What a finding asks of people: change the file, talk first, good to know."""

    STOP = "stop"
    ASK = "ask"
    NOTE = "note"


class Verdict(StrEnum):
    """The answer for one artwork."""

    READY = "ready"
    ASK = "ask"
    STOP = "stop"
    UNCHECKED = "unchecked"


class ExitStatus(IntEnum):
    """What the command says to the script that called it (contract)."""

    READY = 0
    TOOL_FAILED = 1
    USED_WRONGLY = 2
    ASK = 10
    STOP = 11
    UNCHECKED = 12


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in pixels."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Ticket:
    """What was ordered. ``None`` where nobody said."""

    width_mm: float | None = None
    height_mm: float | None = None
    size_of: str = "artwork"  #: "artwork": the visible art, margins trimmed; "canvas": the whole file
    copies: int = 1
    garments: tuple[str, ...] = ()  #: as the person wrote them: "#1d1d1f" or a CSS colour name
    mode: str | None = None
    reference: str | None = None  #: the customer's own


@dataclass(frozen=True, slots=True)
class PrintSize:
    """How large the artwork will print, and from what that is known."""

    canvas: tuple[int, int]  #: px
    artwork: Box  #: the visible art; the whole canvas when nothing is visible
    ppi: float | None
    width_mm: float | None  #: of the artwork box
    height_mm: float | None
    size_from: str  #: "ticket", "file" or "unknown"

    @property
    def mm_per_px(self) -> float | None:
        """Millimetres that one pixel takes in print; None when the size is unknown."""
        return None if self.ppi is None else 25.4 / self.ppi


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the canvas in pixels, with the measured value there in the measurement's own unit."""

    x: float
    y: float
    width: float
    height: float
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Measurement:
    """One quantity of one artwork, or why it could not be taken.

    ``value`` is None with ``why_not`` None when there is nothing of the kind (no narrow line anywhere): that is an
    answer, and a good one. ``applies`` is False when the question does not arise (no garment ordered); ``why_not``
    then says so, and no rule is left unjudged by it. ``kind`` picks the limits of a rule that has several sets
    ("line-art", "continuous-tone"). ``details`` fill the words of a rule; every value is ready to be read.
    """

    id: str
    value: float | None
    unit: str
    why_not: str | None = None
    applies: bool = True
    kind: str | None = None
    spots: tuple[Spot, ...] = ()  #: worst first, at most MOST_PLACES
    spots_total: int = 0
    details: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a fault lies, in print millimetres from the artwork's top left."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    value: float | None


@dataclass(frozen=True, slots=True)
class Saving:
    """What the fix of a finding changes in one copy: below zero when the fix needs more."""

    ink_g: float
    money: float


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule that has something to say about the artwork, in words that are ready to be read."""

    rule: str
    severity: Severity
    measure: str
    value: float | None
    unit: str
    limit: float | None
    title: str
    seen: str
    why: str
    fix: str
    operator: str
    trust: str
    source: str
    places: tuple[Place, ...] = ()
    places_total: int = 0
    saves: Saving | None = None
    as_is: str = ""  #: what happens when it is printed as it is


@dataclass(frozen=True, slots=True)
class Channel:
    """One ink of one copy: the area it would cover at 100 %, and its weight."""

    solid_mm2: float
    grams: float


@dataclass(frozen=True, slots=True)
class InkUse:
    """Ink for one copy."""

    separation: str  #: name of the profile, or "the file's own inks"
    channels: Mapping[str, Channel]  #: keys are CHANNELS
    total_percent_max: float
    total_percent_mean: float
    inked_mm2: float  #: area under white, where powder sticks

    @property
    def grams(self) -> float:
        """Weight of all the ink of one copy, g."""
        return sum(channel.grams for channel in self.channels.values())


@dataclass(frozen=True, slots=True)
class Cost:
    """Money and material for the whole order; ``parts`` and ``interval`` are for all copies too."""

    currency: str
    per_copy: float
    total: float
    parts: Mapping[str, float]  #: "ink", "powder", "film", "waste"
    film_mm: float  #: length of film for all copies
    minutes: float
    interval: tuple[float, float]  #: low and high of the total
    across: int  #: copies side by side
    turned: bool  #: laid turned by 90°


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that is known of one artwork."""

    file: str
    sha256: str | None
    format: str | None
    page: int
    verdict: Verdict
    ticket: Ticket
    print_size: PrintSize | None
    measures: Mapping[str, Measurement]
    findings: tuple[Finding, ...]  #: worst first
    ink: InkUse | None
    cost: Cost | None
    assumptions: tuple[str, ...]
    seconds: float
    extra: Mapping[str, Any] = field(default_factory=dict)
    fine: tuple[str, ...] = ()  #: what was judged and found well, whole sentences for the customer
    pages: int = 1  #: that the file has, as far as that is known


class Separation(Protocol):
    """How colours become ink on this shop's film."""

    @property
    def name(self) -> str:
        """Name of the profile, for the report."""
        ...

    @property
    def caveat(self) -> str | None:
        """A sentence for the assumptions when the profile was not made for film."""
        ...

    def inks(self, rgb: Bytes) -> Floats:
        """Coverage 0…1 of C, M, Y, K, shape (n, 4), for sRGB colours uint8 of shape (n, 3)."""
        ...

    def shift(self, rgb: Bytes) -> Floats:
        """CIEDE2000 between each sRGB colour, shape (n, 3), and its print; shape (n,)."""
        ...

    def printed(self, rgb: Bytes) -> Bytes:
        """What each sRGB colour will look like in print, as sRGB; shapes (n, 3)."""
        ...


@dataclass(frozen=True, slots=True)
class Coverage:
    """Ink of one copy as areas: what each channel would cover at 100 %. Not yet weighed."""

    solid_mm2: Mapping[str, float]  #: keys are CHANNELS
    total_percent_max: float  #: C+M+Y+K, averaged over the shop's aperture
    total_percent_mean: float  #: over the inked area
    inked_mm2: float


@dataclass(frozen=True, slots=True)
class Examination:
    """What measuring one artwork gave: all that leaves the room where the customer's file was open."""

    facts: PixelFacts
    page: int
    print_size: PrintSize
    measures: Mapping[str, Measurement]
    coverage: Coverage | None  #: None when the print size is unknown
    coverage_fixed: Mapping[str, Coverage]  #: by rule id: the same copy once that fault is mended
    separation: str
    assumptions: tuple[str, ...]
    pages: int = 1  #: that the file has
