"""``argentry cost``: what a plate and a good plate cost, and what a failure less would save."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, of_book, read_day

if TYPE_CHECKING:
    from argentry.keeping.stock.cost import Cost

HEAD = "{plates} from {one.first} to {one.last}, {one.good} of them good, {hours}"
NO_PLATES = "No plate was made from {one.first} to {one.last}."
FAILED = "Plates lost or worth a study cost {money}."
SAVES = "One failure less in ten would save {each} on every good plate, {all} over these days."
NOT_PRICED = "No price is noted for {name}: argentry stock note {name!r} --price N"


@click.command()
@click.option("--from", "first", metavar="DATE", help="First day (default: a year back).")
@click.option("--until", "last", metavar="DATE", help="Last day (default: today).")
@of_book
def cost(call: BookCall, first: str | None, last: str | None) -> None:
    """Show what plates cost: by silver, gold, glass and hours, by grade, and by failures."""
    from argentry.keeping.stock.cost import cost as found_cost

    found = found_cost(
        call.folder,
        call.address,
        first=read_day("--from", first),
        last=read_day("--until", last),
    )
    if not call.emitted(found):
        _show(found)


def _show(one: Cost) -> None:
    from rich.markup import escape

    from argentry.out.learning.words import plain_table
    from argentry.out.stock_words import money
    from argentry.out.wording import counted

    out = console()
    if not one.plates:
        out.print(NO_PLATES.format(one=one), markup=False)
        if not one.total:
            return
    else:
        hours = "{hours:.0f} h of hands".format(hours=one.hours)
        made = counted(one.plates, "plate")
        out.print(HEAD.format(one=one, plates=made, hours=hours), markup=False)
    table = plain_table("Part", "All", "By the plate", "By the good plate", "")
    for part in one.parts:
        cells = (money(x, one.currency) for x in (part.total, part.per_plate, part.per_good))
        table.add_row(part.part, *map(escape, cells), part.basis)
    cells = (money(x, one.currency) for x in (one.total, one.per_plate, one.per_good))
    table.add_row("all", *map(escape, cells), "")
    out.print(table)
    if one.grades:
        table = plain_table("Grade", "Plates", "By the plate", "All")
        for grade in one.grades:
            each, total = money(grade.per_plate, one.currency), money(grade.total, one.currency)
            table.add_row(grade.grade, str(grade.plates), escape(each), escape(total))
        out.print(table)
        out.print(FAILED.format(money=money(one.failures, one.currency)), markup=False)
    if one.one_less_saves_per_good is not None:
        each = money(one.one_less_saves_per_good, one.currency)
        every = money(one.one_less_saves, one.currency)
        out.print(SAVES.format(each=each, all=every), markup=False)
    for name in one.not_priced:
        out.print(NOT_PRICED.format(name=name), markup=False)
    for note in one.notes:
        out.print(note, markup=False)
