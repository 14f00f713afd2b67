"""``argentry air``: dew point and whether the plate must be warmed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import (
    CELSIUS,
    METRES,
    MM,
    console,
    emitted,
    json_option,
    studio_option,
    studio_path,
    table,
    used_with,
)
from argentry.keeping.studio import load_studio

if TYPE_CHECKING:
    from argentry.needs.air import RoomAir

_CAME = ("open_s", "headspace_l", "box_lost_g", "acid_g", "alcohol_ml", "acetone_ml")
USED_WITH = {
    "elevation_m": ("wet_bulb_c",),
    "openings": ("box_l", "headspace_l"),
    "tray_cm2": ("open_s",),
    **dict.fromkeys(("box_days", "hours"), ("box_lost_g",)),
    "minutes": ("alcohol_ml", "acetone_ml"),
    **dict.fromkeys(("room_m3", "air_changes_h", "airing_changes_h"), _CAME),
}


@click.command()
@studio_option
@json_option
@click.option("--temp", "temperature_c", type=CELSIUS, help="Room air, °C (default: the studio's).")
@click.option("--rh", "relative_humidity_pct", type=float, help="Relative humidity, %.")
@click.option("--wet-bulb", "wet_bulb_c", type=CELSIUS, help="Wet thermometer, fanned, °C.")
@click.option("--plate-temp", "plate_temperature_c", type=CELSIUS, help="Plate, °C.")
@click.option("--plate-mm", "plate_thickness_mm", type=MM, help="Copper thickness, mm.")
@click.option("--warm-place", "warm_place_c", type=CELSIUS, help="Warm block or cupboard, °C.")
@click.option("--elevation-m", type=METRES, help="Height above sea level, m, for --wet-bulb.")
@click.option("--box-l", type=float, help="A box to keep dry with silica gel, L.")
@click.option(
    "--openings", type=int, default=1, show_default=True, help="How often the box is opened."
)
@click.option("--open-s", type=float, help="Iodine lay open so long, s.")
@click.option("--tray-cm2", type=float, help="How much of it, cm².")
@click.option("--headspace-l", type=float, help="Air of the iodine box at each opening, L.")
@click.option("--box-lost-g", type=float, help="Weight that the closed box lost, g.")
@click.option("--box-days", type=float, help="Days in which the box lost that weight.")
@click.option("--hours", type=float, help="The leak filled the closed room so long, h.")
@click.option("--acid-g", type=float, help="Hypo crystals that met acid, g.")
@click.option("--alcohol-ml", type=float, help="Alcohol evaporated, mL.")
@click.option("--acetone-ml", type=float, help="Acetone evaporated, mL.")
@click.option("--minutes", type=float, help="Minutes in which they evaporated.")
@click.option("--room-m3", type=float, help="The room, m³.")
@click.option("--air-changes", "air_changes_h", type=float, help="Air changes an hour.")
@click.option("--airing", "airing_changes_h", type=float, help="The same while it is aired.")
@click.pass_context
def air(ctx: click.Context, /, *, as_json: bool, **given: Any) -> None:
    """Show the room's dew point, whether to warm the plate, how things dry, what vapours came."""
    from argentry.needs.air import room_air

    used_with(USED_WITH)
    path = studio_path(ctx)
    studio = load_studio(path) if path is not None else None
    answer = room_air(studio=studio, **given)
    if not emitted(answer, as_json):
        _show(answer)


HEAD = (
    "[bold]{word}[/] The plate at {a.plate_temperature_c:.1f} °C is {apart:.1f} K {side} the dew "
    "point; at least {a.wanted_margin_k:g} K above it is wanted."
)
DRY, WARM = "Dry.", "Warm the plate first."
ROOM = "{a.temperature_c:.1f} °C, {a.relative_humidity_pct:.0f} %"
DEW = "{a.dew_point_c:.1f} °C ({low:.1f} to {high:.1f} °C by a usual hygrometer's error)"
WARM_TO = "{a.warm_to_c:.1f} °C, about {minutes} ({a.warm_in})"

DRIES = (
    "A draining plate dries by itself in about {d.plate_minutes:.0f} minutes, a wiped shelf in "
    "{d.shelf_minutes:.0f}."
)
GEL = "Dry silica gel for a week of the box: about {d.gel_g:.0f} g."
ROOM_OF = "Room of {v.room_m3:g} m³, {v.air_changes_h:g} air changes an hour."
KINDS = {"ceiling": "ceiling", "short": "15 min", "day": "8 h", "escape": "leave the room"}


def _show(answer: RoomAir) -> None:
    from argentry.needs.air import minutes_in_words

    out = console()
    low, high = answer.dew_point_80
    side, apart = "above" if answer.margin_k >= 0.0 else "below", abs(answer.margin_k)
    word = DRY if answer.safe else WARM
    out.print(HEAD.format(a=answer, word=word, side=side, apart=apart))
    rows = table()
    rows.add_row("room", ROOM.format(a=answer))
    rows.add_row("dew point", DEW.format(a=answer, low=low, high=high))
    if answer.warm_minutes is not None:
        minutes = minutes_in_words(answer.warm_minutes)
        rows.add_row("warm to", WARM_TO.format(a=answer, minutes=minutes))
    out.print(rows)
    for sentence in answer.advice:
        out.print(sentence)
    if answer.drying is not None:
        out.print(DRIES.format(d=answer.drying))
        if answer.drying.gel_g is not None:
            out.print(GEL.format(d=answer.drying))
    if answer.vapours is None:
        return
    from argentry.needs.materials.vapours import two_digits

    out.print(ROOM_OF.format(v=answer.vapours))
    limits = table("vapour", "ppm", "limit, ppm", "by", "for", "air, min")
    for one in answer.vapours.vapours:
        for limit in one.limits:
            by = f"{limit.by} {limit.year}"
            wait = f"{limit.minutes_to_air:.0f}" if limit.passed else ""
            limits.add_row(
                one.name, two_digits(one.ppm), f"{limit.ppm:g}", by, KINDS[limit.kind], wait
            )
    out.print(limits)
    for sentence in answer.vapours.advice:
        out.print(sentence)
