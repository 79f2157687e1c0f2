"""What a report for people says of one artwork, in its language and in its order: plain data for every layout.

HTML and PDF lay out the same ``Content``. All of it is text that is not yet escaped.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath

from preflight.model import Report, Severity, Verdict
from preflight.records import dataclass
from preflight.report import marks as marking
from preflight.report.approval import Approval, approval
from preflight.report.compared import Compared, compared
from preflight.report.language import Language
from preflight.report.marks import Mark
from preflight.report.overviews import Layer, Overview, overviews, white_layer
from preflight.report.points import Told, told
from preflight.report.shopside import ShopSide, shop_side
from preflight.report.words import VERDICT_WORDS, capital, order_known, plain
from preflight.views.model import Views


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
        overviews=tuple(overviews(report, views, marks, language)),
        no_picture=""
        if views or size is None
        else language.say("There is no picture: your file was checked, and it could not be drawn."),
        marks=marks,
        findings=tuple(told(n, each, report, views, language) for n, each in enumerate(report.findings, 1)),
        white=None if views is None or views.white is None else white_layer(views.white, first_bare, language),
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
        return capital(headline), lead if asks else ""
    if asks:
        headline = language.many(
            "{count} question before we print this", "{count} questions before we print this", asks
        )
        return capital(headline), language.say("Your artwork can be printed once we have your answer.")
    if notes:
        lead = language.many("{count} thing is good to know.", "{count} things are good to know.", notes)
        return language.say("Your artwork is ready to print"), capital(lead)
    return language.say("Your artwork is ready to print"), language.say("We found nothing to change.")


def _unchecked(report: Report, language: Language) -> tuple[str, str]:
    if not order_known(report):
        headline = language.say("We could not read the order for this file")
        return headline, language.say("The file itself was not checked. It is not printed until we know the order.")
    if report.print_size is None:
        headline = language.say("We could not check this file")
        return headline, language.say("It is not printed until we have a file that we can read.")
    headline = language.say("We could not check everything")
    return headline, language.say("What we did find is below. It is not printed until the rest is checked.")


def _name(report: Report) -> str:
    """The file's name without its folder: where the shop keeps it is nobody's business."""
    return PurePath(report.file.replace("\\", "/")).name or report.file


def _order(report: Report, views: Views | None, language: Language) -> Iterator[tuple[str, str]]:
    """Label and text of each line about the order."""
    size, ticket = report.print_size, report.ticket
    if size is not None and size.width_mm and size.height_mm:
        large = language.size(round(size.width_mm, 1), round(size.height_mm, 1))
        if size.size_from == "file":
            large = language.say("{size}, as the file itself says", size=large)
        yield language.say("Size of the print"), large
    elif size is not None:
        yield language.say("Size of the print"), language.say("not known")
    if order_known(report):
        yield language.say("Copies"), str(ticket.copies)
    if ticket.garments and views is None:
        yield language.say("Garment"), ", ".join(plain(garment) for garment in ticket.garments)
    if ticket.reference is not None:
        yield language.say("Your reference"), plain(ticket.reference)
    if report.page > 1:
        yield language.say("Page of the file"), str(report.page)
