"""From reports to the files beside the original, and to the line that the morning sheet tells."""

from __future__ import annotations

import html
import json
from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from preflight.engine import VIEWS
from preflight.language import ENGLISH, Language
from preflight.model import CHANNELS, Report, Verdict
from preflight.records import dataclass
from preflight.report.html import page
from preflight.report.letterhead import Logo
from preflight.report.shown import Shown
from preflight.report.words import plain, sentence
from preflight.shopdata import Letterhead
from preflight.views.model import Views
from preflight.wholefile import sync_folder, write_whole

#: What is put after the artwork's name.
ENDINGS: Mapping[str, str] = {
    "json": ".report.json",
    "text": ".report.txt",
    "html": ".report.html",
    "pdf": ".report.pdf",
}
#: What people call them.
CALLED: Mapping[str, str] = {"json": "JSON", "text": "text", "html": "web page", "pdf": "PDF"}
#: Formats in which each page of a document has a report of its own, with pictures.
PAGED = ("html", "pdf")
#: Room for the longest of them.
ROOM = 28
#: Worst last.
_ORDER = (Verdict.READY, Verdict.ASK, Verdict.STOP, Verdict.UNCHECKED)
#: A line of a text report is so wide; a longer name is folded.
_WIDTH = 80


def worst(reports: Sequence[Report]) -> Report:
    """The report of the page with the worst verdict; the first of several."""
    return max(reports, key=lambda report: _ORDER.index(report.verdict))


def ending(kind: str, page_number: int) -> str:
    """Ending of a report's name."""
    return ENDINGS[kind] if page_number == 1 else f".report.page-{page_number}{ENDINGS[kind].removeprefix('.report')}"


class PageError(Exception):
    """A report could not be laid out.

    Attributes
    ----------
    kind
        Its format.
    why
        The failure's name.
    """

    def __init__(self, kind: str, failure: Exception) -> None:
        super().__init__(f"its {CALLED[kind]} could not be made: this program failed on it ({type(failure).__name__})")
        self.kind, self.why = kind, type(failure).__name__


@dataclass(frozen=True, slots=True)
class Look:
    """How pages are laid out: the letterhead, its logo and the language."""

    head: Letterhead
    logo: Logo | None
    language: Language = ENGLISH


def write(
    reports: Sequence[Report],
    pages: Sequence[Report],
    formats: Sequence[str],
    folder: Path,
    look: Look,
    lacking: Mapping[str, str] = MappingProxyType({}),
) -> Generator[None, None, list[tuple[str, str]]]:
    """Write the reports of one file into a folder, with a pause after each that takes long.

    Parameters
    ----------
    pages
        The reports in the language of the pages.
    lacking
        Formats in which they could not be made, and why: the others say so.

    Returns
    -------
    list of (format, ending)
        Each file is called like its ending.

    Raises
    ------
    PageError
        When one cannot be made.
    OSError
        When one cannot be written.
    """
    made = []
    noted = tuple(_with_notes(report, lacking) for report in reports)
    for kind in formats:
        for group in [[report] for report in pages] if kind in PAGED else [noted]:
            made.append((kind, ending(kind, group[0].page if kind in PAGED else 1), _made(group, kind, look)))
            yield None
    lay(folder, ((name, data) for _, name, data in made))
    return [(kind, name) for kind, name, _ in made]


def _made(reports: Sequence[Report], kind: str, look: Look) -> bytes:
    try:
        return _page(reports[0], kind, look) if kind in PAGED else encoded(document(reports, kind))
    except Exception as failure:
        raise PageError(kind, failure) from failure


def _with_notes(report: Report, lacking: Mapping[str, str]) -> Report:
    notes = (
        f"This answer could not be laid out as {CALLED[kind]}: this program failed on it ({why}). "
        "What is said here holds."
        for kind, why in lacking.items()
    )
    return replace(report, assumptions=(*report.assumptions, *notes))


