"""The parts of an artwork's page, from what is to be said to HTML."""

from __future__ import annotations

from preflight.report.content import Content
from preflight.report.dimension import Line, dimension, shown_width_mm
from preflight.report.html.markup import Markup, data_address, data_uri, joined, tag
from preflight.report.language import Language
from preflight.report.letterhead import Logo
from preflight.report.marks import Mark, scale_bar_mm
from preflight.report.overviews import Layer, Overview
from preflight.report.points import Closely, Told
from preflight.report.words import hex_code, percent
from preflight.shop import Letterhead
from preflight.views.model import Picture, Swatch

#: Units of a drawing in a millimetre: browsers will not set type smaller than one of them.
_UNITS = 100.0


def letterhead(letterhead: Letterhead, logo: Logo | None) -> Markup:
    """The shop's head of the page."""
    picture = None
    if logo is not None:
        picture = tag("img", src=data_address(logo.kind, logo.data), alt="", class_="logo")
    lines = [tag("span", line) for line in letterhead.lines]
    return tag(
        "header",
        picture,
        tag("div", tag("p", letterhead.name, class_="shop"), tag("p", lines, class_="lines") if lines else None),
    )


def badge(kind: str, word: str) -> Markup:
    """A verdict or severity as a plate: told apart by its frame, not by a colour."""
    return tag("span", word, class_=f"badge {kind}")


def answer(told: Content, language: Language) -> Markup:
    """The main point, and what was ordered."""
    order = [tag("div", tag("dt", label), tag("dd", text)) for label, text in told.order]
    if told.garments:
        colours = [joined(_colour(rgb), " ", name) for name, rgb in told.garments]
        order.append(
            tag(
                "div",
                tag("dt", language.say("Garment")),
                tag("dd", [tag("span", each, class_="cloth-name") for each in colours]),
            )
        )
    return tag(
        "section",
        tag("p", tag("span", told.file, class_="file"), " ", badge(told.verdict.value, told.badge), class_="which"),
        tag("h1", told.headline),
        tag("p", told.lead, class_="lead") if told.lead else None,
        tag("dl", order, class_="order") if order else None,
        aria_label=language.say("The answer"),
    )


def overview(told: Content, language: Language) -> Markup | None:
    """The artwork on each garment; the first one large, with the marks."""
    title = tag("h2", language.say("Your artwork"), id="picture")
    if not told.overviews:
        return tag("section", title, tag("p", told.no_picture), aria_labelledby="picture") if told.no_picture else None
    first, *others = told.overviews
    bar = _scale_bar(first.picture, language)
    large = tag("figure", _cloth(first, told.marks), bar, tag("figcaption", first.caption), class_="overview")
    small = [tag("figure", _cloth(each, ()), tag("figcaption", each.caption), class_="other") for each in others]
    legend = None
    if any(mark.label for mark in told.marks):
        legend = tag("p", language.say("The numbers are those of the points below."), class_="legend")
    return tag(
        "section",
        title,
        large,
        legend,
        tag("div", small, class_="others") if small else None,
        aria_labelledby="picture",
    )


def _cloth(shown: Overview, marks: tuple[Mark, ...]) -> Markup:
    """The picture on its garment, and the marks over it."""
    picture = shown.picture
    image = whole(picture, shown.alternative)
    over = [_outline(mark, picture) for mark in marks] + [_plate(mark, picture) for mark in marks if mark.label]
    return tag(
        "div",
        tag(
            "div",
            image,
            tag("div", over, aria_hidden="true") if over else None,
            class_="art sized",
            style=_ratio(picture),
        ),
        class_="cloth",
        style=f"background:{hex_code(shown.rgb)}",
    )


def whole(picture: Picture, alternative: str, **attributes: str) -> Markup:
    """The picture, and how large it is, so that nothing jumps while it loads."""
    size = {"width": str(picture.width), "height": str(picture.height)}
    return tag("img", src=data_uri(picture), alt=alternative, **size, **attributes)


