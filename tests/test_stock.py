"""``preflight stock``: what is on the machine, against reports of waiting orders, as a shop types it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from preflight import cli_ink
from preflight.model import ExitStatus
from tests.reported import artwork, report

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "docs" / "stock.schema.json").read_text(encoding="utf-8"))
Run = Callable[..., tuple[int, str, str]]


def waiting(folder: Path) -> None:
    """Three orders in two reports, 8.6 g of cyan on a square metre: 0.86, 1.72 and 0.43 g; one is not ready."""
    first = artwork("crest.png", copies=2, size=(300, 200), areas_m2={"cyan": 0.05, "white": 0.05})
    stopped = artwork("bee.png", verdict="stop", areas_m2={"cyan": 9.0})
    second = artwork("sun.png", copies=4, size=(300, 200), areas_m2={"cyan": 0.05}, verdict="ask")
    third = artwork("moon.png", size=(100, 60), areas_m2={"cyan": 0.05})
    report(folder / "monday.json", first, stopped)
    report(folder / "tuesday.json", second, third)


FULL = ("--cyan", "50g", "--magenta", "50g", "--yellow", "50g", "--black", "50g", "--white", "50g", "--film", "60m")


def answered(out: str) -> dict[str, object]:
    whole = json.loads(out)
    jsonschema.Draft202012Validator(SCHEMA).validate(whole)
    assert isinstance(whole, dict)
    return whole


def test_the_first_call_writes_a_file_to_start_from_and_the_next_reads_it(run: Run) -> None:
    status, out, _ = run("stock")
    assert status == ExitStatus.READY
    assert "stock.toml is written" in out
    status, out, _ = run("stock")
    assert status == ExitStatus.READY
    assert "not told" in out
    status, out, _ = run("stock", "--roll", "2860g", "--core", "420g", "--cyan", "480g")
    assert "60.11 m" in out
    assert "480 g" in out


def test_what_runs_out_where_what_fits_and_what_to_refill(run: Run, tmp_path: Path) -> None:
    waiting(tmp_path)
    run("stock", *FULL)
    status, out, _ = run("stock", "--cyan", "2g", "--orders", "monday.json", "tuesday.json")
    assert status == ExitStatus.READY
    told = " ".join(out.split())
    assert "Cyan runs out at order 2, sun.png." in told
    assert "cyan: 1.0 g more, up to 2.5 g" in told  # 3.01 − 2; at the most 4.48 − 2
    assert "- 1 crest.png - 3 moon.png" in told
    assert "bee.png: the customer must change the file" in told
    assert "1 order still to be talked about" in told
    assert "Cut it across into bands first" in told
    assert all(len(line) <= 80 for line in out.splitlines())


def test_enough_is_said(run: Run, tmp_path: Path) -> None:
    waiting(tmp_path)
    status, out, _ = run("stock", *FULL, "--orders", "monday.json", "--orders", "tuesday.json", "--fail-when-short")
    assert status == ExitStatus.READY
    assert "Everything is enough for all orders." in out


def test_the_json_holds_to_its_schema(run: Run, tmp_path: Path) -> None:
    waiting(tmp_path)
    run("stock", *FULL)
    status, out, _ = run("stock", "--cyan", "2g", "--format", "json", "--orders", "monday.json", "tuesday.json")
    whole = answered(out)
    assert (status, whole["answer"]) == (ExitStatus.READY, "short")
    assert [each["fits"] for each in whole["orders"]] == [True, False, True]  # type: ignore[attr-defined]
    assert len(whole["film"]["all"]["places"]) == 7  # type: ignore[index]
    assert {each["order"] for each in whole["film"]["fitting"]["places"]} == {1, 3}  # type: ignore[index]
    cyan = next(each for each in whole["resources"] if each["name"] == "cyan")  # type: ignore[attr-defined]
    assert (cyan["runs_out_at"], cyan["may_run_out_at"]) == (2, 2)
    assert answered(run("stock", "--format", "json")[1])["orders"] == []


def test_a_script_is_told_by_the_exit_status_when_it_asks(run: Run, tmp_path: Path) -> None:
    waiting(tmp_path)
    orders = ("--orders", "monday.json", "--fail-when-short")
    assert run("stock", "--cyan", "50g", *orders)[0] == ExitStatus.UNCHECKED  # nobody knows of white and the film
    assert run("stock", *FULL, *orders)[0] == ExitStatus.READY
    assert run("stock", "--white", "0.1g", *orders)[0] == ExitStatus.ASK
    assert run("stock", *orders[:2])[0] == ExitStatus.READY


def test_the_file_of_another_program_is_read_and_never_written(run: Run, tmp_path: Path) -> None:
    waiting(tmp_path)
    (tmp_path / "machine.json").write_text('{"cyan_g": 2, "white_g": 50, "film_m": 60}', encoding="utf-8")
    before = (tmp_path / "machine.json").read_bytes()
    assert "Cyan runs out" in " ".join(
        run("stock", "machine.json", "--orders", "monday.json", "tuesday.json")[1].split()
    )
    status, _, err = run("stock", "machine.json", "--cyan", "3g")
    assert status == ExitStatus.USED_WRONGLY
    assert "belong to another program" in err
    assert (tmp_path / "machine.json").read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ("--cyan 480", "--cyan '480' has no unit"),
        ("--film 60g", "unit this program does not know here"),
        ("--format xml", "Choose one of text, json"),
        ("--cleaning-days x", "is not a number of days"),
        ("--orders none.json", "none.json: there is no such file"),
        ("none.toml --orders none.json", "none.json: there is no such file"),
        ("none.csv", "only a .toml file is written"),
        ("--shop none.toml", "none.toml: there is no such file"),
        ("--roll 400g --core 420g", "weighs less than its core"),
        ("--roll 2860g", "nobody knows what its core weighs"),
        ("--orders", "--orders needs a value"),
        ("one two", "'two' is too much here"),
    ],
)
def test_a_slip_is_told_in_one_sentence(run: Run, arguments: str, said: str, tmp_path: Path) -> None:
    status, out, err = run("stock", *arguments.split())
    assert (status, out) == (ExitStatus.USED_WRONGLY, "")
    assert said in err
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_several_reports_after_one_option() -> None:
    assert cli_ink.spread(["stock", "s.toml", "--orders", "a", "b", "--shop", "c"]) == [
        "stock", "s.toml", "--orders", "a", "--orders", "b", "--shop", "c",
    ]  # fmt: skip
    assert cli_ink.spread(["check", "--orders", "a", "b"]) == ["check", "--orders", "a", "b"]
    assert cli_ink.spread(["stock", "--orders", "a", "--orders", "b"]) == ["stock", "--orders", "a", "--orders", "b"]
    assert cli_ink.spread([]) == []
