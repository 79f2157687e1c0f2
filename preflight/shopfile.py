"""Read a shop file into a ``Shop``. The starter file ``shop_template.toml`` explains every setting."""

from __future__ import annotations

import os
import re
from datetime import date
from pathlib import Path

from preflight.colours import read_colour
from preflight.errors import UnitError
from preflight.language import LANGUAGES, UNITS
from preflight.model import CHANNELS, Severity
from preflight.shopdata import (
    CLEANED_WITH,
    INTENTS,
    PAPERS,
    PRICES,
    Calibrated,
    Film,
    Grams,
    HeavyInk,
    Laydown,
    Letterhead,
    Machine,
    Powder,
    Prices,
    RuleChange,
    SeparationSettings,
    Shop,
    Waste,
)
from preflight.tomlfile import LENGTH_UNITS, REQUIRED, Section, load_toml
from preflight.units import parse_length

#: A logo goes into every page of a report: bytes that it may have.
LARGEST_LOGO = 300_000
#: The first bytes of the pictures that a logo may be (PNG, ISO/IEC 15948, 5.2; JPEG, ISO/IEC 10918-1, annex B).
_LOGOS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
_LEVELS = tuple(severity.value for severity in Severity)
_WORDS = {"customer": ("title", "seen", "why", "fix", "as_is", "fine"), "operator": ("seen", "hint")}
_NUMBER_AND_UNIT = r"(\d+(?:\.\d+)?)\s*([A-Za-z%][A-Za-z0-9²%]*)"


def load_shop(path: str | os.PathLike[str]) -> Shop:
    """Read a shop file. What it does not say keeps its default; paths in it count from the file's own folder.

    Raises
    ------
    SettingsError
        For the first slip: file, line, key, what is wrong and what to write instead.
    """
    file = load_toml(path)
    folder = Path(path).parent
    top, default = file.top, Shop.default()
    name = top.take_text("name", default.name, longest=100)
    prices = top.section("prices")
    modes = _modes(top) if top.has("modes") else default.modes
    usual = default.default_mode if default.default_mode in modes else REQUIRED
    shop = Shop(
        name=name,
        language=top.take_choice("language", LANGUAGES, default.language),
        units=top.take_choice("units", UNITS, default.units),
        currency=_currency(top, default.currency),
        default_mode=top.take_choice("default_mode", modes, usual),
        rules_folder=_path(top, "rules_folder", folder, is_folder=True),
        letterhead=_letterhead(top.section("letterhead"), name, folder),
        film=_film(top.section("film")),
        choke_mm=_choke(top.section("white"), default.choke_mm),
        laydown=_laydowns(top.section("laydown"), default),
        per_job=_grams(top.section("per_job"), CHANNELS),
        cleaning=_grams(top.section("cleaning"), CLEANED_WITH),
        calibrated=_calibrated(top) if top.has("calibration") else None,
        powder=_powder(top.section("powder"), prices),
        prices=_prices(prices),
        waste=_waste(top.section("waste")),
        modes=modes,
        garments=_garments(top.section("garments")) if top.has("garments") else default.garments,
        heavy_ink=_heavy_ink(top.section("heavy_ink")),
        separation=_separation(top.section("separation"), folder),
        machine=_machine(top.section("machine")),
        rules=_rules(top.section("rules")),
        source=file,
    )
    top.finish()
    return shop


def _currency(top: Section, default: str) -> str:
    text = top.take_text("currency", default, longest=20)
    if not (text.isalpha() and len(text) <= 4):
        raise top.slip("currency", f'"{text}" is not the letters of a currency', 'Write one to four, such as "EUR".')
    return text


def _path(section: Section, name: str, folder: Path, *, is_folder: bool = False) -> Path | None:
    text = section.take_text(name, None)
    if text is None:
        return None
    path = folder / text
    if not (path.is_dir() if is_folder else path.is_file()):
        kind = "folder" if is_folder else "file"
        raise section.slip(name, f"there is no {kind} {path}", "Write its path as seen from this shop file.")
    return path


def _letterhead(section: Section, name: str, folder: Path) -> Letterhead:
    default = Letterhead()
    letterhead = Letterhead(
        name=section.take_text("name", name, longest=100),
        lines=section.take_texts("lines", default.lines),
        logo=_logo(section, folder),
        accent=_colour(section, "accent", default.accent),
        text=_colour(section, "text", default.text),
        paper=section.take_choice("paper", PAPERS, default.paper),
        shop_part=section.take_flag("shop_part", default.shop_part),
    )
    section.finish()
    return letterhead


