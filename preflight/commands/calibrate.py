"""``preflight calibrate``: keep what jobs weighed, and fit the shop's own grams to it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from datetime import date
from pathlib import Path

from preflight.commands.numbers import cleaning_days, whole_number
from preflight.commands.output import standard_output
from preflight.errors import SettingsError, UnitError, UsageError
from preflight.ink.calibration import Refusal, Weighing, calibrate, profiles
from preflight.ink.calibration_file import append_records, read_records
from preflight.ink.orders import Order, read_orders
from preflight.model import CHANNELS
from preflight.records import dataclass
from preflight.shop import Shop, load_shop
from preflight.textfile import read_text
from preflight.ticket import MOST_COPIES
from preflight.tomlslips import safe
from preflight.units import parse_mass

#: The file of weighed jobs, beside the shop file.
RECORDS = "weighed.csv"
SHOP = "shop.toml"
_CSV_COLUMNS = ("report", "artwork", "copies", "date", "cleaning_days", *CHANNELS)


@dataclass(frozen=True, slots=True)
class Job:
    """What was written of one weighing, as it was written."""

    report: str | None = None
    grams: Mapping[str, str | None] = field(default_factory=dict)
    day: str | None = None
    cleaning_days: str | None = None
    artwork: str | None = None
    copies: str | None = None


def record(job: Job, table: str | None, records: str | None, shop: str | None) -> None:
    """Put one weighing, or a table of them, at the end of the shop's records.

    Raises
    ------
    UsageError
        For each slip; nothing is recorded then.
    """
    if table is not None and (job.report is not None or any(job.grams.values())):
        raise UsageError("--csv stands beside a single weighing", "Give the one or the other.")
    weighings = [_weighing(job)] if table is None else list(_table(table))
    path = _records(records, shop)
    total = append_records(path, weighings)
    stream = standard_output()
    for weighing in weighings:
        grams = ", ".join(f"{channel} {gone:g} g" for channel, gone in weighing.grams.items())
        stream.write(f"Recorded: {weighing.job or 'cleaning'}, {weighing.day.isoformat()}: {grams}.\n")
    stream.write(f"{path} holds {total} weighing{'' if total == 1 else 's'} now. See what they say: ")
    stream.write(f"preflight calibrate fit{'' if records is None else f' --records {path}'}\n")


def fit(shop: str | None, records: str | None, picture: str | None, write: bool) -> None:
    """Say what the weighings say; draw it and write it into the shop file when told to.

    Raises
    ------
    UsageError
        When they say nothing at all, with the reason for each channel; and for each slip.
    """
    from preflight.report.calibration_text import render_changes, render_fit
    from preflight.report.terminal import console as open_console

    named = shop if shop is not None else SHOP if Path(SHOP).is_file() else None
    settings = Shop.default() if named is None else load_shop(named)
    if write and named is None:
        raise UsageError(
            "there is no shop file to write to", "Make one with: preflight shop. Or name yours with --shop."
        )
    path = _records(records, named)
    weighings = read_records(path)
    _one_profile(weighings, str(path))
    found = calibrate(weighings)
    if not found.fits:
        step = _why_nothing(found.refusals.values()) or "Weigh some jobs first: preflight calibrate record --help"
        raise UsageError("these weighings give no figures yet", step, file=str(path))
    console = open_console(standard_output())
    console.print(render_fit(found))
    if picture is not None:
        _save_picture(Path(picture), found, settings.name)
        console.print(f"\nPredicted against weighed is drawn in {picture}.", markup=False)
    if write and named is not None:
        from preflight.ink.calibration_shop import write_shop_figures

        console.print(render_changes(write_shop_figures(named, found, date.today()), named))
    else:
        target = named or "shop.toml"
        console.print(f"\nNothing is written. To put the figures into {target}: add --write", markup=False)


def _why_nothing(refusals: Iterable[Refusal]) -> str:
    """The reasons, each once: a job that helps the first of its channels, with more copies, helps all."""
    alike: dict[str, list[Refusal]] = {}
    for each in refusals:
        alike.setdefault(each.why, []).append(each)
    told = []
    for group in alike.values():
        channels = ", ".join(each.channel for each in group)
        told.append(f"{channels}: {group[0].why}. {group[0].next_step}")
    return " ".join(told)


def _records(records: str | None, shop: str | None) -> Path:
    return Path(records) if records is not None else (Path(shop).parent if shop is not None else Path()) / RECORDS


def _one_profile(weighings: Sequence[Weighing], name: str) -> None:
    found = profiles(weighings)
    if len(found) > 1:
        what = f"the areas come from different profiles ({', '.join(found)}), so grams per m² would mean two things"
        step = "Check the older jobs again with the profile of today, or begin a new file with --records."
        raise SettingsError(what, step, file=name)


def _save_picture(path: Path, found: object, shop: str) -> None:
    from preflight.ink.calibration import Calibration
    from preflight.report.calibration_picture import draw

    if path.suffix.lower() != ".png":
        raise UsageError("the picture is a PNG", "Give its name that ending, such as fit.png.", file=str(path))
    if not isinstance(found, Calibration):  # cannot be
        raise TypeError("no calibration")
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(draw(found, shop))
        part.replace(path)
    except OSError as slip:
        part.unlink(missing_ok=True)
        step = "Name another place, or make room on the disk."
        raise UsageError(f"the picture cannot be written ({slip.strerror or slip})", step, file=str(path)) from None


# ---- from what was written to a weighing --------------------------------------------------------------------------


def _weighing(job: Job) -> Weighing:
    grams = {channel: _mass(f"--{channel}", text) for channel, text in job.grams.items() if text}
    if not grams:
        step = "Give the grams of each ink that you weighed, such as --cyan 1.21g --white 6.4g. 0g is a weight too."
        raise UsageError("no ink was weighed", step)
    days, day = cleaning_days("0" if job.cleaning_days is None else job.cleaning_days), _day(job.day)
    copies = None if job.copies is None else whole_number("--copies", job.copies, MOST_COPIES)
    orders = () if job.report is None else _chosen(job.report, job.artwork)
    if copies is not None and len(orders) != 1:
        raise UsageError("--copies is for one artwork", "Choose it with --artwork, such as --artwork 1.")
    _refuse_unknown(orders)
    if not orders and not days:
        step = "Name the report of what was printed. For cleaning alone, give --cleaning-days."
        raise UsageError("nothing was printed, and nothing cleaned", step)
    return Weighing(
        day=day,
        job=_named(orders),
        areas_m2=_areas(orders, copies),
        grams=grams,
        jobs=1 if orders else 0,
        cleaning_days=days,
        separation=" + ".join(sorted({order.separation for order in orders})),
        mode=" + ".join(sorted({order.mode for order in orders if order.mode})),
    )


def _chosen(report: str, artwork: str | None) -> tuple[Order, ...]:
    """One artwork of the report, or all of them as one job."""
    orders = read_orders(report)
    if not orders:
        raise UsageError("no artwork stands in this report", "Name the report of the job.", file=report)
    if artwork is not None:
        orders = (orders[whole_number("--artwork", artwork, len(orders)) - 1],)
    return orders


def _refuse_unknown(orders: Iterable[Order]) -> None:
    for order in orders:
        if order.areas_mm2 is None:
            step = "Check it again with its size, or leave it out with --artwork."
            raise UsageError(f"of {safe(order.name)} nobody knows how much ink it takes", step, file=order.report)


def _areas(orders: Iterable[Order], copies: int | None) -> dict[str, float]:
    areas = dict.fromkeys(CHANNELS, 0.0)
    for order in orders:
        for channel, area in (order.areas_mm2 or {}).items():
            areas[channel] += area * (copies or order.copies) / 1e6
    return areas


def _named(orders: Sequence[Order]) -> str:
    if not orders:
        return ""
    first = safe(Path(orders[0].file).name)
    return first if len(orders) == 1 else f"{first} and {len(orders) - 1} more"


def _mass(option: str, text: str) -> float:
    return parse_mass(text, what=option, zero=True)


def _day(text: str | None) -> date:
    if text is None:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"--date {text} is not a date", "Write year-month-day, such as 2026-11-24.") from None


def _table(path: str) -> Iterator[Weighing]:
    """A weighing for each line of a table; the names of the columns stand in its first line."""
    lines = read_text(path)
    comma = ";" if lines.split("\n", 1)[0].count(";") > lines.split("\n", 1)[0].count(",") else ","
    reader = csv.DictReader(io.StringIO(lines), delimiter=comma)
    named = [(name or "").strip().lower() for name in reader.fieldnames or ()]
    if "report" not in named or not any(channel in named for channel in CHANNELS):
        step = f"The first line names the columns, out of: {','.join(_CSV_COLUMNS)}"
        raise SettingsError("the table does not name the report and an ink", step, file=path, line=1)
    reader.fieldnames = named
    folder, found = Path(path).parent, False
    for row in reader:
        cells = {
            name: (text or "").strip() for name, text in row.items() if isinstance(name, str) and isinstance(text, str)
        }
        if not any(cells.values()):
            continue
        found = True
        yield _from_row(cells, folder, path, reader.line_num, comma)
    if not found:
        raise SettingsError("the table has no line of a job", "Add a line for each weighed job.", file=path)


def _from_row(cells: Mapping[str, str], folder: Path, path: str, line: int, comma: str) -> Weighing:
    grams = {channel: _with_unit(cells.get(channel, ""), comma) for channel in CHANNELS}
    report = cells.get("report")
    job = Job(
        report=str(folder / report) if report else None,
        grams=grams,
        day=cells.get("date") or None,
        cleaning_days=cells.get("cleaning_days") or None,
        artwork=cells.get("artwork") or None,
        copies=cells.get("copies") or None,
    )
    try:
        return _weighing(job)
    except (UnitError, UsageError) as slip:
        what = slip.what if slip.file is None else f"{slip.file}: {slip.what}"
        raise SettingsError(what.replace("--", ""), slip.next_step, file=path, line=line) from None


def _with_unit(text: str, comma: str) -> str | None:
    """Grams, where a cell has a bare number; a decimal comma only where semicolons stand between the cells."""
    if not text:
        return None
    if comma == ";" and text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    return f"{text}g" if text[-1:].isdigit() else text
