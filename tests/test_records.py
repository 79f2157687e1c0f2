"""The data classes of this house behave like the standard ones in all that it uses of them."""

from __future__ import annotations

import dataclasses
import pickle
import subprocess
import sys
from dataclasses import field, replace

import pytest

from preflight.records import dataclass


@dataclass(frozen=True, slots=True)
class Record:
    name: str
    size: float = 1.0
    parts: dict[str, int] = field(default_factory=dict, compare=False, repr=False)


@dataclasses.dataclass(frozen=True, slots=True)
class Standard:
    name: str
    size: float = 1.0
    parts: dict[str, int] = field(default_factory=dict, compare=False, repr=False)


@dataclass(slots=True)
class Changing:
    name: str


@dataclass(slots=True, eq=False)
class Itself:
    name: str


@dataclass(frozen=True, slots=True)
class Spoken:
    name: str

    def __repr__(self) -> str:
        return "spoken"


PAIRS = [("a", 1.0), ("a", 2.0), ("b", 1.0)]


@pytest.mark.parametrize("one", PAIRS)
@pytest.mark.parametrize("other", PAIRS)
def test_two_are_equal_when_the_standard_ones_are(one: tuple[str, float], other: tuple[str, float]) -> None:
    assert (Record(*one) == Record(*other)) == (Standard(*one) == Standard(*other))
    assert (hash(Record(*one)) == hash(Record(*other))) == (hash(Standard(*one)) == hash(Standard(*other)))


def test_fields_left_out_of_comparing_and_showing_are_left_out() -> None:
    assert Record("a", parts={"b": 1}) == Record("a")
    assert repr(Record("a", parts={"b": 1})) == repr(Standard("a", parts={"b": 1})).replace("Standard", "Record")


def test_records_of_two_classes_are_never_equal() -> None:
    assert Record("a") != Standard("a")
    assert Changing("a") == Changing("a") != Record("a")


def test_what_can_change_has_no_hash_and_what_is_only_itself_has() -> None:
    with pytest.raises(TypeError):
        hash(Changing("a"))
    assert Itself("a") != Itself("a")
    assert len({Itself("a"), Itself("a")}) == 2


def test_a_record_that_shows_itself_is_left_alone() -> None:
    assert repr(Spoken("a")) == "spoken"


def test_slots_replacing_and_pickling_work() -> None:
    changed = replace(Record("a", parts={"b": 1}), size=3.0)
    assert (changed.name, changed.size, changed.parts) == ("a", 3.0, {"b": 1})
    assert pickle.loads(pickle.dumps(changed)) == changed
    assert not hasattr(changed, "__dict__")


def test_the_type_checker_refuses_a_change_of_a_frozen_record() -> None:
    code = "from preflight.model import Box\nbox = Box(0, 0, 1, 1)\nbox.x = 2\n"
    found = subprocess.run([sys.executable, "-m", "mypy", "--config-file=", "-c", code], capture_output=True, text=True)
    if "No module named mypy" in found.stderr:
        pytest.skip("mypy is not installed")
    assert 'Property "x" defined in "Box" is read-only' in found.stdout
