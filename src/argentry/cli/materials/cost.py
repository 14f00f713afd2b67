"""``argentry cost``: what a plate and a good plate cost, and what a failure less would save."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, of_book, read_day

if TYPE_CHECKING:
    from argentry.keeping.stock.cost import Cost


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
    from argentry.out.stock_words import NOT_PRICED, cost_head, cost_lines, grade_rows, part_rows

    out = console()
    out.print(cost_head(one), markup=False)
    rows = part_rows(one)
    if not rows:
        return
    table = plain_table("Part", "All", "Per plate", "Per good plate", "")
    for row in rows:
        table.add_row(*map(escape, row))
    out.print(table)
    if one.grades:
        table = plain_table("Grade", "Plates", "Per plate", "All")
        for row in grade_rows(one):
            table.add_row(*map(escape, row))
        out.print(table)
    for line in cost_lines(one, NOT_PRICED):
        out.print(line, markup=False)
