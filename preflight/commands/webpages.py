"""``--format html`` and ``--format pdf``: where the pages go, and writing each as soon as its artwork is answered."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from preflight.commands.output import WholeFile
from preflight.engine import VIEWS
from preflight.errors import UsageError
from preflight.model import Report, Verdict
from preflight.records import dataclass
from preflight.report.language import Language
from preflight.report.letterhead import read_logo
from preflight.report.pagenames import INDEX, page_name
from preflight.report.shown import Shown
from preflight.shop import Shop
from preflight.views.model import Views

#: Formats whose reports are pages with pictures, and the endings of their files.
ENDINGS = {"html": (".html", ".htm"), "pdf": (".pdf",)}
_CALLED = {"html": "web pages", "pdf": "PDF reports"}
#: What a PDF report says of itself, and no other file (``preflight.report.pdf`` writes it).
_OURS = b"/Creator (preflight "
_FOLDER_STEP = "Name a folder for them, such as --output reports."


@dataclass(frozen=True, slots=True)
class _Layout:
    """How one format is written. ``index``: the list of several artworks, where the format has one."""

    format: str
    page: Callable[[Shown], bytes]
    index: Callable[[Sequence[tuple[str, Shown]]], bytes] | None


def refuse(written: str, output: str | None, paths: Sequence[Path]) -> None:
    """Raise UsageError for what cannot be, before any work: several artworks where only one page has room, for one.

    Parameters
    ----------
    written
        The format, a key of ``ENDINGS``.
    """
    if written == "pdf" and output is None and sys.stdout.isatty():
        step = "Name a file for it, such as --output report.pdf, or a folder."
        raise UsageError("a PDF is not for the screen", step)
    if len(paths) < 2 or _is_folder(written, output):
        return
    where = "on the screen" if output is None else "into one file"
    raise UsageError(f"the {_CALLED[written]} of several artworks do not go {where}", _FOLDER_STEP)


def is_report(path: Path) -> bool:
    """Whether a PDF file is a report of this program, which may be replaced; anything else may be a customer's."""
    try:
        return _OURS in path.read_bytes()
    except (OSError, ValueError):
        return False


def write_pages(
    reports: Iterable[Report], written: str, output: str | None, shop: Shop, language: Language
) -> list[Verdict]:
    """Write a page for each report; give the verdicts.

    Parameters
    ----------
    written
        The format, a key of ``ENDINGS``.
    output
        A folder, made when it is not there; a file with the format's ending; None for standard output.

    Raises
    ------
    UsageError
        When nothing can be written there, or a document of several pages is to go to standard output.
    OutputError
        When a page cannot be written.
    """
    layout = _web(shop, language) if written == "html" else _paper(shop, language)
    if output is None:
        return _print(list(reports), layout)
    if _is_folder(written, output):
        return _into_folder(reports, Path(output), layout)
    return _into_file(reports, Path(output), layout)


def _web(shop: Shop, language: Language) -> _Layout:
    from preflight.report.html import index_page, page

    head, logo = shop.letterhead, read_logo(shop.letterhead)
    return _Layout(
        "html",
        lambda shown: page(shown, head, logo, language).encode("utf-8"),
        lambda listed: index_page(listed, head, logo, language).encode("utf-8"),
    )


def _paper(shop: Shop, language: Language) -> _Layout:
    head, logo = shop.letterhead, read_logo(shop.letterhead)

    def sheets(shown: Shown) -> bytes:
        from preflight.report.pdf import document  # when the first is written: a slip in the options comes before

        return document(shown, head, logo, language)

    return _Layout("pdf", sheets, None)


def _is_folder(written: str, output: str | None) -> bool:
    if output is None:
        return False
    return Path(output).is_dir() or Path(output).suffix.lower() not in ENDINGS[written]


def _shown(report: Report) -> Shown:
    views = report.extra.get(VIEWS)
    return Shown(report, views if isinstance(views, Views) else None)


def _lean(shown: Shown) -> Shown:
    """Without all pictures but the one for the list."""
    return shown if shown.views is None else Shown(shown.report, Views((), shown.views.thumb))


def _print(reports: Sequence[Report], layout: _Layout) -> list[Verdict]:
    if len(reports) > 1:
        raise UsageError(f"this document has {len(reports)} pages, and each has a report of its own", _FOLDER_STEP)
    sys.stdout.flush()
    for report in reports:
        sys.stdout.buffer.write(layout.page(_shown(report)))
    sys.stdout.buffer.flush()
    return [report.verdict for report in reports]


def _into_file(reports: Iterable[Report], output: Path, layout: _Layout) -> list[Verdict]:
    """The first page of a document under the name that was given, the others beside it."""
    verdicts = []
    file = WholeFile(output)
    try:
        for number, report in enumerate(reports):
            if number:
                file = WholeFile(_beside(output, report.page, layout))
            file.write(layout.page(_shown(report)))
            verdicts.append(report.verdict)
    finally:
        file.give_up()
    return verdicts


def _into_folder(reports: Iterable[Report], folder: Path, layout: _Layout) -> list[Verdict]:
    """A page each as they come, and the list last."""
    _make(folder)
    taken = {INDEX}
    listed: list[tuple[str, Shown]] = []
    index = WholeFile(folder / INDEX) if layout.index is not None else None
    try:
        for report in reports:
            shown, name = _shown(report), _name(report, folder, taken, layout)
            _write(folder / name, layout.page(shown))
            listed.append((name, _lean(shown)))
        if layout.index is not None and index is not None and len(listed) > 1:
            index.write(layout.index(listed))
    finally:
        if index is not None:
            index.give_up()
    return [shown.report.verdict for _, shown in listed]


def _name(report: Report, folder: Path, taken: set[str], layout: _Layout) -> str:
    """A name that is free, or that of an older report."""
    while True:
        name = page_name(report, taken, ENDINGS[layout.format][0])
        path = folder / name
        if layout.format != "pdf" or not path.exists() or is_report(path):
            return name


def _beside(output: Path, page: int, layout: _Layout) -> Path:
    """Where a further page goes."""
    path = output.with_name(f"{output.stem}.page-{page}{output.suffix}")
    if layout.format == "pdf" and path.exists() and not is_report(path):
        raise UsageError("a file that is no report is there already", _FOLDER_STEP, file=str(path))
    return path


def _write(path: Path, data: bytes) -> None:
    file = WholeFile(path)
    try:
        file.write(data)
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
