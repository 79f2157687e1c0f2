"""The pictures of a whole artwork: on each garment, and single layers of the print, with words in their place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from preflight.model import Finding, Report
from preflight.records import dataclass
from preflight.report.language import Language
from preflight.report.marks import Mark, part_of
from preflight.report.words import plain, sentence
from preflight.rulebook.words import Reader, show
from preflight.views.model import AreaMap, Picture, Views

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
class Layer:
    """A picture of one layer of the print."""

    title: str
    picture: Picture
    caption: str
    alternative: str


def overviews(report: Report, views: Views | None, marks: Sequence[Mark], language: Language) -> Iterator[Overview]:
    """The artwork on each garment; places are marked on the first only."""
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


def white_layer(white: AreaMap, finding: int | None, language: Language) -> Layer:
    """The white ink under the colours; ``finding`` is the number of the one about parts without it."""
    told = language.say("White ink lies under the colours. It is kept a little smaller, so that it does not peek out.")
    if white.area_mm2 < _LEAST_BARE:
        more = language.say("Every part of your artwork is wide enough to get some.")
    else:
        more = language.say("The striped parts are too narrow and get none.")
        if finding is not None:
            more = f"{more} {language.say('This is number {number} above.', number=str(finding))}"
    return Layer(language.say("The white ink"), white.picture, f"{told} {more}", f"{told} {more}")


def heavy_layer(heavy: AreaMap, language: Language) -> Layer:
    """Where there is too much ink."""
    area = show(heavy.area_mm2, "mm2", Reader.CUSTOMER, language=language)
    caption = language.say("The striped parts, {area} in all, get too much ink.", area=area)
    return Layer(language.say("Where there is too much ink"), heavy.picture, caption, caption)
