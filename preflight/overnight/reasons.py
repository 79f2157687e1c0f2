"""Why a file is not answered, as clauses; the morning sheet says them in its language."""

from __future__ import annotations

from collections.abc import Mapping

#: So many folders may lie in each other; whoever sends more of them means no good.
DEEPEST = 100
ARRIVING = "it is still arriving"
SHORT = "it ends too soon; more of it may come"
TICKETLESS = "it waits for its ticket"
WRITTEN = "somebody is writing to it"
DEEP = f"it lies more than {DEEPEST} folders deep"
LINK = "it is no ordinary file but a link or a device"
SETTINGS = "it holds settings and is no artwork"
#: Those that have words in every language: what the system says is told as it is.
WHY: Mapping[str, str] = {why: why for why in (ARRIVING, SHORT, TICKETLESS, WRITTEN, DEEP, LINK, SETTINGS)}
