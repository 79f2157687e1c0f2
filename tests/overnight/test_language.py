"""The language of the night: pages and the morning sheet are in the shop's, what programs read is in English."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from preflight.child import Workshop
from preflight.commands.watch import Request, watch
from preflight.engine import Checker, check
from preflight.errors import UsageError
from preflight.language import Language, load_language
from preflight.overnight.inlanguage import in_language
from preflight.overnight.morning import sheet
from preflight.overnight.morningpage import page as morning_page
from preflight.report import json as written
from preflight.report.html import Shown
from preflight.report.html import page as web_page
from preflight.report.words import sentence
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order, read_options
from tests.overnight.conftest import Desk, picture
from tests.overnight.test_morning import STATE, row

pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")
SHOP = Shop.default()


def checker(language: Language | None = None, **order: object) -> Checker:
    rules = load_rulebook(SHOP) if language is None else load_rulebook(SHOP, None, language)
    return Checker(read_options(**order) if order else Order(), SHOP, rules)  # type: ignore[arg-type]


@pytest.mark.parametrize("language", [load_language("de"), load_language("fr", inches=True), Language(inches=True)])
def test_an_answer_in_another_language_is_that_of_a_check_in_it(tmp_path: Path, language: Language) -> None:
    """Findings in the same order, their words and figures, and what is fine; measured once."""
    path = tmp_path / "a.png"
    path.write_bytes(picture(side=60))
    for order in ({}, {"width": "150mm"}):
        ours, theirs = check(path, checker(**order)), check(path, checker(language, **order))
        told = in_language(ours, load_rulebook(SHOP, None, language))
        assert replace(told, seconds=0.0) == replace(theirs, seconds=0.0, extra=ours.extra)
    assert ours.findings != theirs.findings
    assert ours.fine != theirs.fine or language.code == "en"


def test_what_was_not_read_is_told_in_it_too(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(b"no artwork")
    german = load_language("de")
    told = in_language(check(path, checker()), load_rulebook(SHOP, None, german))
    assert replace(told, seconds=0.0) == replace(check(path, checker(german)), seconds=0.0)


def test_pages_are_in_the_language_and_what_programs_read_is_not(desk: Desk) -> None:
    german = load_language("de")
    path = desk.put("order/a.png", picture(side=60), ticket='width = "150mm"\n')
    desk.put("b.txt", b"no artwork")
    plain = written.artwork(check(path, checker(width="150mm")))
    german_report = check(path, checker(german, width="150mm"))
    desk.once(formats=("json", "html", "pdf"), pages=load_rulebook(SHOP, None, german))
    (found,) = [one for one in desk.rows() if one.file == "order/a.png"]
    reports = dict(found.reports)
    told = desk.report(reports["json"])
    assert told["findings"] == json.loads(json.dumps(plain["findings"]))
    page = (desk.out / reports["html"]).read_text(encoding="utf-8")
    assert '<html lang="de">' in page
    for finding in german_report.findings:
        assert sentence(finding.title) in page
    assert (desk.out / reports["pdf"]).stat().st_size > 1000
    morning = (desk.out / "morning.html").read_text(encoding="utf-8")
    assert '<html lang="de">' in morning
    assert sentence(german_report.findings[0].title) in morning
    assert "Beiseitegelegt, und warum" in morning
    sheet_told = json.loads((desk.out / "morning.json").read_text(encoding="utf-8"))
    (file,) = next(order["files"] for order in sheet_told["orders"] if order["order"] == "order/")
    assert file["title"] == sentence(check(desk.out / found.artwork, checker(width="150mm")).findings[0].title)
    assert "told" not in file


def test_another_language_is_another_question(desk: Desk) -> None:
    """The same file is laid out anew; in the language that it was answered in it is not."""
    pages = load_rulebook(SHOP, None, load_language("es"))
    for name, rules in (("a.png", None), ("b.png", pages), ("c.png", pages)):
        desk.put(name, picture())
        desk.once(formats=("html",), pages=rules)
    assert [one.again for one in desk.rows()] == [False, False, True]
    assert 'lang="es"' in (desk.out / "ready/c.png.report.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("code", ["es", "pt", "de", "fr"])
def test_the_sheet_has_no_english_left(code: str) -> None:
    """Every word of ours is another one than in English, save those that the languages share."""
    rows = [
        row("one/a.png"), row("two/b.png", "stop", findings=3), row("c.png", "ask", None), row("d.png", "unchecked"),
        row("e.png", not_made=["html"]),
    ]  # fmt: skip
    state = {**STATE, "not_yet": {"f.png": "it is still arriving", "g.png": "the disk says no"}}
    state |= {"left_alone": {"h": "it holds settings and is no artwork"}, "tickets_without_artwork": ["i"]}
    told = sheet(rows, state, 10.0)
    english, other = (
        set(re.findall(r">([^<>]+)<", re.sub(r"(?s)<style>.*?</style>", "", morning_page(told, SHOP, language))))
        for language in (Language(), load_language(code))
    )
    shared = {text for text in english & other if re.search("[A-Za-z]{2}", text)}
    shared -= {
        "one/a.png",
        "two/b.png",
        "c.png",
        "d.png",
        "e.png",
        "i",
        "g.png: the disk says no",
        "Your shop",
        "normal",
    }
    shared -= {"Film", "Black", "Magenta", "Cyan", "Minutes", "Mode", "STOP"}  # the languages have them too
    assert [text for text in shared if not re.fullmatch(r"[\d.,]+ (g|m|min)", text)] == []


def test_the_language_of_the_shop_file_holds_and_the_option_goes_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "shop.toml").write_text('language = "fr"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    for number, (asked, code) in enumerate(((None, "fr"), ("de", "de"), ("en", "en"))):
        watch(Request(folder="in", out=str(number), once=True, shop="shop.toml", language=asked, formats="json"))
        assert f'lang="{code}"' in Path(str(number), "morning.html").read_text(encoding="utf-8")
    with pytest.raises(UsageError, match=r"--language deutsch is not known\. Did you mean de"):
        watch(Request(folder="in", out="out", once=True, language="deutsch"))


def test_a_page_of_the_night_is_that_of_a_check(desk: Desk) -> None:
    """Laid out from the same measurements and pictures: equal but for what changes from run to run."""
    german = load_language("de")
    path = desk.put("a.png", picture(side=60), ticket='width = "150mm"\n')
    asked = checker(german, width="150mm")
    asked.pictures = True
    with Workshop() as workshop:
        from preflight.jobs import answers

        ((report,),) = answers([path], asked.way, workshop, 1)
    expected = web_page(Shown(replace(report, file="a.png"), report.extra["views"]), SHOP.letterhead, None, german)
    desk.once(formats=("html",), pages=load_rulebook(SHOP, None, german))
    (found,) = desk.rows()
    told = (desk.out / dict(found.reports)["html"]).read_text(encoding="utf-8")
    assert _timeless(told) == _timeless(expected)


def _timeless(text: str) -> str:
    return re.sub(r"\d+[.,]?\d* (s|Sekunden)\b", "", text)
