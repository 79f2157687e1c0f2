"""The command ``preflight``: reads options, calls one function, chooses the exit status. Nothing imports this module.

What a command needs is imported when it runs, so that ``preflight --version`` and ``--help`` answer at once. The
annotations here and in ``cli_*`` are no strings, which the option parser would have to evaluate: 2 ms (measured).
"""

import atexit
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated, NoReturn

# One thread is enough for the linear algebra here, and starting the others costs 75 ms of every run (measured).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Importing makes many objects and no rubbish: looking for it after every 700 costs 50 ms of every run (measured).
gc.set_threshold(100_000)
# At the end it would be looked for again, in all that was ever imported, twice: 45 ms of every run (measured).
atexit.register(gc.freeze)

import typer  # noqa: E402

from preflight import __version__, cli_ink  # noqa: E402
from preflight.cli_options import (  # noqa: E402
    Compare,
    Copies,
    Garments,
    Height,
    Jobs,
    Language,
    Mode,
    Rules,
    Shop,
    SizeOf,
    Verbose,
    Width,
)
from preflight.cli_overnight import watch  # noqa: E402
from preflight.errors import PreflightError, UsageError  # noqa: E402


def _new_parser() -> typer.Typer:
    return typer.Typer(
        name="preflight",
        add_completion=False,
        no_args_is_help=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    )


app = _new_parser()

#: The root of what the option parser raises. Its parent package has given it three homes, so it is asked for by name.
_ParserSlip: type[Exception] = next(base for base in typer.BadParameter.__mro__ if base.__name__ == "ClickException")
#: What the option parser gives back when Ctrl-C was pressed.
_INTERRUPTED = 130


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and end the process with its exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    _open_closed_streams()
    try:
        status = _answered(cli_ink.spread(given))
        sys.stdout.flush()
    except Exception as failure:  # noqa: BLE001 - a traceback is for us, not for the people who use it
        from preflight.cli_ends import failed

        status = failed(failure, "--verbose" in given)
    except KeyboardInterrupt:
        status = _INTERRUPTED
    if status == _INTERRUPTED:
        status = _complain("stopped by Ctrl-C before everything was answered.", "TOOL_FAILED")
    sys.exit(status)


def process() -> NoReturn:
    """``main`` as the end of a process, whose modules are not taken apart one by one: 8 ms of every run (measured)."""
    try:
        main()
    except SystemExit as end:
        status = end.code
    with suppress(OSError):
        sys.stderr.flush()
    atexit._run_exitfuncs()  # what Python does first of all
    os._exit(status if isinstance(status, int) else 0)


