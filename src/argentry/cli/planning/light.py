"""``argentry light``: exposure and development light at a place and time."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import (
    console,
    emitted,
    given_options,
    json_option,
    read_date,
    read_time,
    studio_option,
    studio_path,
    used_with,
    writable,
)
from argentry.cli.planning.light_meter import show_meter
from argentry.cli.planning.place import (
    FILTER_HELP,
    LENS_HELP,
    WEATHER_HELP,
    WINDOW_HELP,
    outlook_here,
    place_options,
)
from argentry.errors import BadInput
from argentry.keeping.studio import load_studio, skyline_in
from argentry.records.weather import NO_OUTLOOK

if TYPE_CHECKING:
    from rich.console import Console

    from argentry.records.answers.light import LightAnswer, MeterMeans

SKYLINE_HELP = (
    "Skyline of the place: a horizon profile of PVGIS (JSON or CSV), a table with azimuth and "
    "elevation, or points traced on a panorama."
)
MOST_ROWS = 200
CARD_WRITTEN = "The card to cut out is in {file}."
WHOLE_DAY = "--meter tells of a whole clear day"
OWN_GLASS = (
    "--meter takes window, lens and filter from studio.toml, the skyline too, and its card tells "
    "every plane"
)
BESIDE_METER = {
    **dict.fromkeys(("start", "end", "step", "lux", "ev", "ghi", "weather"), WHOLE_DAY),
    **dict.fromkeys(
        ("plane", "cut_on", "skyline", "filter_spectrum", "lens_spectrum", "window"), OWN_GLASS
    ),
}
NO_NUMBER = "No number learned from your plates is used: light depends on place and glass alone."
AS_WRITTEN = "Numbers learned from your plates are left out, as asked; light uses none in any case."
PLANE_WORDS = {
    "sun": "a plane facing the sun, with sky and ground",
    "horizontal": "a level plane",
    "shade": "a wall in open shade",
    "window": "next to a window without sun",
    "overcast": "a wall under an overcast sky",
}


@click.command()
@place_options
@click.option("--at", metavar="TIME", help="One time, ISO 8601 (default: now).")
@click.option("--from", "start", metavar="TIME", help="Start of a span.")
@click.option("--to", "end", metavar="TIME", help="End of the span.")
@click.option(
    "--step", type=float, default=60.0, show_default=True, help="Minutes between times of the span."
)
@click.option(
    "--plane",
    default="sun",
    show_default=True,
    metavar="|".join(PLANE_WORDS),
    help="Plane on which both lights fall.",
)
@click.option("--cut-on", type=float, help="Edge of the red filter in nanometres.")
@click.option("--filter", "filter_spectrum", metavar="FILE", help=FILTER_HELP)
@click.option("--lens-spectrum", metavar="FILE", help=LENS_HELP)
@click.option("--skyline", metavar="FILE", help=SKYLINE_HELP)
@click.option("--window", metavar="FILE", help=WINDOW_HELP)
@click.option("--lux", type=float, help="Reading of a lux meter held in the plane.")
@click.option("--ev", type=float, help="Reading of a light meter in EV at ISO 100, incident.")
@click.option("--ghi", type=float, help="Reading of a pyranometer on level ground in W/m2.")
@click.option(
    "--meter",
    metavar="FILE",
    help="Your light meter over the day of --at, and what to write on its back: a spectrum of its "
    'response, a generic one, or "own" for that of studio.toml.',
)
@click.option("--pdf", metavar="FILE", help="With --meter: write the card to cut out.")
@click.option("--weather", metavar="FILE", help=WEATHER_HELP)
@click.option(
    "--learned/--as-written",
    "use_learned",
    default=True,
    help="As everywhere; light depends on place and glass alone and uses no learned number.",
)
@studio_option
@json_option
@click.pass_context
def light(
    ctx: click.Context,
    lat: float | None,
    lon: float | None,
    elevation_m: float | None,
    tz: str | None,
    haze: float | None,
    at: str | None,
    start: str | None,
    end: str | None,
    step: float,
    plane: str,
    cut_on: float | None,
    filter_spectrum: str | None,
    lens_spectrum: str | None,
    skyline: str | None,
    window: str | None,
    lux: float | None,
    ev: float | None,
    ghi: float | None,
    meter: str | None,
    pdf: str | None,
    weather: str | None,
    as_json: bool,
    use_learned: bool,
) -> None:
    """Show exposure and development light, clear sky unless a weather file is named.

    Exposure light is weighted by silver iodide and the lens; development light passes the red
    filter. With --lux, --ev or --ghi a meter's reading is turned into exposure light.
    """
    from argentry.needs.light import light_report
    from argentry.sky.meter_reading import MeterReading
    from argentry.sky.place import resolve_place, to_utc

    folder = studio_path(ctx)
    if meter is not None:
        _refuse_beside_meter(ctx)
        place = {"lat": lat, "lon": lon, "elevation_m": elevation_m, "tz": tz, "haze": haze}
        _meter(folder, meter, at, pdf, place, as_json=as_json)
        return
    used_with({"step": ("start", "end")})
    if pdf is not None:
        raise BadInput("--pdf", "there is a card only for a meter", "add --meter")
    studio = load_studio(folder) if folder else None
    if not (at or start or end):
        at = datetime.now(UTC).isoformat(timespec="minutes")
    option, text = ("--at", at) if at else ("--from", start)
    outlook = NO_OUTLOOK
    if text:
        zone = resolve_place(studio, lat, lon, tz=tz).time_zone
        when = to_utc(option, read_time(option, text), zone)
        outlook = outlook_here(studio_path(ctx), studio, when, weather, elsewhere=lat is not None)
    horizon = None
    if skyline is not None:
        at_place = resolve_place(studio, lat, lon)
        horizon = skyline_in(Path(skyline), (at_place.latitude_deg, at_place.longitude_deg))
    report = light_report(
        studio,
        skyline=horizon,
        lat=lat,
        lon=lon,
        elevation_m=elevation_m,
        tz=tz,
        haze=haze,
        at=read_time("--at", at) if at else None,
        start=read_time("--from", start) if start else None,
        end=read_time("--to", end) if end else None,
        step_minutes=step,
        plane=plane,
        cut_on_nm=cut_on,
        filter_spectrum=filter_spectrum,
        lens_spectrum=lens_spectrum,
        window=window,
        reading=MeterReading(lux, ev, ghi),
        outlook=outlook,
        as_written=not use_learned,
    )
    if not emitted(report, as_json):
        _show(report, console())


def _refuse_beside_meter(ctx: click.Context) -> None:
    """Refuse what would change nothing in a meter's day."""
    given = given_options(ctx)
    for param in ctx.command.params:
        why = BESIDE_METER.get(param.name or "")
        if why and param.name in given:
            raise BadInput(param.opts[0], why, "leave it out")


