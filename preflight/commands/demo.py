"""``preflight demo``: make the invented order, check it, and say what to try next."""

from __future__ import annotations

from pathlib import Path

from preflight.child import Limits, Workshop
from preflight.commands.check import print_text
from preflight.commands.output import standard_output
from preflight.commands.progress import Progress
from preflight.demo import PIECES, make_order
from preflight.engine import Checker
from preflight.jobs import answers
from preflight.rulebook import load_rulebook
from preflight.shop import load_shop
from preflight.ticket import Order


def demo(name: str) -> None:
    """Make the order in the folder ``name``, check it and print the reports.

    Raises
    ------
    UsageError
        When the folder is not empty or cannot be written.
    """
    folder = Path(name)
    stream = standard_output()
    paths = make_order(folder)
    stream.write(f"An invented order: {len(PIECES)} artworks for the shirts and aprons of a summer fair.\n")
    stream.write(f"Pictures, tickets and a shop file are made in the folder {folder}.\n\n")
    shop = load_shop(folder / "shop.toml")
    checker = Checker(Order(), shop, load_rulebook(shop))
    progress = Progress(len(PIECES))
    with progress, Workshop(Limits.of(shop), idle=progress.pulse) as workshop:
        workshop.warm_up(checker.separation)
        files = (reports for path in paths for reports in answers([path], checker.way, workshop, 1))
        print_text((report for reports in files for report in reports), progress)
    stream.write(_next(folder))


def _next(folder: Path) -> str:
    """What to type now, and what a file checker cannot see."""
    shop, bee = _quoted(folder / "shop.toml"), _quoted(folder / "bee.jpg")
    return (
        "\nLook at the pictures in the folder, then try:\n"
        f"  preflight check {bee} --shop {shop} --width 60mm\n"
        f"  preflight check {bee} --shop {shop} --format html --output bee.html\n"
        "  preflight rules background-left\n"
        "  preflight shop          writes a shop file of your own\n"
        "\nOr answer them all, as over a night. Each file is moved to its answer, and\n"
        "answered/morning.html tells of them all:\n"
        f"  preflight watch {_quoted(folder)} answered --once --shop {shop}\n"
        "\nThis looks at files, never at the press. Hot platens and cured film burn at a\n"
        "touch. Vent the fumes outdoors, wear a dust mask for powder, and follow the\n"
        "safety data sheets.\n"
    )


def _quoted(path: Path) -> str:
    """The path as it is typed; quotes serve the shells of all systems."""
    return f'"{path}"' if " " in str(path) else str(path)
