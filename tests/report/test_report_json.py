"""The JSON report holds to the contract and to the published schema."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from preflight.model import MOST_PLACES, Measurement, Report, Saving, Severity, Verdict
from preflight.report.json import document
from tests.report.samples import finding, report, saving_report, unread_report, unsized_report

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text(encoding="utf-8"))
EVERY_KIND = [
    report(),
    saving_report(),
    unread_report(),
    unsized_report(),
    report(Verdict.READY, finding(severity=Severity.NOTE)),
]


def read(*reports: Report) -> dict[str, Any]:
    parsed = json.loads(document(reports))
    jsonschema.Draft202012Validator(SCHEMA).validate(parsed)
    assert isinstance(parsed, dict)
    return parsed


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_every_kind_of_report_fits_the_schema(kind: Report) -> None:
    assert read(kind)["artworks"][0]["verdict"] == kind.verdict


def test_no_artwork_fits_the_schema_too() -> None:
    assert read()["artworks"] == []


def test_keys_are_those_of_the_contract_in_their_order() -> None:
    whole = read(saving_report())
    assert list(whole) == ["schema", "tool", "artworks"]
    assert whole["schema"] == 1
    assert whole["tool"] == {"name": "preflight", "version": "0.1.0"}
    artwork = whole["artworks"][0]
    keys = "file sha256 format page verdict ticket print measures findings ink cost assumptions seconds"
    assert " ".join(artwork) == keys
    assert list(artwork["ticket"]) == ["width_mm", "height_mm", "copies", "garments", "mode"]
    assert list(artwork["print"]) == ["width_mm", "height_mm", "ppi", "pixels", "artwork_box_px", "size_from"]
    assert list(artwork["measures"]["narrowest-line"]) == ["value", "unit", "why_not"]
    keys = "rule severity measure value unit limit places places_total seen why fix saves"
    assert " ".join(artwork["findings"][0]) == keys
    assert list(artwork["findings"][0]["places"][0]) == ["x_mm", "y_mm", "width_mm", "height_mm", "value"]
    assert list(artwork["ink"]) == ["separation", "channels", "total_percent_max", "total_percent_mean", "grams"]
    assert list(artwork["ink"]["channels"]) == ["cyan", "magenta", "yellow", "black", "white"]
    assert list(artwork["ink"]["channels"]["cyan"]) == ["solid_mm2", "grams"]
    assert list(artwork["cost"]) == ["currency", "per_copy", "total", "parts", "film_mm", "minutes", "interval"]
    assert list(artwork["cost"]["parts"]) == ["ink", "powder", "film", "waste"]


def test_every_figure_stands_under_its_key() -> None:
    artwork = read(saving_report())["artworks"][0]
    assert artwork["file"] == "orders/badge.png"
    assert artwork["ticket"] == {
        "width_mm": 280.0, "height_mm": None, "copies": 12, "garments": ["#1d1d1f", "navy"], "mode": "fine",
    }  # fmt: skip
    assert artwork["print"] == {
        "width_mm": 280.0, "height_mm": 186.69, "ppi": 300.0, "pixels": [3400, 2300],
        "artwork_box_px": [12, 7, 3307, 2205], "size_from": "ticket",
    }  # fmt: skip
    assert artwork["ink"]["channels"]["white"] == {"solid_mm2": 5000.0, "grams": 2.5}
    assert artwork["ink"]["grams"] == 7.5
    assert (artwork["ink"]["total_percent_max"], artwork["ink"]["total_percent_mean"]) == (298.25, 121.5)
    assert artwork["cost"]["interval"] == [9.5, 22.25]
    assert (artwork["cost"]["film_mm"], artwork["cost"]["minutes"]) == (2345.6, 41.5)
    found = artwork["findings"][0]
    assert (found["value"], found["limit"], found["saves"]) == (0.211235, 0.35, {"ink_g": 12.3457, "money": 1.05})
    assert found["places"][1] == {"x_mm": 20.0, "y_mm": 40.0, "width_mm": 6.0, "height_mm": 0.3, "value": 0.23}


def test_why_not_is_told_for_measures_that_were_not_taken() -> None:
    measures = read(report())["artworks"][0]["measures"]
    assert measures["detail-ppi"] == {"value": None, "unit": "ppi", "why_not": "there is no detail to judge by"}
    assert measures["narrowest-gap"] == {"value": None, "unit": "mm", "why_not": None}


def test_artworks_keep_their_order_and_measures_are_sorted() -> None:
    whole = read(replace(report(), file="z.png"), replace(report(), file="a.png"))
    assert [artwork["file"] for artwork in whole["artworks"]] == ["z.png", "a.png"]
    assert list(whole["artworks"][0]["measures"]) == sorted(whole["artworks"][0]["measures"])


@pytest.mark.parametrize("odd", [math.nan, math.inf, -math.inf])
def test_no_number_is_null(odd: float) -> None:
    strange = replace(report(), measures={"total-ink": Measurement("total-ink", odd, "%", why_not="no number")})
    assert read(strange)["artworks"][0]["measures"]["total-ink"]["value"] is None


def test_names_that_are_no_text_are_spelled_out() -> None:
    strange = replace(report(), file="b\udcffd \x1b[31m.png")
    assert read(strange)["artworks"][0]["file"] == "b\\udcffd \x1b[31m.png"
    assert "\x1b" not in document([strange])


def test_a_fix_may_need_more_ink() -> None:
    more = replace(finding(), saves=Saving(-0.5, -0.04))
    assert read(report(Verdict.STOP, more))["artworks"][0]["findings"][0]["saves"] == {"ink_g": -0.5, "money": -0.04}


def test_the_schema_refuses_what_is_not_in_the_contract() -> None:
    whole = read(report())
    whole["artworks"][0]["mood"] = "good"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(whole)


def test_the_schema_knows_how_many_places_there_can_be() -> None:
    assert SCHEMA["$defs"]["finding"]["properties"]["places"]["maxItems"] == MOST_PLACES
