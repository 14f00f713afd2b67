"""``argentry bath``: what was mixed, what went through it, how old it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_time,
    say,
    used_with,
)
from argentry.out.stock_words import amount as in_words
from argentry.out.stock_words import bath_lasts
from argentry.out.wording import plates

if TYPE_CHECKING:
    from argentry.keeping.stock.baths import BathNow

BATH = "Bath {b.name}: {b.title}, {b.volume_ml:g} mL"
TAKEN = (
    "Taken from stock for all plates of this bath: {amount} of {lot}; if it was not: argentry "
    "stock undo {lot!r}"
)
LACKING = (
    "The opened lots lack {amount} of {lot} for such a bath: weigh the lot (argentry stock weigh), "
    "or note the one that you took it from (argentry stock new)."
)
NO_BATHS = "No baths. Note one: argentry bath new NAME RECIPE --volume-ml 500"
AGE = "{days} days"
GONE = "Bath {name} is discarded: {through}"
AREA = "{b.area_cm2_through:.0f} cm² ({b.area_cm2_per_litre:.0f} cm² per litre)"


@click.group()
def bath() -> None:
    """Note baths mixed, used, timed and discarded. Amounts are in: argentry mix."""


@bath.command("new")
@click.argument("name")
@click.argument("recipe")
@click.option("--volume-ml", type=float, required=True, help="Volume in millilitres.")
@click.option("--mixed", metavar="TIME", help="When, in the studio's zone (default: now).")
@of_book
def new(call: BookCall, name: str, recipe: str, volume_ml: float, mixed: str | None) -> None:
    """Note a bath mixed by a RECIPE of argentry recipe, or in your own words."""
    from argentry.keeping.stock.baths import note_bath

    moment = None if mixed is None else read_time("--mixed", mixed)
    noted = note_bath(call.folder, name, recipe, volume_ml, call.address, mixed_at=moment)
    made = noted.bath
    if call.emitted(made):
        return
    say(BATH.format(b=made))
    for lot, amount, unit in noted.taken:
        say(TAKEN.format(amount=in_words(amount, unit), lot=lot))
    if noted.lacking:
        lot, amount, unit = noted.lacking
        say(LACKING.format(amount=in_words(amount, unit), lot=lot))
    for caution in made.cautions:
        click.echo(f"Caution: {caution}")


@bath.command("use")
@click.argument("name")
@click.argument("labels", metavar="[PLATE]...", nargs=-1)
@click.option("--count", type=int, help="How many plates that are not in the book.")
@click.option("--size", help="Their size (default: the studio's usual).")
@click.option("--by", default="", metavar="NAME", help="Who.")
@of_book
def use(
    call: BookCall, name: str, labels: tuple[str, ...], count: int | None, size: str | None, by: str
) -> None:
    """Note that plates went through a bath."""
    from argentry.keeping.stock.baths import use_bath

    used_with({"size": ("count",)})
    now = use_bath(call.folder, name, call.address, labels=labels, count=count, size=size, by=by)
    if not call.emitted(now):
        say(f"Bath {now.name}: {_through(now)}")
        if lasts := bath_lasts(now):
            say(lasts)


@bath.command("clearing")
@click.argument("name")
@click.argument("seconds", type=float)
@of_book
def clearing(call: BookCall, name: str, seconds: float) -> None:
    """Note in how many SECONDS a coated waste plate cleared; the first is the fresh time."""
    from argentry.keeping.stock.baths import note_clearing

    now = note_clearing(call.folder, name, seconds, call.address)
    if not call.emitted(now):
        say(f"Bath {now.name}: {bath_lasts(now)}")


@bath.command("list")
@click.option("--all", "all_of_them", is_flag=True, help="Also those that were discarded.")
@of_book
def list_(call: BookCall, all_of_them: bool) -> None:
    """List the baths with their age and what went through them."""
    from argentry.keeping.stock.baths import list_baths

    found = list_baths(call.folder, call.address, all_of_them=all_of_them)
    if call.emitted(found):
        return
    if not found.baths:
        click.echo(NO_BATHS)
        return
    from rich.markup import escape

    from argentry.needs.materials.bath_life import days_told
    from argentry.out.learning.words import plain_table

    table = plain_table("Bath", "Recipe", "Volume", "Age", "Through it", "")
    for row in found.baths:
        table.add_row(
            escape(row.name),
            escape(row.title),
            f"{row.volume_ml:g} mL",
            AGE.format(days=days_told(row.age_days)),
            _through(row),
            "discarded" if row.discarded_at else "",
        )
    console().print(table)
    for row in found.baths:
        if row.life is not None and row.discarded_at is None:
            say(f"{row.name}: {bath_lasts(row)}")


@bath.command("discard")
@click.argument("name")
@of_book
def discard(call: BookCall, name: str) -> None:
    """Note that a bath was disposed of, as your local code says."""
    from argentry.keeping.stock.baths import discard_bath

    gone = discard_bath(call.folder, name, call.address)
    if not call.emitted(gone):
        say(GONE.format(name=gone.name, through=_through(gone)))


def _through(bath: BathNow) -> str:
    return f"{plates(bath.plates_through)}, {AREA.format(b=bath)}"