def _meter(
    folder: Path | None,
    meter: str,
    at: str | None,
    pdf: str | None,
    options: dict[str, Any],
    *,
    as_json: bool,
) -> None:
    """Answer for a light meter over a day."""
    from argentry.desk.pages.meter import meter_story
    from argentry.sky.place import resolve_place

    target = writable("--pdf", pdf)
    studio = load_studio(folder) if folder else None
    place = resolve_place(studio, **options)
    day = read_date("--at", (at or "today").partition("T")[0], place.time_zone)
    story = meter_story(place, day, studio, None if meter == "own" else meter)
    if target is not None:
        from argentry.out.meter_card import meter_pdf

        target.write_bytes(meter_pdf(story))
    if emitted(story, as_json):
        return
    show_meter(story)
    if target is not None:
        console().print(CARD_WRITTEN.format(file=target), soft_wrap=True, markup=False)


def _show(report: LightAnswer, out: Console) -> None:
    out.print(
        "Light at {place} "
        "({latitude_deg:.2f}, {longitude_deg:.2f}; "
        "{elevation_m:.0f} m), on {plane_words}.".format(
            place=report.place,
            latitude_deg=report.latitude_deg,
            longitude_deg=report.longitude_deg,
            elevation_m=report.elevation_m,
            plane_words=PLANE_WORDS[report.plane],
        )
    )
    out.print(
        "{sky}. Haze {haze_aod500:.2f} "
        "(optical depth at 500 nm); red filter from {cut_on_nm:.0f} nm.".format(
            sky=f"{report.sky[0].upper()}{report.sky[1:]}",
            haze_aod500=report.haze_aod500,
            cut_on_nm=report.cut_on_nm,
        )
    )
    out.print(
        "{time:%Y-%m-%d}, wall clock of {time_zone}.".format(
            time=report.time[0], time_zone=report.time_zone
        )
    )
    out.print(_table(report))
    rows = len(report.time)
    if rows > MOST_ROWS:
        out.print(
            "{rows} later times are left out here; --json gives all.".format(rows=rows - MOST_ROWS)
        )
    if report.meter is not None:
        out.print(_meter_words(report.meter, report.plane))
    if report.doubt is not None:
        from argentry.needs.doubt.words import doubt_line

        out.print(doubt_line(report.doubt))
    for note in report.notes:
        out.print(f"Note: {note}")
    out.print(
        "Exposure light: behind the lens's glass, with the range that holds 80 % of such hours. "
        "Meter: how many times a lux meter overstates it, against sun and sky at 60 degrees: "
        "the plate needs so many times the meter's time."
    )
    out.print(AS_WRITTEN if report.as_written else NO_NUMBER)
    out.print("Caution: never look at the sun, least of all through a lens or a red filter.")


