"""The way out of the child: what is sent is what comes back, and nothing else does."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.child.plain import MisfitError, from_plain, to_plain
from preflight.model import (
    CHANNELS,
    Box,
    Coverage,
    DocumentFacts,
    Examination,
    InkUse,
    Measurement,
    PixelFacts,
    PrintSize,
    Severity,
    Spot,
)

_floats = st.floats(allow_nan=False)
_text = st.text(max_size=20)
_maybe = st.none() | _floats
_spots = st.builds(Spot, _floats, _floats, _floats, _floats, _maybe)
_measures = st.builds(
    Measurement,
    id=_text,
    value=_maybe,
    unit=_text,
    why_not=st.none() | _text,
    applies=st.booleans(),
    kind=st.none() | _text,
    spots=st.lists(_spots, max_size=3).map(tuple),
    spots_total=st.integers(0, 10**9),
    details=st.dictionaries(_text, _text, max_size=3),
)
_coverage = st.builds(Coverage, st.fixed_dictionaries(dict.fromkeys(CHANNELS, _floats)), _floats, _floats, _floats)
_facts = st.builds(
    PixelFacts,
    format=_text,
    width=st.integers(1, 10**6),
    height=st.integers(1, 10**6),
    has_alpha=st.booleans(),
    colour=_text,
    bits=st.integers(1, 32),
    density_ppi=st.none() | st.tuples(_floats, _floats),
    density_from=st.none() | _text,
    icc=st.none() | st.binary(max_size=30),
    icc_name=st.none() | _text,
    notes=st.lists(_text, max_size=3).map(tuple),
)
_sizes = st.builds(
    PrintSize,
    canvas=st.tuples(st.integers(), st.integers()),
    artwork=st.builds(Box, *[st.integers()] * 4),
    ppi=_maybe,
    width_mm=_maybe,
    height_mm=_maybe,
    size_from=_text,
)
_examinations = st.builds(
    Examination,
    facts=_facts,
    page=st.integers(1, 100),
    print_size=_sizes,
    measures=st.dictionaries(_text, _measures, max_size=3),
    coverage=st.none() | _coverage,
    coverage_fixed=st.dictionaries(_text, _coverage, max_size=2),
    separation=_text,
    assumptions=st.lists(_text, max_size=3).map(tuple),
)


def through(kind: Any, value: Any) -> Any:
    return from_plain(kind, json.loads(json.dumps(to_plain(value))))


@given(_examinations)
def test_an_examination_comes_back_as_it_was(examination: Examination) -> None:
    assert through(Examination, examination) == examination


def test_numbers_of_numpy_become_plain() -> None:
    back = through(Spot, Spot(np.float32(1.5), np.float64(2), 3, np.int32(4), None))  # type: ignore[arg-type]
    assert back == Spot(1.5, 2.0, 3.0, 4.0, None)
    assert {type(value) for value in (back.x, back.y, back.width, back.height)} == {float}


def test_what_is_no_number_stays_none() -> None:
    assert math.isnan(through(Spot, Spot(math.nan, 0, 0, 0)).x)
    assert through(Spot, Spot(math.inf, 0, 0, 0)).x == math.inf


def test_halves_of_letters_come_through() -> None:
    assert through(str, "a\udcff") == "a\udcff"


def test_documents_come_through() -> None:
    facts = DocumentFacts(2, 210.0, 297.0, True, hidden_layers=("notes",))
    assert through(DocumentFacts, facts) == facts
    assert through(PixelFacts | DocumentFacts, facts) == facts


def test_members_of_an_enumeration_come_through() -> None:
    assert through(Severity, Severity.ASK) is Severity.ASK
    with pytest.raises(MisfitError):
        from_plain(Severity, "shout")


GOOD = to_plain(Measurement("x", 1.0, "mm", spots=(Spot(1, 2, 3, 4, 5),), details={"a": "b"}))


@pytest.mark.parametrize(
    "change",
    [
        {"id": 3},
        {"id": None},
        {"value": "1.0"},
        {"value": True},
        {"value": 10**400},
        {"unit": ["mm"]},
        {"applies": 1},
        {"applies": None},
        {"spots": {}},
        {"spots": [[1, 2, 3, 4, 5]]},
        {"spots": [{**GOOD["spots"][0], "x": None}]},
        {"spots": [{**GOOD["spots"][0], "more": 1}]},
        {"spots_total": 1.0},
        {"spots_total": True},
        {"details": {"a": 1}},
        {"details": ["a", "b"]},
        {"__class__": "os.system"},
    ],
)
def test_what_does_not_fit_is_refused(change: Mapping[str, Any]) -> None:
    assert from_plain(Measurement, GOOD).id == "x"
    with pytest.raises(MisfitError):
        from_plain(Measurement, {**GOOD, **change})


@pytest.mark.parametrize("missing", ["id", "spots", "details"])
def test_what_is_missing_is_refused(missing: str) -> None:
    with pytest.raises(MisfitError):
        from_plain(Measurement, {name: value for name, value in GOOD.items() if name != missing})


@pytest.mark.parametrize("value", [None, [], "x", 3, [GOOD]])
def test_what_is_no_record_is_refused(value: object) -> None:
    with pytest.raises(MisfitError):
        from_plain(Measurement, value)


@pytest.mark.parametrize("value", [3, "***", "a", None])
def test_bytes_are_written_in_one_way(value: object) -> None:
    with pytest.raises(MisfitError):
        from_plain(bytes, value)


def test_ink_use_with_its_records_comes_through() -> None:
    use = InkUse("x", {}, 1.0, 2.0, 3.0)
    assert through(InkUse, use) == use


@dataclass
class _Odd:
    value: object


@pytest.mark.parametrize("value", [object(), {1, 2}, _Odd(object()), lambda: 1])
def test_nothing_else_leaves(value: object) -> None:
    with pytest.raises(TypeError):
        to_plain(value)


def test_nothing_else_is_expected() -> None:
    with pytest.raises(TypeError):
        from_plain(_Odd, {"value": 1})
