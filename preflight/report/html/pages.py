"""The pages: one for each artwork, and a list of them for an order of several."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePath
from urllib.parse import quote

from preflight import __version__
from preflight.model import Report, Verdict
from preflight.report.content import Content, content, main_point
from preflight.report.html import closing, parts
from preflight.report.html.markup import Markup, joined, style, tag
from preflight.report.html.shopside import shop_section
from preflight.report.language import ENGLISH, Language
from preflight.report.letterhead import Logo, legible
from preflight.report.pagenames import INDEX, page_names
from preflight.report.shown import Shown
from preflight.report.words import VERDICT_WORDS, capital
from preflight.shop import Letterhead
from preflight.views.model import Picture

#: Nothing is loaded and nothing runs, whatever stands in the page.
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
#: An order of more artworks has no pictures in its list: the page stays small.
_MOST_THUMBS = 120


def page(shown: Shown, letterhead: Letterhead, logo: Logo | None = None, language: Language = ENGLISH) -> str:
    """The page of one artwork.

    Parameters
    ----------
    shown
        The artwork.
    letterhead
        The shop's name, lines and colours.
    logo
        Its picture, read before (see ``preflight.report.letterhead.read_logo``).

    Returns
    -------
    str
        A whole HTML document that loads nothing.
    """
    told = content(shown.report, shown.views, language)
    body = joined(parts.letterhead(letterhead, logo), _main(told, letterhead, language), foot(language))
    return html_document(f"{told.headline} – {told.file}", body, letterhead, language)


def index_page(
    listed: Sequence[tuple[str, Shown]],
    letterhead: Letterhead,
    logo: Logo | None = None,
    language: Language = ENGLISH,
) -> str:
    """The list of an order's artworks, each with a link to its page.

    Parameters
    ----------
    listed
        File name of each page, and what it shows.
    """
    title = _order_title([shown.report for _, shown in listed], language)
    pictures = len(listed) <= _MOST_THUMBS
    rows = [_listed(name, shown, language, pictures=pictures) for name, shown in listed]
    head = tag(
        "thead",
        tag("tr", *(tag("th", language.say(name), scope="col") for name in ("Artwork", "Answer", "What we found"))),
    )
    body = joined(
        parts.letterhead(letterhead, logo),
        tag(
            "main",
            tag("h1", title),
            tag("p", _tally([shown.report.verdict for _, shown in listed], language), class_="lead"),
            tag("div", tag("table", head, tag("tbody", rows), class_="list"), class_="wide"),
        ),
        foot(language),
    )
    return html_document(title, body, letterhead, language)


def report_pages(
    listed: Sequence[Shown], letterhead: Letterhead, logo: Logo | None = None, language: Language = ENGLISH
) -> Iterator[tuple[str, str]]:
    """File name and text of each page, the list last when there are several."""
    names = page_names([shown.report for shown in listed])
    for name, shown in zip(names, listed, strict=True):
        yield name, page(shown, letterhead, logo, language)
    if len(listed) > 1:
        yield INDEX, index_page(list(zip(names, listed, strict=True)), letterhead, logo, language)


def html_document(title: str, body: Markup, letterhead: Letterhead, language: Language) -> str:
    """A whole page around a body, in the shop's colours."""
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("title", title),
        style(_css(letterhead)),
    )
    return f"<!doctype html>\n{tag('html', head, tag('body', body), lang=language.code)}\n"


def _css(letterhead: Letterhead) -> str:
    sheet = Path(__file__).with_name("page.css").read_text(encoding="utf-8")
    colours = f":root{{--accent:{_colour(letterhead.accent)};--text:{legible(_colour(letterhead.text))}}}"
    paper = f"@page{{size:{letterhead.paper};margin:13mm 15mm}}"
    return f"{colours}\n{paper}\n{sheet}"


def _colour(text: str) -> str:
    """A colour of the letterhead; a shop file gives it in this form only."""
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise ValueError("a colour of the letterhead is written as #rrggbb")
    return text


def _main(told: Content, letterhead: Letterhead, language: Language) -> Markup:
    return tag(
        "main",
        parts.answer(told, language),
        closing.compared(told.compared),
        parts.overview(told, language),
        parts.findings(told, language),
        parts.white(told),
        parts.fine(told, language),
        closing.approval(told.approval),
        shop_section(told.shop, language) if letterhead.shop_part else None,
    )


def foot(language: Language) -> Markup:
    """The small line of ours."""
    return tag("footer", tag("p", language.say("Checked with preflight {version}.", version=__version__)))


def _order_title(reports: Sequence[Report], language: Language) -> str:
    """The main point of the whole order."""
    waiting = sum(report.verdict is not Verdict.READY for report in reports)
    if not waiting:
        return language.say("All artworks are ready to print")
    told = language.many(
        "{count} of {all} artworks needs something from you",
        "{count} of {all} artworks need something from you",
        waiting,
        all=language.number(len(reports)),
    )
    return capital(told)


def _tally(verdicts: Sequence[Verdict], language: Language) -> str:
    """How many of each answer."""
    counts = ((verdict, verdicts.count(verdict)) for verdict in Verdict)
    return ", ".join(f"{count} {language.say(VERDICT_WORDS[verdict])}" for verdict, count in counts if count)


def _listed(name: str, shown: Shown, language: Language, *, pictures: bool) -> Markup:
    report = shown.report
    headline, _ = main_point(report, language)
    file = PurePath(report.file.replace("\\", "/")).name or report.file
    picture = shown.views.thumb if pictures and shown.views is not None else None
    page = f", {language.say('page {page}', page=str(report.page))}" if report.page > 1 else ""
    link = tag("a", f"{file}{page}", href=quote(name))
    return tag(
        "tr",
        tag("th", _thumb(picture), link, scope="row"),
        tag("td", parts.badge(report.verdict.value, language.say(VERDICT_WORDS[report.verdict]))),
        tag("td", tag("b", headline), [tag("span", each.title, class_="found") for each in report.findings]),
    )


def _thumb(picture: Picture | None) -> Markup | None:
    return None if picture is None else parts.whole(picture, "", class_="thumb")
