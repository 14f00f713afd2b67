"""``argentry stock``: what came in, what was taken, how many plates the rest will do."""

from __future__ import annotations

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_day,
    say,
)

SIZE = "Plates: of the size {size}, with what they use up in docs/trade.md"
NO_STOCK = "No stock. Note what comes in: argentry stock new NAME AMOUNT UNIT"


@click.group()
def stock() -> None:
    """Stock: what came in, what was taken, what is left and for how many plates."""


@stock.command("new")
@click.argument("name")
@click.argument("amount", type=float)
@click.argument("unit")
@click.option("--supplier", default="", metavar="NAME", help="From whom.")
@click.option("--received", metavar="DATE", help="When, as 2026-06-21 (default: today).")
@of_book
def new(
    call: BookCall, name: str, amount: float, unit: str, supplier: str, received: str | None
) -> None:
    """Note a lot that came in, for example: Iodine 100 g."""
    from argentry.desk.stock.lots import new_lot

    day = read_day("--received", received)
    made = new_lot(
        call.folder, name, amount, unit, call.address, supplier=supplier, received_on=day
    )
    if call.emitted(made):
        return
    from argentry.out.stock_words import lot_line

    say(lot_line(made))


# an amount below zero is a number, not an option
@stock.command("use", context_settings={"ignore_unknown_options": True})
@click.argument("name")
@click.argument("amount", type=float)
@click.option("--by", default="", metavar="NAME", help="Who.")
@click.option("--remark", default="", help="What for.")
@of_book
def use(call: BookCall, name: str, amount: float, by: str, remark: str) -> None:
    """Take an AMOUNT from a lot, in the lot's unit; one below 0 puts a mistake right."""
    from argentry.desk.stock.lots import use_stock

    now = use_stock(call.folder, name, amount, call.address, by=by, remark=remark)
    if call.emitted(now):
        return
    from argentry.out.stock_words import lot_line

    say(lot_line(now))


@stock.command("list")
@click.option("--all", "all_of_them", is_flag=True, help="Also those that are used up.")
@of_book
def list_(call: BookCall, all_of_them: bool) -> None:
    """List what is left, and how many plates of the studio's usual size it will do."""
    from argentry.desk.stock.lots import list_stock

    found = list_stock(call.folder, call.address, all_of_them=all_of_them)
    if call.emitted(found):
        return
    from argentry.out.stock_words import stock_notes, will_do

    screen = console()
    if found.lots:
        from rich.markup import escape

        from argentry.out.learning.words import plain_table

        table = plain_table("Lot", "Left", "Came in", "From", "Plates")
        for row in found.lots:
            table.add_row(
                escape(row.name),
                escape(f"{row.left:g} {row.unit}"),
                escape(f"{row.received_on}, {row.amount:g} {row.unit}"),
                escape(row.supplier),
                will_do(row),
            )
        screen.print(table)
        if any(row.plates_left is not None for row in found.lots):
            screen.print(SIZE.format(size=found.size))
    elif not found.used_up:
        screen.print(NO_STOCK)
    for note in stock_notes(found):
        screen.print(note, markup=False)
