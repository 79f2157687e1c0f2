"""Numbers of options that several commands share."""

from __future__ import annotations

import math

from preflight.errors import UsageError


def whole_number(option: str, text: str, most: int) -> int:
    """A number from 1 to ``most``.

    Raises
    ------
    UsageError
        For anything else.
    """
    if not (text.isascii() and text.isdigit() and len(text) < 10 and 1 <= int(text) <= most):
        raise UsageError(f"{option} {text} is not a number that can be used", f"Write a whole number from 1 to {most}.")
    return int(text)


def cleaning_days(text: str) -> float:
    """Days with cleaning, parts of one allowed.

    Raises
    ------
    UsageError
        For anything that is not from 0 to 400.
    """
    try:
        days = float(text)
    except ValueError:
        days = math.nan
    if not 0 <= days <= 400:
        raise UsageError(f"--cleaning-days {text} is not a number of days", "Write such as 1; 0 without cleaning.")
    return days
