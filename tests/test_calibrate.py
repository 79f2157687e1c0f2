"""``preflight calibrate``: from weighed jobs to the shop's own figures, as a shop types it."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path

import jsonschema
import pytest
from PIL import Image, ImageDraw

from preflight.errors import SettingsError
from preflight.ink.cost import price
from preflight.ink.grams import weigh
from preflight.model import CHANNELS, Box, Coverage, ExitStatus, PrintSize, Ticket
from preflight.report.calibration_text import MOST_ROWS
from preflight.shop import Calibrated, Grams, Shop, describe_shop, load_shop, write_shop
from tests.reported import artwork, report

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8"))
Run = Callable[..., tuple[int, str, str]]
#: An invented printer: grams per m², per job, per day of cleaning.
TRUTH = {"cyan": (7.9, 0.12, 0.5), "magenta": (8.4, 0.1, 0.5), "yellow": (8.8, 0.11, 0.4), "black": (8.1, 0.15, 0.6)}
TRUTH["white"] = (20.3, 0.4, 1.8)


def weighed(folder: Path, jobs: int = 20) -> Path:
    """A table of jobs, each with its report, weighed on the invented printer with 5 % scatter."""
    chance = random.Random(4)
    lines = ["report,date,cleaning_days,copies," + ",".join(CHANNELS)]
    for number in range(jobs):
        copies, days = chance.randint(1, 40), chance.choice([0, 0, 1, 2])
        areas = {channel: chance.uniform(0.002, 0.02) for channel in CHANNELS}
        report(folder / f"job-{number}.json", artwork(f"job-{number}.png", copies=1, areas_m2=areas))
        grams = [
            (TRUTH[channel][0] * areas[channel] * copies + TRUTH[channel][1] + TRUTH[channel][2] * days)
            * chance.gauss(1, 0.05)
            for channel in CHANNELS
        ]
        told = ",".join(f"{each:.2f}" for each in grams)
        lines.append(f"job-{number}.json,2026-11-{1 + number % 28:02},{days},{copies},{told}")
    path = folder / "jobs.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_the_whole_way_from_a_checked_file_to_a_quote(run: Run, tmp_path: Path) -> None:
    write_shop("shop.toml")
    before = Path("shop.toml").read_text(encoding="utf-8")
    status, out, _ = run("calibrate", "record", "--csv", weighed(tmp_path), "--shop", "shop.toml")
    assert status == ExitStatus.READY
    assert "weighed.csv holds 20 weighings now" in out
    status, out, err = run("calibrate", "fit", "--shop", "shop.toml", "--picture", "fit.png", "--write")
    assert (status, err) == (ExitStatus.READY, "")
    shop = load_shop("shop.toml")
    assert shop.calibrated is not None
    assert (shop.calibrated.jobs, shop.calibrated.inks) == (20, CHANNELS)
    for channel, (per_m2, _, per_day) in TRUTH.items():
        assert shop.laydown[channel].low <= shop.laydown[channel].g_per_m2 <= shop.laydown[channel].high
        assert shop.laydown[channel].g_per_m2 == pytest.approx(per_m2, rel=0.12)
        assert shop.cleaning[channel].likely == pytest.approx(per_day, rel=0.12)
    after = Path("shop.toml").read_text(encoding="utf-8")
    comments = [line.split("#", 1)[1] for line in before.splitlines() if "#" in line]
    assert [line.split("#", 1)[1] for line in after.splitlines() if "#" in line] == comments
    assert "was 8.6 (5.4 to 12.8)" in out
    with Image.open("fit.png") as picture:
        assert picture.format == "PNG"

    disc = Image.new("RGBA", (591, 591), (0, 0, 0, 0))
    ImageDraw.Draw(disc).ellipse([0, 0, 590, 590], fill=(150, 70, 60, 255))
    disc.save("disc.png")
    for path in ("default.json", "own.json"):
        more = ("--shop", "shop.toml") if path == "own.json" else ()
        run("check", "disc.png", "--width", "50mm", "--copies", 30, "--format", "json", "--output", path, *more)
    wide, narrow = (json.loads(Path(each).read_text("utf-8"))["artworks"][0] for each in ("default.json", "own.json"))
    jsonschema.validate(json.loads(Path("own.json").read_text("utf-8")), SCHEMA)
    spans = [each["cost"]["interval"][1] - each["cost"]["interval"][0] for each in (wide, narrow)]
    assert spans[1] < 0.85 * spans[0]  # the powder keeps its range
    assert any("20 weighed jobs" in sentence for sentence in narrow["assumptions"])
    assert any("for the start of the job" in sentence for sentence in narrow["assumptions"])
    run("calibrate", "record", "own.json", "--cyan", "1.21g", "--shop", "shop.toml")
    assert "different profiles" in run("calibrate", "fit", "--shop", "shop.toml")[2]


def test_nothing_is_written_unless_told(run: Run, tmp_path: Path) -> None:
    write_shop("shop.toml")
    before = Path("shop.toml").read_bytes()
    run("calibrate", "record", "--csv", weighed(tmp_path))
    status, out, _ = run("calibrate", "fit")
    assert status == ExitStatus.READY
    assert Path("shop.toml").read_bytes() == before
    assert "Nothing is written. To put the figures into shop.toml: add --write" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    for word in ("g on one m²", "scatter", "cyan", "white", "job-3.png"):
        assert word in out


def test_a_table_longer_than_a_screen_is_cut_and_said(run: Run, tmp_path: Path) -> None:
    run("calibrate", "record", "--csv", weighed(tmp_path, MOST_ROWS + 5))
    assert f"the latest {MOST_ROWS} of {MOST_ROWS + 5}" in run("calibrate", "fit")[1]


def test_a_single_job_and_all_artworks_of_a_report_as_one(run: Run, tmp_path: Path) -> None:
    both = [artwork("a.png", copies=10, areas_m2={"cyan": 0.02}), artwork("b.png", copies=5, areas_m2={"cyan": 0.01})]
    report(tmp_path / "two.json", *both)
    assert run("calibrate", "record", "two.json", "--cyan", "1.21g", "--date", "2026-11-24")[0] == 0
    run("calibrate", "record", "two.json", "--artwork", 2, "--copies", 8, "--cyan", "0g", "--date", "2026-11-24")
    run("calibrate", "record", "--cyan", "0.9g", "--cleaning-days", "1.5", "--date", "2026-11-25")
    lines = Path("weighed.csv").read_text(encoding="utf-8-sig").splitlines()
    assert lines[1].startswith("2026-11-24,a.png and 1 more,1,film A,,0,0.25,1.21,")  # 10 × 0.02 + 5 × 0.01
    assert lines[2].startswith("2026-11-24,b.png,1,film A,,0,0.08,0,")
    assert lines[3].startswith("2026-11-25,,0,,,1.5,0,0.9,")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ("record job.json", "no ink was weighed"),
        ("record job.json --cyan 1.21", "--cyan '1.21' has no unit"),
        ("record job.json --cyan 1,2g", "decimal comma"),
        ("record job.json --cyan -1g", "zero or more than zero"),
        ("record job.json --cyan 1g --date 24.11.2026", "--date 24.11.2026 is not a date"),
        ("record job.json --cyan 1g --cleaning-days many", "is not a number of days"),
        ("record job.json --cyan 1g --artwork 3", "whole number from 1 to 2"),
        ("record job.json --cyan 1g --copies 3", "--copies is for one artwork"),
        ("record job.json --cyan 1g --artwork 2", "b.png nobody knows how much ink"),
        ("record job.json --cyan 1g --csv jobs.csv", "beside a single weighing"),
        ("record none.json --cyan 1g", "none.json: there is no such file"),
        ("record --cyan 1g", "nothing was printed, and nothing cleaned"),
        ("record --csv none.csv", "none.csv: there is no such file"),
        ("record --csv bad.csv", "bad.csv, line 3: cyan 'x' is not a mass"),
        ("record --csv empty.csv", "has no line of a job"),
        ("record --csv job.json", "does not name the report and an ink"),
        ("record job.json --artwork 1 --cyan 1g --records none/w.csv", "there is no folder 'none'"),
        ("fit", "weighed.csv: there are no weighed jobs yet"),
        ("fit --records two.csv", "2 weighed jobs are too few for 2 figures"),
        ("fit --records profiles.csv", "different profiles (film A, film B)"),
        ("fit --records two.csv --write", "there is no shop file to write to"),
        ("fit --shop none.toml", "none.toml: there is no such file"),
        ("fti", "there is no command 'fti'. Did you mean fit? 'preflight calibrate --help' lists them."),
        ("record job.json --cyan", "--cyan needs a value. 'preflight calibrate record --help' shows examples."),
        ("fit --pictre a.png", "Did you mean --picture?"),
    ],
)
def test_a_slip_is_told_in_one_sentence_and_nothing_is_recorded(
    run: Run, tmp_path: Path, arguments: str, said: str
) -> None:
    report(tmp_path / "job.json", artwork(areas_m2={"cyan": 0.02}), artwork("b.png", size=None))
    (tmp_path / "bad.csv").write_text("report,artwork,cyan\njob.json,1,1.2\njob.json,1,x\n", encoding="utf-8")
    (tmp_path / "empty.csv").write_text("report,cyan\n", encoding="utf-8")
    head = "date,profile,cyan_m2,cyan_g\n"
    (tmp_path / "two.csv").write_text(head + 2 * "2026-11-24,film A,0.2,1.8\n", encoding="utf-8")
    (tmp_path / "profiles.csv").write_text(
        head + "2026-11-24,film A,0.2,1.8\n2026-11-24,film B,0.2,1.8\n", encoding="utf-8"
    )
    status, out, err = run("calibrate", *arguments.split())
    assert (status, out) == (ExitStatus.USED_WRONGLY, "")
    assert said in err
    assert err.startswith("preflight: ")
    assert err.count("\n") == 1
    assert not (tmp_path / "weighed.csv").exists()


def test_a_picture_goes_only_to_a_png(run: Run, tmp_path: Path) -> None:
    run("calibrate", "record", "--csv", weighed(tmp_path))
    assert "the picture is a PNG" in run("calibrate", "fit", "--picture", "fit.jpg")[2]
    assert "cannot be written" in run("calibrate", "fit", "--picture", "none/fit.png")[2]


def test_the_picture_shows_every_job_and_reads_without_colour(run: Run, tmp_path: Path) -> None:
    from preflight.ink.calibration import calibrate
    from preflight.ink.calibration_file import read_records
    from preflight.report.calibration_picture import draw

    run("calibrate", "record", "--csv", weighed(tmp_path))
    found = calibrate(read_records("weighed.csv"))
    grey = Image.open(BytesIO(draw(found, "Corner Press"))).convert("L")
    assert grey.width > 1000
    dark = sum(grey.histogram()[:140])
    assert dark > 10_000  # words, lines and rings stay dark when the colour is gone
    assert draw(found, "Corner Press") == draw(found, "Corner Press")


# ---- the shop file's new settings, and the price that follows --------------------------------------------------------


def load(folder: Path, text: str) -> Shop:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return load_shop(path)


def test_the_shop_file_says_what_a_job_and_a_day_take(tmp_path: Path) -> None:
    shop = load(
        tmp_path,
        "[per_job]\ncyan = { likely = 0.2, least = 0.1, most = 0.3 }\n[cleaning]\ncleaner = { likely = 20, least = 1, "
        'most = 30 }\n[calibration]\nfitted = "2026-11-24"\njobs = 30\ninks = ["cyan"]\n[film]\ncut_mark = "3mm"\n',
    )
    assert shop.per_job == {"cyan": Grams(0.2, 0.1, 0.3)}
    assert shop.cleaning == {"cleaner": Grams(20.0, 1.0, 30.0)}
    assert shop.calibrated == Calibrated("2026-11-24", 30, ("cyan",))
    told = " ".join(describe_shop(shop))
    for words in ("Each job takes besides: cyan 0.2 g (0.1 to 0.3)", "fitted to 30 weighed jobs", "3 mm for cut marks"):
        assert words in told
    assert "The grams of cyan come from 30 weighed jobs, fitted 2026-11-24." in shop.assumptions


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[per_job]\ncyan = 0.2\n", "stands where a group belongs"),
        ("[per_job]\ncyan = { likely = 0.2 }\n", "this setting is missing"),
        ("[per_job]\ncyan = { likely = 0.2, least = 0.3, most = 0.4 }\n", "out of order"),
        ("[per_job]\ncyna = { likely = 0.2, least = 0.1, most = 0.4 }\n", "Did you mean cyan?"),
        ("[cleaning]\nwater = { likely = 0.2, least = 0.1, most = 0.4 }\n", "is not a setting"),
        ('[calibration]\nfitted = "today"\njobs = 3\n', '"today" is not a date'),
        ('[calibration]\nfitted = "2026-11-24"\njobs = 0\n', "less than it can be"),
        ('[calibration]\nfitted = "2026-11-24"\njobs = 3\ninks = ["pink"]\n', '"pink" is no ink here'),
        ('[film]\nprintable = "50mm"\ncut_mark = "21mm"\n', "leave no room for prints"),
    ],
)
def test_every_slip_of_the_new_settings_is_told(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(SettingsError) as slip:
        load(tmp_path, text)
    assert said in str(slip.value)


def priced() -> Iterator[tuple[Shop, float, tuple[float, float]]]:
    """The same order with and without a start of 2 g (1 to 4) of white at 75 per kg."""
    use = weigh(Coverage({"white": 20_000.0}, 0.0, 0.0, 21_000.0), Shop(), "p")
    size = PrintSize((1, 1), Box(0, 0, 1, 1), 300.0, 100.0, 100.0, "ticket")
    for shop in (Shop(), Shop(per_job={"white": Grams(2.0, 1.0, 4.0)})):
        cost = price(use, size, Ticket(copies=10), shop)
        assert cost is not None
        yield shop, cost.parts["ink"], cost.interval


def test_the_start_of_a_job_is_paid_once_for_all_copies() -> None:
    (_, plain, (low, high)), (_, ink, interval) = priced()
    assert ink - plain == pytest.approx(2.0 / 1000 * 75)
    assert interval == pytest.approx((low + 1.0 / 1000 * 75 * 1.075, high + 4.0 / 1000 * 75 * 1.075))