def _logo(section: Section, folder: Path) -> Path | None:
    """The path of a small PNG or JPEG."""
    path = _path(section, "logo", folder)
    if path is None:
        return None
    step = "Save it anew as a small PNG or JPEG, about 600 pixels wide."
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_LOGO + 1)
    except OSError as error:
        what = f"the logo {path} cannot be read ({error.strerror or 'no reason given'})"
        raise section.slip("logo", what, "Give your user the right to read it.") from None
    if logo_kind(data) is None:
        raise section.slip("logo", f"the logo {path} is neither PNG nor JPEG", step)
    if len(data) > LARGEST_LOGO:
        raise section.slip("logo", f"the logo {path} is larger than {LARGEST_LOGO // 1000} kB", step)
    return path


def logo_kind(data: bytes) -> str | None:
    """What a logo's first bytes say it is: "image/png" or "image/jpeg", else None."""
    return next((kind for start, kind in _LOGOS.items() if data.startswith(start)), None)


def _colour(section: Section, name: str, default: str) -> str:
    """A colour in hexadecimal or a CSS name, always given back as ``#rrggbb``."""
    text = section.take_text(name, default, longest=60)
    rgb = read_colour(text)
    if rgb is None:
        raise section.slip(name, f'"{text}" is not a colour', 'Write one such as "#2d2d30", or a CSS colour name.')
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def _film(section: Section) -> Film:
    default = Film()
    film = Film(
        width_mm=section.take_length("width", default.width_mm, low=50, high=5000),
        printable_mm=section.take_length("printable", default.printable_mm, low=10, high=5000),
        gap_mm=section.take_length("gap", default.gap_mm, high=500),
        cut_mark_mm=section.take_length("cut_mark", default.cut_mark_mm, high=50),
        longest_print_mm=section.take_length("longest_print", default.longest_print_mm, low=100, high=200_000),
        finest_ppi=section.take_number("finest_ppi", default.finest_ppi, low=72, high=4800),
        roll_m=section.take_length("roll", default.roll_m * 1000, low=1000, high=10_000_000) / 1000,
        core_g=section.take_mass("core", default.core_g, low=1, high=50_000),
        g_per_m2=section.take_number("g_per_m2", default.g_per_m2, low=10, high=1000),
    )
    if film.printable_mm > film.width_mm:
        what = f"the printable width ({film.printable_mm:g}mm) is more than the film's ({film.width_mm:g}mm)"
        raise section.slip(
            "printable" if section.has("printable") else "width", what, "Write both, the printable one smaller."
        )
    if film.printable_mm - 2 * film.cut_mark_mm < 10:
        raise section.slip("cut_mark", "the cut marks leave no room for prints", "Write a smaller room for them.")
    section.finish()
    return film


def _choke(section: Section, default: float) -> float:
    choke = section.take_length("choke", default, high=2)
    section.finish()
    return choke


def _heavy_ink(section: Section) -> HeavyInk:
    default = HeavyInk()
    heavy = HeavyInk(
        aperture_mm=section.take_length("aperture", default.aperture_mm, low=0.05, high=10),
        allowed_mm2=section.take_number("allowed_mm2", default.allowed_mm2, high=10_000),
    )
    section.finish()
    return heavy


def _laydowns(section: Section, default: Shop) -> dict[str, Laydown]:
    inner = {channel: section.section(channel) for channel in CHANNELS}
    section.finish()
    return {
        channel: _laydown(inner[channel], 200.0) if section.has(channel) else default.laydown[channel]
        for channel in CHANNELS
    }


def _laydown(section: Section, most: float) -> Laydown:
    """Likely, least and most, all three: one alone would leave the others to a guess."""
    low = section.take_number("least", low=0, high=most)
    likely = section.take_number("likely", low=0, high=most)
    high = section.take_number("most", low=0, high=most)
    if not low <= likely <= high:
        what = f"least {low:g}, likely {likely:g} and most {high:g} are out of order"
        raise section.slip("likely", what, "Write the least first and the most last; the likely one lies between.")
    section.finish()
    return Laydown(likely, low, high)


def _grams(section: Section, names: tuple[str, ...]) -> dict[str, Grams]:
    """Likely, least and most grams of what is named; nothing for the rest."""
    inner = {name: section.section(name) for name in names}
    section.finish()
    return {name: Grams(*_laydown(each, 10_000.0)) for name, each in inner.items() if section.has(name)}


def _calibrated(top: Section) -> Calibrated:
    section = top.section("calibration")
    fitted = section.take_text("fitted", longest=10)
    try:
        date.fromisoformat(fitted)
    except ValueError:
        raise section.slip("fitted", f'"{fitted}" is not a date', 'Write such as "2026-11-24".') from None
    inks = section.take_texts("inks", CHANNELS)
    if strange := [name for name in inks if name not in CHANNELS]:
        raise section.slip("inks", f'"{strange[0]}" is no ink here', f"Known here: {', '.join(CHANNELS)}.")
    calibrated = Calibrated(fitted, section.take_whole("jobs", low=1, high=1_000_000), inks)
    section.finish()
    return calibrated


