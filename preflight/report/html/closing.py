"""What a page says besides the artwork itself: what became of the earlier version, and the approval."""

from __future__ import annotations

from preflight.report.approval import Approval
from preflight.report.compared import Compared
from preflight.report.html.markup import Markup, joined, tag


def compared(told: Compared | None) -> Markup | None:
    """What became of the earlier version's points."""
    if told is None:
        return None
    groups = [
        joined(tag("h3", heading), tag("ul", [tag("li", line) for line in lines])) for heading, lines in told.groups
    ]
    return tag(
        "section",
        tag("h2", told.title, id="since"),
        tag("p", told.lead) if told.lead else None,
        groups,
        class_="since",
        aria_labelledby="since",
    )


def approval(told: Approval | None) -> Markup | None:
    """The block to sign on paper, or to answer."""
    if told is None:
        return None
    facts = [tag("div", tag("dt", label), tag("dd", text)) for label, text in told.facts]
    boxes = [tag("li", tag("span", class_="tick", aria_hidden="true"), tag("span", each)) for each in told.accept]
    lines = [tag("p", label) for label in told.sign]
    return tag(
        "section",
        tag("h2", told.title, id="approval"),
        tag("dl", facts, class_="order"),
        tag("p", told.lead),
        tag("ul", [tag("li", each) for each in told.change], class_="change") if told.change else None,
        tag("ul", boxes, class_="accept") if boxes else None,
        tag("p", told.answer),
        tag("div", lines, class_="sign") if lines else None,
        class_="approval",
        aria_labelledby="approval",
    )
