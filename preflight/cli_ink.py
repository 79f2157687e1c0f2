"""The commands of ink and film, ``calibrate`` and ``stock``, as the option parser reads them."""

from collections.abc import Sequence
from typing import Annotated, TypeAlias

import typer

from preflight.cli_options import Shop, Verbose

calibrate = typer.Typer(
    no_args_is_help=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
)

_Text: TypeAlias = str | None
Records = Annotated[
    _Text, typer.Option(metavar="FILE", help="The file of weighed jobs; weighed.csv beside the shop file without it.")
]
Cyan = Annotated[_Text, typer.Option(metavar="GRAMS", help="Such as 1.21g; so for each ink.")]
Ink = Annotated[_Text, typer.Option(metavar="GRAMS")]


@calibrate.callback(invoke_without_command=True)
def calibrate_start(context: typer.Context) -> None:
    """Learn your own grams of ink: keep what jobs weighed, then fit grams per square metre to it.

    \b
    Examples:
        preflight calibrate record job.json --cyan 1.21g --white 6.4g
        preflight calibrate fit
        preflight calibrate fit --shop shop.toml --write
    """
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@calibrate.command(short_help="Keep what one job weighed, or a table of jobs.")
def record(
    report: Annotated[str | None, typer.Argument(metavar="[REPORT.json]", hidden=True)] = None,
    cyan: Cyan = None,
    magenta: Ink = None,
    yellow: Ink = None,
    black: Ink = None,
    white: Ink = None,
    date: Annotated[_Text, typer.Option(metavar="DAY", help="Such as 2026-11-24; today without it.")] = None,
    cleaning_days: Annotated[
        _Text, typer.Option(metavar="N", help="Days with cleaning between the two weighings; none without it.")
    ] = None,
    artwork: Annotated[
        _Text, typer.Option(metavar="N", help="Which artwork of the report; all of them as one job without it.")
    ] = None,
    copies: Annotated[_Text, typer.Option(metavar="N", help="How many were printed, if not as ordered.")] = None,
    csv: Annotated[_Text, typer.Option(metavar="FILE", help="A table of jobs, in place of a single one.")] = None,
    records: Records = None,
    shop: Shop = None,
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> None:
    """Keep what one job weighed: its JSON report, and the grams of ink that were gone.

    \b
    Examples:
        preflight check art.png --width 280mm --format json --output job.json
        preflight calibrate record job.json --cyan 1.21g --magenta 0.8g --white 6.4g
        preflight calibrate record --cyan 0.6g --white 2.1g --cleaning-days 1
        preflight calibrate record --csv jobs.csv

    \b
    A table of jobs has these columns; each but the report may be missing:
        report,artwork,copies,date,cleaning_days,cyan,magenta,yellow,black,white
    """
    from preflight.commands.calibrate import Job
    from preflight.commands.calibrate import record as run

    grams = {"cyan": cyan, "magenta": magenta, "yellow": yellow, "black": black, "white": white}
    run(Job(report, grams, date, cleaning_days, artwork, copies), csv, records, shop)


@calibrate.command(short_help="Fit your own grams to what was weighed.")
def fit(
    shop: Shop = None,
    records: Records = None,
    picture: Annotated[_Text, typer.Option(metavar="FILE.png", help="Draw predicted against weighed there.")] = None,
    write: Annotated[bool, typer.Option("--write", help="Put the figures into the shop file; comments stay.")] = False,
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> None:
    """Fit your own grams to what was weighed: for one square metre, for each job, for a day's cleaning.

    Each figure comes with the interval that holds the truth 95 times in 100. Nothing is written without --write.

    \b
    Examples:
        preflight calibrate fit
        preflight calibrate fit --shop shop.toml --picture fit.png
        preflight calibrate fit --shop shop.toml --write
    """
    from preflight.commands.calibrate import fit as run

    run(shop, records, picture, write)


def stock(
    path: Annotated[str, typer.Argument(metavar="[PATH]", hidden=True)] = "stock.toml",
    orders: Annotated[
        list[str] | None, typer.Option(metavar="REPORT.json …", help="Reports of the waiting orders, in their order.")
    ] = None,
    cyan: Cyan = None,
    magenta: Ink = None,
    yellow: Ink = None,
    black: Ink = None,
    white: Ink = None,
    cleaner: Annotated[_Text, typer.Option(metavar="GRAMS", help="Liquid for cleaning that is left.")] = None,
    roll: Annotated[_Text, typer.Option(metavar="GRAMS", help="The roll as it hangs there, with its core.")] = None,
    core: Annotated[_Text, typer.Option(metavar="GRAMS", help="Its empty core.")] = None,
    film: Annotated[_Text, typer.Option(metavar="LENGTH", help="Or the film that is left, such as 60m.")] = None,
    shop: Shop = None,
    cleaning_days: Annotated[
        str, typer.Option(metavar="N", show_default=False, help="Days' cleaning before the orders; 1 without it.")
    ] = "1",
    format: Annotated[  # noqa: A002 - the option is called so
        str, typer.Option(metavar="NAME", show_default=False, help="text (as without it) or json.")
    ] = "text",
    fail_when_short: Annotated[
        bool, typer.Option("--fail-when-short", help="End with 10 when something runs out, 12 when nobody knows.")
    ] = False,
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> int:
    """Keep what is on the machine, and hold the waiting orders against it: what runs out, and where?

    PATH is the file of the stock: stock.toml, or a TOML, CSV or JSON file that another program writes. Name it before
    --orders.

    \b
    Examples:
        preflight stock                         writes stock.toml, or says what is there
        preflight stock --cyan 480g --white 820g --roll 2860g --core 420g
        preflight stock --shop shop.toml --orders monday.json tuesday.json

    \b
    Exit status: 0, whatever runs out. With --fail-when-short:
        10 something runs out     12 nobody knows how much there is of something
    """
    from preflight.commands.stock import Request
    from preflight.commands.stock import stock as run

    given = {
        "cyan": cyan, "magenta": magenta, "yellow": yellow, "black": black, "white": white,
        "cleaner": cleaner, "roll": roll, "core": core, "film": film,
    }  # fmt: skip
    amounts = {name: text for name, text in given.items() if text is not None}
    return run(Request(path, amounts, tuple(orders or ()), shop, cleaning_days, format, fail_when_short))


def spread(arguments: Sequence[str]) -> list[str]:
    """``--orders a.json b.json`` as ``--orders a.json --orders b.json``: the parser takes one value for an option."""
    if not arguments or arguments[0] != "stock":
        return list(arguments)
    told: list[str] = []
    listing = False
    for argument in arguments:
        option = argument.startswith("-")
        if listing and not option and told[-1] != "--orders":
            told.append("--orders")
        listing = argument == "--orders" or (listing and not option)
        told.append(argument)
    return told
