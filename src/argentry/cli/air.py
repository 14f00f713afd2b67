"""``argentry air``: dew point and whether the plate must be warmed."""

from __future__ import annotations

from typing import Any

import click

from argentry.cli.common import console, emit_json, json_option, studio_option, studio_path


@click.command()
@studio_option
@json_option
@click.option("--temp", "temperature_c", type=float, help="Room air, °C (default: the studio's).")
@click.option("--rh", "relative_humidity_pct", type=float, help="Relative humidity, %.")
@click.option("--wet-bulb", "wet_bulb_c", type=float, help="Wet thermometer, fanned, °C.")
@click.option("--plate-temp", "plate_temperature_c", type=float, help="Plate, °C.")
@click.option("--plate-mm", "plate_thickness_mm", type=float, help="Copper thickness, mm.")
@click.option("--warm-place", "warm_place_c", type=float, help="Warm block or cupboard, °C.")
@click.option("--elevation-m", type=float, help="Height above sea level, m, for --wet-bulb.")
@click.pass_context
def air(ctx: click.Context, /, *, as_json: bool, **given: Any) -> None:
    """Dew point of the room, the plate's margin over it, and how long to warm the plate."""
    from argentry.desk.answers.air import room_air
    from argentry.desk.studio import load_studio

    path = studio_path(ctx)
    studio = load_studio(path) if path is not None else None
    answer = room_air(studio=studio, **given)
    if as_json:
        emit_json(answer)
    else:
        _show(answer)


def _show(answer: dict[str, Any]) -> None:
    from rich import box
    from rich.table import Table

    from argentry.desk.answers.air import minutes_in_words

    out = console()
    low, high = answer["dew_point_80"]
    word = "Dry" if answer["safe"] else "Warm the plate first"
    out.print(
        f"[bold]{word}.[/] The plate at {answer['plate_temperature_c']:.1f} °C is "
        f"{answer['margin_k']:+.1f} K from the dew point; "
        f"{answer['wanted_margin_k']:g} K is wanted."
    )
    table = Table(box=box.SIMPLE, show_header=False, pad_edge=False)
    table.add_column()
    table.add_column()
    table.add_row(
        "room", f"{answer['temperature_c']:.1f} °C, {answer['relative_humidity_pct']:.0f} %"
    )
    table.add_row(
        "dew point",
        f"{answer['dew_point_c']:.1f} °C ({low:.1f} to {high:.1f} by a usual hygrometer's error)",
    )
    if not answer["safe"]:
        table.add_row(
            "warm to",
            f"{answer['warm_to_c']:.1f} °C, about "
            f"{minutes_in_words(answer['warm_minutes'])} ({answer['warm_in']})",
        )
    out.print(table)
    for sentence in answer["advice"]:
        out.print(sentence)
