"""``argentry reading add``: note a reading by hand."""

from __future__ import annotations

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_time,
    say,
    studio_needed,
)
from argentry.errors import BadInput

NOT_USED = "Kept, but not used: {doubt}."


@click.group()
def reading() -> None:
    """Note readings by hand; sensors send their own (docs/sensors.md)."""


# a value below zero is a number, not an option
@reading.command("add", context_settings={"ignore_unknown_options": True})
@click.argument("what", required=False)
@click.argument("value", type=float, required=False)
@click.argument("unit", required=False, default="")
@click.option("--at", metavar="TIME", help="When, in the studio's zone (default: now).")
@click.option("--by", default="by hand", metavar="NAME", help="Who read it, or on what.")
@click.option("--run", metavar="ID", help="The run it belongs to.")
@click.option("--plate", metavar="LABEL", help="The plate it belongs to.")
@click.option("--list", "listed", is_flag=True, help="List what may be read, and the units.")
@of_book
def add(
    call: BookCall,
    what: str | None,
    value: float | None,
    unit: str,
    at: str | None,
    by: str,
    run: str | None,
    plate: str | None,
    listed: bool,
) -> None:
    """Note a reading made by hand.

    For example: argentry reading add room_c 68 °F. A bench that is running takes it into account
    at once.
    """
    if listed:
        _list(call)
        return
    if what is None or value is None:
        raise BadInput(
            "argentry reading add", "quantity or value is missing", "give both, or use --list"
        )
    from argentry.desk.readings.by_hand import note_reading

    kept = note_reading(
        studio_needed("studio", call.folder),
        what,
        value,
        unit,
        call.address,
        at=None if at is None else read_time("--at", at),
        source=by,
        run=run,
        plate=plate,
    )
    if call.emitted(kept):
        return
    say(f"{kept.title}: {kept.value:g} {kept.unit}")
    if kept.doubt:
        click.echo(NOT_USED.format(doubt=kept.doubt))


def _list(call: BookCall) -> None:
    from argentry.desk.readings.by_hand import quantities_known

    found = quantities_known()
    if call.emitted(found):
        return
    from rich.box import SIMPLE
    from rich.table import Table

    table = Table(box=SIMPLE, pad_edge=False)
    for name in ("Reading", "What", "Unit", "From", "To"):
        table.add_column(name)
    for row in found.quantities:
        table.add_row(
            row.what,
            row.title,
            " or ".join(row.units),
            f"{row.low:g}",
            f"{row.high:g}",
        )
    console().print(table)
