"""The shop: what it is set to, a file to start from, and what a file means in plain sentences."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from preflight.errors import SettingsError
from preflight.language import LANGUAGES
from preflight.shopdata import (
    CLEANED_WITH,
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
from preflight.shopfile import load_shop
from preflight.units import show_number as show

__all__ = [
    "CLEANED_WITH",
    "PRICES",
    "Calibrated",
    "Film",
    "Grams",
    "HeavyInk",
    "Laydown",
    "Letterhead",
    "Machine",
    "Powder",
    "Prices",
    "RuleChange",
    "SeparationSettings",
    "Shop",
    "Waste",
    "describe_shop",
    "load_shop",
    "write_shop",
]

_INTENTS = {
    "relative": "colours that print are kept, the others take the nearest one",
    "perceptual": "all colours are drawn together so that steps between them stay",
    "saturation": "vividness is kept before hue",
    "absolute": "colours are kept as measured, the paper's tint included",
}


def write_shop(path: str | os.PathLike[str]) -> None:
    """Write the commented starter file. It loads to exactly ``Shop.default()``.

    Raises
    ------
    SettingsError
        When something is there already (it is never overwritten), or the file cannot be written.
    """
    name = os.fspath(path)
    target = Path(path)
    text = Path(__file__).with_name("shop_template.toml").read_text(encoding="utf-8")
    if target.is_dir():
        raise SettingsError("this is a folder", f"Name the file too: {target / 'shop.toml'}", file=name)
    made = False
    try:
        with target.open("x", encoding="utf-8") as stream:
            made = True
            stream.write(text)
    except FileExistsError:
        step = "Choose another name, or move the file away first."
        raise SettingsError("the file is there already and is not overwritten", step, file=name) from None
    except FileNotFoundError:
        raise SettingsError(f"there is no folder {target.parent}", "Make the folder first.", file=name) from None
    except (OSError, ValueError) as error:
        if made:  # a disk that is full: half a file is none
            target.unlink(missing_ok=True)
        reason = getattr(error, "strerror", None) or str(error)
        step = "Choose a folder that you may write to, with room on its disk."
        raise SettingsError(f"the file cannot be written ({reason})", step, file=name) from None


def describe_shop(shop: Shop) -> list[str]:
    """What a shop file means, a sentence each, in the order of the file."""
    return [
        *_about_film(shop),
        *_about_ink(shop),
        *_about_money(shop),
        *_about_printing(shop),
        *_about_rules(shop),
    ]


def _about_film(shop: Shop) -> list[str]:
    film = shop.film
    core = "" if film.core_g is None else f"; the empty core weighs {show(film.core_g)} g"
    return [
        f"{shop.name} quotes in {shop.currency}.",
        *_about_reports(shop.letterhead),
        *_about_language(shop),
        f"Film {show(film.width_mm, 5)} mm wide, {show(film.printable_mm, 5)} mm printable; "
        f"{show(film.gap_mm)} mm between copies.",
        *_about_marks(film),
        f"A roll of {show(film.roll_m, 5)} m, {show(film.g_per_m2, 4)} g per m²{core}.",
        f"Prints up to {show(film.longest_print_mm / 1000)} m long and {show(film.finest_ppi, 4)} ppi: "
        f"files up to {show(shop.pixel_limit / 1e6)} million pixels are opened.",
    ]


def _about_reports(letterhead: Letterhead) -> list[str]:
    part = "with" if letterhead.shop_part else "without"
    return [f"Reports are for {letterhead.paper} paper, {part} the part for the shop: figures, ink and cost."]


def _about_language(shop: Shop) -> list[str]:
    lengths = "inches" if shop.units == "in" else "millimetres"
    return [f"Customers read their reports in {LANGUAGES[shop.language]}, with lengths in {lengths}."]


def _about_marks(film: Film) -> list[str]:
    room = show(film.cut_mark_mm)
    return [f"Layouts of several orders leave {room} mm for cut marks all round."] if film.cut_mark_mm else []


def _about_ink(shop: Shop) -> list[str]:
    sentences = [f"White is pulled in by {show(shop.choke_mm)} mm under the colour."]
    for channel, (likely, low, high) in shop.laydown.items():
        sentences.append(
            f"{channel.capitalize()} at 100 %: {show(likely)} g per m² (from {show(low)} to {show(high)})."
        )
    if shop.calibrated is not None:
        fitted = shop.calibrated
        inks = ", ".join(fitted.inks)
        sentences.append(f"The grams of {inks} were fitted to {fitted.jobs} weighed jobs on {fitted.fitted}.")
    if shop.per_job:
        sentences.append(f"Each job takes besides: {_listed(shop.per_job)}.")
    if shop.cleaning:
        sentences.append(f"A day's cleaning takes: {_listed(shop.cleaning)}.")
    powder = shop.powder
    sentences.append(
        f"Powder: {show(powder.g_per_m2)} g per m² under white (from {show(powder.low)} to {show(powder.high)})."
    )
    heavy = shop.heavy_ink
    sentences.append(
        f"Ink is averaged over {show(heavy.aperture_mm)} mm; "
        f"up to {show(heavy.allowed_mm2)} mm² may lie over the limit of heavy-ink."
    )
    return sentences


def _listed(grams: Mapping[str, Grams]) -> str:
    told = (f"{name} {show(each.likely)} g ({show(each.low)} to {show(each.high)})" for name, each in grams.items())
    return ", ".join(told)


def _about_money(shop: Shop) -> list[str]:
    prices, waste = shop.prices, shop.waste
    inks = f"Colour ink {prices.colour_ink_per_kg:.2f}, white ink {prices.white_ink_per_kg:.2f}"
    return [
        f"{inks} and powder {shop.powder.price_per_kg:.2f} {shop.currency} per kg.",
        f"Film {prices.film_per_m:.2f} {shop.currency} per metre.",
        *shop.assumptions,
        f"Waste: {show(waste.consumables * 100)} % of ink, powder and film, {show(waste.reprints * 100)} % reprints.",
    ]


def _about_printing(shop: Shop) -> list[str]:
    modes = ", ".join(f"{name} {show(minutes)}" for name, minutes in shop.modes.items())
    sentences = [f"Minutes for one A3: {modes}. The usual mode is {shop.default_mode}."]
    if shop.garments:
        names = ", ".join(f"{name} {colour}" for name, colour in shop.garments.items())
        sentences.append(f"Garment colours of your own: {names}.")
    settings = shop.separation
    profile = (
        str(settings.profile) if settings.profile else "the coated-paper reference of the program, not a film profile"
    )
    black = "with" if settings.black_point else "without"
    intent = f"{settings.intent} intent ({_INTENTS[settings.intent]})"
    sentences.append(f"Separation: {profile}; {intent}, {black} black point compensation.")
    machine = shop.machine
    sentences.append(
        f"One file may take {show(machine.memory_gb)} GB of memory and {show(machine.seconds, 4)} s of computing, "
        f"and {show(machine.seconds_per_megapixel)} s more for each million pixels."
    )
    return sentences


def _about_rules(shop: Shop) -> list[str]:
    sentences = []
    for rule, change in shop.rules.items():
        if change.off:
            sentences.append(f"The rule {rule} is switched off.")
            continue
        said = [_about_limit(level, value, change.units.get(level, "")) for level, value in change.limits.items()]
        for kind, limits in change.kinds.items():
            said += [
                f"{kind}: {_about_limit(level, value, change.units.get(f'{kind}.{level}', ''))}"
                for level, value in limits.items()
            ]
        if change.severity:
            said.append(f"severity {change.severity}")
        if change.customer or change.operator:
            said.append("words of your own")
        if said:
            sentences.append(f"The rule {rule} is changed: {', '.join(said)}.")
    if shop.rules_folder:
        sentences.append(f"Rules of your own come from {shop.rules_folder}.")
    return sentences


def _about_limit(level: str, value: float | None, unit: str) -> str:
    return f"no limit for {level}" if value is None else f"{level} at {show(value, 4)} {unit}".rstrip()
