"""What the morning sheet says, whatever it is laid out on, in the shop's language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from datetime import datetime

from preflight.language import ENGLISH, Language
from preflight.model import CHANNELS, Verdict
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet, Totals
from preflight.overnight.reasons import WHY
from preflight.overnight.telling import CALLED
from preflight.records import dataclass
from preflight.report.words import VERDICT_WORDS, money
from preflight.shop import Shop

_TOTALS = {
    "ready": "Ready to print",
    "ask": "Once they have answered",
    "stop": "Once the files are changed",
}


def report(row: Row) -> str | None:
    """Where the report to look at lies, below the folder of answers: the page where there is one."""
    paths = dict(row.reports[::-1])
    return next((paths[kind] for kind in ("html", "pdf", "text", "json") if kind in paths), None)


@dataclass(frozen=True)
class Words:
    """All texts of a sheet.

    Parameters
    ----------
    told
        The sheet.
    shop
        For its usual print mode.
    language
        Of the words; in it lengths are written too.
    """

    told: Sheet
    shop: Shop
    language: Language = field(default=ENGLISH)

    def title(self) -> str:
        """The main point."""
        ready, every = len(self.told.first), len(self.told.orders)
        if not every:
            return self.language.say("Nothing was answered in the last 24 hours")
        if every == 1:
            return self.language.say("The order is ready to print" if ready else "The order is not ready to print")
        return self.language.many(
            "{ready} of {all} orders is ready to print",
            "{ready} of {all} orders are ready to print",
            ready,
            ready=str(ready),
            all=str(every),
        )

    def when(self) -> str:
        """Day and time of the sheet, as the shop's clock has it."""
        form = "%d %B %Y, %H:%M" if self.language.code == "en" else "%Y-%m-%d, %H:%M"
        return datetime.fromtimestamp(self.told.at).astimezone().strftime(form)

    def lead(self) -> str:
        """When it was written, and how many of each verdict."""
        orders = self.told.orders
        counts = ((verdict, sum(order.verdict == verdict.value for order in orders)) for verdict in Verdict)
        tally = ", ".join(f"{count} {self.badge(verdict.value)}" for verdict, count in counts if count)
        if not tally:
            return f"{self.when()}."
        files = sum(len(order.rows) for order in orders)
        return self.language.say(
            "{when}. Orders: {orders} ({tally}). Files: {files}.",
            when=self.when(), orders=str(len(orders)), tally=tally, files=str(files),
        )  # fmt: skip

    def foot(self) -> str:
        """The small line on paper."""
        return self.language.say("Morning sheet, {when}", when=self.when())

    def badge(self, verdict: str) -> str:
        """A verdict in a word or two."""
        return self.language.say(VERDICT_WORDS[Verdict(verdict)])

    # --- what to print first ------------------------------------------------------------------------------------------

    def first(self) -> tuple[str, str, Sequence[str]]:
        """Heading, the sentence below it, and the heads of the columns."""
        heads = ("No.", "Order", "Copies", "Mode", "Film", "Minutes")
        why = self.language.say(
            "By print mode, so that the printer is set once for each; then the quickest first, so that most orders are "
            "done early."
        )
        return self.language.say("Print these first"), why, [self.language.say(head) for head in heads]

    def takes(self, order: Order) -> tuple[str, str, str, str]:
        """Copies, print mode, film and minutes of an order."""
        return (
            str(sum(row.summary["copies"] for row in order.rows)),
            ", ".join(mode or self.shop.default_mode for mode in order.modes),
            self._metres(sum(row.summary["film_mm"] or 0.0 for row in order.rows)),
            self.language.figure(order.minutes, 2),
        )

    def size(self, row: Row) -> str:
        """What is put after a file's name: its print size, where it has one."""
        width, height = row.summary["width_mm"], row.summary["height_mm"]
        return f", {self.language.size(width, height)}" if width and height else ""

    # --- what it takes ------------------------------------------------------------------------------------------------

    def totals(self) -> tuple[str, list[str], list[tuple[str, list[str]]]] | None:
        """Heading, heads of the columns, name and cells of each line; None when there is nothing to add up."""
        told, say = self.told, self.language.say
        names = [name for name in _TOTALS if told.totals[name].files]
        if not names:
            return None
        columns = [told.totals[name] for name in names]
        heads = [say("For all copies"), *(self.language.say(_TOTALS[name]) for name in names)]
        return (
            say("What it takes"),
            heads,
            [
                (say("Files"), [str(each.files) for each in columns]),
                *(
                    (self.language.say(name).capitalize(), [self._grams(each.grams[name]) for each in columns])
                    for name in CHANNELS
                ),
                (say("Film"), [self._metres(each.film_mm) for each in columns]),
                (say("Time on the printer"), [f"{self.language.figure(each.minutes, 2)} min" for each in columns]),
                (say("Cost"), [self._money(each) for each in columns]),
            ],
        )

    def lacking(self) -> str | None:
        """What is not in the totals."""
        unknown = sum(self.told.totals[name].unknown for name in _TOTALS)
        if not unknown:
            return None
        return self.language.many(
            "{number} file has no print size: what it takes is not in these figures.",
            "{number} files have no print size: what they take is not in these figures.",
            unknown,
            number=str(unknown),
        )

    def _grams(self, grams: float) -> str:
        return f"{self.language.amount(grams, 1)} g"

    def _metres(self, millimetres: float) -> str:
        return f"{self.language.amount(millimetres / 1000, 2)} m"

    def _money(self, each: Totals) -> str:
        if not each.money:
            return "–"
        told = "; ".join(money(amount, currency, self.language) for currency, amount in sorted(each.money.items()))
        if len(each.money) > 1:
            return told
        low, high = (self.language.amount(end, 2) for end in each.interval)
        return self.language.say("{amount} ({low} to {high})", amount=told, low=low, high=high)

    # --- whom to write to, and what was set aside ---------------------------------------------------------------------

    def waiting(self) -> tuple[str, Sequence[str], list[Order]]:
        """Heading, heads of the columns, and those for which somebody has to write or call, the worst first."""
        orders = (order for order in self.told.orders if order.verdict in ("ask", "stop"))
        listed = sorted(orders, key=lambda order: (order.verdict != "stop", order.name))
        heads = ("Order", "Answer", "What to do first")
        return self.language.say("Waiting for the customer"), [self.language.say(head) for head in heads], listed

    def aside(self) -> str:
        """Heading of what is not answered, or not with an answer on the artwork."""
        return self.language.say("Set aside, and why")

    def unread(self) -> tuple[Sequence[str], list[Order]]:
        """Heads of the columns, and those whose answer is not on the artwork."""
        heads = ("Order", "Answer", "Why, and what to do")
        unread = [order for order in self.told.orders if order.verdict == "unchecked"]
        return [self.language.say(head) for head in heads], unread

    def what(self, row: Row) -> tuple[str | None, str | None, str | None]:
        """What is wrong with a file, what to do, and how much more there is."""
        told = row.summary
        if row.verdict == "ready":
            return None, self.language.say("Ready to print."), None
        words: Mapping[str, str | None] = told.get("told") or told
        more = told["findings"] - 1
        return (
            words["title"] or None,
            words["fix"],
            self.language.many(
                "and {number} more finding", "and {number} more findings", more, number=str(more)
            ) if more > 0 else None,
        )  # fmt: skip

    def lists(self) -> Iterator[tuple[str, Sequence[str]]]:
        """Titles and lines of what is not answered, or not in each format; none that is empty."""
        told, say = self.told, self.language.say
        not_made = [line for order in told.orders for row in order.rows for line in self._not_made(row)]
        for heading, lines in (
            (say("Not yet answered"), self._reasons(told.not_yet)),
            (say("Answered, but a report could not be made"), not_made),
            (say("Left alone"), self._reasons(told.left_alone)),
            (say("Tickets without an artwork"), list(told.lonely)),
        ):
            if lines:
                yield heading, lines

    def _not_made(self, row: Row) -> Iterator[str]:
        kinds = row.summary.get("not_made") or ()
        names = ", ".join(self.language.say(CALLED[kind]) for kind in kinds)
        if names:
            where = report(row) or ""
            yield self.language.say("{file}: {formats}. The answer: {path}", file=row.file, formats=names, path=where)

    def _reasons(self, told: Mapping[str, str]) -> list[str]:
        return [f"{name}: {self.language.say(WHY[why]) if why in WHY else why}" for name, why in told.items()]
