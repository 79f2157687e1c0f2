"""The rules for a person at a terminal: the list of all, and one explained."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from preflight.measure.catalogue import MEASURES
from preflight.report.terminal import labelled
from preflight.report.words import SEVERITY_WORDS, many
from preflight.rulebook import Found, Rule, Rulebook, sample
from preflight.rulebook.rule import GROUPS, WORST_FIRST
from preflight.rulebook.words import show

GROUP_WORDS = {
    "file": "The file itself",
    "size": "Size and pixels",
    "transparency": "Edges and see-through parts",
    "background": "Background",
    "detail": "Fine detail",
    "colour": "Ink and colour",
}
_LABEL = 10


def render_list(rulebook: Rulebook) -> RenderableType:
    """Every rule with its limits, in groups, ready for ``Console.print``."""
    blocks: list[RenderableType] = []
    for group in GROUPS:
        rules = [rule for rule in rulebook.rules if rule.group == group]
        if rules:
            blocks += [Text(GROUP_WORDS[group], style="bold"), _table(rules), Text()]
    if rulebook.off:
        blocks.append(Text(f"Switched off in the shop file: {', '.join(rulebook.off)}.\n"))
    blocks.append(Text("STOP: the customer must change the file. ASK: talk before printing. NOTE: good to know."))
    example = rulebook.rules[0].id if rulebook.rules else "ID"
    blocks.append(Text(f"{many(len(rulebook.rules), 'rule')}. To read about one: preflight rules {example}"))
    return Group(*blocks)


def render_rule(rule: Rule) -> RenderableType:
    """One rule explained: what it looks at, its limits, what the customer reads, where the limits come from."""
    rows = [("Looks at", f"{rule.measure}: {MEASURES[rule.measure].what}"), ("Limits", "\n".join(limit_lines(rule)))]
    rows += [("", text) for text in remarks(rule)]
    blocks: list[RenderableType] = [
        Text.assemble((rule.id, "bold"), f"  {rule.words.title}"),
        Padding(labelled(rows, _LABEL), (1, 0, 0, 0)),
    ]
    said = sample(rule)
    if said is not None:
        words = [("Seen", said.seen), ("Why", said.why), ("Fix", said.fix), ("As it is", said.as_is)]
        words = [*(row for row in words if row[1]), ("For you", said.operator)]
        blocks += [Text("\nWhat it says, here with made-up figures:", style="bold"), labelled(words, _LABEL)]
    ends = [("Source", rule.source), ("Trust", rule.trust)]
    if rule.example is not None:
        ends += [("Good", rule.example.good), ("Bad", rule.example.bad)]
    blocks += [Padding(labelled(ends, _LABEL), (1, 0, 0, 0)), Text("\nTo change it, in your shop file:", style="bold")]
    blocks += [Text("\n".join(f"  {line}" for line in change_lines(rule)))]
    return Group(*blocks)


def limit_lines(rule: Rule) -> list[str]:
    """The limits as people read them, such as ``STOP below 0.35 mm``; under its name where a kind has its own."""
    lines: list[str] = []
    for kind, severity, limit in limit_rows(rule):
        name = f"{kind}:"
        lines += [name] if kind and name not in lines else []
        lines.append(f"{'  ' if kind else ''}{severity} {limit}")
    return lines


def limit_rows(rule: Rule) -> list[tuple[str, str, str]]:
    """Kind ("" for every kind), severity and limit of a rule, in words, worst first."""
    if rule.found is Found.PRESENT:
        return [("", SEVERITY_WORDS[rule.severity], "when found")] if rule.severity is not None else []
    return [
        (kind, SEVERITY_WORDS[rule.severity or severity], f"{rule.found} {show(limit, rule.unit)}")
        for kind, limits in rule.limits.items()
        for severity in WORST_FIRST
        if (limit := limits.of(severity)) is not None
    ]


def remarks(rule: Rule) -> Iterator[str]:
    """What else there is to know about how the rule is judged: whole sentences."""
    if rule.tolerance:
        room = show(rule.tolerance, rule.unit)
        yield f"A value counts only when it is more than {room} {rule.found} the limit, for the error of measuring."
    if rule.defers_to:
        names = " or ".join(rule.defers_to)
        yield f"Where {names} has a finding, this may stay unmeasured: the artwork still counts as checked."
    if rule.changed:
        yield f"Changed in the shop file: {', '.join(rule.changed)}."


def change_lines(rule: Rule) -> list[str]:
    """What to write in a shop file to keep the rule as it is: the place to start from when changing it."""
    if rule.found is Found.PRESENT:
        return [f"[rules.{rule.id}]", f'severity = "{rule.severity}"']
    lines = []
    for kind, limits in rule.limits.items():
        lines.append(f"[rules.{rule.id}{'.' + kind if kind else ''}]")
        given = ((severity, limits.of(severity)) for severity in WORST_FIRST)
        lines += [f"{severity} = {limit:g}" for severity, limit in given if limit is not None]
    return lines


def _table(rules: list[Rule]) -> Table:
    grid = Table.grid(padding=(0, 2), expand=True)
    grid.add_column(no_wrap=True, width=22)
    grid.add_column(ratio=1, overflow="fold")
    grid.add_column(width=22, overflow="fold")
    for rule in rules:
        grid.add_row(Text(f"  {rule.id}"), Text(rule.words.title), Text("\n".join(limit_lines(rule))))
    return grid
