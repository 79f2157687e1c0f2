"""What a shop is set to: plain data. Every figure here is a default that a shop file changes, never a constant.

Hardly any figure of this trade stands in a published standard. The commented shop file says of each where it comes
from; the docstrings here repeat it in a word: "common practice" (several independent shops or one, no source that
could be cited), "arithmetic", "standard".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import NamedTuple

from preflight.model import CHANNELS
from preflight.records import dataclass
from preflight.tomlfile import TomlFile
from preflight.units import MM_PER_INCH, show_number

#: How a profile may treat colours that the print cannot reach (ICC.1, the four rendering intents).
INTENTS = ("relative", "perceptual", "saturation", "absolute")
#: What a day's cleaning may take: the inks, and the liquid for cleaning.
CLEANED_WITH = (*CHANNELS, "cleaner")
#: The sheets on which a report is printed (A4: ISO 216; letter: 8.5 × 11 in, ANSI/ASME Y14.1).
PAPERS = ("A4", "letter")
#: What the prices of a shop file are called there.
PRICES = ("colour_ink_per_kg", "white_ink_per_kg", "powder_per_kg", "film_per_m")


class Laydown(NamedTuple):
    """Grams of something on one square metre: likely, and the least and most it may be."""

    g_per_m2: float
    low: float
    high: float


class Grams(NamedTuple):
    """Grams of something at a time: likely, and the least and most it may be."""

    likely: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Calibrated:
    """Where the shop's own grams come from: ``preflight calibrate fit --write`` put them in."""

    fitted: str  #: the day, such as "2026-11-24"
    jobs: int  #: how many weighed jobs they rest on
    inks: tuple[str, ...] = CHANNELS  #: the channels that were fitted


@dataclass(frozen=True, slots=True)
class Letterhead:
    """What stands at the head of a report."""

    name: str = "Your shop"
    lines: tuple[str, ...] = ()  #: address, telephone, …
    logo: Path | None = None  #: PNG or JPEG
    accent: str = "#1f5f8b"  #: headings and rules
    text: str = "#1a1a1a"
    paper: str = "A4"  #: one of PAPERS
    shop_part: bool = True  #: whether figures, ink and cost stand in the page that the customer gets


@dataclass(frozen=True, slots=True)
class Film:
    """The film and the printer's width. Widths, gap and weights: common practice, no source."""

    width_mm: float = 330.0
    printable_mm: float = 325.0
    gap_mm: float = 5.0  #: between copies, for cutting
    cut_mark_mm: float = 0.0  #: room for cut marks at both edges and both ends of a layout of several orders
    longest_print_mm: float = 5000.0
    finest_ppi: float = 600.0
    roll_m: float = 100.0
    core_g: float | None = None  #: the empty core of a roll; None until the shop has weighed one
    g_per_m2: float = 123.0  #: 75 µm PET at 1.38 g/cm³ is 103.5 bare (arithmetic); the coating is assumed


@dataclass(frozen=True, slots=True)
class HeavyInk:
    """When much ink in one place counts: averaged over the aperture, on more than the allowed area."""

    aperture_mm: float = 0.5
    allowed_mm2: float = 25.0


@dataclass(frozen=True, slots=True)
class Powder:
    """Powder on the area under white. Common practice, low trust."""

    g_per_m2: float = 90.0
    low: float = 50.0
    high: float = 120.0
    price_per_kg: float = 35.0


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices in the shop's currency. Those of the default are invented."""

    colour_ink_per_kg: float = 85.0
    white_ink_per_kg: float = 75.0
    film_per_m: float = 1.10  #: of this roll's width
    invented: tuple[str, ...] = PRICES  #: the settings that nobody has set yet

    def ink_per_kg(self, channel: str) -> float:
        """Price of the ink of one channel (``model.CHANNELS``)."""
        return self.white_ink_per_kg if channel == "white" else self.colour_ink_per_kg


@dataclass(frozen=True, slots=True)
class Waste:
    """Shares of what an order uses. One shop's figures."""

    consumables: float = 0.05  #: of ink, powder and film: cleaning, start and end of a run
    reprints: float = 0.025  #: prints that are made twice


@dataclass(frozen=True, slots=True)
class SeparationSettings:
    """The profile that turns colours into ink."""

    profile: Path | None = None  #: None: the coated-paper reference that comes with the program
    intent: str = "relative"  #: one of INTENTS
    black_point: bool = True  #: black point compensation


