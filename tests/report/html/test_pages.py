"""The page: its parts and their order, its words, and that nothing from a customer's file can become markup."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from preflight.model import Measurement, Place, PrintSize, Report, Severity, Ticket, Verdict
from preflight.report.html import Shown, index_page, page, report_pages
from preflight.report.html.markup import Markup, data_uri, joined, style, tag
from preflight.report.html.pages import INDEX, page_names
from preflight.report.letterhead import Logo, contrast_with_white, legible
from preflight.shop import Letterhead
from preflight.views import encode
from preflight.views.model import JPEG, PNG, AreaMap, CloseUp, Cloth, OnCloth, Picture, Ruler, Swatch, Views
from tests.report.samples import (
    SIZE,
    finding,
    report,
    saving_report,
    unordered_report,
    unread_report,
    unsized_report,
)

from .reading import Node, read

HEAD = Letterhead(name="Corner Press", lines=("3 Mill Yard",))
#: Texts that have broken pages before: markup, quotes, ends of elements, comments, entities, control and direction
#: characters, halves of characters, templates, addresses.
NAUGHTY = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</title></style></head><body onload=alert(1)>",
    "<!-- -->--><b>",
    "<![CDATA[<b>]]>",
    "&lt;b&gt;&amp;&#60;i&#62;&quot",
    "{{7*7}}${7*7}<%= 7 %>{% raw %}",
    "javascript:alert(1)//",
    "a\x00b\x1b[31mc\x7f\x85d",
    "left\u202eright\u2066\u200b",
    "\udcff half \ud800",
    "<svg/onload=alert(1)>",
    "`x` \\u003cscript\\u003e",
    "😀 漢字 Ünïcode ﷽",
    "x" * 3000,
)
ANSWER = "Your artwork can be printed once we have your answer."
REST = "What we did find is below. It is not printed until the rest is checked."


def shade(width: int = 60, height: int = 40) -> Picture:
    pixels = np.tile(np.arange(width, dtype=np.uint8), (height, 1))
    return encode.exact(pixels, 0.0, 0.0, 280.0 / width)


def views(cloth: str = "#1d1d1f", close_ups: int = 1) -> Views:
    whole = shade()
    small = replace(shade(100, 100), x_mm=1.0, y_mm=2.0, mm_per_px=0.1)
    return Views(
        on_cloth=(OnCloth(Cloth(cloth, (29, 29, 31)), whole), OnCloth(Cloth("navy", (0, 0, 128)), whole)),
        thumb=whole,
        close_ups=tuple(CloseUp(n, small, Ruler(5.0, 6.0, 5.2, 6.0)) for n in range(1, close_ups + 1)),
        white=AreaMap(whole, 12.0),
        heavy=AreaMap(whole, 40.0),
        swatches=(Swatch((0, 255, 0), (80, 170, 80), 0.3, 21.0),),
    )


def shown(made: Report | None = None, drawn: Views | None = None) -> Shown:
    return Shown(made or report(), drawn or views())


def root(of: Shown) -> Node:
    return read(page(of, HEAD))


def test_a_page_is_a_whole_document() -> None:
    whole = root(shown())
    assert whole.one("html").attributes["lang"] == "en"
    assert [node.name for node in whole.one("body").children if isinstance(node, Node)] == ["header", "main", "footer"]
    assert "orders" not in whole.text  # where the shop keeps its files is nobody's business
    assert whole.one("title").text == "One thing to change before we can print this – badge.png"
    assert whole.one("h1").text == "One thing to change before we can print this"


def test_it_loads_nothing_and_runs_nothing() -> None:
    text = page(shown(), HEAD, Logo(PNG, shade().data))
    whole = read(text)
    policy = next(node for node in whole.all("meta") if "http-equiv" in node.attributes)
    assert policy.attributes["content"].startswith("default-src 'none'; img-src data:;")
    used = {node.name for node in whole.all()}
    assert not used & {"script", "link", "iframe", "object", "embed", "form", "base", "video", "audio"}
    for node in whole.all():
        assert not [name for name in node.attributes if name.startswith("on")]
        for name in ("src", "href"):
            assert node.attributes.get(name, "data:").startswith("data:")
    assert not re.search(r"url\(|@import|https?:", re.sub(r"data:image/[a-z]+;base64,[A-Za-z0-9+/=]+", "", text))


def test_every_picture_says_what_it_shows() -> None:
    whole = root(shown())
    told = [node.attributes["alt"] for node in whole.all("img") if node.attributes["alt"]]
    assert told[0].startswith("Your artwork on #1d1d1f. 280 × 186.7 mm. 1a marks a place at the top left: Title of")
    assert any("The measured width is drawn in: 0.22 mm." in text for text in told)
    silent = [node for node in whole.all("img") if not node.attributes["alt"]]
    # The twin of a close-up at print size and nothing else: its words stand beside it.
    assert {node.attributes.get("class") for node in silent} == {"small"}


def test_headings_go_down_one_by_one() -> None:
    levels = [int(node.name[1]) for node in root(shown(saving_report())).all() if re.fullmatch("h[1-6]", node.name)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))


def test_tables_have_headings_with_a_scope() -> None:
    for table in root(shown(saving_report())).all("table"):
        assert table.one("caption").text
        assert all(cell.attributes.get("scope") in ("col", "row") for cell in table.all("th"))


def test_names_in_a_page_are_there_once() -> None:
    names = [
        node.attributes["id"]
        for node in root(shown(report(Verdict.STOP, finding(), finding("b")))).all()
        if "id" in node.attributes
    ]
    assert len(names) == len(set(names))
    for node in root(shown()).all():
        assert node.attributes.get("aria-labelledby", names[0]) in names


def test_a_finding_is_told_in_its_order() -> None:
    made = replace(finding(), as_is="These lines break.")
    article = root(shown(report(Verdict.STOP, made))).one("article")
    labels = [node.text for node in article.all("dt")]
    assert labels == ["What we saw", "Where", "Why it matters", "What to do", "If printed as it is"]
    assert article.one("h3").one("span", "plate").text == "1"
    places = [node.text.replace("\u00a0", " ") for node in article.one("ul", "places").all("li")]
    assert places[0] == "1a 0.22 mm, 13 mm from the left, 20.1 mm from the top"
    assert places[-1] == "and two more places"


def test_numbers_of_marks_are_those_of_the_text() -> None:
    made = report(
        Verdict.STOP,
        finding(places=2),
        replace(finding("stray-specks", Severity.ASK), places=(Place(200, 100, 2, 2, None),)),
    )
    whole = root(shown(made))
    plates = [node.text for node in whole.one("figure", "overview").all("span", "plate")]
    assert plates == ["1a", "1b", "2"]
    named = [node.text for places in whole.all("ul", "places") for node in places.all("b")]
    assert set(plates) == set(named)


def test_one_place_of_two_findings_has_one_mark() -> None:
    made = report(Verdict.STOP, finding(places=1), finding("no-white-under", places=1))
    whole = root(shown(made))
    assert [node.text for node in whole.one("figure", "overview").all("span", "plate")] == ["1 2"]
    assert len(list(whole.one("figure", "overview").all("span", "outline"))) == 1


@pytest.mark.parametrize(
    ("verdict", "findings", "headline", "lead"),
    [
        (Verdict.READY, "", "Your artwork is ready to print", "We found nothing to change."),
        (Verdict.READY, "n", "Your artwork is ready to print", "One thing is good to know."),
        (Verdict.ASK, "a", "One question before we print this", ANSWER),
        (Verdict.ASK, "aaa", "Three questions before we print this", ANSWER),
        (Verdict.STOP, "s", "One thing to change before we can print this", ""),
        (Verdict.STOP, "ssa", "Two things to change before we can print this", "There is also one question."),
        (Verdict.STOP, "s" * 12, "12 things to change before we can print this", ""),
        (Verdict.UNCHECKED, "s", "We could not check everything", REST),
    ],
)
def test_the_main_point_comes_first(verdict: Verdict, findings: str, headline: str, lead: str) -> None:
    severities = {"s": Severity.STOP, "a": Severity.ASK, "n": Severity.NOTE}
    made = replace(report(), verdict=verdict, findings=tuple(finding(severity=severities[name]) for name in findings))
    whole = root(shown(made))
    assert whole.one("h1").text == headline
    assert [node.text for node in whole.all("p", "lead")] == ([lead] if lead else [])


def test_a_file_that_could_not_be_read_has_a_page_too() -> None:
    whole = root(Shown(unread_report(), None))
    assert whole.one("h1").text == "We could not check this file"
    assert "Your artwork" not in whole.text
    assert "Export it again." in whole.text


def test_an_order_that_could_not_be_read_has_a_page_without_one() -> None:
    whole = root(Shown(unordered_report(), None))
    assert whole.one("h1").text == "We could not read the order for this file"
    assert [node.text for node in whole.all("dl", "order")] == ["FormatPNG"]  # the shop's; none without a line
    assert "Copies" not in whole.text


def test_an_artwork_that_could_not_be_drawn_is_answered_all_the_same() -> None:
    whole = root(Shown(report(), None))
    assert "There is no picture" in whole.text
    assert whole.one("h1").text == "One thing to change before we can print this"
    assert next(iter(whole.all("dl", "order"))).text.endswith("Garment#1d1d1f, navyYour referenceFair 7")


def test_without_a_size_there_is_no_scale_and_no_mark() -> None:
    bare = Views((OnCloth(Cloth("", (176, 176, 176)), replace(shade(), mm_per_px=None)),), shade())
    whole = root(Shown(unsized_report(), bare))
    assert not list(whole.all("div", "scale"))
    assert not list(whole.all("span", "outline"))
    assert "not known" in whole.text


def test_the_shop_reads_figures_ink_cost_and_cautions() -> None:
    made = replace(saving_report(), fine=("Gaps are wide enough to stay open.",))
    whole = root(shown(made))
    side = whole.one("section", "shopside").text.replace("\u00a0", " ")
    for part in (
        "Narrowest line 0.21 mm, passed the limit of 0.35 mm.", "common practice, no source", "12.3 g, 1.05 EUR",
        "cyan10 cm²0.50 g", "all7.50 g", "298 %", "in all, for 12 copies14.81", "9.50 – 22.25", "turned by a quarter",
        "42 minutes (fine)", "The separation is not a film profile.", "there is no detail to judge by", "ab" * 32,
        "Press plates and fresh film burn at a touch.", "safety data sheets", "Ask your authority",
    ):  # fmt: skip
        assert part in side, part
    assert "Gaps are wide enough" in whole.one("ul", "fine").text
    assert whole.text.index("Point by point") < whole.text.index("Checked, and fine") < whole.text.index("For the shop")


def naughty_report(text: str) -> Report:
    made = replace(
        finding(),
        title=f"T {text}",
        seen=f"Font {text}.",
        why=f"Layer {text}.",
        fix=f"Ink {text}.",
        as_is=text,
        operator=text,
        source=text,
        rule=text,
    )
    measures = {"code-module": Measurement("code-module", None, "mm", why_not=text), text: Measurement(text, 1.0, "mm")}
    ticket = Ticket(280.0, garments=(text,), mode=text, reference=text)
    base = report(Verdict.STOP, made)
    assert base.ink is not None
    assert base.cost is not None
    return replace(
        base,
        file=f"orders/{text.replace('/', '|')}.png",
        format=text,
        ticket=ticket,
        measures=measures,
        assumptions=(text,),
        fine=(text,),
        ink=replace(base.ink, separation=text),
        cost=replace(base.cost, currency=text),
    )


@pytest.mark.parametrize("text", NAUGHTY, ids=range(len(NAUGHTY)))
def test_no_text_from_outside_becomes_markup(text: str) -> None:
    """The page has the same elements and attributes as with a harmless text, whatever that says."""
    head = Letterhead(name=text, lines=(text,))

    def skeleton(word: str, letterhead: Letterhead) -> list[tuple[str, tuple[str, ...]]]:
        whole = read(page(shown(naughty_report(word), views(word)), letterhead))
        return [(node.name, tuple(node.attributes)) for node in whole.all()]

    assert skeleton(text, head) == skeleton("harmless", Letterhead(name="harmless", lines=("harmless",)))
    index = index_page([("a.html", shown(naughty_report(text))), ("b.html", shown())], head)
    assert {node.name for node in read(index).all()} & {"script", "b ", "svg"} == set()
    assert not any(name.startswith("on") for node in read(index).all() for name in node.attributes)


@pytest.mark.parametrize("text", NAUGHTY, ids=range(len(NAUGHTY)))
def test_such_text_is_still_to_be_read(text: str) -> None:
    whole = page(shown(naughty_report(text)), HEAD)
    whole.encode("utf-8")
    visible = read(whole).one("main").text
    letters = [letter for letter in text if letter.isprintable() and letter != " "]
    assert all(letter in visible for letter in letters[:40])
    assert "\u202e" not in visible
    assert "\x00" not in whole


def test_page_names_are_safe_and_each_is_there_once() -> None:
    files = [
        "crest.png", "other/crest.jpg", "Crest.PNG", "index.svg", "CON.png", "../../up.png", "a b&c<d>.png", "...png",
        "", "x" * 400 + ".png", "Käse.png", "Ka\u0308se.png", "tab\tname.png", "c:\\orders\\win.png",
        "\udcff.png",
    ]  # fmt: skip
    names = page_names([replace(report(), file=file) for file in files])
    assert len({name.lower() for name in names}) == len(names)
    assert INDEX not in names
    for name in names:
        assert re.fullmatch(r"[\w][\w.-]*\.html", name), name
        assert len(name) < 120
        assert not re.match(r"(?i)(con|prn|aux|nul|com\d|lpt\d)\.", name)
    assert names[:3] == ["crest.html", "crest-2.html", "Crest-3.html"]


def test_pages_of_a_document_are_numbered() -> None:
    made = [replace(report(), file="sheet.pdf", page=page) for page in (1, 2, 3)]
    assert page_names(made) == ["sheet.html", "sheet.page-2.html", "sheet.page-3.html"]
    assert "Page of the file3" in root(shown(made[2])).text


def test_an_order_has_a_list_with_a_link_to_each_page() -> None:
    listed = [
        shown(),
        shown(replace(report(Verdict.READY), findings=(), file="Käse & Brot.png")),
        Shown(unread_report(), None),
    ]
    pages = dict(report_pages(listed, HEAD))
    assert list(pages) == ["badge.html", "Käse_Brot.html", "badge-2.html", INDEX]
    whole = read(pages[INDEX])
    assert [node.attributes["href"] for node in whole.all("a")] == ["badge.html", "K%C3%A4se_Brot.html", "badge-2.html"]
    assert whole.one("h1").text == "Two of three artworks need something from you"
    assert "1 READY, 1 STOP, 1 NOT CHECKED" in whole.text
    assert list(dict(report_pages(listed[:1], HEAD))) == ["badge.html"]


def test_an_order_that_is_ready_says_so() -> None:
    ready = shown(replace(report(Verdict.READY), findings=()))
    pages = dict(report_pages([ready, ready], HEAD))
    assert read(pages[INDEX]).one("h1").text == "All artworks are ready to print"


def test_the_part_for_the_shop_may_be_left_out() -> None:
    whole, lean = (read(page(shown(), replace(HEAD, shop_part=part))) for part in (True, False))
    assert whole.one("section", "shopside")
    assert not list(lean.all("section", "shopside"))
    for line in ("Coated reference", "14.81", "EUR"):
        assert line in whole.text
        assert line not in lean.text
    assert lean.one("section", "approval")


def test_the_printed_page_is_for_the_shops_paper() -> None:
    for paper in ("A4", "letter"):
        assert f"@page{{size:{paper};" in page(shown(), replace(HEAD, paper=paper))


def test_the_letterhead_stands_on_every_page() -> None:
    logo = Logo(JPEG, b"\xff\xd8\xff rest")
    for text in (page(shown(), HEAD, logo), index_page([("a.html", shown())], HEAD, logo)):
        head = read(text).one("header")
        assert head.one("img").attributes["src"].startswith("data:image/jpeg;base64,")
        assert head.text == "Corner Press3 Mill Yard"
        assert "--accent:#1f5f8b" in text


def test_the_colour_of_text_can_be_read_whatever_the_shop_chose() -> None:
    assert contrast_with_white("#000000") == pytest.approx(21.0)
    assert contrast_with_white("#767676") == pytest.approx(4.54, abs=0.01)  # WCAG 2's own example
    assert legible("#767676") == "#767676"
    assert legible("#ffee00") == "#1a1a1a"
    with pytest.raises(ValueError, match="rrggbb"):
        page(shown(), replace(HEAD, accent="red;}</style>"))


def test_nothing_of_ours_but_a_small_line() -> None:
    whole = root(shown())
    assert whole.one("footer").text.startswith("Checked with preflight ")
    assert "preflight" not in whole.one("main").text
    assert "preflight" not in whole.one("header").text


def test_the_builder_makes_no_markup_of_text() -> None:
    assert tag("p", "<b>", class_='"x"') == '<p class="&quot;x&quot;">&lt;b&gt;</p>'
    assert tag("p", ["a", None, [tag("b", "&")]]) == "<p>a<b>&amp;</b></p>"
    assert joined("<", Markup("<i></i>")) == "&lt;<i></i>"
    assert tag("img", alt="", hidden=True, title=None) == '<img alt="" hidden>'
    for wrong in ("p onload=x", "p>", ""):
        with pytest.raises(ValueError, match="element"):
            tag(wrong)
    with pytest.raises(ValueError, match="attribute"):
        tag("p", onclick="x")
    with pytest.raises(ValueError, match="markup"):
        style("</style>")


def test_a_child_can_send_no_other_kind_of_picture() -> None:
    with pytest.raises(ValueError, match="PNG and JPEG"):
        data_uri(Picture('text/html"><script>', b"", 1, 1))


def test_the_style_sheet_lies_beside_the_module() -> None:
    import preflight.report.html as room

    assert (Path(room.__file__).parent / "page.css").is_file()


def test_a_print_of_unknown_picture_size_still_has_a_page() -> None:
    size = PrintSize((10, 10), SIZE.artwork, None, None, None, "unknown")
    assert root(Shown(replace(report(), print_size=size), None)).one("h1")
