"""The second part of a report, for the people who print: figures, limits, ink, cost, and what is taken for granted."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.measure.catalogue import MEASURES
from preflight.model import CHANNELS, Cost, Finding, InkUse, Measurement, Report, Saving
from preflight.records import dataclass
from preflight.report.language import Language
from preflight.report.words import capital, money, plain, sentence
from preflight.rulebook.words import show

#: Less than this is nothing to speak of.
LEAST_SAVING_G = 0.01


@dataclass(frozen=True, slots=True)
class Table:
    """A table; the first cell of each row is its heading."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class ShopSide:
    """What the shop needs to know."""

    file: tuple[tuple[str, str], ...]  #: label and text
    tables: tuple[Table, ...]
    production: tuple[tuple[str, str], ...]
    unmeasured: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]


def shop_side(report: Report, language: Language) -> ShopSide:
    """The part for the shop."""
    currency = "" if report.cost is None else report.cost.currency
    tables = [_findings(report.findings, currency, language)] if report.findings else []
    tables.append(_measures(report, language))
    if report.ink is not None:
        tables.append(_ink(report.ink, language))
    if report.cost is not None:
        tables.append(_cost(report.cost, report.ticket.copies, language))
    missing = (each for each in report.measures.values() if each.why_not is not None and each.applies)
    return ShopSide(
        file=tuple(_file(report, language)),
        tables=tuple(tables),
        production=tuple(_production(report, language)),
        unmeasured=tuple(
            f"{_what(each, language)}: {_retold('clause', each.why_not or '', language)}" for each in missing
        ),
        assumptions=tuple(_retold("sentence", each, language) for each in report.assumptions),
        cautions=tuple(cautions(language)),
    )


def _retold(context: str, text: str, language: Language) -> str:
    """What was put together in English while measuring, in the language as far as there are words for it."""
    return sentence(language.retell(context, text) or text)


def cautions(language: Language) -> Iterator[str]:
    """What a file checker cannot see and every shop must mind."""
    yield language.say("This report judges the file. It says nothing about how to set a press.")
    yield language.say("Press plates and fresh film burn at a touch.")
    yield language.say("Lead the fumes of curing outdoors. Wear a dust mask for powder, and keep sparks away from it.")
    yield language.say("Powder that gets too hot gives off poisonous gases. Follow the safety data sheets.")
    yield language.say("Rules for fire, air and waste are local. Ask your authority and licensed trades.")


def _file(report: Report, language: Language) -> Iterator[tuple[str, str]]:
    if report.format is not None:
        yield language.say("Format"), plain(language.word("format", report.format))
    size = report.print_size
    if size is not None:
        yield language.say("Pixels"), "{} × {}".format(*size.canvas)
        if size.ppi is not None:
            yield (
                language.say("At print size"),
                f"{language.figure(size.ppi, 4)} {language.words('unit', 'ppi', 'ppi', 2)}",
            )
    if report.sha256 is not None:
        yield "SHA-256", report.sha256


def _findings(findings: tuple[Finding, ...], currency: str, language: Language) -> Table:
    head = ("No.", "Rule", "Measured", "Where the limit comes from", "Mending saves")
    rows = (
        (
            str(number),
            finding.rule,
            capital(sentence(finding.operator)),
            f"{sentence(finding.source)} ({language.word('trust', finding.trust)})",
            _saving(finding.saves, currency, language),
        )
        for number, finding in enumerate(findings, 1)
    )
    return Table(language.say("Findings"), tuple(language.say(name) for name in head), tuple(rows))


def _saving(saving: Saving | None, currency: str, language: Language) -> str:
    if saving is None or abs(saving.ink_g) < LEAST_SAVING_G:
        return "–"
    amount = f"{language.figure(saving.ink_g)} g"
    return f"{amount}, {money(saving.money, currency, language)}" if currency else amount


def _measures(report: Report, language: Language) -> Table:
    head = (language.say("What was measured"), language.say("Value"))
    taken = (each for each in report.measures.values() if each.why_not is None)
    rows = tuple(
        (capital(_what(each, language)), _value(each, language)) for each in sorted(taken, key=lambda one: one.id)
    )
    return Table(language.say("Measurements"), head, rows)


def _what(measure: Measurement, language: Language) -> str:
    return language.word("measure", MEASURES[measure.id].what) if measure.id in MEASURES else measure.id


def _value(measure: Measurement, language: Language) -> str:
    if measure.value is None:
        return language.say("none")
    return show(measure.value, measure.unit, language=language)


def _ink(use: InkUse, language: Language) -> Table:
    decimals = 3 if use.grams < 1 else 2 if use.grams < 10 else 1
    head = ("Ink, for one copy", "Area at 100 %", "Weight")
    rows = [
        (
            language.say(name),
            f"{language.figure(each.solid_mm2 / 100)} cm²",
            f"{language.amount(each.grams, decimals)} g",
        )
        for name in CHANNELS
        if (each := use.channels.get(name)) is not None
    ]
    rows.append((language.say("all"), "", f"{language.amount(use.grams, decimals)} g"))
    rows.append(
        (language.say("highest total of the four colours"), show(use.total_percent_max, "%", language=language), "")
    )
    rows.append((language.say("their mean"), show(use.total_percent_mean, "%", language=language), ""))
    title = language.say("Ink, separated through {profile}", profile=plain(use.separation))
    return Table(title, tuple(language.say(name) for name in head), tuple(rows))


def _cost(cost: Cost, copies: int, language: Language) -> Table:
    head = (language.say("Cost"), plain(cost.currency))
    rows = [(language.say(part), language.amount(amount, 2)) for part, amount in cost.parts.items()]
    low, high = cost.interval
    rows.append(
        (
            language.many("in all, for {count} copy", "in all, for {count} copies", copies),
            language.amount(cost.total, 2),
        )
    )
    rows.append((language.say("from … to"), f"{language.amount(low, 2)} – {language.amount(high, 2)}"))
    if copies > 1:
        rows.append((language.say("each"), language.amount(cost.per_copy, 2)))
    return Table(language.say("Cost of the order"), head, tuple(rows))


def _production(report: Report, language: Language) -> Iterator[tuple[str, str]]:
    cost = report.cost
    if cost is None:
        return
    film = f"{language.amount(cost.film_mm / 1000, 2)} m"
    if cost.across > 1:
        film += ", " + language.many("{count} beside each other", "{count} beside each other", cost.across)
    if cost.turned:
        film += ", " + language.say("turned by a quarter")
    yield language.say("Film"), film
    minutes = language.say("{minutes} minutes", minutes=language.figure(cost.minutes, 2))
    mode = "" if report.ticket.mode is None else f" ({plain(report.ticket.mode)})"
    yield language.say("Time on the printer"), f"{minutes}{mode}"
