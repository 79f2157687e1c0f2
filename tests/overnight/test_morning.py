"""The morning sheet: sums that are right, an order of printing that is what it says, and nothing unescaped."""

from __future__ import annotations

import json
from typing import Any

from preflight.model import CHANNELS
from preflight.overnight.ledger import Row
from preflight.overnight.morning import document, sheet
from preflight.overnight.morningpage import page
from preflight.shop import Shop

STATE: dict[str, Any] = {"not_yet": {}, "left_alone": {}, "tickets_without_artwork": []}


def row(file: str, verdict: str = "ready", minutes: float | None = 2.0, mode: str | None = None, **more: Any) -> Row:
    known = minutes is not None
    told = {
        "file": file, "verdict": verdict, "pages": 1, "rule": None, "title": None, "fix": None, "findings": 0,
        "copies": 2, "garments": [], "mode": mode, "reference": None, "width_mm": 50.0, "height_mm": 40.0,
        "grams": dict.fromkeys(CHANNELS, 1.5) if known else None, "film_mm": 500.0 if known else None,
        "minutes": minutes, "total": 3.0 if known else None, "interval": [2.0, 4.0] if known else None,
        "currency": "EUR" if known else None, **more,
    }  # fmt: skip
    reports = (("json", f"{verdict}/{file}.report.json"), ("html", f"{verdict}/{file}.report.html"))
    return Row(file, 5.0, file, "sum", "set", verdict, 1, 0.5, 3.0, "EUR", False, reports, f"{verdict}/{file}", told)


def test_an_order_is_as_bad_as_its_worst_file_and_sums_go_by_orders() -> None:
    rows = [
        row("one/a.png"),
        row("one/b.png", "stop", title="Thin", fix="Thicken."),
        row("c.png"),
        row("d.png", "unchecked", None),
    ]
    told = sheet(rows, STATE, 10.0)
    assert {order.name: order.verdict for order in told.orders} == {
        "one/": "stop",
        "c.png": "ready",
        "d.png": "unchecked",
    }
    assert (told.totals["ready"].files, told.totals["stop"].files, told.totals["unchecked"].unknown) == (1, 2, 1)
    assert told.totals["stop"].grams == dict.fromkeys(CHANNELS, 3.0)
    assert (told.totals["stop"].film_mm, told.totals["stop"].minutes) == (1000.0, 4.0)
    assert (told.totals["stop"].money, told.totals["stop"].interval) == ({"EUR": 6.0}, (4.0, 8.0))


def test_what_to_print_first() -> None:
    """The usual mode before the others, each mode in one go, the quickest first; only whole orders that are ready."""
    rows = [
        row("slow.png", minutes=9.0), row("quick.png", minutes=1.0, mode="normal"),
        row("fine.png", minutes=0.5, mode="fine"), row("order/a.png", minutes=1.0),
        row("order/b.png", minutes=1.0), row("half/a.png", minutes=0.1),
        row("half/b.png", "ask"),
    ]  # fmt: skip
    told = sheet(rows, STATE, 10.0, "normal")
    assert [order.name for order in told.first] == ["quick.png", "order/", "slow.png", "fine.png"]


def test_the_document_for_programs() -> None:
    state = {**STATE, "not_yet": {"e.png": "it is still arriving"}}
    told = json.loads(document(sheet([row("one/a\udce9.png")], state, 10.0)))
    assert told["orders"][0]["files"][0]["reports"] == {
        "json": "ready/one/a\udce9.png.report.json", "html": "ready/one/a\udce9.png.report.html",
    }  # fmt: skip
    assert told["print_first"] == ["one/"]
    assert told["not_yet"] == {"e.png": "it is still arriving"}
    assert told["totals"]["ready"]["grams"]["white"] == 1.5


def test_the_page_escapes_names_and_links_to_the_reports() -> None:
    bad = "<script>alert(1)</script>\u202e.png"
    rows = [row(f"x/{bad}", "stop", title="Thin", fix="Thicken <it>."), row("a b#c?.png")]
    state = {
        **STATE,
        "not_yet": {bad: "it is still arriving"},
        "left_alone": {bad: "a link"},
        "tickets_without_artwork": [bad],
    }
    text = page(sheet(rows, state, 10.0), Shop.default())
    assert "<script" not in text
    assert "\u202e" not in text
    assert 'href="ready/a%20b%23c%3F.png.report.html"' in text
    assert "Thicken &lt;it&gt;." in text
    assert "1 of 2 orders is ready to print" in text


def test_a_night_without_files() -> None:
    text = page(sheet([], STATE, 10.0), Shop.default())
    assert "Nothing was answered in the last 24 hours" in text


def test_files_without_a_size_are_said_to_be_missing_from_the_sums() -> None:
    text = page(sheet([row("a.png", "ask", None, width_mm=None)], STATE, 10.0), Shop.default())
    assert "1 file has no print size: what it takes is not in these figures." in text
