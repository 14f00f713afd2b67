"""``argentry recipe``: amounts of a bath, and what must never be mixed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import console, emitted, json_option, said_basis, table

if TYPE_CHECKING:
    from argentry.needs.recipe import Mixture

RATIO = "{ratio:.1f} thiosulfate for each gold; four is the least."
KEEPS = "Use it once, within {hours:g} h."
NOT_KNOWN = "not known here"
IN_PART = "{held}; {words!r} is not known here"
SOURCE = "Source ({basis}): {m.source}."


@click.group()
def recipe() -> None:
    """Amounts of a fixing or gilding bath, and what must never be mixed."""


@recipe.command("check")
@click.argument("ingredients", nargs=-1, required=True, metavar="INGREDIENT...")
@json_option
def check(ingredients: tuple[str, ...], as_json: bool) -> None:
    """Refuse a mixture that explodes or poisons; name each ingredient, by name or formula."""
    from argentry.needs.recipe import recipe_check

    data = recipe_check(ingredients)
    if emitted(data, as_json):
        return
    for one in data.ingredients:
        held = ", ".join(one.holds)
        if held and one.not_known:
            held = IN_PART.format(held=held, words=" ".join(one.not_known))
        console().print(f"{one.ingredient}: {held or NOT_KNOWN}", markup=False)
    console().print(data.note, markup=False)


@recipe.command("mix")
@click.argument("name", required=False)
@click.option("--ml", type=float, default=100.0, show_default=True, help="Volume wanted. [mL]")
@json_option
def mix(name: str | None, ml: float, as_json: bool) -> None:
    """Scale a published bath to a volume; without NAME, list the baths."""
    from argentry.needs.recipe import recipe_mix, recipe_names

    if name is not None:
        mixture = recipe_mix(name, ml)
        if not emitted(mixture, as_json):
            _show(mixture)
        return
    names = recipe_names()
    if not emitted(names, as_json):
        for row in names.recipes:
            console().print(f"{row.recipe:<15} {row.title}", markup=False)


def _show(data: Mixture) -> None:
    out = console()
    out.print(f"{data.title}, {data.volume_ml:g} mL", markup=False, style="bold")
    numbers = ("g", "in water, mL")
    rows = table("dissolve", *numbers, "as written", right=numbers)
    for part in data.parts:
        grams, water = f"{part.grams:.3g}", f"{part.water_ml:.4g}"
        rows.add_row(part.substance, grams, water, part.as_written)
    out.print(rows)
    if data.thiosulfate_per_gold is not None:
        out.print(RATIO.format(ratio=data.thiosulfate_per_gold), markup=False)
    out.print(data.order, markup=False)
    if data.keeps_hours is not None:
        out.print(KEEPS.format(hours=data.keeps_hours), markup=False)
    for caution in data.cautions:
        out.print(f"Caution: {caution}", markup=False, style="bold")
    out.print(SOURCE.format(m=data, basis=said_basis(data.basis)), markup=False)
