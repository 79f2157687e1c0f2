"""The report as a PDF: sheets to print, to send and to sign. Fonts are inside, and nothing in it is active."""

from __future__ import annotations

from preflight.report.pdf.sheets import document

__all__ = ["document"]