@dataclass(frozen=True, slots=True)
class RuleChange:
    """What a shop changes in one rule. Plain data; the rulebook knows the rules and checks it."""

    off: bool = False
    severity: str | None = None
    limits: Mapping[str, float | None] = field(default_factory=dict)  #: "stop", "ask", "note"; None: no such limit
    kinds: Mapping[str, Mapping[str, float | None]] = field(default_factory=dict)  #: the same by kind ("line-art")
    units: Mapping[str, str] = field(default_factory=dict)  #: the unit, where one was written: "stop", "line-art.ask"
    customer: Mapping[str, str] = field(default_factory=dict)  #: words: "title", "seen", "why", "fix", "as_is", "fine"
    operator: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Machine:
    """What one file may cost the computer that checks it. Our judgement, from measured sheets."""

    memory_gb: float = 2.0  #: on top of what the program itself takes
    seconds: float = 20.0  #: of the processor
    seconds_per_megapixel: float = 0.25  #: and so much more


def _laydown() -> dict[str, Laydown]:
    """Colours 8.0 ml/m² × 1.07 g/ml (5–12 ml/m²), white 16 ml/m² × 1.15 g/ml (10–30): common practice, low trust."""
    colour, white = Laydown(8.6, 5.4, 12.8), Laydown(18.4, 11.5, 34.5)
    return {channel: white if channel == "white" else colour for channel in CHANNELS}


def _modes() -> dict[str, float]:
    return {"fine": 8.0, "normal": 6.0, "fast": 3.0}


def _garments() -> dict[str, str]:
    return {"anthracite": "#2d2d30"}


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything a shop file can say."""

    name: str = "Your shop"
    language: str = "en"  #: of the reports for customers, one of language.LANGUAGES
    units: str = "mm"  #: of the lengths in them, "mm" or "in"
    currency: str = "EUR"
    letterhead: Letterhead = field(default_factory=Letterhead)
    film: Film = field(default_factory=Film)
    choke_mm: float = 0.18  #: how far white is pulled in under the colour
    heavy_ink: HeavyInk = field(default_factory=HeavyInk)
    laydown: Mapping[str, Laydown] = field(default_factory=_laydown)  #: keys are model.CHANNELS, at 100 %
    per_job: Mapping[str, Grams] = field(default_factory=dict)  #: ink of each job besides its area, by channel
    cleaning: Mapping[str, Grams] = field(default_factory=dict)  #: of a day's cleaning, by channel and "cleaner"
    calibrated: Calibrated | None = None  #: None: nobody has weighed
    powder: Powder = field(default_factory=Powder)
    prices: Prices = field(default_factory=Prices)
    waste: Waste = field(default_factory=Waste)
    modes: Mapping[str, float] = field(default_factory=_modes)  #: minutes for one A3 of film
    default_mode: str = "normal"
    garments: Mapping[str, str] = field(default_factory=_garments)  #: the shop's own names of colours
    separation: SeparationSettings = field(default_factory=SeparationSettings)
    machine: Machine = field(default_factory=Machine)
    rules: Mapping[str, RuleChange] = field(default_factory=dict)
    rules_folder: Path | None = None
    source: TomlFile | None = field(default=None, compare=False, repr=False)  #: for messages about this file

    @classmethod
    def default(cls) -> Shop:
        """The settings of a shop that has no file yet."""
        return cls()

    @property
    def pixel_limit(self) -> int:
        """Pixels of the largest artwork that is opened: film width × longest print × finest resolution squared."""
        per_mm = self.film.finest_ppi / MM_PER_INCH
        return int(self.film.width_mm * per_mm * self.film.longest_print_mm * per_mm)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What a quote has to say about the figures behind it: whole sentences."""
        return (*self._about_prices(), *self._about_weighing())

    def _about_prices(self) -> tuple[str, ...]:
        invented = self.prices.invented
        if not invented:
            return ()
        if len(invented) == len(PRICES):
            return ("The prices are the example's until you set yours in the shop file.",)
        names = ", ".join(invented)
        return (f"Some prices are the example's until you set yours in the shop file: {names}.",)

    def _about_weighing(self) -> tuple[str, ...]:
        told = []
        if self.calibrated is not None:
            fitted = self.calibrated
            which = "" if set(fitted.inks) == set(CHANNELS) else f" of {', '.join(fitted.inks)}"
            told.append(f"The grams{which} come from {fitted.jobs} weighed jobs, fitted {fitted.fitted}.")
        start = sum(grams.likely for grams in self.per_job.values())
        if start > 0:
            told.append(f"The cost counts {show_number(start)} g of ink more for the start of the job.")
        return tuple(told)
