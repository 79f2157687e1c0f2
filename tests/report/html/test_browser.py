"""The pages in a real browser: no message, no sideways scrolling on a phone, a sensible print-out, and axe-core."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from preflight.demo import make_order
from preflight.engine import VIEWS, Checker, check
from preflight.report.html import Shown, report_pages
from preflight.rulebook import load_rulebook
from preflight.shop import load_shop
from preflight.ticket import Order

pytestmark = [pytest.mark.debian, pytest.mark.slow]

#: Artworks of the demo that are looked at: thin lines, a fade, a code, too few pixels, a box, and one that is ready.
LOOKED_AT = ("garlic", "moon", "seed-swap", "carrots", "bee", "aubergine", "crest", "index")
WIDE = [("garlic", 1000), ("index", 1000)]
MOST_BYTES = 2_000_000
#: Pages of A4 that a report of one artwork may take.
MOST_SHEETS = 6


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's order as pages in a folder."""
    order = tmp_path_factory.mktemp("browser") / "order"
    paths = list(make_order(order))
    shop = load_shop(order / "shop.toml")
    checker = Checker(Order(), shop, load_rulebook(shop), pictures=True)
    reports = [check(path, checker) for path in paths]
    listed = [Shown(report, report.extra.get(VIEWS)) for report in reports]
    assert all(shown.views for shown in listed)
    for name, text in report_pages(listed, shop.letterhead):
        (order / name).write_text(text, encoding="utf-8")
    return order


@pytest.fixture
def opened(browser: Any, pages: Path, request: pytest.FixtureRequest) -> Iterator[Any]:
    """A page at 360 px width, and a list of what the browser had to say or to load."""
    name, width = request.param
    page = browser.new_page(viewport={"width": width, "height": 800})
    heard: list[str] = []
    page.on("console", lambda message: heard.append(message.text))
    page.on("pageerror", lambda slip: heard.append(str(slip)))
    page.on("request", lambda asked: heard.append(asked.url) if asked.url.startswith("http") else None)
    page.goto((pages / f"{name}.html").as_uri())
    yield page, heard
    page.close()


def at(width: int) -> list[tuple[str, int]]:
    return [(name, width) for name in LOOKED_AT]


@pytest.mark.parametrize("opened", [*at(360), *WIDE], indirect=True, ids=lambda pair: f"{pair[0]}-{pair[1]}")
def test_it_renders_without_a_word_and_fits_the_screen(opened: Any) -> None:
    page, heard = opened
    assert heard == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    broken = "[...document.images].filter(one => !one.complete || !one.naturalWidth).length"
    assert page.evaluate(broken) == 0
    assert page.title()


@pytest.mark.parametrize("opened", [*at(360), *WIDE], indirect=True, ids=lambda pair: f"{pair[0]}-{pair[1]}")
def test_axe_finds_nothing(opened: Any) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="it comes with the extra 'test'")
    found = axe.Axe().run(opened[0])
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("opened", at(1000)[::2], indirect=True, ids=lambda pair: pair[0])
def test_it_prints_on_a_few_sheets(opened: Any) -> None:
    sheets = pypdfium2.PdfDocument(opened[0].pdf(prefer_css_page_size=True))
    try:
        assert 1 <= len(sheets) <= MOST_SHEETS
        assert sheets[0].get_size() == pytest.approx((595, 842), abs=2)  # A4 in points
        text = sheets[0].get_textpage()
        assert "Corner Press" in text.get_text_range()
        text.close()
    finally:
        sheets.close()


@pytest.mark.parametrize("opened", [("garlic", 1000), ("garlic", 360)], indirect=True, ids=["wide", "phone"])
def test_a_close_up_is_as_large_on_the_screen_as_it_says(opened: Any) -> None:
    """CSS millimetres: 96 px to the inch. On a phone it fits as well."""
    page, _ = opened
    width = page.evaluate("document.querySelector('.closely .art').getBoundingClientRect().width")
    assert width * 25.4 / 96 == pytest.approx(80, rel=0.01)


@pytest.mark.parametrize("opened", [("garlic", 1000), ("moon", 360)], indirect=True, ids=["wide", "phone"])
def test_marks_are_laid_where_their_figures_say(opened: Any) -> None:
    """What the style sheet makes of left and top: the middle of the outline, in shares of the picture."""
    page, _ = opened
    measured = page.evaluate(
        """() => { const whole = document.querySelector('.overview img').getBoundingClientRect();
        const marks = [...document.querySelectorAll('.overview .outline')];
        return marks.map(one => { const box = one.getBoundingClientRect();
        return [one.style.left, one.style.top, 100 * (box.x + box.width / 2 - whole.x) / whole.width,
        100 * (box.y + box.height / 2 - whole.y) / whole.height]; }); }"""
    )
    assert measured
    for left, top, x, y in measured:
        assert (x, y) == pytest.approx((float(left[:-1]), float(top[:-1])), abs=0.3)


def test_the_pages_of_an_order_stay_small(pages: Path) -> None:
    sizes = {path.name: path.stat().st_size for path in pages.glob("*.html")}
    assert len(sizes) == 10
    assert max(sizes.values()) < MOST_BYTES
