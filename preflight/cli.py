"""The command ``preflight``: reads options, calls one function, chooses the exit status. Nothing imports this module.

What a command needs is imported when it runs, so that ``preflight --version`` and ``--help`` answer at once.
"""

from __future__ import annotations

import atexit
import contextlib
import errno
import gc
import os
import re
import sys
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Annotated

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

app = typer.Typer(
    name="preflight",
    add_completion=False,
    no_args_is_help=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
)

#: The root of what the option parser raises. Its parent package has given it three homes, so it is asked for by name.
_ParserSlip: type[Exception] = next(base for base in typer.BadParameter.__mro__ if base.__name__ == "ClickException")
#: ``ExitStatus.TOOL_FAILED``; its module is not imported here, since it brings numpy.
_TOOL_FAILED = 1
_COMMANDS = ("check", "rules", "shop", "demo", "watch", "calibrate", "stock")
#: What the option parser gives back when Ctrl-C was pressed.
_INTERRUPTED = 130
#: What standard output says when nobody listens any more, and when there is no room.
_UNHEARD = (errno.EPIPE, errno.EINVAL) if os.name == "nt" else (errno.EPIPE,)
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC, errno.EIO, errno.EFBIG)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and end the process with its exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    _open_closed_streams()
    try:
        status = _answered(cli_ink.spread(given))
        sys.stdout.flush()
    except Exception as failure:  # noqa: BLE001 - a traceback is for us, not for the people who use it
        status = _fail(failure, "--verbose" in given)
    except KeyboardInterrupt:
        status = _INTERRUPTED
    if status == _INTERRUPTED:
        status = _complain("stopped by Ctrl-C before everything was answered.", "TOOL_FAILED")
    sys.exit(status)


def _open_closed_streams() -> None:
    """A script may close what it does not want to hear (``>&-``); the exit status is its answer then."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123 - open to the end


def _answered(arguments: list[str]) -> int:
    """Run the command; tell people in a sentence what stands in its way."""
    try:
        return int(app(arguments, prog_name="preflight", standalone_mode=False) or 0)
    except UsageError as slip:
        return _complain(str(slip), "USED_WRONGLY")
    except PreflightError as slip:
        return _complain(str(slip), "TOOL_FAILED")
    except _ParserSlip as slip:
        return _complain(_reworded(slip), "USED_WRONGLY")


def _complain(sentence: str, status: str) -> int:
    """Say it on standard error; give the exit status of that name."""
    from preflight.model import ExitStatus
    from preflight.report.words import STAND_IN
    from preflight.report.words import sentence as tidy

    if hasattr(sys.stderr, "reconfigure"):
        sys.stderr.reconfigure(errors=STAND_IN)
    sys.stderr.write(f"preflight: {tidy(sentence)}\n")
    return ExitStatus[status]


def _reworded(slip: Exception) -> str:
    """What the option parser has to say, in our words: its exceptions are told apart by what they carry."""
    message = str(getattr(slip, "message", slip))
    option = getattr(slip, "option_name", None)
    if option is not None:
        return _about_option(option, message, getattr(slip, "possibilities", ()))
    command = re.search(r"command '([^']*)'", message)
    if command is not None:
        near = get_close_matches(command[1], _COMMANDS, n=1)
        meant = f" Did you mean {near[0]}?" if near else ""
        return f"there is no command '{command[1]}'.{meant} 'preflight --help' lists them."
    if getattr(getattr(slip, "param", None), "required", False):
        if getattr(getattr(slip, "ctx", None), "info_name", None) == "watch":
            return "two folders are needed: where files come in, and where answers go. Write: preflight watch IN OUT"
        return "no file is named. Write the files to check, such as: preflight check art.png --width 280mm"
    surplus = re.search(r"\(([^()]+)\)$", message)
    if surplus is not None:
        return f"'{surplus[1]}' is too much here. 'preflight --help' lists the commands and what they take."
    return f"{message.rstrip('.')}. 'preflight --help' lists the commands."


def _about_option(option: str, message: str, possible: Sequence[str] | None) -> str:
    """What is wrong with an option; ``possible``: what may have been meant by one that does not exist."""
    if "No such option" not in message:
        needs = "needs a value" if "requires" in message else "takes no value"
        return f"{option} {needs}. 'preflight check --help' shows examples."
    meant = f" Did you mean {min(possible)}?" if possible else ""
    return f"there is no option {option}.{meant} 'preflight --help' lists the commands; each has a --help too."


def _fail(failure: Exception, verbose: bool) -> int:
    """The program itself failed, or nobody takes its answer: say so, and where when asked."""
    number = failure.errno if isinstance(failure, OSError) else None
    if number in _UNHEARD or number in _NO_ROOM:
        _silence()
    if number in _UNHEARD:
        return _TOOL_FAILED  # the reader of the pipe went away, and knows it
    if number in _NO_ROOM:
        return _complain(
            f"the answer could not be written ({failure.args[1]}). Make room, then run it again.", "TOOL_FAILED"
        )
    if verbose:
        import traceback

        traceback.print_exception(failure)
    more = "Report what stands above." if verbose else "Run it again with --verbose and report what that prints."
    return _complain(f"the program failed ({type(failure).__name__}). {more}", "TOOL_FAILED")


def _silence() -> None:
    """Let what is still to be written go nowhere, or the end of Python would complain once more."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


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
