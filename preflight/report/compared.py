"""What became of an earlier version's findings: fixed, still there, new, or not to be told this time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from preflight.model import Finding, Report, Severity
from preflight.records import dataclass
from preflight.report.earlier import EARLIER, Against, Earlier, OldFinding
from preflight.report.language import Language
from preflight.report.words import SEVERITY_WORDS, sentence
from preflight.rulebook.words import Reader, show

#: Sizes of the print that differ by less are the same, mm.
_SAME_MM = 0.05


@dataclass(frozen=True, slots=True)
class Compared:
    """What a report says of the earlier version."""

    title: str
    lead: str
    groups: tuple[tuple[str, tuple[str, ...]], ...]  #: heading and its lines


def compared(report: Report, language: Language) -> Compared | None:
    """What to say, or None when the run compares nothing."""
    against = report.extra.get(EARLIER)
    if not isinstance(against, Against):
        return None
    title = language.say("Since the earlier version")
    earlier = against.earlier
    if earlier is None:
        return Compared(title, language.say("The earlier report says nothing about this file."), ())
    if report.print_size is None:
        return Compared(title, language.say("This version could not be read, so nothing is compared."), ())
    if not earlier.read:
        return Compared(title, language.say("The earlier version could not be read. This one could."), ())
    told = list(_leads(report, earlier, language))
    groups = _groups(report, earlier, against, language)
    if not groups:
        told.append(language.say("There was nothing to change in it, and there is nothing now."))
    return Compared(title, " ".join(told), groups)


def _leads(report: Report, earlier: Earlier, language: Language) -> Iterator[str]:
    if earlier.sha256 is not None and earlier.sha256 == report.sha256:
        yield language.say("This is the same file as before, to the last byte.")
    size, before = report.print_size, earlier.size_mm
    if size is None or before is None or size.width_mm is None or size.height_mm is None:
        return
    if max(abs(size.width_mm - before[0]), abs(size.height_mm - before[1])) > _SAME_MM:
        yield language.say(
            "The size of the print was {old} and is now {new}.",
            old=language.size(round(before[0], 1), round(before[1], 1)),
            new=language.size(round(size.width_mm, 1), round(size.height_mm, 1)),
        )


def _groups(
    report: Report, earlier: Earlier, against: Against, language: Language
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    before: defaultdict[str, list[OldFinding]] = defaultdict(list)
    for old in earlier.findings:
        before[old.rule].append(old)
    remains, new = [], []
    for number, finding in enumerate(report.findings, 1):
        same = before[finding.rule]
        if same:
            remains.append(_remains(number, same.pop(0), finding, language))
        else:
            new.append(_numbered(number, finding, language))
    gone = [old for olds in before.values() for old in olds]
    fixed = [_title(old, against) for old in gone if _judged(old, report)]
    untold = [_title(old, against) for old in gone if not _judged(old, report)]
    named = (
        (language.say("Fixed"), fixed),
        (language.say("Still there"), remains),
        (language.say("New"), new),
        (language.say("Could not be compared, since it was not measured this time"), untold),
    )
    return tuple((heading, tuple(lines)) for heading, lines in named if lines)


def _judged(old: OldFinding, report: Report) -> bool:
    """Whether its measurement was taken this time: only then has the fault gone."""
    measure = report.measures.get(old.measure)
    return measure is not None and measure.applies and measure.why_not is None


def _title(old: OldFinding, against: Against) -> str:
    """As the rule of today is called; what was seen then where there is no such rule any more."""
    title = against.titles.get(old.rule)
    return f"{sentence(title)}." if title else sentence(old.seen)


def _numbered(number: int, finding: Finding, language: Language) -> str:
    return language.say("{number}. {title}.", number=str(number), title=sentence(finding.title))


def _remains(number: int, old: OldFinding, finding: Finding, language: Language) -> str:
    told = [_numbered(number, finding, language)]
    before, now = _figure(old.value, old.unit, language), _figure(finding.value, finding.unit, language)
    if before and now and before != now and old.unit == finding.unit:
        told.append(language.say("It was {old} and is now {new}.", old=before, new=now))
    elif before and before == now:
        told.append(language.say("It is {value}, as before.", value=now))
    if old.severity is not finding.severity:
        told.append(language.say("This was {old}, and is {new} now.", old=_word(old.severity, language),
                                 new=_word(finding.severity, language)))  # fmt: skip
    return " ".join(told)


def _figure(value: float | None, unit: str, language: Language) -> str:
    """A figure that a customer can read; empty for one that is no figure to them."""
    if unit == "mm" and value:
        return language.length(round(value, 2))
    if value is None or unit not in ("ppi", "%", "mm2", "ratio"):
        return ""
    return show(value, unit, Reader.CUSTOMER, language=language)


def _word(severity: Severity, language: Language) -> str:
    return language.say(SEVERITY_WORDS[severity])
