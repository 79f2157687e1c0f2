"""What customers read on a page: grade, length of sentences, and words that blame, beg or need a lesson in print."""

from __future__ import annotations

import re
import warnings
from dataclasses import replace
from typing import Any

import pytest

from preflight.model import Finding, Verdict
from preflight.report.content import Content, content
from preflight.report.language import ENGLISH
from preflight.rulebook import Rule, load_rulebook, sample
from preflight.shop import Shop
from tests.report.html.test_pages import views
from tests.report.samples import report
from tests.rules.test_rule_words import BANNED, EXPLAINED, MOST_WORDS, ONE_TERM, TRADE, sentences, words_of

#: Flesch-Kincaid grade that customer text may need (Kincaid et al. 1975).
HIGHEST_GRADE = 8.0
RULES = load_rulebook(Shop.default()).rules
each_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)


@pytest.fixture(scope="module")
def textstat() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it reads its word lists in a way that setuptools calls old
        return pytest.importorskip("textstat", reason="textstat comes with the extra 'test'")


def said_by(rule: Rule) -> Finding:
    said = sample(rule)
    assert said is not None
    return said


def customer_text(rule: Rule) -> str:
    said = said_by(rule)
    return " ".join(part for part in (said.seen, said.why, said.fix, said.as_is) if part)


def told(rule: Rule) -> Content:
    made = report(Verdict.STOP, replace(said_by(rule), places=report().findings[0].places, places_total=9))
    return content(replace(made, fine=(rule.words.fine,) if rule.words.fine else ()), views(), ENGLISH)


def page_texts(rule: Rule) -> list[str]:
    """Everything on a page but the part for the shop."""
    page = told(rule)
    texts = [page.headline, page.lead, page.no_picture, *page.fine]
    texts += [text for each in page.overviews for text in (each.caption, each.alternative)]
    for point in page.findings:
        texts += [point.title, point.more_places, *(text for _, text in (*point.rows, *point.places))]
        texts += [point.closely.caption, point.closely.alternative] if point.closely else []
        texts += [point.heavy.caption] if point.heavy else []
    texts += [page.white.title, page.white.caption] if page.white else []
    return [text for text in texts if text]


def test_the_library_knows_the_formula(textstat: Any) -> None:
    assert textstat.flesch_kincaid_grade("The cat sat on the mat.") < 0
    assert textstat.flesch_kincaid_grade("Considerable transparency deterioration necessitates reconsideration.") > 20


@each_rule
def test_an_eighth_grader_can_read_it(rule: Rule, textstat: Any) -> None:
    assert textstat.flesch_kincaid_grade(customer_text(rule)) <= HIGHEST_GRADE


@each_rule
def test_every_rule_says_what_happens_if_it_is_printed_all_the_same(rule: Rule) -> None:
    said = said_by(rule)
    assert said.as_is.endswith(".")
    assert said.as_is not in (said.seen, said.why)


@each_rule
def test_sentences_on_the_page_are_short(rule: Rule) -> None:
    for text in page_texts(rule):
        for sentence in sentences(text):
            assert len(sentence.split()) <= MOST_WORDS, sentence


@each_rule
def test_no_word_on_the_page_blames_or_begs(rule: Rule) -> None:
    text = " ".join(page_texts(rule)).lower()
    assert not [word for word in BANNED if re.search(rf"\b{word}\w*", text)]


@each_rule
def test_no_trade_word_on_the_page_is_left_unexplained(rule: Rule) -> None:
    found = {word.lower() for word in words_of(" ".join(page_texts(rule)))} & {word.lower() for word in TRADE}
    assert found <= EXPLAINED.get(rule.id, set())


@each_rule
def test_one_thing_has_one_name_on_the_page(rule: Rule) -> None:
    found = {word.lower() for word in words_of(" ".join(page_texts(rule)))} & set(ONE_TERM)
    assert not found


@each_rule
def test_what_is_fine_is_said_in_one_short_sentence(rule: Rule) -> None:
    if rule.words.fine:
        assert len(sentences(rule.words.fine)) == 1
        assert len(rule.words.fine.split()) <= 12
        assert rule.words.fine.endswith(".")
