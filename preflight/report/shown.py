"""What a layout is given of one artwork."""

from __future__ import annotations

from preflight.model import Report
from preflight.records import dataclass
from preflight.views.model import Views


@dataclass(frozen=True, slots=True)
class Shown:
    """A report with the pictures that were drawn for it; None where they could not be."""

    report: Report
    views: Views | None
