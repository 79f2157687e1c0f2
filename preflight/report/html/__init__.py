"""The report as a page for a browser: one file that needs nothing else, no script, nothing from outside."""

from __future__ import annotations

from preflight.report.html.pages import index_page, page, report_pages
from preflight.report.shown import Shown

__all__ = ["Shown", "index_page", "page", "report_pages"]
