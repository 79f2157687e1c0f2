"""``morning.json`` is what its published schema says, whatever the night brought."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from preflight.language import load_language
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from tests.overnight.conftest import Desk, picture

pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")
DOCS = Path(__file__).parents[2] / "docs"
SCHEMA = json.loads((DOCS / "morning.schema.json").read_text(encoding="utf-8"))
CHECK = jsonschema.Draft202012Validator(SCHEMA)


def night(desk: Desk, **options: Any) -> dict[str, Any]:
    desk.once(**options)
    told: dict[str, Any] = json.loads((desk.out / "morning.json").read_text(encoding="utf-8"))
    CHECK.validate(told)
    return told


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_a_night_of_every_kind(desk: Desk) -> None:
    assert night(desk)["orders"] == []
    desk.put("order/a.png", picture(1), ticket='width = "15mm"\ncopies = 3\ngarments = ["navy"]\nreference = "K 12"\n')
    desk.put("order/b.png", picture(2), ticket='width = "150mm"\n')
    desk.put("no size.jpg", picture(3).replace(b"pHYs", b"pHYx"))
    desk.put("c.txt", b"no artwork")
    desk.put("short.png", picture(9, side=600)[:-200])
    desk.put("shop.toml", b"")
    desk.put("lonely.ticket.toml", b"copies = 2\n")
    rules = load_rulebook(Shop.default(), None, load_language("de"))
    told = night(desk, settle=60.0, formats=("json", "html"), pages=rules)
    assert {order["order"]: order["verdict"] for order in told["orders"]} == {
        "order/": "stop", "no size.jpg": "unchecked", "c.txt": "unchecked",
    }  # fmt: skip
    assert list(told["not_yet"]) == ["short.png"]
    assert list(told["left_alone"]) == ["shop.toml"]
    assert told["tickets_without_artwork"] == ["lonely.ticket.toml"]
    keys = set(SCHEMA["$defs"]["file"]["properties"])
    assert all(set(file) == keys for order in told["orders"] for file in order["files"])


@pytest.mark.parametrize("originals", ["keep", "archive"])
def test_wherever_the_originals_go(desk: Desk, originals: str) -> None:
    desk.put("order/a.png", picture(1))
    desk.put("b.png", picture(1))  # answered from the ledger
    told = night(desk, originals=originals)
    (file,) = told["orders"][0]["files"]
    assert file["artwork"] == (None if originals == "keep" else "archive/b.png")


def test_what_is_not_in_it_is_noticed(desk: Desk) -> None:
    desk.put("a.png")
    told = night(desk)
    for change in (
        lambda it: it.update(schema=2),
        lambda it: it.pop("print_first"),
        lambda it: it["orders"][0].update(more=1),
        lambda it: it["orders"][0]["files"][0].pop("ticketed"),
        lambda it: it["orders"][0]["files"][0].update(width_mm="12mm"),
        lambda it: it["orders"][0]["files"][0].update(answered="2026-11-25 20:00"),
        lambda it: it["totals"]["ready"]["grams"].pop("white"),
    ):
        wrong = copy.deepcopy(told)
        change(wrong)
        assert not CHECK.is_valid(wrong)
