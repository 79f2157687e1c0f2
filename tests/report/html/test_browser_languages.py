"""The pages in other languages in a real browser: long words break, and axe-core finds nothing in any language."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from preflight.demo import make_order
from preflight.engine import VIEWS, Checker, check
from preflight.language import LANGUAGES, Language, load_language
from preflight.pofile import Catalogue, Entry
from preflight.report.html import Shown, page
from preflight.rulebook import load_rulebook
from preflight.shop import load_shop
from preflight.ticket import Order
from tests.report.mirror import joined, mirror

pytestmark = [pytest.mark.debian, pytest.mark.slow]

#: Letters of a word as German can make them.
LONG = 34
ARTWORKS = ("garlic", "bee")


def of_long_words() -> Language:
    """A language whose words are all as long as that: every text with its words run together."""
    catalogue = mirror().catalogue
    assert isinstance(catalogue, Catalogue)
    entries = [Entry("", "", "", ("Plural-Forms: nplurals=2; plural=(n != 1);\n",), False)]
    for name, told in catalogue.told.items():
        context, _, message = name.rpartition("\x04")
        entries.append(Entry(context, message, "", tuple(joined(text, LONG) for text in told), False))
    return Language("de", False, Catalogue(entries))


LOOKED_AT = {code: code for code in LANGUAGES if code != "en"} | {"long words": "long"}


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("languages") / "order"
    list(make_order(folder))
    return folder


@pytest.fixture(scope="module", params=LOOKED_AT.values(), ids=LOOKED_AT.keys())
def opened(request: pytest.FixtureRequest, order: Path, browser: Any) -> Iterator[list[Any]]:
    """The pages of two artworks on a phone."""
    language = of_long_words() if request.param == "long" else load_language(request.param)
    shop = load_shop(order / "shop.toml")
    checker = Checker(Order(), shop, load_rulebook(shop, None, language), pictures=True)
    pages = []
    for name in ARTWORKS:
        path = next(each for each in sorted(order.glob(f"{name}.*")) if each.suffix in (".png", ".jpg"))
        report = check(path, checker)
        text = page(Shown(report, report.extra.get(VIEWS)), shop.letterhead, None, language)
        target = order / f"{name}-{request.param}.html"
        target.write_text(text, encoding="utf-8")
        shown = browser.new_page(viewport={"width": 360, "height": 800})
        shown.goto(target.as_uri())
        pages.append(shown)
    yield pages
    for shown in pages:
        shown.close()


def test_no_word_is_wider_than_a_phone(opened: list[Any]) -> None:
    for shown in opened:
        assert shown.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        # What is cut off does not make the page wider: every text must lie inside it.
        outside = """[...document.querySelectorAll('h1,h2,h3,p,dt,dd,li,figcaption,.title,.badge')].filter(one => {
        const box = one.getBoundingClientRect();
        return one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).display !== 'inline'
        || box.right > document.documentElement.clientWidth + 1; }).map(one => one.textContent.slice(0, 60))"""
        assert shown.evaluate(outside) == []


def test_axe_finds_nothing(opened: list[Any]) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="it comes with the extra 'test'")
    for shown in opened:
        found = axe.Axe().run(shown)
        assert found.violations_count == 0, found.generate_report()
