"""``argentry air``: dew point and whether the plate must be warmed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import (
    CELSIUS,
    METRES,
    MM,
    console,
    emit_json,
    json_option,
    studio_option,
    studio_path,
)

if TYPE_CHECKING:
    from argentry.needs.air import RoomAir


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
@click.pass_context
def air(ctx: click.Context, /, *, as_json: bool, **given: Any) -> None:
    """Dew point of the room, the plate's margin over it, and how long to warm the plate."""
    from argentry.desk.studio import load_studio
    from argentry.needs.air import room_air

    path = studio_path(ctx)
    studio = load_studio(path) if path is not None else None
    answer = room_air(studio=studio, **given)
    if as_json:
        emit_json(answer)
    else:
        _show(answer)


HEAD = (
    "[bold]{word}[/] The plate at {a.plate_temperature_c:.1f} °C is {a.margin_k:+.1f} K from the "
    "dew point; {a.wanted_margin_k:g} K is wanted."
)
DRY, WARM = "Dry.", "Warm the plate first."
ROOM = "{a.temperature_c:.1f} °C, {a.relative_humidity_pct:.0f} %"
DEW = "{a.dew_point_c:.1f} °C ({low:.1f} to {high:.1f} °C by a usual hygrometer's error)"
WARM_TO = "{a.warm_to_c:.1f} °C, about {minutes} ({a.warm_in})"


def _show(answer: RoomAir) -> None:
    from rich import box
    from rich.table import Table

    from argentry.needs.air import minutes_in_words

    out = console()
    low, high = answer.dew_point_80
    out.print(HEAD.format(a=answer, word=DRY if answer.safe else WARM))
    table = Table(box=box.SIMPLE, show_header=False, pad_edge=False)
    table.add_column()
    table.add_column()
    table.add_row("room", ROOM.format(a=answer))
    table.add_row("dew point", DEW.format(a=answer, low=low, high=high))
    if answer.warm_minutes is not None:
        minutes = minutes_in_words(answer.warm_minutes)
        table.add_row("warm to", WARM_TO.format(a=answer, minutes=minutes))
    out.print(table)
    for sentence in answer.advice:
        out.print(sentence)