def _open_closed_streams() -> None:
    """A script may close what it does not want to hear (``>&-``); the exit status is its answer then."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123 - open to the end


def _answered(arguments: list[str]) -> int:
    """Run the command; tell people in a sentence what stands in its way."""
    try:
        return int(_parser(arguments)(arguments, prog_name="preflight", standalone_mode=False) or 0)
    except UsageError as slip:
        return _complain(str(slip), "USED_WRONGLY")
    except PreflightError as slip:
        return _complain(str(slip), "TOOL_FAILED")
    except _ParserSlip as slip:
        from preflight.cli_ends import reworded

        return _complain(reworded(slip, arguments), "USED_WRONGLY")


def _parser(arguments: Sequence[str]) -> typer.Typer:
    """The parser of the one command that is asked for: to make those of all takes 8 ms more (measured)."""
    asked = [each for each in app.registered_commands if each.callback and [each.callback.__name__] == arguments[:1]]
    if not asked:
        return app
    parser = _new_parser()
    parser.registered_callback, parser.registered_commands = app.registered_callback, asked
    return parser


def _complain(sentence: str, status: str) -> int:
    """Say it on standard error; give the exit status of that name."""
    from preflight.cli_ends import complain
    from preflight.model import ExitStatus

    return complain(sentence, ExitStatus[status])


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"preflight {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[  # noqa: ARG001 - its callback answers
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which version this is.")
    ] = False,
) -> None:
    """Check artwork before it is printed on transfer film.

    Will it print well at the ordered size, where are the faults, what must change, and what does it cost?

    \b
    New here? See it at work on an invented order:
        preflight demo
    Then on a file of yours:
        preflight check art.png --width 280mm
    """
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command(short_help="Check artwork: will it print, what to change, what it costs.")
def check(
    files: Annotated[list[str], typer.Argument(metavar="FILES", hidden=True)],
    width: Width = None,
    height: Height = None,
    size_of: SizeOf = None,
    copies: Copies = None,
    garment: Garments = None,
    mode: Mode = None,
    pages: Annotated[
        str | None, typer.Option(metavar="PAGES", help="Which pages of a document, such as 1-3,5; all without it.")
    ] = None,
    shop: Shop = None,
    rules: Rules = None,
    format: Annotated[  # noqa: A002 - the option is called so
        str, typer.Option(metavar="NAME", show_default=False, help="text (as without it), json, html or pdf.")
    ] = "text",
    output: Annotated[
        str | None, typer.Option(metavar="PATH", help="Write the report there; several pages go into a folder.")
    ] = None,
    compare: Compare = None,
    language: Language = None,
    jobs: Jobs = "1",
    verbose: Annotated[
        bool,
        typer.Option("--verbose", help="Say what guards this computer from the files; when the program fails, where."),
    ] = False,
) -> int:
    """Check artwork and report: will it print, what to change, what it costs.

    A ticket beside the artwork (art.ticket.toml) can say the same as the options; an option wins.

    \b
    Examples:
        preflight check art.png --width 280mm --copies 12 --garment navy
        preflight check orders/*.png --shop shop.toml --jobs 4
        preflight check art.png --width 11in --format json --output art.json
        preflight check orders/*.png --format html --output reports
        preflight check art.png --width 11in --format pdf --output art-report.pdf
        preflight check art-2.png --width 11in --compare art.json

    \b
    Exit status:
        0  every artwork is ready (notes allowed)
        10 at least one: ask     11 at least one: stop
        12 at least one could not be checked
        1  the program failed    2  it was used wrongly
    """
    from preflight.commands.check import Request
    from preflight.commands.check import check as run

    request = Request(
        files=files,
        width=width,
        height=height,
        size_of=size_of,
        copies=copies,
        garments=tuple(garment or ()),
        mode=mode,
        pages=pages,
        shop=shop,
        rules=rules,
        format=format,
        output=output,
        jobs=jobs,
        verbose=verbose,
        compare=compare,
        language=language,
    )
    return run(request)


@app.command(short_help="List the rules, or explain one.")
def rules(
    rule: Annotated[str | None, typer.Argument(metavar="[ID]", hidden=True)] = None,
    shop: Shop = None,
    rules: Rules = None,
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> None:
    """List the rules, or explain one: what, why, limits, source, a good and a bad example.

    \b
    Examples:
        preflight rules
        preflight rules thin-line
        preflight rules thin-line --shop shop.toml
    """
    from preflight.commands.rules import rules as run

    run(rule, shop, rules)


@app.command(short_help="Write a shop file to start from, or explain one.")
def shop(
    path: Annotated[str, typer.Argument(metavar="[PATH]", hidden=True)] = "shop.toml",
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> None:
    """Write a commented shop file to start from, or check one and say what it means.

    \b
    Examples:
        preflight shop              writes shop.toml, or explains the one that is there
        preflight shop mine.toml
    """
    from preflight.commands.shop import shop as run

    run(path)


@app.command(short_help="Make an invented order and check it: try this first.")
def demo(
    folder: Annotated[str, typer.Argument(metavar="[FOLDER]", hidden=True)] = "preflight-demo",
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> None:
    """Make a small invented order in a folder and check it: the first thing to try.

    \b
    Example:
        preflight demo
    """
    from preflight.commands.demo import demo as run

    run(folder)


app.command(short_help="Answer every file that comes into a folder, overnight.")(watch)
app.add_typer(cli_ink.calibrate, name="calibrate", short_help="Learn your own grams of ink from weighed jobs.")
app.command(short_help="Keep what is on the machine, and see what runs out.")(cli_ink.stock)
