"""What weighed ink says, for a person at a terminal: the shop's own grams, and predicted against weighed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from preflight.ink.calibration import Calibration, Weighing
from preflight.ink.calibration_shop import Change
from preflight.model import CHANNELS
from preflight.report.terminal import listed
from preflight.report.words import capital, many, plain, sentence
from preflight.shop import Grams
from preflight.units import show_number as show

#: Lines of the table of jobs: the latest ones. The picture shows them all.
MOST_ROWS = 60
_NAME = 13
_HOW_TO_READ = (
    "The figures in brackets hold the truth 95 times in 100, if nothing but chance lies between scale and fit.",
    "A single job may lie off by more: see 'scatter', how far the weighed jobs lie off the fit.",
    "They are good for this printer, these inks, this mode and this profile. Change one, and weigh again.",
)


def render_fit(found: Calibration) -> RenderableType:
    """All that the weighings say."""
    blocks: list[RenderableType] = []
    if found.fits:
        blocks += [Text(f"Your own grams, from {many(found.jobs, 'weighed job')}\n", style="bold"), _figures(found)]
    if found.refusals:
        blocks.append(Text())
        blocks += [_refused(each.channel, each.why, each.next_step) for each in found.refusals.values()]
    if found.fits:
        blocks += [Text("\nWeighed, and how far the fit is from it\n", style="bold"), _jobs(found)]
        blocks += [Text(), listed("How to read it", _HOW_TO_READ)]
    if found.remarks:
        blocks += [Text(), listed("Look at this", [sentence(each) for each in found.remarks])]
    return Group(*blocks)


def render_changes(changes: Iterable[Change], path: str) -> RenderableType:
    """What was written into the shop file."""
    grid = Table.grid(padding=(0, 2))
    for change in changes:
        grid.add_row(Text(f"  {change.place}"), Text(change.new), Text(f"was {change.old}" if change.old else "new"))
    return Group(Text(f"\nWritten into {plain(path)}, all else as it was:", style="bold"), grid)


def _figures(found: Calibration) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False)
    heads = ("", "g on one m²", "g per job", "g per day cleaned", "jobs", "scatter")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number < 4 else "right", overflow="fold")
    for fit in found.fits.values():
        table.add_row(
            f" {fit.channel}",
            _grams(fit.per_m2),
            _grams(fit.per_job, 2),
            "–" if fit.per_day is None else _grams(fit.per_day, 2),
            str(len(fit.pairs)),
            f"{100 * fit.scatter:.1f} %",
        )
    return table


def _grams(grams: Grams, digits: int = 3) -> str:
    return f"{show(grams.likely, digits)} ({show(grams.low, digits)}–{show(grams.high, digits)})"


def _refused(channel: str, why: str, next_step: str) -> RenderableType:
    text = Text.assemble((f" {channel}: no figure. ", "bold"), f"{capital(why)}. {next_step}")
    return Padding(text, (0, 0, 0, 0))


def _jobs(found: Calibration) -> Table:
    """One line for each weighing; a cell has the grams weighed, and how much more or less the fit says."""
    channels = [channel for channel in CHANNELS if channel in found.fits]
    pairs = {(pair.weighing.line, channel): pair for channel in channels for pair in found.fits[channel].pairs}
    table = Table(box=None, padding=(0, 1, 0, 0), show_edge=False)
    for number, head in enumerate(("date", "job", *channels)):
        table.add_column(head, justify="left" if number < 2 else "right", no_wrap=True)
    shown = _latest(found.weighings)
    for weighing in shown:
        cells = [weighing.day.isoformat(), _short(weighing.job or ("cleaning" if not weighing.jobs else "–"))]
        for channel in channels:
            pair = pairs.get((weighing.line, channel))
            cells.append("" if pair is None else _beside(pair.weighed, pair.predicted))
        table.add_row(*cells)
    if len(shown) < len(found.weighings):
        table.caption = f"the latest {len(shown)} of {len(found.weighings)}"
    return table


def _latest(weighings: Sequence[Weighing]) -> list[Weighing]:
    return sorted(weighings, key=lambda each: (each.day, each.line))[-MOST_ROWS:]


def _short(text: str) -> str:
    text = plain(text)
    return text if len(text) <= _NAME else f"{text[: _NAME - 1]}…"


def _beside(weighed: float, predicted: float) -> str:
    if weighed <= 0:
        return f"{show(weighed)} ({predicted:+.2f} g)"
    off = 100 * (predicted / weighed - 1)
    return f"{show(weighed)} {off:+.0f}%" if abs(off) < 1000 else f"{show(weighed)} far off"
