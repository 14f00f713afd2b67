"""``argentry learn``: what the plates have taught, beside what was believed before."""

from __future__ import annotations

import click

from argentry.cli.book_option import book_option
from argentry.cli.common import console, emit_json, json_option, studio_option
from argentry.cli.learn_options import gathered, plates_option


@click.group()
def learn() -> None:
    """Show what the plates have taught."""


@learn.command("show")
@click.option(
    "--all", "all_of_them", is_flag=True, help="Every condition, also those that tell little."
)
@plates_option
@studio_option
@book_option
@json_option
@click.pass_context
def show(
    ctx: click.Context,
    all_of_them: bool,
    table: str | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Show what was learned against what was believed: odds, effects, speed, box, dose."""
    from argentry.desk.learning.causes import learned

    told = learned(gathered(ctx, address, table))
    if as_json:
        emit_json(told)
        return
    from argentry.out.learning.tables import print_learned

    print_learned(told, console(), all_of_them=all_of_them)