def _ratio(picture: Picture) -> str:
    """Width over height, from which the style sheet finds the width for a height that fits the screen or the paper."""
    return f"--ratio:{picture.width / picture.height:.4f}"


def _outline(mark: Mark, picture: Picture) -> Markup:
    """An outline around the place, laid by its middle: a very small place can so have a larger one."""
    place = mark.place
    middle = _at(picture, place.x_mm + place.width_mm / 2, place.y_mm + place.height_mm / 2)
    wide, high = 100 * place.width_mm / picture.width_mm, 100 * place.height_mm / picture.height_mm
    return tag("span", class_="outline", style=f"{middle};width:{wide:.2f}%;height:{high:.2f}%")


def _plate(mark: Mark, picture: Picture) -> Markup:
    return tag("span", mark.label, class_="plate", style=_at(picture, mark.plate_x_mm, mark.plate_y_mm))


def _at(picture: Picture, x_mm: float, y_mm: float) -> str:
    return f"left:{100 * x_mm / picture.width_mm:.3f}%;top:{100 * y_mm / picture.height_mm:.3f}%"


def _scale_bar(picture: Picture, language: Language) -> Markup | None:
    if picture.mm_per_px is None:
        return None
    length = scale_bar_mm(picture.width_mm, inches=language.inches)
    unit, factor = ("in", 25.4) if language.inches else ("cm", 10.0)
    bar = tag("span", class_="bar", style=f"width:{100 * length / picture.width_mm:.3f}%")
    told = tag("span", language.point(f"{length / factor:g} {unit}"))
    return tag("div", tag("div", bar, told, class_="bars sized", style=_ratio(picture)), class_="scale")


def findings(told: Content, language: Language) -> Markup | None:
    """Every finding, worst first."""
    if not told.findings:
        return None
    items = [tag("li", _finding(each, language)) for each in told.findings]
    title = tag("h2", language.say("Point by point"), id="points")
    return tag("section", title, tag("ol", items, class_="points"), aria_labelledby="points")


def _finding(told: Told, language: Language) -> Markup:
    rows = [tag("div", tag("dt", label), tag("dd", text)) for label, text in told.rows]
    if told.places:
        places = [tag("li", tag("b", name), " " if name else None, text) for name, text in told.places]
        more = tag("li", told.more_places) if told.more_places else None
        rows.insert(
            1, tag("div", tag("dt", language.say("Where")), tag("dd", tag("ul", places, more, class_="places")))
        )
    name = f"point-{told.number}"
    return tag(
        "article",
        tag(
            "h3",
            tag("span", str(told.number), class_="plate"),
            " ",
            tag("span", tag("span", told.title, class_="title"), " ", badge(told.severity.value, told.badge)),
            id=name,
        ),
        tag(
            "div",
            tag("dl", rows, class_="rows"),
            None if told.closely is None else _closely(told.closely, language),
            class_="beside",
        ),
        None if told.heavy is None else _layer(told.heavy),
        _swatches(told.swatches, language) if told.swatches else None,
        aria_labelledby=name,
    )


def _closely(closely: Closely, language: Language) -> Markup:
    """The place enlarged, with its measured width, and as small as it will be in print."""
    picture = closely.close_up.picture
    wide = shown_width_mm(picture)
    source = data_uri(picture)
    image = tag("img", src=source, alt=closely.alternative, class_="pixels")
    over = _dimension(closely)
    size = f"width:{wide:.2f}mm;aspect-ratio:{picture.width}/{picture.height}"
    times = language.point(f"{wide / picture.width_mm:.2g}")
    small = tag("img", src=source, alt="", class_="small", style=f"width:{picture.width_mm:.2f}mm")
    caption = tag(
        "figcaption",
        tag("span", language.say("{what}, {times} times as large as in print", what=closely.caption, times=times)),
        tag("span", small, " ", language.say("In print it is this small."), class_="true")
        if wide > picture.width_mm
        else None,
    )
    return tag(
        "figure",
        tag("div", image, over, class_="art", style=size),
        caption,
        class_="closely",
    )


