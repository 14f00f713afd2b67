"""``argentry mix``: solutions for so many plates, dilutions, and old measures."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    CELSIUS,
    console,
    emitted,
    json_option,
    said_basis,
    say,
    studio_option,
    studio_path,
    table,
)
from argentry.errors import BadInput

if TYPE_CHECKING:
    from argentry.needs.materials.dilution import Diluted
    from argentry.needs.materials.mixing import Portion

HEAD = (
    "{p.title}: {p.volume_ml:.0f} mL ({p.us_pints:.2f} US pints, {p.imperial_pints:.2f} imperial)"
)
EACH = "{p.step}: {p.each_ml:.0f} mL at a time"
DEEP = "{p.step}: {p.each_ml:.0f} mL at a time, {p.depth_mm:.1f} mm deep"
RATIO = "{ratio:.2f} thiosulfate for each gold ({low:.2f} to {high:.2f}); four is the least."
KEEPS = "Use it once, within {hours:g} h."
STEP = "{number}. {words}"
POUR = "Take {d.first_ml:.1f} mL of the stronger and {d.second_ml:.1f} mL of {other}."
MAKES = "Together they make {d.volume_ml:.0f} mL."
WARM = "The mixture has about {d.temperature_c:.1f} °C."
SOURCE = "Source ({basis}): {p.source}."
CAUTION = "Caution: {text}"


@click.group()
def mix() -> None:
    """Solutions for your plates, dilutions, and grains and pints."""


@mix.command("plates")
@click.argument("recipes", nargs=-1, metavar="[RECIPE]...")
@click.option("--plates", type=int, default=1, show_default=True, help="How many plates.")
@click.option("--size", "sizes", multiple=True, metavar="SIZE", help="quarter, or quarter=2.")
@click.option("--depth-mm", type=float, help="Liquid over the plate, mm.")
@click.option("--balance-g", type=float, help="Step of your balance, g.")
@click.option("--spare-pct", type=float, default=0.0, help="Mix so much more, %.")
@click.option("--instead", multiple=True, metavar="WRITTEN=OWNED", help="A salt for another.")
@click.option("--purity", type=float, default=1.0, help="Purity of the salts in --instead, 0 to 1.")
@click.option("--room", "room_c", type=CELSIUS, default=20.0, help="Wanted temperature, °C.")
@click.option("--file", "file", type=click.Path(path_type=Path), help="Your own recipes.")
@studio_option
@json_option
@click.pass_context
def plates_(
    ctx: click.Context,
    /,
    *,
    recipes: tuple[str, ...],
    plates: int,
    sizes: tuple[str, ...],
    depth_mm: float | None,
    balance_g: float | None,
    spare_pct: float,
    instead: tuple[str, ...],
    purity: float,
    room_c: float,
    file: Path | None,
    as_json: bool,
) -> None:
    """Amounts of every solution that some plates need, as your balance weighs them."""
    from argentry.keeping.stock.mixing import mix_for

    if number := next((one for one in recipes if one.isdecimal()), None):
        right = "for so many plates write --plates {number}"
        raise BadInput("recipe", "{number} is not a recipe", right, number=number)
    answer = mix_for(
        studio_path(ctx), recipes, plates, sizes, file,
        depth_mm=depth_mm, balance_g=balance_g, spare_pct=spare_pct, instead=instead,
        purity=purity, room_c=room_c,
    )  # fmt: skip
    if emitted(answer, as_json):
        return
    for one in answer.portions:
        _show(one)


def _show(one: Portion) -> None:
    out = console()
    out.print(HEAD.format(p=one), markup=False, style="bold")
    out.print((EACH if one.depth_mm is None else DEEP).format(p=one), markup=False)
    heads = ("weigh", "g", "exactly, g", "grains", "oz", "within, %")
    rows = table(*heads, right=heads[1:])
    for w in one.weighings:
        told = (f"{w.weigh_g:g}", f"{w.grams:.4g}", f"{w.grains:.4g}", f"{w.ounces:.3g}")
        rows.add_row(w.name, *(_written_out(one) for one in told), f"{w.error_pct:.2g}")
    out.print(rows)
    for number, words in enumerate(one.do, 1):
        out.print(STEP.format(number=number, words=words), markup=False)
    out.print(one.order, markup=False)
    if one.thiosulfate_per_gold is not None and one.thiosulfate_per_gold_range is not None:
        low, high = one.thiosulfate_per_gold_range
        out.print(RATIO.format(ratio=one.thiosulfate_per_gold, low=low, high=high), markup=False)
    if one.keeps_hours is not None:
        out.print(KEEPS.format(hours=one.keeps_hours), markup=False)
    for note in one.notes:
        out.print(note, markup=False)
    for caution in one.cautions:
        out.print(CAUTION.format(text=caution), markup=False, style="bold")
    out.print(SOURCE.format(p=one, basis=said_basis(one.basis)), markup=False)


def _written_out(figures: str) -> str:
    """Return a number without a power of ten: ``1.543e+04`` as ``15430``."""
    return format(Decimal(figures), "f")


@mix.command("dilute")
@click.argument("strong", type=float)
@click.argument("wanted", type=float)
@click.argument("ml", type=float)
@click.option("--weak", type=float, default=0.0, help="The other strength; 0 for water.")
@click.option(
    "--temp",
    "temperatures",
    type=CELSIUS,
    multiple=True,
    help="Temperature of each, the stronger first: give it twice, °C.",
)
@json_option
def dilute(
    strong: float, wanted: float, ml: float, weak: float, temperatures: tuple[float, ...],
    as_json: bool,
) -> None:  # fmt: skip
    """Make ML of the WANTED strength from a STRONG one and a weak one or water."""
    from argentry.needs.materials.dilution import dilution

    other = "the weaker" if weak else "water"
    _pour(dilution(strong, wanted, ml, weak, temperatures), as_json, other)


@mix.command("spirit")
@click.argument("have", type=float)
@click.argument("wanted", type=float)
@click.argument("ml", type=float)
@json_option
def spirit(have: float, wanted: float, ml: float, as_json: bool) -> None:
    """Thin spirit of HAVE per cent by volume to WANTED, by the alcohol tables."""
    from argentry.needs.materials.dilution import spirit as thinned

    _pour(thinned(have, wanted, ml), as_json)


def _pour(answer: Diluted, as_json: bool, other: str = "water") -> None:
    if emitted(answer, as_json):
        return
    say(POUR.format(d=answer, other=other))
    say(MAKES.format(d=answer))
    if answer.temperature_c is not None:
        say(WARM.format(d=answer))


@mix.command("convert")
@click.argument("amount", nargs=-1, required=True)
@json_option
def convert(amount: tuple[str, ...], as_json: bool) -> None:
    """Write an AMOUNT such as 15 gr or 1 US pint in today's and the old measures."""
    from argentry.needs.materials.dilution import converted

    answer = converted(" ".join(amount))
    if emitted(answer, as_json):
        return
    for one in answer.also:
        click.echo(f"{one.amount:.6g} {one.unit}")
