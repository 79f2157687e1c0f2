"""Point by point: what a report for people says of one finding, and of its places."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.model import Finding, PrintSize, Report, Severity
from preflight.records import dataclass
from preflight.report import marks as marking
from preflight.report.language import Language
from preflight.report.marks import label, part_of
from preflight.report.overviews import Layer, heavy_layer
from preflight.report.words import SEVERITY_WORDS, capital, sentence
from preflight.rulebook.words import Reader, show
from preflight.views.model import CloseUp, Swatch, Views

#: Places of one finding that are told in words.
PLACES_TOLD = 3
#: A place that is larger is told by the part of the artwork in which it lies, not by its middle, mm.
_LARGE_MM = 12.0


@dataclass(frozen=True, slots=True)
class Closely:
    """A place, enlarged. ``figure``: what stands beside the ruler."""

    close_up: CloseUp
    figure: str
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


def told(number: int, finding: Finding, report: Report, views: Views | None, language: Language) -> Told:
    """The finding of that number."""
    close_up = next((each for each in views.close_ups if each.finding == number), None) if views else None
    shown = finding.places[: marking.OUTLINED]
    places = tuple(
        (label(number, at, len(shown)), _place(finding, at, report.print_size, language))
        for at in range(min(PLACES_TOLD, len(shown)))
    )
    total = max(finding.places_total, len(finding.places))
    more = language.many("and {count} more place", "and {count} more places", total - len(places))
    return Told(
        number=number,
        rule=finding.rule,
        severity=finding.severity,
        badge=language.say(SEVERITY_WORDS[finding.severity]),
        title=sentence(finding.title),
        rows=tuple(_rows(finding, language)),
        places=places,
        more_places=more if places and total > len(places) else "",
        closely=None if close_up is None else _closely(finding, close_up, places[0][0] if places else "", language),
        heavy=heavy_layer(views.heavy, language) if views and views.heavy and finding.measure == "total-ink" else None,
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
        return f"{value}, {where}" if value else capital(where)
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
