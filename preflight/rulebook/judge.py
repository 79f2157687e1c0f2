"""Holding measurements against rules. Nothing here measures, and nothing is decided that a rule file does not say."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from preflight.language import ENGLISH, Language
from preflight.measure.catalogue import MEASURES, UNREAD
from preflight.model import MOST_PLACES, Box, Finding, Measurement, Place, PrintSize, Severity, Spot, Verdict
from preflight.rulebook.rule import WORST_FIRST, Found, Limits, Rule
from preflight.rulebook.words import Reader, figures_of, fill
from preflight.units import MM_PER_INCH

#: Floating-point noise: a value this much past a limit, relative to it, still lies at the limit.
NOISE = 1e-9


class Unjudged(NamedTuple):
    """A rule that could not be judged, because what it needs could not be measured."""

    rule: str
    measure: str
    why_not: str


class _Passed(NamedTuple):
    """A limit that a value has passed, and by how much: from 1 up, infinite where the limit is zero."""

    severity: Severity
    limit: float | None
    aim: float | None
    excess: float


def judge(
    rules: Iterable[Rule],
    measures: Mapping[str, Measurement],
    size: PrintSize | None,
    language: Language = ENGLISH,
) -> tuple[tuple[Finding, ...], tuple[Unjudged, ...]]:
    """Hold the measurements of one artwork against the rules.

    Parameters
    ----------
    rules
        The rules that are switched on.
    measures
        Measurements by id. One that is not there counts as not taken, save for those that are only taken on opening.
    size
        How large the artwork prints; None when the file was not read.
    language
        In which figures are written; the words are those of the rules.

    Returns
    -------
    findings
        Worst first: by severity, then by how far past the limit. Places in print mm from the artwork's top left,
        at most 100; none while the print size is unknown.
    unjudged
        The rules whose measurement could not be taken though the question arises, save where a rule they defer to
        has a finding.
    """
    found: list[tuple[_Passed, Finding]] = []
    unjudged: list[tuple[Rule, Unjudged]] = []
    for rule in rules:
        measurement = measures.get(rule.measure)
        why_not = _why_not(rule, measurement)
        if why_not is not None:
            unjudged.append((rule, Unjudged(rule.id, rule.measure, why_not)))
        elif measurement is not None and measurement.applies and measurement.value is not None:
            passed = _held(rule, measurement.value, rule.limits_for(measurement.kind))
            if passed is not None:
                found.append((passed, finding(rule, measurement, size, passed, language)))
    found.sort(key=lambda pair: (WORST_FIRST.index(pair[0].severity), -pair[0].excess))
    names = {each.rule for _, each in found}
    open_questions = tuple(gap for rule, gap in unjudged if names.isdisjoint(rule.defers_to))
    return tuple(each for _, each in found), open_questions


def verdict(findings: Iterable[Finding], unjudged: Iterable[Unjudged]) -> Verdict:
    """The answer for the artwork: unchecked when anything needed was not read or measured, else the worst finding."""
    listed = tuple(findings)
    if tuple(unjudged) or any(finding.measure in UNREAD for finding in listed):
        return Verdict.UNCHECKED
    severities = {finding.severity for finding in listed}
    if Severity.STOP in severities:
        return Verdict.STOP
    return Verdict.ASK if Severity.ASK in severities else Verdict.READY


def sample(rule: Rule, language: Language = ENGLISH) -> Finding | None:
    """What the rule would say of its bad example, for listings and documentation; None without any limit."""
    quantity = MEASURES[rule.measure]
    size = _sample_size(rule.example.value if rule.example and rule.measure == "effective-ppi" else 300.0)
    for kind in (*quantity.kinds, None):
        limits = rule.limits_for(kind)
        value = rule.example.value if rule.example else _beyond(rule.found, limits)
        passed = _held(rule, value, limits)
        if passed is not None:
            made_up = Measurement(rule.measure, value, rule.unit, kind=kind, details=quantity.details, spots_total=3)
            return finding(rule, made_up, size, passed, language)
    return None


def finding(
    rule: Rule,
    measurement: Measurement,
    size: PrintSize | None,
    passed: _Passed,
    language: Language = ENGLISH,
) -> Finding:
    """The finding of a rule whose limit was passed, in words that are ready to be read."""
    spots, total = _spots(rule, measurement, passed)
    customer, operator = (
        figures_of(
            measurement,
            size,
            reader,
            limit=passed.limit,
            aim=passed.aim,
            tolerance=rule.tolerance,
            places=total,
            language=language,
        )
        for reader in (Reader.CUSTOMER, Reader.OPERATOR)
    )
    words = rule.words
    seen = f"{fill(words.operator_seen, operator)} {fill(words.operator_hint, operator)}".strip()
    return Finding(
        rule=rule.id,
        severity=passed.severity,
        measure=rule.measure,
        value=measurement.value,
        unit=rule.unit,
        limit=passed.limit,
        title=words.title,
        seen=fill(words.seen, customer) or f"{words.title}.",
        why=fill(words.why, customer),
        fix=fill(words.fix, customer),
        as_is=fill(words.as_is, customer),
        operator=seen,
        trust=rule.trust,
        source=rule.source,
        places=_places(spots, size),
        places_total=total,
    )


def _why_not(rule: Rule, measurement: Measurement | None) -> str | None:
    """Why the rule cannot be judged, None when it can or when the question does not arise."""
    if measurement is None:
        return None if MEASURES[rule.measure].on_opening else "it was not measured"
    if not measurement.applies:
        return None
    if measurement.value is None:
        return measurement.why_not
    if not math.isfinite(measurement.value):
        return "measuring it gave no number"
    if rule.found is not Found.PRESENT and rule.limits_for(measurement.kind) is None:
        return f"the rule has no limits for the kind '{measurement.kind or 'unknown'}'"
    return None


def _held(rule: Rule, value: float, limits: Limits | None) -> _Passed | None:
    """The worst limit that ``value`` passes, None when it keeps them all."""
    if rule.found is Found.PRESENT:
        severity = rule.severity or Severity.ASK
        return _Passed(severity, None, None, 1.0) if value > 0 else None
    if limits is None:
        return None
    for severity in WORST_FIRST:
        limit = limits.of(severity)
        if limit is not None and _past(rule, value, limit):
            high, low = (limit, value) if rule.found is Found.BELOW else (value, limit)
            excess = high / low if low > 0 else math.inf
            return _Passed(rule.severity or severity, limit, limits.softest, excess)
    return None


def _past(rule: Rule, value: float, limit: float) -> bool:
    """Whether ``value`` is past ``limit`` by more than the tolerance; at the limit it is not."""
    room = rule.tolerance + NOISE * max(1.0, abs(limit))
    return value < limit - room if rule.found is Found.BELOW else value > limit + room


def _spots(rule: Rule, measurement: Measurement, passed: _Passed) -> tuple[tuple[Spot, ...], int]:
    """The spots that the finding is about, and how many there are in all.

    A measurement whose value is that of its worst place may list places that keep the limits too: the shop's limits
    can be looser than the measure's reach.
    """
    total = max(measurement.spots_total, len(measurement.spots))
    if passed.aim is None or not MEASURES[rule.measure].extreme:
        return measurement.spots[:MOST_PLACES], total
    aim = passed.aim
    bad = tuple(spot for spot in measurement.spots if spot.value is None or _past(rule, spot.value, aim))
    # Worst first: when a listed place is fine already, so are all that were not listed.
    return bad[:MOST_PLACES], total if len(bad) == len(measurement.spots) else len(bad)


def _places(spots: Iterable[Spot], size: PrintSize | None) -> tuple[Place, ...]:
    """Spots in pixels of the canvas as places in print mm from the artwork's top left."""
    scale = None if size is None else size.mm_per_px
    if size is None or scale is None:
        return ()
    box = size.artwork
    return tuple(
        Place((spot.x - box.x) * scale, (spot.y - box.y) * scale, spot.width * scale, spot.height * scale, spot.value)
        for spot in spots
    )


def _beyond(found: Found, limits: Limits | None) -> float:
    """A value a little past the softest limit."""
    softest = limits.softest if limits else None
    if found is Found.PRESENT or softest is None:
        return 1.0
    return softest * 0.8 if found is Found.BELOW else softest * 1.2 + (0 if softest else 1)


def _sample_size(ppi: float) -> PrintSize:
    width, height = round(200 * ppi / MM_PER_INCH), round(150 * ppi / MM_PER_INCH)
    return PrintSize((width, height), Box(0, 0, width, height), ppi, 200.0, 150.0, "ticket")
