"""The artwork of these tests is checked and drawn as for a web page."""

from tests.report.html.conftest import rulebook, show

__all__ = ["rulebook", "show"]
