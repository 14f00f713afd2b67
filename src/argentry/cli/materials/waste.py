"""``argentry waste``: what was made and is kept, what it holds, against published limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, of_book, read_day, read_time, say

if TYPE_CHECKING:
    from argentry.keeping.stock.waste import LimitCompared, Waste

DAYS = "Waste from {one.first} to {one.last}, by a coat of {one.coat_nm:.3g} nm"
SINCE, NEVER = "Collected last on {when:%Y-%m-%d}.", "Nothing was collected yet."
LIMIT = "{one.name} ({one.year}): {one.mg_per_l:g} mg/L of {one.what}; {word}."
WORDS = {True: "what is kept holds more", False: "what is kept holds less", None: "not known here"}
EXPECTED = "Silver to be expected in what is kept: {silver}."
GONE = "The waste is noted as collected."


@click.group(invoke_without_command=True)
@click.option(
    "--from", "first", metavar="DATE", help="First day (default: the first of this month)."
)
@click.option("--until", "last", metavar="DATE", help="Last day (default: today).")
@of_book
@click.pass_context
def waste(ctx: click.Context, call: BookCall, first: str | None, last: str | None) -> None:
    """Show what waste was made and is kept, and what it holds."""
    if ctx.invoked_subcommand is not None:
        return
    from argentry.keeping.stock.waste import waste as found_waste

    found = found_waste(
        call.folder,
        call.address,
        first=read_day("--from", first),
        last=read_day("--until", last),
    )
    if not call.emitted(found):
        _show(found)


@waste.command("collected")
@click.option("--at", metavar="TIME", help="When, in the studio's zone (default: now).")
@click.option("--by", default="", metavar="NAME", help="Who took it.")
@of_book
def collected(call: BookCall, at: str | None, by: str) -> None:
    """Note that what was kept is gone to whoever takes it."""
    from argentry.keeping.stock.waste import collected as note_collected

    moment = None if at is None else read_time("--at", at)
    found = note_collected(call.folder, call.address, by=by, at=moment)
    if not call.emitted(found):
        say(GONE)


def _show(found: Waste) -> None:
    from rich.markup import escape

    from argentry.out.learning.words import plain_table
    from argentry.out.stock_words import waste_silver, with_ends

    out = console()
    out.print(DAYS.format(one=found), markup=False)
    table = plain_table("Waste", "Plates", "Thrown away", "Silver in", "Kept", "Holds silver")
    for kind in found.kinds:
        went_in, holds = waste_silver(kind)
        table.add_row(
            escape(kind.title),
            str(kind.plates),
            f"{kind.made_ml:g} mL",
            went_in,
            f"{kind.kept_ml:g} mL",
            holds,
        )
    out.print(table)
    for limit in found.limits:
        out.print(_limit(limit), markup=False)
    when = found.collected_at
    out.print(NEVER if when is None else SINCE.format(when=when), markup=False)
    ends = (found.silver_expected_low_g, found.silver_expected_g, found.silver_expected_high_g)
    expected = EXPECTED.format(silver=with_ends(ends, "g"))
    for words in (expected, found.copper, found.recovery, found.note):
        out.print(words, markup=False)


def _limit(one: LimitCompared) -> str:
    return LIMIT.format(one=one, word=WORDS[one.over])
