"""``--language``: which language a report is in."""

from __future__ import annotations

from difflib import get_close_matches

from preflight.errors import SettingsError, UsageError
from preflight.language import ENGLISH, LANGUAGES, Language, catalogue_path, load_language
from preflight.shop import Shop

#: Formats that customers read, which are in their language.
_FOR_CUSTOMERS = ("html", "pdf")


def report_language(asked: str | None, written: str, shop: Shop) -> Language:
    """The language that was asked for, else that of the shop file; English for what is no page for a customer.

    Parameters
    ----------
    asked
        What stands behind ``--language``.
    written
        The format.

    Raises
    ------
    UsageError
        For a language that there is not, and for a format that is always in English.
    SettingsError
        When the translations are missing: the installation is not whole.
    """
    if asked is not None:
        _refuse(asked, written)
    if written not in _FOR_CUSTOMERS:
        return ENGLISH
    code = shop.language if asked is None else asked.lower()
    try:
        return load_language(code, inches=shop.units == "in")
    except OSError:
        what, step = "the translations of the program are missing", "Install the program again."
        raise SettingsError(what, step, file=str(catalogue_path(code))) from None


def _refuse(asked: str, written: str) -> None:
    if asked.lower() not in LANGUAGES:
        own_names = {name.lower(): code for code, name in LANGUAGES.items()}
        near = get_close_matches(asked.lower(), own_names, n=1, cutoff=0.8)
        meant = f"Did you mean {own_names[near[0]]}? " if near else ""
        listed = ", ".join(f"{code} ({name})" for code, name in LANGUAGES.items())
        raise UsageError(f"--language {asked} is not known", f"{meant}Choose one of {listed}.")
    if written not in _FOR_CUSTOMERS and asked.lower() != "en":
        what = f"--format {written} is always in English"
        raise UsageError(what, "Leave --language out, or add --format html or --format pdf.")
