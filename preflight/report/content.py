"""What a report for people says of one artwork, in its language and in its order: plain data for every layout.

HTML and PDF lay out the same ``Content``. All of it is text that is not yet escaped.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePath

from preflight.model import Finding, PrintSize, Report, Severity, Verdict
from preflight.report import marks as marking
from preflight.report.approval import Approval, approval
from preflight.report.compared import Compared, compared
from preflight.report.language import ENGLISH, Language
from preflight.report.marks import Mark, label, part_of
from preflight.report.shopside import ShopSide, shop_side
from preflight.report.words import SEVERITY_WORDS, VERDICT_WORDS, plain, sentence
from preflight.rulebook.words import Reader, show
from preflight.views.model import AreaMap, CloseUp, Picture, Swatch, Views

#: Places of one finding that are told in words.
PLACES_TOLD = 3
#: A place that is larger is told by the part of the artwork in which it lies, not by its middle, mm.
_LARGE_MM = 12.0
#: Less area than this without white is nothing to speak of, mm².
_LEAST_BARE = 0.5


@dataclass(frozen=True, slots=True)
class Overview:
    """The artwork on a garment."""

    picture: Picture
    rgb: tuple[int, int, int]
    caption: str
    alternative: str  #: what it shows, for who does not see it


@dataclass(frozen=True, slots=True)
class Closely:
    """A place, enlarged. ``figure``: what stands beside the ruler."""

    close_up: CloseUp
    figure: str
    caption: str
    alternative: str


@dataclass(frozen=True, slots=True)
class Layer:
    """A picture of one layer of the print."""

    title: str
    picture: Picture
    caption: str
    alternative: str


@dataclass(frozen=True, slots=True)
class Told:
    """One finding."""

    number: int
    rule: str
    severity: Severity
    badge: str
    title: str
    rows: tuple[tuple[str, str], ...]  #: label and text
    places: tuple[tuple[str, str], ...]  #: label of the mark and text
    more_places: str
    closely: Closely | None
    heavy: Layer | None = None
    swatches: tuple[Swatch, ...] = ()


@dataclass(frozen=True, slots=True)
class Content:
    """One artwork's report."""

    file: str
    verdict: Verdict
    badge: str
    headline: str  #: the main point
    lead: str
    order: tuple[tuple[str, str], ...]  #: label and text
    garments: tuple[tuple[str, tuple[int, int, int]], ...]  #: name and colour
    overviews: tuple[Overview, ...]
    no_picture: str  #: why there is none; empty when there is one, and when the file was not read
    marks: tuple[Mark, ...]
    findings: tuple[Told, ...]
    white: Layer | None
    fine: tuple[str, ...]
    shop: ShopSide
    approval: Approval | None  #: None where there is nothing to approve
    compared: Compared | None  #: None when the run compares nothing


def content(report: Report, views: Views | None, language: Language) -> Content:
    """Everything that the report says."""
    size = report.print_size
    width, height = (None, None) if size is None else (size.width_mm, size.height_mm)
    marks = marking.marks(report.findings, width, height) if width and height else ()
    first_bare = next((n for n, each in enumerate(report.findings, 1) if each.measure == "area-without-white"), None)
    headline, lead = main_point(report, language)
    order, file = tuple(_order(report, views, language)), _name(report)
    garments = (
        tuple((plain(each.cloth.name), each.cloth.rgb) for each in views.on_cloth if each.cloth.name) if views else ()
    )
    bought = ((language.say("Garment"), ", ".join(name for name, _ in garments)),) if garments else ()
    return Content(
        file=file,
        verdict=report.verdict,
        badge=language.say(VERDICT_WORDS[report.verdict]),
        headline=headline,
        lead=lead,
        order=order,
        garments=garments,
        overviews=tuple(_overviews(report, views, marks, language)),
        no_picture=""
        if views or size is None
        else language.say("There is no picture: your file was checked, and it could not be drawn."),
        marks=marks,
        findings=tuple(_told(n, each, report, views, language) for n, each in enumerate(report.findings, 1)),
        white=None if views is None or views.white is None else _white(views.white, first_bare, language),
        fine=report.fine,
        shop=shop_side(report, language),
        approval=approval(report, file, order + bought, language),
        compared=compared(report, language),
    )


