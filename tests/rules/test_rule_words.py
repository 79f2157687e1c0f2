"""The words of the rules: short, plain, and free of trade words nobody explained."""

from __future__ import annotations

import re

import pytest

from preflight.model import Finding
from preflight.rulebook import Rule, sample
from preflight.rulebook.rule import TRUST

from .conftest import all_rules

MOST_WORDS = 25
HIGHEST_GRADE = 8.0
BANNED = ("please", "sorry", "invalid", "error", "forbidden", "illegal", "oops", "unfortunately", "simply", "just")
#: Words of the trade that a customer need not know. What is explained in the same text stands in ``EXPLAINED``.
TRADE = (
    *("ppi", "dpi", "alpha", "anti-alias", "antialias", "opacity", "opaque", "transparent", "transparency", "raster"),
    *("vector", "choke", "bleed", "gamut", "profile", "cmyk", "rgb", "icc", "separation", "tac", "halftone", "kerning"),
    *("pixel", "pixels", "module", "quiet", "resolution", "luminance", "delta", "ΔE", "halo", "contrast", "residue"),
    *("translucent", "artefact"),
)
EXPLAINED = {
    "low-resolution": {"pixel", "pixels"},  # "A pixel is one dot of the picture."
    "enlarged-picture": {"pixel", "pixels"},
    "painted-checkerboard": {"pixels"},  # the unit of a figure that nothing hangs on
    "size-differs": {"pixels"},
    "edge-fringe": {"halo"},  # "the rim shows as a halo"
    "soft-edge": {"halftone"},  # "solid dots that grow smaller, which is called a halftone"
    "translucent-area": {"halftone"},
    "low-contrast": {"contrast"},  # "No contrast at all is 1 : 1."
}
#: Other words for a thing that has one name here.
ONE_TERM = {
    "design": "artwork",
    "graphic": "artwork",
    "image": "artwork or picture",
    "shirt": "garment",
    "tee": "garment",
}

each_rule = pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)


def said_by(rule: Rule) -> Finding:
    said = sample(rule)
    assert said is not None
    return said


def customer_text(rule: Rule) -> str:
    said = said_by(rule)
    return f"{said.seen} {said.why} {said.fix}"


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.!?:])\s+", text) if part]


def words_of(text: str) -> list[str]:
    return re.findall(r"[A-Za-zΔ][A-Za-zΔ'’-]*", text)


def syllables(word: str) -> int:
    """Groups of vowels, a silent e at the end left out; at least one. Counts more than hyphenation does."""
    letters = re.sub(r"[^a-z]", "", word.lower())
    groups = len(re.findall(r"[aeiouy]+", letters))
    return max(1, groups - (groups > 1 and letters.endswith("e") and not letters.endswith("le")))


def grade(text: str) -> float:
    """Flesch-Kincaid grade (Kincaid et al. 1975): 0.39 words per sentence + 11.8 syllables per word - 15.59.

    Compared once with a common reading-ease library: on every rule this is higher, by 0.7 to 2.5 grades.
    """
    whole = [part for part in re.split(r"(?<=[.!?])\s+", text) if part]
    words = [token for token in text.split() if re.search(r"\w", token)]
    return 0.39 * len(words) / len(whole) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def test_the_grade_is_the_published_formula() -> None:
    assert grade("The cat sat on the mat.") == pytest.approx(0.39 * 6 + 11.8 * 1 - 15.59)
    hard = (
        "Considerable transparency deterioration necessitates comprehensive reconsideration of subsequent operations."
    )
    assert grade(hard) > 15


@each_rule
def test_sentences_are_short(rule: Rule) -> None:
    said = said_by(rule)
    for text in (said.seen, said.why, said.fix, said.operator, rule.source):
        for sentence in sentences(text):
            assert len(sentence.split()) <= MOST_WORDS, sentence


@each_rule
def test_customers_can_read_it(rule: Rule) -> None:
    assert grade(customer_text(rule)) <= HIGHEST_GRADE


@each_rule
def test_no_word_is_one_of_those_that_blame_or_beg(rule: Rule) -> None:
    said = said_by(rule)
    text = f"{customer_text(rule)} {said.title} {said.operator}".lower()
    assert not [word for word in BANNED if re.search(rf"\b{word}\w*", text)]


@each_rule
def test_no_trade_word_is_left_unexplained(rule: Rule) -> None:
    found = {word.lower() for word in words_of(customer_text(rule))} & {word.lower() for word in TRADE}
    assert found <= EXPLAINED.get(rule.id, set())


@each_rule
def test_one_thing_has_one_name(rule: Rule) -> None:
    found = {word.lower() for word in words_of(f"{rule.words.title} {customer_text(rule)}")} & set(ONE_TERM)
    assert not found


@each_rule
def test_the_fix_is_an_instruction(rule: Rule) -> None:
    """Its first word tells the customer to do something; a reason comes before or after, never instead."""
    first = words_of(said_by(rule).fix)[0]
    doing = {"Ask", "Check", "Choose", "Cut", "Draw", "Export", "Get", "Look", "Make", "Open", "Order", "Put", "Remove"}
    # wrong-extension: nothing has to be done this time, which it says first.
    assert first in doing | {"Tell"} or rule.id == "wrong-extension"


@each_rule
def test_the_title_is_a_headline(rule: Rule) -> None:
    title = rule.words.title
    assert len(title) <= 50
    assert title[0].isupper()
    assert not title.endswith(".")


@each_rule
def test_texts_end_in_a_full_stop(rule: Rule) -> None:
    said = said_by(rule)
    assert all(text.endswith(".") for text in (said.seen, said.why, said.fix, said.operator, rule.source))


@each_rule
def test_the_customer_is_spoken_to(rule: Rule) -> None:
    assert {"you", "your", "us"} & {word.lower() for word in words_of(customer_text(rule))}


@each_rule
def test_no_trust_code_stands_for_a_word(rule: Rule) -> None:
    assert rule.trust in TRUST
    assert not re.search(r"\((S|Sm|P|H|C|C2|D|M|mem)\)", rule.source)
