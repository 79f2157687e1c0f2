"""The language of a report; see ``preflight.language``, where the rules find it as well."""

from __future__ import annotations

from preflight.language import ENGLISH as ENGLISH
from preflight.language import Language as Language
