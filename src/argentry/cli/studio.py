"""``argentry studio new`` and ``argentry studio check``: make a studio folder, check one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from argentry.cli.common import console, emit_json, json_option, studio_option, studio_path


@click.group()
def studio() -> None:
    """Make or check a studio folder: place, lenses, boxes, frames, room, water."""


@studio.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--name", help="Name of the studio.")
@click.option("--lat", type=float, help="Latitude in degrees, north positive.")
@click.option("--lon", type=float, help="Longitude in degrees, east positive.")
@click.option("--elevation-m", type=float, help="Height above sea level in metres.")
@click.option("--tz", help="Time zone of your wall clock, for example Europe/Madrid.")
@json_option
def new(
    folder: Path,
    name: str | None,
    lat: float | None,
    lon: float | None,
    elevation_m: float | None,
    tz: str | None,
    as_json: bool,
) -> None:
    """Write a commented studio.toml into DIR, ready to be edited."""
    from argentry.desk.studio import new_studio

    given = {"--name": name, "--lat": lat, "--lon": lon, "--elevation-m": elevation_m, "--tz": tz}
    made = new_studio(folder, given)
    if as_json:
        emit_json(made)
        return
    click.echo(f"Wrote {made['file']}")
    count = len(made["change"])
    click.echo(f"It works as it is, on examples: {count} values are marked 'change me'.")
    click.echo("Next:")
    for line in made["next"]:
        click.echo(f"  {line}")


@studio.command("check")
@click.argument("folder", metavar="[DIR]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--weather",
    type=click.Path(path_type=Path),
    help="Also check this weather file for the studio.",
)
@click.option(
    "--mapping", type=click.Path(path_type=Path), help="A TOML file that explains its columns."
)
@studio_option
@json_option
@click.pass_context
def check(
    ctx: click.Context,
    folder: Path | None,
    weather: Path | None,
    mapping: Path | None,
    as_json: bool,
) -> None:
    """Read the studio in DIR and show it, or show every mistake in it."""
    from argentry.desk.studio import check_studio

    result = check_studio(folder or studio_path(ctx) or Path(), weather, mapping)
    if as_json:
        emit_json(result)
    for mistake in result["mistakes"]:
        click.echo(f"argentry: {mistake['sentence']}", err=True)
    if not result["ok"]:
        ctx.exit(2)
    if not as_json:
        _show(result)


def _show(result: dict[str, Any]) -> None:
    from rich.box import SIMPLE
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=SIMPLE, show_header=False, pad_edge=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    rows = _rows(result["studio"])
    if result["weather"] is not None:
        rows.append(("Weather", _weather(result["weather"])))
    for label, text in rows:
        table.add_row(label, escape(text))
    screen = console()
    screen.print(table)
    for note in result["notes"]:
        screen.print(f"Note: {note}", markup=False)
    screen.print("No mistakes found.")


def _rows(values: dict[str, Any]) -> list[tuple[str, str]]:
    """Return the summary, one line per thing, in plain words."""
    rows = [("Studio", values["name"]), ("Place", _place(values["site"]))]
    rows.append(("Skyline", _skyline(values["site"]["horizon"])))
    rows += [("Lens", _lens(lens)) for lens in values["lenses"]]
    rows += [("Iodine box", _box(box)) for box in values["boxes"]]
    rows += [("Frame", _frame(frame)) for frame in values["frames"]]
    room, habits = values["room"], values["habits"]
    humidity = f"{room['relative_humidity_pct']:g} % humidity"
    rows.append(("Room", f"{room['temperature_c']:g} °C, {humidity}"))
    rows.append(("Water", values["water"]["kind"]))
    rows.append(("Hours", _hours(values["hours"])))
    rows.append(("Usual plate", f"{habits['plate_size']}, coat {habits['coat_nm']:g} nm"))
    return rows


def _place(site: dict[str, Any]) -> str:
    north = f"{abs(site['latitude_deg']):g}° {'N' if site['latitude_deg'] >= 0 else 'S'}"
    east = f"{abs(site['longitude_deg']):g}° {'E' if site['longitude_deg'] >= 0 else 'W'}"
    return f"{site['name']}, {north} {east}, {site['elevation_m']:g} m, {site['time_zone']}"


def _skyline(pairs: list[tuple[float, float]]) -> str:
    if not pairs:
        return "free"
    return f"{len(pairs)} points, highest {max(elevation for _, elevation in pairs):g}°"


def _lens(lens: dict[str, Any]) -> str:
    share = lens["near_uv_transmission"]
    glass = lens["glass"] if share is None else f"passes {100 * share:.0f} % of exposure light"
    return f"{lens['name']}: f/{lens['f_number']:g}, {lens['focal_length_mm']:g} mm, {glass}"


def _box(box: dict[str, Any]) -> str:
    held = box["temperature_c"]
    air = "at room temperature" if held is None else f"held at {held:g} °C"
    area = f"crystals on {box['crystal_area_cm2']:g} of {box['floor_area_cm2']:g} cm²"
    factor = f"box factor {box['box_factor']:g}"
    return f"{box['name']}: gap {box['gap_mm']:g} mm, {area}, {air}, {factor}"


def _frame(frame: dict[str, Any]) -> str:
    lamp = frame["lamp"]
    light = "in the sun"
    if lamp is not None:
        light = f"{lamp['kind']} lamp, {lamp['power_w']:g} W at {lamp['distance_m']:g} m"
    return f"{frame['count']} × {frame['name']}: passes from {frame['cut_on_nm']:g} nm, {light}"


def _weather(sky: dict[str, Any]) -> str:
    span = f"{sky['from_utc']} to {sky['to_utc']}"
    if sky["kind"] == "typical year":
        span = "any year, by month and day"
    known = ", ".join(
        name if share == 1 else f"{name} ({100 * share:.0f} % of rows)"
        for name, share in sky["known"].items()
    )
    step = f"{sky['intervals']} intervals of {sky['step_minutes']:g} min"
    return f"{sky['source']}: {sky['kind']}, {span}, {step}; {known}"


def _hours(hours: dict[str, Any]) -> str:
    hands = "1 pair of hands" if hours["workers"] == 1 else f"{hours['workers']} pairs of hands"
    breaks = "".join(f", break {start} to {end}" for start, end in hours["breaks"])
    return f"{hours['start']} to {hours['end']}, {hands}{breaks}"
