"""``argentry stock``: what came in, what was taken, how many plates the rest will do."""

from __future__ import annotations

import click

from argentry.cli.book_option import book_option
from argentry.cli.common import (
    console,
    emit_json,
    json_option,
    read_day,
    studio_option,
    studio_path,
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
@studio_option
@book_option
@json_option
@click.pass_context
def new(
    ctx: click.Context,
    name: str,
    amount: float,
    unit: str,
    supplier: str,
    received: str | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Note a lot that came in, for example: Iodine 100 g."""
    from argentry.desk.stock.lots import new_lot

    day = read_day("--received", received)
    made = new_lot(
        studio_path(ctx), name, amount, unit, address, supplier=supplier, received_on=day
    )
    if as_json:
        emit_json(made)
        return
    from argentry.out.stock_words import lot_line

    click.echo(lot_line(made))


# an amount below zero is a number, not an option
@stock.command("use", context_settings={"ignore_unknown_options": True})
@click.argument("name")
@click.argument("amount", type=float)
@click.option("--by", default="", metavar="NAME", help="Who.")
@click.option("--remark", default="", help="What for.")
@studio_option
@book_option
@json_option
@click.pass_context
def use(
    ctx: click.Context,
    name: str,
    amount: float,
    by: str,
    remark: str,
    address: str | None,
    as_json: bool,
) -> None:
    """Take an AMOUNT from a lot, in the lot's unit; one below 0 puts a mistake right."""
    from argentry.desk.stock.lots import use_stock

    now = use_stock(studio_path(ctx), name, amount, address, by=by, remark=remark)
    if as_json:
        emit_json(now)
        return
    from argentry.out.stock_words import lot_line

    click.echo(lot_line(now))


@stock.command("list")
@click.option("--all", "all_of_them", is_flag=True, help="Also those that are used up.")
@studio_option
@book_option
@json_option
@click.pass_context
def list_(ctx: click.Context, all_of_them: bool, address: str | None, as_json: bool) -> None:
    """List what is left, and how many plates of the studio's usual size it will do."""
    from argentry.desk.stock.lots import list_stock

    found = list_stock(studio_path(ctx), address, all_of_them=all_of_them)
    if as_json:
        emit_json(found)
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
