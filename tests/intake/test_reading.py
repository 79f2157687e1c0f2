"""What goes wrong while a file is being read, in words and with its name."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight.errors import IntakeError
from preflight.intake.head import cut_short
from preflight.intake.reading import reading


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "art.psd"
    made.write_bytes(b"8BPS")
    return made


def raised(path: Path, failure: BaseException) -> IntakeError:
    with pytest.raises(IntakeError) as caught, reading(path, "Send it as a PNG."):
        raise failure
    assert caught.value.file == str(path)
    return caught.value


def test_a_refusal_gets_the_name_and_stays_what_it_is(path: Path) -> None:
    told = cut_short()
    assert raised(path, told) is told
    assert told.rule == "cut-short"


def test_the_name_of_a_file_that_was_made_of_it_is_replaced(path: Path) -> None:
    assert raised(path, IntakeError("it is odd", "Look.", file="made-of-it.pdf")).what == "it is odd"


@pytest.mark.parametrize(
    ("failure", "what", "next_step"),
    [
        (MemoryError(), "there is not enough memory to read or draw it", "Send it as a PNG."),
        (OSError("gone"), "it went away while it was being read", "Check what moves it, try again."),
    ],
)
def test_what_the_system_raises(path: Path, failure: Exception, what: str, next_step: str) -> None:
    told = raised(path, failure)
    assert (told.what, told.next_step) == (what, next_step)
    assert told.__cause__ is failure


def test_a_file_that_is_no_longer_there_is_not_called_damaged(path: Path) -> None:
    path.unlink()
    assert raised(path, cut_short()).what == "it went away while it was being read"


def test_a_slip_of_the_program_is_no_fault_of_the_file(path: Path) -> None:
    with pytest.raises(ZeroDivisionError), reading(path):
        raise ZeroDivisionError


def test_strips_that_nobody_takes_to_their_end(path: Path) -> None:
    def strips():
        with reading(path):
            yield 1
            yield 2

    taken = strips()
    assert next(taken) == 1
    taken.close()
