"""``argentry bath``: what was mixed, what went through it, how old it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.book_option import book_option
from argentry.cli.common import (
    console,
    emit_json,
    json_option,
    read_time,
    studio_option,
    studio_path,
)

if TYPE_CHECKING:
    from argentry.desk.stock.baths import BathNow

BATH = "Bath {b.name}: {b.title}, {b.volume_ml:g} mL"
NO_BATHS = "No baths. Note one: argentry bath new NAME RECIPE --volume-ml 500"
GONE = "Bath {name} is discarded: {through}"
AREA = "{b.area_cm2_through:.0f} cm² ({b.area_cm2_per_litre:.0f} cm² per litre)"


@click.group()
def bath() -> None:
    """Note baths mixed, used and discarded. Amounts are in: argentry recipe."""


@bath.command("new")
@click.argument("name")
@click.argument("recipe")
@click.option("--volume-ml", type=float, required=True, help="Volume in millilitres.")
@click.option("--mixed", metavar="TIME", help="When, in the studio's zone (default: now).")
@studio_option
@book_option
@json_option
@click.pass_context
def new(
    ctx: click.Context,
    name: str,
    recipe: str,
    volume_ml: float,
    mixed: str | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Note a bath mixed by a RECIPE of argentry recipe, or in your own words."""
    from argentry.desk.stock.baths import new_bath

    moment = None if mixed is None else read_time("--mixed", mixed)
    made = new_bath(studio_path(ctx), name, recipe, volume_ml, address, mixed_at=moment)
    if as_json:
        emit_json(made)
        return
    click.echo(BATH.format(b=made))
    for caution in made.cautions:
        click.echo(f"Caution: {caution}")


@bath.command("use")
@click.argument("name")
@click.argument("labels", metavar="[PLATE]...", nargs=-1)
@click.option("--count", type=int, help="So many plates that are not in the book.")
@click.option("--size", help="Their size (default: the studio's usual).")
@click.option("--by", default="", metavar="NAME", help="Who.")
@studio_option
@book_option
@json_option
@click.pass_context
def use(
    ctx: click.Context,
    name: str,
    labels: tuple[str, ...],
    count: int | None,
    size: str | None,
    by: str,
    address: str | None,
    as_json: bool,
) -> None:
    """Note that plates went through a bath."""
    from argentry.desk.stock.baths import use_bath

    now = use_bath(studio_path(ctx), name, address, labels=labels, count=count, size=size, by=by)
    if as_json:
        emit_json(now)
    else:
        click.echo(f"Bath {now.name}: {_through(now)}")


@bath.command("list")
@click.option("--all", "all_of_them", is_flag=True, help="Also those that were discarded.")
@studio_option
@book_option
@json_option
@click.pass_context
def list_(ctx: click.Context, all_of_them: bool, address: str | None, as_json: bool) -> None:
    """List the baths with their age and what went through them."""
    from argentry.desk.stock.baths import list_baths

    found = list_baths(studio_path(ctx), address, all_of_them=all_of_them)
    if as_json:
        emit_json(found)
        return
    if not found.baths:
        click.echo(NO_BATHS)
        return
    from rich.markup import escape

    from argentry.out.learning.words import plain_table

    table = plain_table("Bath", "Recipe", "Volume", "Age", "Through it", "")
    for row in found.baths:
        table.add_row(
            escape(row.name),
            escape(row.title),
            f"{row.volume_ml:g} mL",
            f"{row.age_days:.1f} days",
            _through(row),
            "discarded" if row.discarded_at else "",
        )
    console().print(table)


@bath.command("discard")
@click.argument("name")
@studio_option
@book_option
@json_option
@click.pass_context
def discard(ctx: click.Context, name: str, address: str | None, as_json: bool) -> None:
    """Note that a bath was disposed of, as your local code says."""
    from argentry.desk.stock.baths import discard_bath

    gone = discard_bath(studio_path(ctx), name, address)
    if as_json:
        emit_json(gone)
    else:
        click.echo(GONE.format(name=gone.name, through=_through(gone)))


def _through(bath: BathNow) -> str:
    from argentry.out.wording import plates

    return f"{plates(bath.plates_through)}, {AREA.format(b=bath)}"
