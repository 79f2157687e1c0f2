"""``preflight rules``: list the rules, or explain one."""

from __future__ import annotations

from pathlib import Path

from preflight.commands.output import standard_output
from preflight.rulebook import load_rulebook
from preflight.shop import Shop, load_shop


def rules(name: str | None, shop_file: str | None, folder: str | None) -> None:
    """Print the list of rules, or what one rule says, with the limits of the shop.

    Raises
    ------
    UsageError
        When there is no such rule, and for each slip in the shop's files.
    """
    from preflight.report import rules_text
    from preflight.report.terminal import console as open_console

    shop = Shop.default() if shop_file is None else load_shop(shop_file)
    rulebook = load_rulebook(shop, None if folder is None else Path(folder))
    console = open_console(standard_output())
    if name is None:
        console.print(rules_text.render_list(rulebook))
    else:
        console.print(rules_text.render_rule(rulebook.rule(name)))
