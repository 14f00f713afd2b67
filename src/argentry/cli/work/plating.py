"""``argentry plating``: silver by current, by weighing, and what is left of it on each plate."""

from __future__ import annotations

import click

from argentry.cli.common import BookCall, console, emitted, json_option, of_book, say, used_with
from argentry.records.studio import USUAL_SIZE

HEAD = "{p.area_cm2:.0f} cm² take silver; {p.silver_g:.2f} g in all, {p.each_plate_g:.2f} g a plate"
LAYER = (
    "{y.name}: {y.um:.2f} µm ({y.um_low:.2f} to {y.um_high:.2f}) in {y.minutes:.1f} min at "
    "{y.current_a:.2f} A ({y.density_a_dm2:.2f} A/dm²), {y.ampere_hours:.3f} Ah"
)
GAINED = "{w.um:.2f} µm ({w.um_low:.2f} to {w.um_high:.2f}) of silver, {w.silver_g:.3f} g"
SHARE = "Efficiency {percent:.0f} %"
LOST = (
    "{um:.2f} µm ({low:.2f} to {high:.2f}) of silver came off, {grams:.3f} g; with --passes it "
    "says what one repolish takes"
)
EACH = "One repolish takes {w.each_um:.2f} µm ({w.each_low:.2f} to {w.each_high:.2f})."
TAKES = "One repolish takes {w.each_um:.2f} ± {w.each_sd_um:.2f} µm ({known})."
SEED, LEARNED = "a starting value: weigh plates", "from {count} weighings"
CHOOSE = "Choose first: {plates}"
WORN_NOW, THIN = "worn", "thin: no repolish"
WORN = "Worn, have them silvered again: {plates}"
TOO_THIN = "Silvered thin, for one picture: {plates}"
NO_PLATES = "No plates. Add one: argentry plate new LABEL --silver-um 12"


@click.group()
def plating() -> None:
    """Silver by current, by weighing, and what is left on each plate. No bath is guided."""


@plating.command("current")
@click.option("--size", default=USUAL_SIZE, show_default=True, help="Size of the plates.")
@click.option("--plates", type=int, default=1, show_default=True, help="How many hang together.")
@click.option("--um", type=float, help="Silver wanted, µm (default: the trade's).")
@click.option("--minutes", type=float, help="Time in place of the thickness, min.")
@click.option(
    "--sides",
    type=int,
    default=2,
    show_default=True,
    help="Sides that take silver: 1 with masked backs.",
)
@click.option("--rack-cm2", type=float, default=0.0, help="Bare clips and racks, cm².")
@click.option("--density", "density_a_dm2", type=float, help="Current density, A/dm².")
@click.option("--amps", "current_a", type=float, help="The current itself, A.")
@click.option("--efficiency", type=float, help="Share of the current that deposits silver, to 1.")
@click.option("--strike-um", type=float, default=0.0, help="A first thin layer, µm.")
@click.option("--strike-density", "strike_density_a_dm2", type=float, help="For it, A/dm².")
@json_option
def current(*, as_json: bool, size: str, plates: int, **how: float) -> None:
    """Work out current, time and silver for some plates; metal and current only."""
    from argentry.needs.materials.plating import plating_plan

    used_with({"strike_density_a_dm2": ("strike_um",)})
    answer = plating_plan(size, plates, **how)  # type: ignore[arg-type]
    if emitted(answer, as_json):
        return
    say(HEAD.format(p=answer))
    for layer in answer.layers:
        say(LAYER.format(y=layer))
    for words in answer.advice:
        say(words)
    click.echo(f"Caution: {answer.caution}")


@plating.command("weigh")
@click.argument("before", type=float)
@click.argument("after", type=float)
@click.option("--size", default=USUAL_SIZE, show_default=True, help="Size of the plate.")
@click.option("--sides", type=int, default=2, show_default=True, help="Sides that gained or lost.")
@click.option("--balance-sd", "balance_sd_g", type=float, help="Doubt of one weighing, g.")
@click.option("--ah", "ampere_hours", type=float, help="Ampere hours, for the efficiency.")
@click.option("--passes", type=int, help="It was taken off in so many repolishes.")
@json_option
def weigh(*, as_json: bool, before: float, after: float, size: str, **how: float) -> None:
    """Thickness from weighing the dry plate BEFORE and AFTER, in grams."""
    from argentry.needs.materials.plating import weighed

    answer = weighed(before, after, size, **how)  # type: ignore[arg-type]
    if emitted(answer, as_json):
        return
    if answer.um < 0.0:
        less = {"low": -answer.um_high, "high": -answer.um_low, "grams": -answer.silver_g}
        say(LOST.format(um=-answer.um, **less))
        return
    say(GAINED.format(w=answer))
    if answer.efficiency is not None:
        say(SHARE.format(percent=100.0 * answer.efficiency))
    if answer.each_um is not None:
        say(EACH.format(w=answer))


@plating.command("plates")
@of_book
def plates_(call: BookCall) -> None:
    """Silver left on each plate of the book, and which to choose or to have silvered again."""
    from argentry.keeping.plates.wear import list_wear

    found = list_wear(call.folder, call.address)
    if call.emitted(found):
        return
    if not found.plates:
        click.echo(NO_PLATES)
        return
    from rich.markup import escape

    from argentry.out.learning.words import plain_table

    table = plain_table("Plate", "Size", "Plated", "Repolished", "Left", "Repolishes left", "")
    for row in found.plates:
        known = row.left_um is not None
        table.add_row(
            escape(row.plate),
            row.size,
            "" if row.silver_um is None else f"{row.silver_um:g} µm",
            f"{row.repolishes} ×",
            f"{row.left_um:.1f} µm ({row.left_low_um:.1f}–{row.left_high_um:.1f})" if known else "",
            f"{row.repolishes_left:.0f} ({row.repolishes_left_low:.0f}–"
            f"{row.repolishes_left_high:.0f})"
            if known
            else "",
            (WORN_NOW if row.repolishes else THIN) if row.worn else "",
        )
    console().print(table)
    basis = LEARNED.format(count=found.weighed) if found.weighed else SEED
    say(TAKES.format(w=found, known=basis))
    if found.choose:
        say(CHOOSE.format(plates=", ".join(found.choose[:10])))
    fresh = {row.plate for row in found.plates if not row.repolishes}
    for words, plates in (
        (WORN, [one for one in found.worn if one not in fresh]),
        (TOO_THIN, [one for one in found.worn if one in fresh]),
    ):
        if plates:
            say(words.format(plates=", ".join(plates)))
