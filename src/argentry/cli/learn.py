"""``argentry learn``: what the plates have taught, next to what was assumed before."""

from __future__ import annotations

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
)
from argentry.cli.learn_options import gathered, plates_option


@click.group()
def learn() -> None:
    """Show what the plates have taught."""


@learn.command("show")
@click.option(
    "--all", "all_of_them", is_flag=True, help="Every condition, also those that tell little."
)
@plates_option
@of_book
def show(call: BookCall, all_of_them: bool, table: str | None) -> None:
    """Show what was learned next to what was assumed: odds, effects, speed, box, dose."""
    from argentry.desk.learning.causes import learned

    told = learned(gathered(call, table))
    if call.emitted(told):
        return
    from argentry.out.learning.tables import print_learned

    print_learned(told, console(), all_of_them=all_of_them)
