"""Reports made up for the tests of what is printed; every figure differs, so that a mix-up shows."""

from __future__ import annotations

from dataclasses import replace

from preflight.model import (
    CHANNELS,
    Box,
    Channel,
    Cost,
    Finding,
    InkUse,
    Measurement,
    Place,
    PrintSize,
    Report,
    Saving,
    Severity,
    Ticket,
    Verdict,
)

SIZE = PrintSize((3400, 2300), Box(12, 7, 3307, 2205), 300.0, 280.0, 186.69, "ticket")


def finding(rule: str = "thin-line", severity: Severity = Severity.STOP, places: int = 5) -> Finding:
    spots = tuple(Place(10.0 * number, 20.0 * number, 6.0, 0.3, 0.21 + number / 100) for number in range(1, places + 1))
    return Finding(
        rule=rule,
        severity=severity,
        measure="narrowest-line",
        value=0.2112345678,
        unit="mm",
        limit=0.35,
        title=f"Title of {rule}",
        seen="The thinnest line is 0.21 mm wide.",
        why="White is pulled in under the colour.",
        fix="Make these lines at least 0.5 mm wide.",
        operator="Narrowest line 0.21 mm, passed the limit of 0.35 mm.",
        trust="common practice, no source",
        source="Six film printers.",
        places=spots,
        places_total=places,
    )


def report(verdict: Verdict = Verdict.STOP, *findings: Finding) -> Report:
    channels = {name: Channel(1000.0 * number, 0.5 * number) for number, name in enumerate(CHANNELS, 1)}
    return Report(
        file="orders/badge.png",
        sha256="ab" * 32,
        format="PNG",
        page=1,
        verdict=verdict,
        ticket=Ticket(width_mm=280.0, copies=12, garments=("#1d1d1f", "navy"), mode="fine", reference="Fair 7"),
        print_size=SIZE,
        measures={
            "narrowest-line": Measurement("narrowest-line", 0.2112345678, "mm"),
            "narrowest-gap": Measurement("narrowest-gap", None, "mm"),
            "contrast": Measurement("contrast", None, "ratio", why_not="no garment was ordered", applies=False),
            "detail-ppi": Measurement("detail-ppi", None, "ppi", why_not="there is no detail to judge by"),
        },
        findings=findings or (finding(),),
        ink=InkUse("Coated reference", channels, 298.25, 121.5, 43210.9),
        cost=Cost(
            "EUR",
            per_copy=1.2345,
            total=14.814,
            parts={"ink": 6.1, "powder": 3.2, "film": 4.3, "waste": 1.214},
            film_mm=2345.6,
            minutes=41.5,
            interval=(9.5, 22.25),
            across=1,
            turned=True,
        ),
        assumptions=("The separation is not a film profile.",),
        seconds=0.123456,
    )


def saving_report() -> Report:
    return report(Verdict.STOP, replace(finding("background-left"), saves=Saving(12.34567, 1.05)))


def unread_report() -> Report:
    details = {"reason": "it ends in the middle", "next_step": "Export it again."}
    cut = replace(
        finding("cut-short", places=0),
        measure="file-cut-short",
        value=1.0,
        unit="count",
        limit=None,
        fix="Export it again.",
        operator="it ends in the middle. Export it again. The artwork counts as unchecked.",
    )
    return replace(
        report(Verdict.UNCHECKED, cut),
        sha256=None,
        format=None,
        print_size=None,
        ink=None,
        cost=None,
        ticket=Ticket(),
        assumptions=(),
        measures={"file-cut-short": Measurement("file-cut-short", 1.0, "count", details=details)},
    )


def unordered_report() -> Report:
    """The order was not read; the file, for all anybody knows, is sound."""
    details = {
        "reason": "badge.ticket.toml, line 1, width: 12 has no unit",
        "next_step": 'Write it in quotes with its unit, such as width = "12mm".',
    }
    slip = replace(
        finding("unreadable-ticket", Severity.ASK, places=0),
        measure="ticket-unreadable",
        value=1.0,
        unit="count",
        limit=None,
    )
    measures = {"ticket-unreadable": Measurement("ticket-unreadable", 1.0, "count", details=details)}
    return replace(unread_report(), format="PNG", findings=(slip,), measures=measures)


def unsized_report() -> Report:
    unsized = replace(SIZE, ppi=None, width_mm=None, height_mm=None, size_from="unknown")
    return replace(report(Verdict.ASK, finding(places=0)), print_size=unsized, ink=None, cost=None)
