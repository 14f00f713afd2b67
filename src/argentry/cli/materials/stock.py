"""``argentry stock``: what came in, what was taken, how many plates the rest will do."""

from __future__ import annotations

import sys
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_day,
    say,
)
from argentry.records.material import LotFacts

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.keeping.stock.orders import Needs
    from argentry.keeping.stock.stock_list import StockImport

NEEDS = "For {tomorrow} and {one.month_plates:.0f} in thirty days"
SUPPOSED = "No day's work is in the book yet: say how many plates with --plates and --month-plates."
ORDER = "Order {amount} of {one.title} {when}{price}{supplier}"
NOW = "now (it takes {one.lead_days:g} days to come)"
NOTHING_TO_ORDER = "Nothing must be ordered now."
NEVER_STOCKED = "Never noted as stock: {names}."
SIZE = "Plates: of the size {size}, with what they use up in docs/trade.md"
NO_STOCK = (
    "No stock. Note what comes in: argentry stock new NAME AMOUNT UNIT, or a whole list: "
    "argentry stock import FILE"
)
LEFT_OUT = "Columns left out: {columns}."
NOTED = "Lots noted: {new}; known already: {known}."
WOULD_NOTE = "Lots that would be noted: {new}; known already: {known}."
NOTHING_NOTED = "Nothing was noted. Mend these rows and import the list again."


@click.group()
def stock() -> None:
    """Stock: what came in, what was taken, what is left and for how many plates."""


