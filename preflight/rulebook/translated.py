"""The program's own rules in another language, or with lengths in inches."""

from __future__ import annotations

import re
from dataclasses import replace

from preflight.language import Language
from preflight.rulebook.rule import Rule, Words
from preflight.rulebook.words import rule_context

#: A length that a text states by itself: "at least 0.5 mm wide".
_MILLIMETRES = re.compile(r"(?<![\w.,])(\d+)(?:[.,](\d+))?[ \u00a0]mm(?![²\w])")


def translated(rule: Rule, language: Language) -> Rule:
    """A rule of the program, with its words in ``language``; a text without a translation stays English."""
    told = {
        name: language.word(rule_context(rule.id, name), text) for name, text in rule.words._asdict().items() if text
    }
    if language.inches:
        told = {name: _MILLIMETRES.sub(lambda found: _in_inches(found, language), text) for name, text in told.items()}
    words = Words(**{**rule.words._asdict(), **told})
    return replace(rule, words=words, source=language.word(rule_context(rule.id, "source"), rule.source))


def _in_inches(found: re.Match[str], language: Language) -> str:
    return language.length(float(f"{found[1]}.{found[2] or 0}"), 2)
