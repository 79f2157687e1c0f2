"""An answer in the words of another language: the measurements are judged once more, by the same rules."""

from __future__ import annotations

from dataclasses import replace

from preflight.model import Report
from preflight.rulebook import Rulebook


def in_language(report: Report, rulebook: Rulebook) -> Report:
    """The same answer in the words of these rules, which differ from those it was judged by in nothing else."""
    found, unjudged = rulebook.judge(report.measures, report.print_size)
    told = {finding.rule: finding for finding in found}
    findings = tuple(
        replace(told[finding.rule], saves=finding.saves) if finding.rule in told else finding
        for finding in report.findings
    )
    fine = rulebook.fine(report.measures, found, unjudged) if report.fine else ()
    return replace(report, findings=findings, fine=fine)
