"""The commands of the night, as the option parser reads them."""

from typing import Annotated

import typer

from preflight.cli_options import Copies, Garments, Height, Jobs, Language, Mode, Rules, Shop, SizeOf, Verbose, Width


def watch(
    folder: Annotated[str, typer.Argument(metavar="IN", hidden=True)],
    out: Annotated[str, typer.Argument(metavar="OUT", hidden=True)],
    once: Annotated[bool, typer.Option("--once", help="Answer what is there, then end.")] = False,
    jobs: Jobs = "1",
    every: Annotated[
        str, typer.Option(metavar="TIME", show_default=False, help="Time between two looks, such as 5s.")
    ] = "5s",
    settle: Annotated[
        str,
        typer.Option(metavar="TIME", show_default=False, help="How long a file that ends too soon may stay as it is."),
    ] = "10min",
    originals: Annotated[
        str,
        typer.Option(metavar="WHAT", show_default=False, help="move: beside the report; keep: in place; archive."),
    ] = "move",
    formats: Annotated[
        str, typer.Option(metavar="NAMES", show_default=False, help="Reports to write, from json,text,html,pdf.")
    ] = "json,text,html",
    wait_for_ticket: Annotated[
        bool, typer.Option("--wait-for-ticket", help="Leave an artwork until a ticket lies beside it.")
    ] = False,
    width: Width = None,
    height: Height = None,
    size_of: SizeOf = None,
    copies: Copies = None,
    garment: Garments = None,
    mode: Mode = None,
    shop: Shop = None,
    rules: Rules = None,
    language: Language = None,
    verbose: Verbose = False,  # noqa: ARG001 - ``main`` looks for it
) -> int:
    """Answer every file that comes into the folder IN: its report goes to OUT, with the file beside it.

    Folders in IN are orders. Files go to OUT/ready, ask, stop or unchecked; the morning sheet is OUT/morning.html.
    What the options order holds where a ticket says nothing. With --once the exit status is that of check.

    \b
    Examples:
        preflight watch uploads answers
        preflight watch uploads answers --once --jobs 2 --shop shop.toml
    """
    from preflight.commands.watch import Request
    from preflight.commands.watch import watch as run

    request = Request(
        folder=folder,
        out=out,
        once=once,
        jobs=jobs,
        every=every,
        settle=settle,
        originals=originals,
        formats=formats,
        wait_for_ticket=wait_for_ticket,
        width=width,
        height=height,
        size_of=size_of,
        copies=copies,
        garments=tuple(garment or ()),
        mode=mode,
        shop=shop,
        rules=rules,
        language=language,
    )
    return run(request)