def main_point(report: Report, language: Language) -> tuple[str, str]:
    """The headline, and a sentence that goes on from it ("" for none)."""
    count = {severity: sum(each.severity is severity for each in report.findings) for severity in Severity}
    stops, asks, notes = (count[severity] for severity in (Severity.STOP, Severity.ASK, Severity.NOTE))
    if report.verdict is Verdict.UNCHECKED:
        return _unchecked(report, language)
    if stops:
        headline = language.many(
            "{count} thing to change before we can print this",
            "{count} things to change before we can print this",
            stops,
        )
        lead = language.many("There is also {count} question.", "There are also {count} questions.", asks)
        return _upper(headline), lead if asks else ""
    if asks:
        headline = language.many(
            "{count} question before we print this", "{count} questions before we print this", asks
        )
        return _upper(headline), language.say("Your artwork can be printed once we have your answer.")
    if notes:
        lead = language.many("{count} thing is good to know.", "{count} things are good to know.", notes)
        return language.say("Your artwork is ready to print"), _upper(lead)
    return language.say("Your artwork is ready to print"), language.say("We found nothing to change.")


def _unchecked(report: Report, language: Language) -> tuple[str, str]:
    if report.print_size is None:
        headline = language.say("We could not check this file")
        return headline, language.say("It is not printed until we have a file that we can read.")
    headline = language.say("We could not check everything")
    return headline, language.say("What we did find is below. It is not printed until the rest is checked.")


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _name(report: Report) -> str:
    """The file's name without its folder: where the shop keeps it is nobody's business."""
    return PurePath(report.file.replace("\\", "/")).name or report.file


def _order(report: Report, views: Views | None, language: Language) -> Iterator[tuple[str, str]]:
    """Label and text of each line about the order."""
    size, ticket = report.print_size, report.ticket
    if size is not None and size.width_mm and size.height_mm:
        told = language.size(round(size.width_mm, 1), round(size.height_mm, 1))
        if size.size_from == "file":
            told = language.say("{size}, as the file itself says", size=told)
        yield language.say("Size of the print"), told
    elif size is not None:
        yield language.say("Size of the print"), language.say("not known")
    yield language.say("Copies"), str(ticket.copies)
    if ticket.garments and views is None:
        yield language.say("Garment"), ", ".join(plain(garment) for garment in ticket.garments)
    if ticket.reference is not None:
        yield language.say("Your reference"), plain(ticket.reference)
    if report.page > 1:
        yield language.say("Page of the file"), str(report.page)


def _overviews(report: Report, views: Views | None, marks: Sequence[Mark], language: Language) -> Iterator[Overview]:
    if views is None:
        return
    size = report.print_size
    width, height = (None, None) if size is None else (size.width_mm, size.height_mm)
    for number, each in enumerate(views.on_cloth):
        name = plain(each.cloth.name)
        caption = (
            language.say("Your artwork on {garment}", garment=name)
            if name and not number
            else language.say("On {garment}", garment=name)
            if name
            else language.say("Your artwork on a middle grey, since no garment was ordered")
        )
        parts = [f"{caption}."]
        if width and height:
            parts.append(f"{language.size(round(width, 1), round(height, 1))}.")
            parts += _marked(report.findings, () if number else marks, width, height, language)
        yield Overview(each.picture, each.cloth.rgb, caption, " ".join(parts))


def _marked(
    findings: Sequence[Finding], marks: Sequence[Mark], width_mm: float, height_mm: float, language: Language
) -> Iterator[str]:
    """What is marked and where, for who does not see the picture."""
    for mark in marks:
        if mark.label:
            titles = " ".join(f"{sentence(findings[number - 1].title)}." for number in mark.findings)
            where = language.say(part_of(mark.place, width_mm, height_mm))
            yield language.say(
                "{number} marks a place {where}: {titles}", number=mark.label, where=where, titles=titles
            )


