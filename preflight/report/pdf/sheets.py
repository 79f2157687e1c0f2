"""The sheets: their size, what stands at the foot of each, and what the document says of itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from preflight import __version__
from preflight.records import dataclass
from preflight.report.content import Content, content
from preflight.report.language import ENGLISH, Language
from preflight.report.letterhead import Logo
from preflight.report.pdf import ends
from preflight.report.pdf.fonts import REGULAR, clipped, known, width, written
from preflight.report.pdf.parts import Parts
from preflight.report.pdf.parts import letterhead as head
from preflight.report.pdf.styles import QUIET, RULE, Styles
from preflight.report.shown import Shown
from preflight.report.words import plain
from preflight.shop import Letterhead

#: By name in the shop file (``shopdata.PAPERS``).
_PAPERS = {"A4": A4, "letter": LETTER}
_SIDE, _TOP, _BOTTOM = 16 * mm, 13 * mm, 18 * mm
_SMALL = 6.8


def document(shown: Shown, letterhead: Letterhead, logo: Logo | None = None, language: Language = ENGLISH) -> bytes:
    """The report of one artwork.

    Parameters
    ----------
    shown
        The artwork.
    letterhead
        The shop's name, lines, colours and paper.
    logo
        Its picture, read before (see ``preflight.report.letterhead.read_logo``).

    Returns
    -------
    bytes
        A PDF file with its fonts inside and nothing active.
    """
    told = content(shown.report, shown.views, language)
    about = About(f"{told.headline} – {told.file}", told.lead, told.file)
    return laid(lambda wide: _story(told, letterhead, logo, language, wide), about, letterhead, language)


@dataclass(frozen=True, slots=True)
class About:
    """What a document says of itself, and in the middle of the foot of each sheet."""

    title: str
    subject: str
    foot: str


def laid(
    story: Callable[[float], list[Flowable]], about: About, letterhead: Letterhead, language: Language = ENGLISH
) -> bytes:
    """A document of the shop's.

    Parameters
    ----------
    story
        Makes what stands in it, for text so wide, pt; called once the fonts are ready.

    Returns
    -------
    bytes
        A PDF file with its fonts inside and nothing active.
    """
    known()
    paper = _PAPERS[letterhead.paper]
    stream = BytesIO()
    frame = Frame(_SIDE, _BOTTOM, paper[0] - 2 * _SIDE, paper[1] - _TOP - _BOTTOM, 0, 0, 0, 0)
    template = BaseDocTemplate(
        stream,
        pagesize=paper,
        pageTemplates=[PageTemplate("sheet", [frame])],
        title=written(about.title),
        author=plain(letterhead.name),
        subject=written(about.subject),
        creator=f"preflight {__version__}",
        lang=language.code,
        initialFontName=REGULAR,
        pageCompression=1,
    )
    foot = partial(_foot, file=about.foot, language=language, wide=paper[0])
    template.build(story(paper[0] - 2 * _SIDE), canvasmaker=partial(_Sheets, foot))
    return stream.getvalue()


def _story(told: Content, letterhead: Letterhead, logo: Logo | None, language: Language, wide: float) -> list[Flowable]:
    styles = Styles(letterhead)
    parts = Parts(told, styles, language, wide)
    story = [
        *head(letterhead, logo, styles, wide),
        *parts.answer(),
        *parts.compared(),
        *parts.overview(),
        *parts.findings(),
        *parts.white(),
        *parts.fine(),
    ]
    if told.approval is not None:
        story += ends.approval(told.approval, styles, wide)
    if letterhead.shop_part:
        story += ends.shop_side(told.shop, styles, language, wide)
    return story


class _Sheets(Canvas):
    """Sheets that are finished at the end, when it is known how many there are."""

    def __init__(self, foot: Any, *arguments: Any, **more: Any) -> None:
        super().__init__(*arguments, **more)
        self._foot, self._finished = foot, list[dict[str, Any]]()

    def showPage(self) -> None:  # noqa: N802 - reportlab's name
        """Put a sheet aside."""
        self._finished.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]  # as showPage does after writing

    def save(self) -> None:
        """Write a foot on each, and all of them."""
        finished = self._finished
        for number, state in enumerate(finished, 1):
            self.__dict__.update(state)
            self._foot(self, number, len(finished))
            super().showPage()
        super().save()


def _foot(canvas: Canvas, number: int, count: int, *, file: str, language: Language, wide: float) -> None:
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.line(_SIDE, _BOTTOM - 4 * mm, wide - _SIDE, _BOTTOM - 4 * mm)
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, _SMALL)
    ours = written(language.say("Checked with preflight {version}.", version=__version__))
    page = written(language.say("Sheet {number} of {count}", number=str(number), count=str(count)))
    room = wide - 2 * _SIDE - width(ours, _SMALL) - width(page, _SMALL) - 12 * mm
    y = _BOTTOM - 8 * mm
    canvas.drawString(_SIDE, y, ours)
    canvas.drawCentredString(_SIDE + width(ours, _SMALL) + 6 * mm + room / 2, y, clipped(written(file), _SMALL, room))
    canvas.drawRightString(wide - _SIDE, y, page)
