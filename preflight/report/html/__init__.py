"""The report as a page for a browser: one file that needs nothing else, no script, nothing from outside."""

from __future__ import annotations

from preflight.report.html.pages import Shown, index_page, page, report_pages

__all__ = ["Shown", "index_page", "page", "report_pages"]