def _powder(section: Section, prices: Section) -> Powder:
    default = Powder()
    price = prices.take_number("powder_per_kg", default.price_per_kg, high=1e6)
    if not section.data:
        return Powder(price_per_kg=price)
    return Powder(*_laydown(section, 2000.0), price_per_kg=price)


def _prices(section: Section) -> Prices:
    """The rest of the prices, after that of the powder."""
    default = Prices()
    example = section.take_flag("example", False)
    prices = Prices(
        colour_ink_per_kg=section.take_number("colour_ink_per_kg", default.colour_ink_per_kg, high=1e6),
        white_ink_per_kg=section.take_number("white_ink_per_kg", default.white_ink_per_kg, high=1e6),
        film_per_m=section.take_number("film_per_m", default.film_per_m, high=1e6),
        invented=tuple(name for name in PRICES if example or not section.has(name)),
    )
    section.finish()
    return prices


def _waste(section: Section) -> Waste:
    default = Waste()
    waste = Waste(
        consumables=section.take_number("consumables_percent", default.consumables * 100, high=100) / 100,
        reprints=section.take_number("reprints_percent", default.reprints * 100, high=100) / 100,
    )
    section.finish()
    return waste


def _modes(top: Section) -> dict[str, float]:
    section = top.section("modes")
    modes = {name: section.take_number(name, low=0.05, high=600) for name in section.data}
    if not modes:
        raise top.slip("modes", "no print mode is listed", "Write one a line with its minutes, such as normal = 6.")
    return modes


def _garments(section: Section) -> dict[str, str]:
    """The shop's own colour names, folded to small letters."""
    return {" ".join(name.lower().split()): _colour(section, name, "") for name in section.data}


def _separation(section: Section, folder: Path) -> SeparationSettings:
    default = SeparationSettings()
    settings = SeparationSettings(
        profile=_path(section, "profile", folder),
        intent=section.take_choice("intent", INTENTS, default.intent),
        black_point=section.take_flag("black_point", default.black_point),
    )
    section.finish()
    return settings


def _machine(section: Section) -> Machine:
    default = Machine()
    machine = Machine(
        memory_gb=section.take_number("memory_gb", default.memory_gb, low=0.5, high=1000),
        seconds=section.take_number("seconds", default.seconds, low=1, high=86_400),
        seconds_per_megapixel=section.take_number(
            "seconds_per_megapixel", default.seconds_per_megapixel, low=0.01, high=3600
        ),
    )
    section.finish()
    return machine


def _rules(section: Section) -> dict[str, RuleChange]:
    changes = {name: _rule_change(inner) for name, inner in section.sections()}
    for name in section.data:
        if name not in changes:
            raise section.slip(name, f"'{name}' is no rule", "Write the rule's own heading, such as [rules.thin-line].")
    return changes


def _rule_change(section: Section) -> RuleChange:
    units: dict[str, str] = {}
    off = section.take_flag("off", False)
    severity = section.take_choice("severity", _LEVELS, None)
    limits = _limits(section, units, "")
    words = {group: _words(section.section(group), known) for group, known in _WORDS.items()}
    kinds: dict[str, dict[str, float | None]] = {}
    for kind, inner in section.sections():
        if kind not in _WORDS:
            kinds[kind] = _limits(inner, units, f"{kind}.")
            inner.finish()
    section.finish()
    return RuleChange(off, severity, limits, kinds, units, words["customer"], words["operator"])


def _limits(section: Section, units: dict[str, str], prefix: str) -> dict[str, float | None]:
    limits: dict[str, float | None] = {}
    for level in _LEVELS:
        if isinstance(section.data.get(level), str):
            limits[level], unit = _written_limit(section, level)
            if unit:
                units[f"{prefix}{level}"] = unit
        else:
            value = section.take_number(level, None)
            if value is not None:
                limits[level] = value
    return limits


def _written_limit(section: Section, level: str) -> tuple[float | None, str]:
    """Value and unit of a limit in quotes: ``"0.4mm"``, ``"250 ppi"``, ``"off"``."""
    text = section.take_text(level, longest=40)
    if text == "off":
        return None, ""
    match = re.fullmatch(_NUMBER_AND_UNIT, text.strip())
    if match is None:
        step = f'Write a number, a number with a unit such as {level} = "0.4mm", or {level} = "off".'
        raise section.slip(level, f'"{text}" is not a limit', step)
    number, unit = match.groups()
    if unit.lower() not in LENGTH_UNITS:
        return float(number), unit.replace("²", "2")
    try:
        return parse_length(text, what=level, units=LENGTH_UNITS, zero=True), "mm"
    except UnitError as error:
        raise section.slip(level, error.what, error.next_step) from None


def _words(section: Section, known: tuple[str, ...]) -> dict[str, str]:
    taken = {name: section.take_text(name, None, longest=2000, lines=True) for name in known}
    section.finish()
    return {name: text for name, text in taken.items() if text is not None}