def _table(report: LightAnswer) -> Any:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE, pad_edge=False, collapse_padding=True)
    heads = (
        "time",
        "sun\nheight",
        "from\nnorth",
        "exposure\nW/m²",
        "80 %\nW/m²",
        "develop\nW/m²",
        "level\nW/m²",
        "lux",
        "meter",
    )
    for head in heads:
        table.add_column(head, justify="left" if head == "time" else "right", no_wrap=True)
    day = report.time[0].date()
    for i, time in enumerate(report.time[:MOST_ROWS]):
        if time.date() != day:
            day = time.date()
            table.add_row(f"{day:%m-%d}")
        overstates = report.meter_overstates[i]
        table.add_row(
            f"{time:%H:%M}",
            f"{report.elevation_deg[i]:.1f}°",
            f"{report.azimuth_deg[i]:.0f}°",
            _three(report.actinic_w_m2[i]),
            f"{_three(report.actinic_low_w_m2[i])} to {_three(report.actinic_high_w_m2[i])}",
            _three(report.development_w_m2[i]),
            _three(report.ghi_w_m2[i]),
            _three(report.illuminance_lux[i]),
            "dark" if overstates is None else f"× {overstates:.1f}",
        )
    return table


def _meter_words(means: MeterMeans, plane: str) -> str:
    factor, stops = means.overstates, means.correction_stops
    if factor >= 1.0:
        judged = "the meter overstates it {factor:.2f} times".format(factor=factor)
    else:
        judged = "the meter understates it {factor:.2f} times".format(factor=1 / factor)
    return (
        "Your reading of {reading:g} {unit} means "
        "{actinic_w_m2} W/m² of exposure light: {judged} "
        "(by {stops:.1f} stops); expose the plate {factor:.2f} times the meter's time. "
        "{share_of_model}".format(
            reading=means.reading,
            unit=means.unit,
            actinic_w_m2=_three(means.actinic_w_m2),
            judged=judged,
            stops=abs(stops),
            factor=factor,
            share_of_model=_against_model(means.share_of_model, plane),
        )
    )


def _against_model(share: float, plane: str) -> str:
    if share > 1.5:
        return "It is {share:.1f} times what this sky should give: check the reading.".format(
            share=share
        )
    told = "It is {percent:.0f} % of what this sky should give".format(percent=100.0 * share)
    if share < 0.5 and plane == "sun":
        return "{told}: when the sun is veiled, ask again with --plane overcast.".format(told=told)
    return f"{told}."


def _three(value: float) -> str:
    """Three significant figures without an exponent; what no plate would feel is nothing."""
    number = round(float(value), 3)
    if number <= 0.0:
        return "0"
    if number >= 100.0:
        digits = len(str(int(number))) - 3
        return f"{round(number, -digits):.0f}"
    return f"{round(number, 2):.3g}"