def _facts(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options by which a lot's facts are noted, handed on as one `LotFacts`."""

    @wraps(command)
    def run(
        purity: float | None,
        price: float | None,
        opened: str | None,
        expires: str | None,
        lead_days: float | None,
        **given: Any,
    ) -> None:
        facts = LotFacts(
            purity=purity,
            price=price,
            opened_on=read_day("--opened", opened),
            expires_on=read_day("--expires", expires),
            lead_days=lead_days,
        )
        command(facts=facts, **given)

    for option in (
        click.option("--lead-days", type=float, metavar="N", help="Days from order to delivery."),
        click.option("--expires", metavar="DATE", help="Last day on which it is used."),
        click.option("--opened", metavar="DATE", help="Opened: the bench then takes from it."),
        click.option(
            "--price", type=float, metavar="N", help="Price of the whole lot, in your money."
        ),
        click.option(
            "--purity", type=float, metavar="SHARE", help="Purity by mass, such as 0.998."
        ),
    ):
        run = option(run)
    return run


@stock.command("new")
@click.argument("name")
@click.argument("amount", type=float)
@click.argument("unit")
@click.option("--supplier", default="", metavar="NAME", help="Who sold it.")
@click.option("--received", metavar="DATE", help="When, as 2026-06-21 (default: today).")
@click.option("--by", default="", metavar="NAME", help="Who.")
@_facts
@of_book
def new(
    call: BookCall,
    name: str,
    amount: float,
    unit: str,
    supplier: str,
    received: str | None,
    by: str,
    facts: LotFacts,
) -> None:
    """Note a lot that came in, for example: Iodine 100 g."""
    from argentry.keeping.stock.lots import new_lot

    day = read_day("--received", received)
    made = new_lot(
        call.folder, name, amount, unit, call.address,
        supplier=supplier, received_on=day, facts=facts, by=by,
    )  # fmt: skip
    _say(call, made)


@stock.command("import")
@click.argument("source", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--sheet", default="", metavar="NAME", help="Which sheet of a spreadsheet.")
@click.option("--dry-run", is_flag=True, help="Report every problem and change nothing.")
@click.option("--by", default="", metavar="NAME", help="Who.")
@of_book
def import_(call: BookCall, source: Path, sheet: str, dry_run: bool, by: str) -> None:
    """Note all lots of a list of your own (FILE: CSV, ODS or XLSX), one lot to a row.

    The first row names the columns: name, amount, unit and, as far as you have them, left,
    supplier, received, purity, price, opened, expires, lead time; in German, French or Spanish too.
    All rows are noted or none; a lot that the book knows already is left as it is.
    """
    from argentry.keeping.stock.stock_list import import_stock_file as read

    found = read(call.folder, source, call.address, sheet=sheet, by=by, dry_run=dry_run)
    if not call.emitted(found):
        _say_import(found)
    if found.problems:
        sys.exit(2)


def _say_import(found: StockImport) -> None:
    from argentry.out.stock_words import lot_line

    for problem in found.problems:
        click.echo(f"{found.file}: {problem.sentence}", err=True)
    for one in found.lots:
        say(lot_line(one))
    if found.left_out:
        click.echo(LEFT_OUT.format(columns=", ".join(found.left_out)))
    if found.problems:
        click.echo(NOTHING_NOTED)
        return
    words = WOULD_NOTE if found.dry_run else NOTED
    click.echo(words.format(new=found.rows - found.known, known=found.known))


def _say(call: BookCall, made: LotNow) -> None:
    if call.emitted(made):
        return
    from argentry.out.stock_words import lot_line

    say(lot_line(made))


@stock.command("note")
@click.argument("name")
@click.option("--by", default="", metavar="NAME", help="Who.")
@_facts
@of_book
def note(call: BookCall, name: str, by: str, facts: LotFacts) -> None:
    """Note a lot's purity, price, dates or lead time; what is noted last counts."""
    from argentry.keeping.stock.corrections import note_lot

    _say(call, note_lot(call.folder, name, facts, call.address, by=by))


@stock.command("weigh")
@click.argument("name")
@click.argument("amount", type=float)
@click.option("--by", default="", metavar="NAME", help="Who.")
@of_book
def weigh(call: BookCall, name: str, amount: float, by: str) -> None:
    """Note the AMOUNT that a weighing says is left of a lot."""
    from argentry.keeping.stock.corrections import weigh_lot

    _say(call, weigh_lot(call.folder, name, amount, call.address, by=by))


@stock.command("undo")
@click.argument("name")
@click.option("--by", default="", metavar="NAME", help="Who.")
@of_book
def undo(call: BookCall, name: str, by: str) -> None:
    """Take back what was taken from a lot last, by hand or by weighing."""
    from argentry.keeping.stock.corrections import undo_lot

    _say(call, undo_lot(call.folder, name, call.address, by=by))


@stock.command("need")
@click.option("--plates", type=int, metavar="N", help="Plates of tomorrow (default: a usual day).")
@click.option(
    "--month-plates", type=float, metavar="N", help="Plates in thirty days (default: as of late)."
)
@of_book
def need(call: BookCall, plates: int | None, month_plates: float | None) -> None:
    """Show what tomorrow and thirty days need against what is there, and what to order."""
    from argentry.keeping.stock.orders import stock_needs

    found = stock_needs(call.folder, call.address, plates=plates, month_plates=month_plates)
    if not call.emitted(found):
        _show_needs(found)


def _show_needs(found: Needs) -> None:
    from rich.markup import escape

    from argentry.out.learning.words import plain_table
    from argentry.out.stock_words import amount, for_tomorrow, how_long, money, there

    out = console()
    out.print(NEEDS.format(one=found, tomorrow=for_tomorrow(found)), markup=False)
    if found.supposed:
        out.print(SUPPOSED, markup=False)
    if not found.materials:
        out.print(NO_STOCK, markup=False)
        return
    table = plain_table(
        "Material", "In stock", "First" if found.supposed else "Tomorrow", "30 days", "Lasts"
    )
    for one in found.materials:
        cells = (amount(x, one.unit) for x in (one.tomorrow, one.month))
        table.add_row(escape(one.title), there(one), *cells, how_long(one.days_left))
    out.print(table)
    for one in found.to_order:
        price = f", {money(one.price, found.currency)}" if one.price is not None else ""
        supplier = f", {one.supplier}" if one.supplier else ""
        when = NOW.format(one=one)
        line = ORDER.format(
            amount=amount(one.order, one.unit), one=one, when=when, price=price, supplier=supplier
        )
        out.print(f"{line}.", markup=False)
    if not found.to_order:
        out.print(NOTHING_TO_ORDER, markup=False)
    if found.never_stocked:
        out.print(NEVER_STOCKED.format(names=", ".join(found.never_stocked)), markup=False)


# an amount below zero is a number, not an option
@stock.command("use", context_settings={"ignore_unknown_options": True})
@click.argument("name")
@click.argument("amount", type=float)
@click.option("--by", default="", metavar="NAME", help="Who.")
@click.option("--remark", default="", help="What it was used for.")
@of_book
def use(call: BookCall, name: str, amount: float, by: str, remark: str) -> None:
    """Take an AMOUNT from a lot, in the lot's unit; one below 0 puts a mistake right."""
    from argentry.keeping.stock.lots import use_stock

    _say(call, use_stock(call.folder, name, amount, call.address, by=by, remark=remark))


@stock.command("list")
@click.option("--all", "all_of_them", is_flag=True, help="Also those that are used up.")
@of_book
def list_(call: BookCall, all_of_them: bool) -> None:
    """List what is left, and how many plates of the studio's usual size it will do."""
    from argentry.keeping.stock.lots import list_stock

    found = list_stock(call.folder, call.address, all_of_them=all_of_them)
    if call.emitted(found):
        return
    from argentry.out.stock_words import noted, stock_notes, will_do

    screen = console()
    if found.lots:
        from rich.markup import escape

        from argentry.out.learning.words import plain_table

        table = plain_table("Lot", "Left", "Came in", "From", "Plates")
        for row in found.lots:
            table.add_row(
                escape(row.name),
                escape(noted(row.left, row.unit)),
                escape(f"{row.received_on}, {noted(row.amount, row.unit)}"),
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
