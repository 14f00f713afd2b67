"""``argentry next``: what to change on the next plate, and what it would teach."""

from __future__ import annotations

import click

from argentry.cli.book_option import book_option
from argentry.cli.common import console, emit_json, json_option, studio_option
from argentry.cli.learn_options import gathered, plates_option


@click.command("next")
@click.option("--commissioned", is_flag=True, help="The plate is promised: try nothing on it.")
@click.option(
    "--about", metavar="WHAT", help="exposure or conditions (default: the exposure until found)."
)
@click.option(
    "--fixed", metavar="COLUMN", multiple=True, help="Cannot be changed now; may be given often."
)
@plates_option
@studio_option
@book_option
@json_option
@click.pass_context
def next_(
    ctx: click.Context,
    commissioned: bool,
    about: str | None,
    fixed: tuple[str, ...],
    table: str | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Change one thing on the next plate: what, from where to where, and what it teaches."""
    from argentry.desk.learning_next import next_plate

    told = next_plate(
        gathered(ctx, address, table), commissioned=commissioned, fixed=fixed, about=about
    )
    if as_json:
        emit_json(told)
        return
    from argentry.out.learn_tables import print_next

    print_next(told, console())
