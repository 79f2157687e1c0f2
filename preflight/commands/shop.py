"""``preflight shop``: write a shop file to start from, or say what one means."""

from __future__ import annotations

import os

from preflight.commands.output import standard_output
from preflight.shop import describe_shop, load_shop, write_shop


def shop(path: str) -> None:
    """Write the starter file when there is nothing at ``path``; else read what is there and print what it means.

    Raises
    ------
    SettingsError
        For each slip in the file, its rules and its profile, or when it cannot be written.
    """
    stream = standard_output()
    if not os.path.lexists(path):
        write_shop(path)
        stream.write(f"{path} is written, with every setting at its default and explained.\n")
        stream.write(f"Change it, then see what it means: preflight shop {path}\n")
        return
    from preflight.ink.separation import open_separation
    from preflight.rulebook import load_rulebook

    settings = load_shop(path)
    load_rulebook(settings)
    open_separation(settings)
    for sentence in describe_shop(settings):
        stream.write(f"{sentence}\n")