def _dimension(closely: Closely) -> Markup | None:
    """The measured width over the picture: drawn twice, a light line under a dark one, to be seen on any ground."""
    ruler, picture = closely.close_up.ruler, closely.close_up.picture
    if ruler is None or not closely.figure:
        return None
    drawn = dimension(picture, ruler)
    side = picture.width_mm * _UNITS
    lines = [tag("line", **_ends(line)) for line in drawn.lines]
    x, y = drawn.label_x * _UNITS, drawn.label_y * _UNITS
    high, wide = 0.085 * side, (0.034 * len(closely.figure) + 0.055) * side
    plate = tag(
        "rect",
        x=f"{x - wide / 2:.1f}",
        y=f"{y - high / 2:.1f}",
        width=f"{wide:.1f}",
        height=f"{high:.1f}",
        rx=f"{0.012 * side:.1f}",
        fill="#fff",
        stroke="#000",
        stroke_width=f"{0.006 * side:.1f}",
    )
    figure = tag(
        "text",
        closely.figure,
        x=f"{x:.1f}",
        y=f"{y + 0.021 * side:.1f}",
        font_size=f"{0.056 * side:.1f}",
        text_anchor="middle",
    )
    return tag(
        "svg",
        tag("g", lines, stroke="#fff", stroke_width=f"{0.018 * side:.1f}", stroke_linecap="round"),
        tag("g", lines, stroke="#000", stroke_width=f"{0.008 * side:.1f}", stroke_linecap="round"),
        plate,
        figure,
        viewBox=f"0 0 {side:.1f} {picture.height_mm * _UNITS:.1f}",
        aria_hidden="true",
    )


def _ends(line: Line) -> dict[str, str]:
    return {name: f"{at * _UNITS:.1f}" for name, at in zip(("x1", "y1", "x2", "y2"), line, strict=True)}


def _layer(layer: Layer) -> Markup:
    picture = layer.picture
    image = whole(picture, layer.alternative, style=_ratio(picture))
    return tag("figure", image, tag("figcaption", layer.caption), class_="layer")


def _swatches(swatches: tuple[Swatch, ...], language: Language) -> Markup:
    """Each colour beside what print makes of it."""
    head = tag(
        "tr", *(tag("th", language.say(name), scope="col") for name in ("In your file", "In print", "Share of it"))
    )
    rows = [
        tag(
            "tr",
            tag("td", _coded(each.before)),
            tag("td", _coded(each.after)),
            tag("td", percent(each.share, language)),
        )
        for each in swatches
    ]
    caption = tag(
        "caption", language.say("The largest of these colours, before and after. A screen shows them roughly.")
    )
    return tag("table", caption, tag("thead", head), tag("tbody", rows), class_="swatches")


def _coded(rgb: tuple[int, int, int]) -> Markup:
    return joined(_colour(rgb), " ", tag("code", hex_code(rgb)))


def _colour(rgb: tuple[int, int, int]) -> Markup:
    """A chip of a colour; as a drawing, since browsers leave grounds out when they print."""
    code = hex_code(rgb)
    return tag(
        "svg", tag("rect", width="48", height="24", fill=code), viewBox="0 0 48 24", aria_hidden="true", class_="chip"
    )


def white(told: Content) -> Markup | None:
    """The white layer."""
    if told.white is None:
        return None
    title = tag("h2", told.white.title, id="white")
    return tag("section", title, _layer(told.white), aria_labelledby="white")


def fine(told: Content, language: Language) -> Markup | None:
    """What was looked at and found well."""
    if not told.fine:
        return None
    title = tag("h2", language.say("Checked, and fine"), id="fine")
    return tag(
        "section", title, tag("ul", [tag("li", each) for each in told.fine], class_="fine"), aria_labelledby="fine"
    )