def lay(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write files into a folder of ours; after this, they outlast a power cut. Raises OSError."""
    folder.mkdir(exist_ok=True)
    for name, data in files:
        write_whole(folder / name, data, lasting=False)
    sync_folder(folder)


def document(reports: Sequence[Report], kind: str) -> str:
    """The reports of a file as "json" or "text", just as ``preflight check`` writes them."""
    if kind == "json":
        from preflight.report import json as written

        return written.document(reports)
    from preflight.report import text

    return text.document(reports)


def _page(report: Report, kind: str, look: Look) -> bytes:
    views = report.extra.get(VIEWS)
    shown = Shown(report, views if isinstance(views, Views) else None)
    if kind == "html":
        return encoded(page(shown, look.head, look.logo, look.language))
    from preflight.report import pdf

    return pdf.document(shown, look.head, look.logo, look.language)


def encoded(text: str) -> bytes:
    """The bytes of a report or a page; half characters of a name stand as their numbers."""
    return text.encode("utf-8", "backslashreplace")


def renamed(data: bytes, kind: str, old: str, new: str) -> bytes | None:
    """An earlier report under the name of a file with the same bytes.

    Parameters
    ----------
    old, new
        As the reports name the files.

    Returns
    -------
    bytes or None
        None when the name does not stand exactly where it should: the file is then checked again. In a PDF it cannot
        be replaced; it names no folders, so it stays as it is when only those differ.
    """
    if old == new:
        return data
    if kind == "pdf":
        return data if last(old) == last(new) else None
    text = _renamed_text(data.decode("utf-8"), kind, old, new)
    return None if text is None else encoded(text)


def _renamed_text(text: str, kind: str, old: str, new: str) -> str | None:
    if kind == "json":
        whole = json.loads(text)
        for artwork in whole["artworks"]:
            artwork["file"] = _held(new)
        return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
    if kind == "text":
        was, now = plain(old), plain(new)
        lines = text.split("\n")
        fits = max(len(was), len(now)) < _WIDTH and now.isascii() and was in lines
        return "\n".join(now if line == was else line for line in lines) if fits else None
    return _renamed_page(text, *(html.escape(plain(last(name)), quote=True) for name in (old, new)))


def last(name: str) -> str:
    """A file's name without its folders."""
    return name.rpartition("/")[2]


def _renamed_page(text: str, was: str, now: str) -> str | None:
    """A page under another name: it stands in the title, and alone in elements; wherever else it stood, it is not."""
    if "." not in was or text.count(f"– {was}</title>") != 1:
        return None
    if text.count(was) != text.count(f">{was}</") + 1:
        return None
    return text.replace(f">{was}</", f">{now}</").replace(f"– {was}</title>", f"– {now}</title>")


def _held(text: str) -> str:
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def summary(
    rel: str, reports: Sequence[Report], pages: Sequence[Report] | None = None, lacking: Sequence[str] = ()
) -> dict[str, Any]:
    """What the morning sheet tells of a file: plain data; grams, film, minutes and money are for all its copies.

    Parameters
    ----------
    pages
        The reports in the language of the sheet, when it is another: its words are then there too, as "told".
    lacking
        Formats in which its report could not be made.
    """
    bad = worst(reports)
    first = bad.findings[0] if bad.findings else None
    other = {} if pages is None else {"told": _first_words(worst(pages))}
    costs = [report.cost for report in reports if report.cost is not None]
    ticket = bad.ticket
    size = bad.print_size
    return {
        "file": rel,
        "verdict": bad.verdict.value,
        "pages": len(reports),
        "rule": None if first is None else first.rule,
        **_first_words(bad),
        "findings": sum(len(report.findings) for report in reports),
        "copies": ticket.copies,
        "garments": list(ticket.garments),
        "mode": ticket.mode,
        "reference": ticket.reference,
        "width_mm": None if size is None else size.width_mm,
        "height_mm": None if size is None else size.height_mm,
        "grams": _grams(reports) if costs else None,
        "film_mm": sum(cost.film_mm for cost in costs) if costs else None,
        "minutes": sum(cost.minutes for cost in costs) if costs else None,
        "total": sum(cost.total for cost in costs) if costs else None,
        "interval": [sum(cost.interval[end] for cost in costs) for end in (0, 1)] if costs else None,
        "currency": costs[0].currency if costs else None,
        "not_made": list(lacking),
        **other,
    }


def _first_words(report: Report) -> dict[str, str | None]:
    """What is wrong first, and what to do about it."""
    if not report.findings:
        return {"title": _unchecked_why(report), "fix": None}
    first = report.findings[0]
    return {"title": sentence(first.title), "fix": sentence(first.fix)}


def _grams(reports: Sequence[Report]) -> dict[str, float]:
    return {
        name: sum(
            report.ink.channels[name].grams * report.ticket.copies
            for report in reports
            if report.ink is not None and name in report.ink.channels
        )
        for name in CHANNELS
    }


def _unchecked_why(report: Report) -> str | None:
    """Why an artwork without a finding is not ready: a measure could not be taken."""
    for measure in report.measures.values():
        if report.verdict is Verdict.UNCHECKED and measure.why_not is not None and measure.applies:
            return sentence(f"{measure.id} could not be measured: {measure.why_not}")
    return None
