"""``argentry why``: what most likely went wrong, with one plate or over all of them."""

from __future__ import annotations

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
)
from argentry.cli.learning.learn_options import gathered, plates_option
from argentry.errors import BadInput


@click.command()
@click.argument("plate", required=False)
@click.option("--studio-wide", is_flag=True, help="Over all plates, with what drifts.")
@plates_option
@of_book
def why(call: BookCall, plate: str | None, studio_wide: bool, table: str | None) -> None:
    """Why PLATE failed, or with --studio-wide why plates fail here, and the check to make first."""
    from argentry.desk.learning.causes import why_failed, why_studio_wide

    if (plate is None) == (not studio_wide):
        raise BadInput(
            "why",
            "no plate is named" if plate is None else "a plate is named with --studio-wide",
            "give a plate, or --studio-wide",
        )
    from argentry.out.learning.words import print_why_plate, print_why_studio

    plates = gathered(call, table, plate)
    if plate is None:
        of_all = why_studio_wide(plates)
        if not call.emitted(of_all):
            print_why_studio(of_all, console())
    else:
        of_one = why_failed(plates, plate)
        if not call.emitted(of_one):
            print_why_plate(of_one, console())