def _told(number: int, finding: Finding, report: Report, views: Views | None, language: Language) -> Told:
    close_up = next((each for each in views.close_ups if each.finding == number), None) if views else None
    shown = finding.places[: marking.OUTLINED]
    told = tuple(
        (label(number, at, len(shown)), _place(finding, at, report.print_size, language))
        for at in range(min(PLACES_TOLD, len(shown)))
    )
    total = max(finding.places_total, len(finding.places))
    more = language.many("and {count} more place", "and {count} more places", total - len(told))
    return Told(
        number=number,
        rule=finding.rule,
        severity=finding.severity,
        badge=language.say(SEVERITY_WORDS[finding.severity]),
        title=sentence(finding.title),
        rows=tuple(_rows(finding, language)),
        places=told,
        more_places=more if told and total > len(told) else "",
        closely=None if close_up is None else _closely(finding, close_up, told[0][0] if told else "", language),
        heavy=_heavy(views.heavy, language) if views and views.heavy and finding.measure == "total-ink" else None,
        swatches=views.swatches if views and finding.measure == "colour-shift" else (),
    )


def _rows(finding: Finding, language: Language) -> Iterator[tuple[str, str]]:
    yield language.say("What we saw"), sentence(finding.seen)
    yield language.say("Why it matters"), sentence(finding.why)
    yield language.say("What to do"), sentence(finding.fix)
    if finding.as_is:
        yield language.say("If printed as it is"), sentence(finding.as_is)


def _place(finding: Finding, at: int, size: PrintSize | None, language: Language) -> str:
    place = finding.places[at]
    value = _value(finding, place.value, language)
    if size is not None and size.width_mm and size.height_mm and max(place.width_mm, place.height_mm) > _LARGE_MM:
        where = language.say(part_of(place, size.width_mm, size.height_mm))
        if not marking.is_whole(place, size.width_mm, size.height_mm):
            extent = language.size(round(place.width_mm), round(place.height_mm))
            where = language.say("{part}, within {size}", part=where, size=extent)
        return f"{value}, {where}" if value else _upper(where)
    offsets = place.x_mm + place.width_mm / 2, place.y_mm + place.height_mm / 2
    left, top = (language.length(round(max(0.0, offset), 1)) for offset in offsets)
    where = language.say("{left} from the left, {top} from the top", left=left, top=top)
    return f"{value}, {where}" if value else where


def _value(finding: Finding, value: float | None, language: Language) -> str:
    if value is None or (finding.measure == "code-module" and not value):
        return ""
    if finding.unit == "mm":
        return language.length(round(value, 2))
    if finding.unit not in ("mm2", "ratio", "%"):
        return ""
    return show(value, finding.unit, Reader.CUSTOMER, language=language)


def _closely(finding: Finding, close_up: CloseUp, name: str, language: Language) -> Closely:
    picture = close_up.picture
    size = language.size(round(picture.width_mm, 1), round(picture.height_mm, 1))
    figure = ""
    if close_up.ruler is not None and finding.places:
        figure = _value(finding, finding.places[0].value, language)
    caption = name or language.say("A close-up")
    alternative = language.say("Close-up of {size} of the print. {title}.", size=size, title=sentence(finding.title))
    if figure:
        drawn = language.say("The measured width is drawn in: {figure}.", figure=figure)
        alternative = f"{alternative} {drawn}"
    return Closely(close_up, figure, caption, alternative)


def _white(white: AreaMap, finding: int | None, language: Language) -> Layer:
    told = language.say("White ink lies under the colours. It is kept a little smaller, so that it does not peek out.")
    if white.area_mm2 < _LEAST_BARE:
        more = language.say("Every part of your artwork is wide enough to get some.")
    else:
        more = language.say("The striped parts are too narrow and get none.")
        if finding is not None:
            more = f"{more} {language.say('This is number {number} above.', number=str(finding))}"
    return Layer(language.say("The white ink"), white.picture, f"{told} {more}", f"{told} {more}")


def _heavy(heavy: AreaMap, language: Language) -> Layer:
    area = show(heavy.area_mm2, "mm2", Reader.CUSTOMER, language=language)
    caption = language.say("The striped parts, {area} in all, get too much ink.", area=area)
    return Layer(language.say("Where there is too much ink"), heavy.picture, caption, caption)


def hex_code(rgb: tuple[int, int, int]) -> str:
    """A colour as ``#rrggbb``."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def percent(share: float, language: Language = ENGLISH) -> str:
    """A share of 0…1 in percent, as people read it."""
    return f"{language.figure(100 * share, 2)} %"
