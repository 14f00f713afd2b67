"""``argentry studio new`` and ``argentry studio check``: make a studio folder, check one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    METRES,
    console,
    emit_json,
    emitted,
    json_option,
    studio_option,
    studio_path,
    used_with,
)
from argentry.cli.planning.weather import ask_for_weather
from argentry.keeping.studio import StudioCheck, check_studio, new_studio

if TYPE_CHECKING:
    from argentry.keeping.weather import WeatherFile
    from argentry.records.instruments import DevelopmentFrame, IodineBox, Lens
    from argentry.records.studio import Hours, Site, Studio

WROTE = """Wrote {file}
It works as it is, on examples: {count} values are marked 'change me'.
Next:"""
NOTE, NONE_FOUND = "Note: {note}", "No mistakes found."
ROOM = "{r.temperature_c:g} °C, {r.relative_humidity_pct:g} % humidity"
PLATE = "{h.plate_size}, coat {h.coat_nm:g} nm"
PLACE = "{s.name}, {latitude:g}° {ns} {longitude:g}° {ew}, {s.elevation_m:g} m, {s.time_zone}"
FREE, SKYLINE = "free", "{count} points, highest {highest:g}°"
PASSES = "passes {percent:.0f} % of exposure light"
LENS = "{lens.name}: f/{lens.f_number:g}, {lens.focal_length_mm:g} mm, {glass}"
ROOM_WARM, HELD = "at room temperature", "held at {celsius:g} °C"
BOX = (
    "{box.name}: gap {box.gap_mm:g} mm, crystals on {box.crystal_area_cm2:g} of "
    "{box.floor_area_cm2:g} cm², {held}, box factor {box.box_factor:g}"
)
IN_SUN = "in the sun"
FRAME = "{frame.count} × {frame.name}: passes from {frame.cut_on_nm:g} nm, {light}"
SPAN, ANY_YEAR = "{w.from_utc} to {w.to_utc}", "any year, by month and day"
IN_PART = "{name} ({percent:.0f} % of rows)"
WEATHER = "{w.source}: {w.kind}, {span}, {w.intervals} intervals of {w.step_minutes:g} min; {known}"
ONE_HAND, HANDS = "1 pair of hands", "{count} pairs of hands"
BREAK = ", break {start} to {end}"
HOURS = "{h.start} to {h.end}, {hands}{breaks}"


@click.group()
def studio() -> None:
    """Make or check a studio folder: place, lenses, boxes, frames, room, water."""


@studio.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--name", help="Name of the studio.")
@click.option("--lat", type=float, help="Latitude in degrees, north positive.")
@click.option("--lon", type=float, help="Longitude in degrees, east positive.")
@click.option("--elevation-m", type=METRES, help="Height above sea level in metres.")
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
    given = {"--name": name, "--lat": lat, "--lon": lon, "--elevation-m": elevation_m, "--tz": tz}
    made = new_studio(folder, given)
    if emitted(made, as_json):
        return
    click.echo(WROTE.format(file=made.file, count=len(made.change)))
    for line in made.next:
        click.echo(f"  {line}")
    ask_for_weather(folder)


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
    used_with({"mapping": ("weather",)})
    if folder is not None:
        ctx.ensure_object(dict)["studio_dir"] = str(folder)
    result = check_studio(folder or studio_path(ctx) or Path(), weather, mapping)
    if as_json:
        emit_json(result)
    for mistake in result.mistakes:
        click.echo(f"argentry: {mistake.sentence}", err=True)
    if not result.ok:
        ctx.exit(2)
    if not as_json:
        _show(result)


def _show(result: StudioCheck) -> None:
    from rich.box import SIMPLE
    from rich.markup import escape
    from rich.table import Table

    assert result.studio is not None
    table = Table(box=SIMPLE, show_header=False, pad_edge=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    rows = _rows(result.studio)
    if result.weather is not None:
        rows.append(("Weather", _weather(result.weather)))
    for label, text in rows:
        table.add_row(label, escape(text))
    screen = console()
    screen.print(table)
    for note in result.notes:
        screen.print(NOTE.format(note=note), markup=False)
    screen.print(NONE_FOUND)


def _rows(studio: Studio) -> list[tuple[str, str]]:
    """Return the summary, one line per thing, in plain words."""
    return [
        ("Studio", studio.name),
        ("Place", _place(studio.site)),
        ("Skyline", _skyline(studio.site.horizon)),
        *(("Lens", _lens(lens)) for lens in studio.lenses),
        *(("Iodine box", _box(box)) for box in studio.boxes),
        *(("Frame", _frame(frame)) for frame in studio.frames),
        ("Room", ROOM.format(r=studio.room)),
        ("Water", studio.water.kind),
        ("Hours", _hours(studio.hours)),
        ("Usual plate", PLATE.format(h=studio.habits)),
    ]


def _place(site: Site) -> str:
    return PLACE.format(
        s=site,
        latitude=abs(site.latitude_deg),
        ns="N" if site.latitude_deg >= 0 else "S",
        longitude=abs(site.longitude_deg),
        ew="E" if site.longitude_deg >= 0 else "W",
    )


def _skyline(pairs: tuple[tuple[float, float], ...]) -> str:
    if not pairs:
        return FREE
    return SKYLINE.format(count=len(pairs), highest=max(elevation for _, elevation in pairs))


def _lens(lens: Lens) -> str:
    share = lens.near_uv_transmission
    return LENS.format(
        lens=lens, glass=lens.glass if share is None else PASSES.format(percent=100 * share)
    )


def _box(box: IodineBox) -> str:
    held = box.temperature_c
    return BOX.format(box=box, held=ROOM_WARM if held is None else HELD.format(celsius=held))


def _frame(frame: DevelopmentFrame) -> str:
    light = IN_SUN if frame.lamp is None else frame.lamp.words
    return FRAME.format(frame=frame, light=light)


def _weather(sky: WeatherFile) -> str:
    known = ", ".join(
        name if share == 1 else IN_PART.format(name=name, percent=100 * share)
        for name, share in sky.known.items()
    )
    span = ANY_YEAR if sky.kind == "typical year" else SPAN.format(w=sky)
    return WEATHER.format(w=sky, span=span, known=known)


def _hours(hours: Hours) -> str:
    hands = (ONE_HAND if hours.workers == 1 else HANDS).format(count=hours.workers)
    breaks = "".join(BREAK.format(start=start, end=end) for start, end in hours.breaks)
    return HOURS.format(h=hours, hands=hands, breaks=breaks)
