"""The file of weighed jobs: never a line lost, never half a line, and read back as a spreadsheet program saved it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.errors import PreflightError, SettingsError, UsageError
from preflight.ink.calibration import Weighing
from preflight.ink.calibration_file import append_records, read_records
from preflight.model import CHANNELS

AREAS = dict.fromkeys(CHANNELS, 0.25)
ONE = Weighing(date(2026, 11, 24), "crest.png", AREAS, {"cyan": 1.21, "white": 6.4}, 1, 1.0, "film A", "fine")


def test_what_was_recorded_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    other = replace(ONE, job='a, b; "c".png', grams={"yellow": 0.0}, jobs=0, cleaning_days=2.5, mode="")
    assert append_records(path, [ONE]) == 1
    assert append_records(path, [other]) == 2
    assert read_records(path) == [replace(ONE, line=2), replace(other, line=3)]
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_that_stands_there_is_changed(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [ONE])
    own = path.read_bytes().replace(b"\n", b",note\n", 1).rstrip() + b",mine\n"
    path.write_bytes(own)
    append_records(path, [replace(ONE, job="next")])
    assert path.read_bytes().startswith(own)
    assert [each.job for each in read_records(path)] == ["crest.png", "next"]


def test_a_last_line_without_its_end_stays_a_line_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [ONE])
    path.write_bytes(path.read_bytes().rstrip(b"\n"))
    append_records(path, [replace(ONE, grams={"cyan": 2.0})])
    assert [each.grams["cyan"] for each in read_records(path)] == [1.21, 2.0]


def test_as_a_spreadsheet_with_decimal_commas_saves_it(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    head = "date;job;jobs;profile;mode;cleaning_days;cyan_m2;cyan_g"
    text = f"{head}\r\n24.11.2026;crest.png;1;film A;fine;1,5;0,25;1,21\r\n"
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    (read,) = read_records(path)
    assert (read.day, read.cleaning_days, read.areas_m2, read.grams) == (
        date(2026, 11, 24), 1.5, {"cyan": 0.25}, {"cyan": 1.21},
    )  # fmt: skip
    with pytest.raises(SettingsError, match="magenta_m2 is not in the first line"):
        append_records(path, [ONE])


def test_a_line_is_added_as_the_spreadsheet_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [ONE])
    path.write_bytes(
        path.read_bytes().replace(b".", b"/").replace(b",", b";").replace(b"/", b",").replace(b"\n", b"\r\n")
    )
    append_records(path, [replace(ONE, grams={"cyan": 2.5})])
    assert path.read_bytes().count(b"\r\n") == 3
    assert b";2,5;" in path.read_bytes()
    assert [each.grams["cyan"] for each in read_records(path)] == [1.21, 2.5]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("hello\n1\n", "does not name the columns"),
        ("date,cyan_m2,cyan_g\n24/11/2026,0.1,1\n", "line 2, date: '24/11/2026' is not a date"),
        ("date,cyan_m2,cyan_g\n2026-11-24,0.1,1.2.3\n", "line 2, cyan_g: '1.2.3' is not a number"),
        ("date,cyan_m2,cyan_g\n2026-11-24,0.1,-1\n", "not a number that can be used"),
        ("date,cyan_m2,cyan_g\n2026-11-24,0.1,nan\n", "not a number that can be used"),
        ("date,cyan_m2,cyan_g\n\n2026-11-24,,1\n", "line 3, cyan_m2: cyan was weighed, but its area is missing"),
        ("date,jobs,cyan_m2,cyan_g\n2026-11-24,3,1,1\n", "jobs: 3 is not a number of jobs"),
        ('date,cyan_m2,cyan_g\n2026-11-24,"0.1,1\n', "the line cannot be read"),
        ("date,cyan_m2,cyan_g\n2026-11-24,0.1,1\n\xff", "is not a date"),
    ],
)
def test_every_slip_is_told_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "weighed.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as slip:
        read_records(path)
    assert said in str(slip.value)
    assert str(path) in str(slip.value)
    before = path.read_bytes()
    if text:
        with pytest.raises(SettingsError):
            append_records(path, [ONE])
    assert path.read_bytes() == before


@given(st.binary(max_size=300))
def test_no_file_whatever_ends_in_a_traceback(raw: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "weighed.csv"
        path.write_bytes(raw)
        try:
            read_records(path)
        except PreflightError as slip:
            told = str(slip)
        else:
            return
        assert str(path) in told


def test_the_same_weighing_twice_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [ONE])
    before = path.read_bytes()
    with pytest.raises(SettingsError, match="line 2: this weighing stands here already"):
        append_records(path, [replace(ONE, grams={"cyan": 9.0}), ONE])
    assert path.read_bytes() == before


def test_a_name_is_never_a_formula(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [replace(ONE, job="=1+1.png")])
    assert b"'=1+1.png" in path.read_bytes()


def test_a_full_disk_leaves_the_file_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "weighed.csv"
    append_records(path, [ONE])
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(UsageError, match="Nothing was changed"):
        append_records(path, [replace(ONE, job="next")])
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_there_is_no_such_folder(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no folder"):
        append_records(tmp_path / "none" / "weighed.csv", [ONE])
    with pytest.raises(SettingsError, match="Begin one with"):
        read_records(tmp_path / "weighed.csv")
    with pytest.raises(SettingsError, match="this is a folder"):
        read_records(tmp_path)


def test_many_at_once_lose_no_line(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"

    def record(who: int) -> None:
        for number in range(8):
            append_records(path, [replace(ONE, job=f"{who}-{number}", grams={"cyan": who + number / 100})])

    threads = [threading.Thread(target=record, args=(who,)) for who in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    jobs = [each.job for each in read_records(path)]
    assert sorted(jobs) == sorted(f"{who}-{number}" for who in range(5) for number in range(8))


_RECORDER = """
import sys
from dataclasses import replace
from pathlib import Path
from tests.ink.test_records import ONE
from preflight.ink.calibration_file import append_records
for number in range(10_000):
    append_records(Path(sys.argv[1]), [replace(ONE, job=str(number), grams={"cyan": number / 100})])
    print(number, flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="the kill is that of POSIX")
def test_a_recorder_that_is_killed_leaves_whole_lines(tmp_path: Path) -> None:
    path = tmp_path / "weighed.csv"
    root = str(Path(__file__).parents[2])
    for wait in (0.05, 0.13):
        process = subprocess.Popen(
            [sys.executable, "-c", _RECORDER, str(path)], stdout=subprocess.PIPE, text=True, cwd=root,
            env={**os.environ, "PYTHONPATH": root},
        )  # fmt: skip
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(wait)
        process.send_signal(signal.SIGKILL)
        said = process.stdout.read().split()
        process.stdout.close()
        process.wait()
        told = int(said[-1]) if said else 0
        read = read_records(path)
        assert [each.job for each in read] == [str(number) for number in range(len(read))]
        assert len(read) in (told + 1, told + 2)
        path.unlink()
