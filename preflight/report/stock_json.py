"""The stock against the waiting orders, for scripts. Its keys are stable, its words are not."""

from __future__ import annotations

import json
from typing import Any

from preflight import __version__
from preflight.ink.packing import Packing
from preflight.ink.stock import FILM, Outlook, Resource, Stock
from preflight.report.json import DIGITS

SCHEMA = 1


def document(stock: Stock, outlook: Outlook) -> str:
    """The whole answer as a JSON document, ending in a line break. Numbers are finite; what is not known is null."""
    whole = {
        "schema": SCHEMA,
        "tool": {"name": "preflight", "version": __version__},
        "taken": stock.taken,
        "answer": "short" if outlook.short else "unknown" if outlook.unknown else "enough",
        "resources": [_resource(each) for each in outlook.resources],
        "orders": [
            {
                "number": number, "file": order.file, "page": order.page, "report": order.report,
                "copies": order.copies, "verdict": order.verdict, "fits": number in outlook.fits,
            }
            for number, order in enumerate(outlook.orders, 1)
        ],
        "set_aside": [
            {"file": each.order.file, "page": each.order.page, "report": each.order.report, "why": each.why}
            for each in outlook.set_aside
        ],
        "film": {
            "all": _packing(outlook.packing, range(1, len(outlook.orders) + 1)),
            "fitting": _packing(outlook.fitting, outlook.fits),
        },
    }  # fmt: skip
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def _resource(each: Resource) -> dict[str, Any]:
    return {
        "name": each.name,
        "unit": "mm" if each.name == FILM else "g",
        "have": None if each.have is None else _number(each.have),
        "cleaning": _number(each.cleaning),
        "need": _number(each.need),
        "need_at_most": _number(each.most),
        "runs_out_at": each.runs_out_at,
        "may_run_out_at": each.may_run_out_at,
        "short": _number(max(each.short, 0.0)),
        "short_at_most": _number(max(each.short_at_most, 0.0)),
    }


def _packing(laid: Packing, numbers: range | tuple[int, ...]) -> dict[str, Any]:
    return {
        "length_mm": _number(laid.length_mm),
        "bound_mm": _number(laid.bound_mm),
        "rows_mm": _number(laid.rows_mm),
        "covered_share": _number(laid.share),
        "places": [
            {
                "order": numbers[each.order],
                "x_mm": _number(each.x_mm),
                "y_mm": _number(each.y_mm),
                "width_mm": _number(each.width_mm),
                "height_mm": _number(each.height_mm),
                "turned": each.turned,
            }
            for each in laid.placed
        ],
    }


def _number(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
