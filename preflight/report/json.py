"""The report for scripts: JSON as docs/report.schema.json describes it. Its keys are stable, its words are not."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from preflight import __version__
from preflight.model import Channel, Cost, Finding, InkUse, Measurement, Place, PrintSize, Report, Saving, Ticket

#: Number of the schema; a change of the keys or their meaning is a new number.
SCHEMA = 1
#: Figures carry so many significant digits: finer than anything that is measured here.
DIGITS = 6


def document(reports: Iterable[Report]) -> str:
    """All reports of a run as one JSON document, ending in a line break.

    Parameters
    ----------
    reports
        In the order in which the files were named.

    Returns
    -------
    str
        Numbers are finite; what is not known is null.
    """
    tool = {"name": "preflight", "version": __version__}
    whole = {"schema": SCHEMA, "tool": tool, "artworks": [artwork(report) for report in reports]}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def artwork(report: Report) -> dict[str, Any]:
    """One report as plain data; the keys stand in the order of the schema."""
    return {
        "file": _text(report.file),
        "sha256": report.sha256,
        "format": report.format,
        "page": report.page,
        "verdict": report.verdict.value,
        "ticket": _ticket(report.ticket),
        "print": None if report.print_size is None else _print(report.print_size),
        "measures": {name: _measure(measure) for name, measure in sorted(report.measures.items())},
        "findings": [_finding(finding) for finding in report.findings],
        "ink": None if report.ink is None else _ink(report.ink),
        "cost": None if report.cost is None else _cost(report.cost),
        "assumptions": [_text(assumption) for assumption in report.assumptions],
        "seconds": round(report.seconds, 3),
    }


def _ticket(ticket: Ticket) -> dict[str, Any]:
    return {
        "width_mm": _number(ticket.width_mm),
        "height_mm": _number(ticket.height_mm),
        "copies": ticket.copies,
        "garments": [_text(garment) for garment in ticket.garments],
        "mode": None if ticket.mode is None else _text(ticket.mode),
    }


def _print(size: PrintSize) -> dict[str, Any]:
    box = size.artwork
    return {
        "width_mm": _number(size.width_mm),
        "height_mm": _number(size.height_mm),
        "ppi": _number(size.ppi),
        "pixels": list(size.canvas),
        "artwork_box_px": [box.x, box.y, box.width, box.height],
        "size_from": size.size_from,
    }


def _measure(measure: Measurement) -> dict[str, Any]:
    why_not = None if measure.why_not is None else _text(measure.why_not)
    return {"value": _number(measure.value), "unit": measure.unit, "why_not": why_not}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "measure": finding.measure,
        "value": _number(finding.value),
        "unit": finding.unit,
        "limit": _number(finding.limit),
        "places": [_place(place) for place in finding.places],
        "places_total": finding.places_total,
        "seen": _text(finding.seen),
        "why": _text(finding.why),
        "fix": _text(finding.fix),
        "saves": None if finding.saves is None else _saving(finding.saves),
    }


def _place(place: Place) -> dict[str, Any]:
    return {
        "x_mm": _number(place.x_mm),
        "y_mm": _number(place.y_mm),
        "width_mm": _number(place.width_mm),
        "height_mm": _number(place.height_mm),
        "value": _number(place.value),
    }


def _saving(saving: Saving) -> dict[str, Any]:
    return {"ink_g": _number(saving.ink_g), "money": _number(saving.money)}


def _ink(use: InkUse) -> dict[str, Any]:
    return {
        "separation": _text(use.separation),
        "channels": _channels(use.channels),
        "total_percent_max": _number(use.total_percent_max),
        "total_percent_mean": _number(use.total_percent_mean),
        "grams": _number(use.grams),
    }


def _channels(channels: Mapping[str, Channel]) -> dict[str, Any]:
    return {
        name: {"solid_mm2": _number(channel.solid_mm2), "grams": _number(channel.grams)}
        for name, channel in channels.items()
    }


def _cost(cost: Cost) -> dict[str, Any]:
    return {
        "currency": _text(cost.currency),
        "per_copy": _number(cost.per_copy),
        "total": _number(cost.total),
        "parts": {name: _number(amount) for name, amount in cost.parts.items()},
        "film_mm": _number(cost.film_mm),
        "minutes": _number(cost.minutes),
        "interval": [_number(amount) for amount in cost.interval],
    }


def _number(value: float | None) -> float | None:
    """Rounded to ``DIGITS`` significant digits; None for what is no finite number."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{DIGITS}g}")


def _text(text: str) -> str:
    r"""Text that UTF-8 can hold: a byte of a name that is no character stands as ``\udcff``."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
