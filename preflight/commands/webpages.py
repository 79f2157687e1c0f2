"""``--format html``: where the pages go, and writing each as soon as its artwork is answered."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from preflight.commands.output import WholeFile
from preflight.engine import VIEWS
from preflight.errors import UsageError
from preflight.model import Report, Verdict
from preflight.report.html import Shown, index_page, page
from preflight.report.html.pages import INDEX, page_name
from preflight.report.letterhead import read_logo
from preflight.shop import Shop
from preflight.views.model import Views

_ENDINGS = (".html", ".htm")
_FOLDER_STEP = "Name a folder for the pages, such as --output reports."


def refuse(output: str | None, paths: Sequence[Path]) -> None:
    """Raise UsageError when several artworks are to go where only one page has room."""
    if len(paths) < 2 or _is_folder(output):
        return
    where = "on the screen" if output is None else "into one file"
    raise UsageError(f"the web pages of several artworks do not go {where}", _FOLDER_STEP)


def write_pages(reports: Iterable[Report], output: str | None, shop: Shop) -> list[Verdict]:
    """Write a page for each report; give the verdicts.

    Parameters
    ----------
    output
        A folder, made when it is not there; a file that ends in ``.html``; None for standard output.

    Raises
    ------
    UsageError
        When nothing can be written there, or a document of several pages is to go to standard output.
    OutputError
        When a page cannot be written.
    """
    if output is None:
        return _print(list(reports), shop)
    if _is_folder(output):
        return _into_folder(reports, Path(output), shop)
    return _into_file(reports, Path(output), shop)


def _is_folder(output: str | None) -> bool:
    if output is None:
        return False
    return Path(output).is_dir() or Path(output).suffix.lower() not in _ENDINGS


def _shown(report: Report) -> Shown:
    views = report.extra.get(VIEWS)
    return Shown(report, views if isinstance(views, Views) else None)


def _lean(shown: Shown) -> Shown:
    """Without all pictures but the one for the list."""
    return shown if shown.views is None else Shown(shown.report, Views((), shown.views.thumb))


def _print(reports: Sequence[Report], shop: Shop) -> list[Verdict]:
    if len(reports) > 1:
        raise UsageError(f"this document has {len(reports)} pages, and each is a web page of its own", _FOLDER_STEP)
    logo = read_logo(shop.letterhead)
    sys.stdout.flush()
    for report in reports:
        sys.stdout.buffer.write(page(_shown(report), shop.letterhead, logo).encode("utf-8"))
    sys.stdout.buffer.flush()
    return [report.verdict for report in reports]


def _into_file(reports: Iterable[Report], output: Path, shop: Shop) -> list[Verdict]:
    """The first page of a document under the name that was given, the others beside it."""
    logo, verdicts = read_logo(shop.letterhead), []
    file = WholeFile(output)
    try:
        for number, report in enumerate(reports):
            if number:
                file = WholeFile(output.with_name(f"{output.stem}.page-{report.page}{output.suffix}"))
            file.write(page(_shown(report), shop.letterhead, logo))
            verdicts.append(report.verdict)
    finally:
        file.give_up()
    return verdicts


def _into_folder(reports: Iterable[Report], folder: Path, shop: Shop) -> list[Verdict]:
    """A page each as they come, and the list last."""
    _make(folder)
    logo, taken = read_logo(shop.letterhead), {INDEX}
    listed: list[tuple[str, Shown]] = []
    index = WholeFile(folder / INDEX)
    try:
        for report in reports:
            shown, name = _shown(report), page_name(report, taken)
            _write(folder / name, page(shown, shop.letterhead, logo))
            listed.append((name, _lean(shown)))
        if len(listed) > 1:
            index.write(index_page(listed, shop.letterhead, logo))
    finally:
        index.give_up()
    return [shown.report.verdict for _, shown in listed]


def _write(path: Path, text: str) -> None:
    file = WholeFile(path)
    try:
        file.write(text)
    finally:
        file.give_up()


def _make(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except FileExistsError:
        raise UsageError("a file of this name is there already", "Name another folder.", file=str(folder)) from None
    except FileNotFoundError:
        step = "Make that folder first, or name another one."
        raise UsageError(f"there is no folder '{folder.parent}'", step, file=str(folder)) from None
    except (OSError, ValueError) as slip:
        reason = getattr(slip, "strerror", None) or slip
        step = "Name another place, or give your user the right to write there."
        raise UsageError(f"the folder cannot be made ({reason})", step, file=str(folder)) from None
