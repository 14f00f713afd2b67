"""``argentry develop``: when a plate is ripe under the red filter."""

from __future__ import annotations

from datetime import datetime
from math import cos, radians
from typing import Any

import click

from argentry.cli.common import METRES, console, table
from argentry.cli.planning.place import (
    FILTER_HELP,
    LAMP_HELP,
    WEATHER_HELP,
    LearnedCall,
    moment,
    of_studio,
    outlook_here,
    place_options,
    two_figures,
)
from argentry.records.answers.develop import DevelopAnswer


@click.command()
@place_options
@click.option("--start", metavar="TIME", help="When development begins, ISO 8601 (default: now).")
@click.option("--deadline", metavar="TIME", help="When it must be ripe.")
@click.option("--frame", metavar="NAME", help="Which of the studio's frames (default: the first).")
@click.option("--cut-on", "cut_on_nm", type=float, help="Edge of the red filter, nm.")
@click.option("--transmission", type=float, help="Red light that the filter lets through, 0 to 1.")
@click.option("--filter", "filter_spectrum", metavar="FILE", help=FILTER_HELP)
@click.option("--density", type=float, help="Optical density of the filter below 450 nm.")
@click.option("--dose", "dose_kj_m2", type=float, help="Your dose behind the filter, kJ/m2.")
@click.option("--dose-sigma", "dose_sigma_stops", type=float, help="Its spread, stops.")
@click.option(
    "--exposure-stops",
    type=float,
    default=0.0,
    help="Stops the plate had more than the right exposure (less: negative).",
)
@click.option(
    "--waited",
    "waited_min",
    type=float,
    default=0.0,
    help="Minutes from the end of the exposure to --start: the image fades meanwhile.",
)
@click.option("--speed", "speed_iso", type=float, help="Effective plate speed, ISO.")
@click.option("--lamp-w", type=float, help="A lamp instead of the sun: its power, W.")
@click.option("--lamp-m", type=METRES, help="From lamp to plate, m.")
@click.option("--lamp", "lamp_kind", metavar="KIND", help="halogen, bare halogen or red led.")
@click.option("--lamp-width", "lamp_width_m", type=METRES, help="Width of its face, m.")
@click.option("--lamp-height", "lamp_height_m", type=METRES, help="Height; without it: round.")
@click.option("--lamp-w-m2", type=float, help="Its light read under the filter, W/m2.")
@click.option("--lamp-spectrum", metavar="FILE", help=LAMP_HELP)
@click.option("--lamp-lux", type=float, help="Its light read under the filter, lx.")
@click.option("--weather", metavar="FILE", help=WEATHER_HELP)
@of_studio
def develop(
    call: LearnedCall,
    /,
    *,
    lat: float | None,
    lon: float | None,
    elevation_m: float | None,
    tz: str | None,
    haze: float | None,
    start: str | None,
    deadline: str | None,
    weather: str | None,
    **frame: Any,
) -> None:
    """Show when a plate is ripe whose development begins at --start, and if the light is enough.

    The frame faces the sun, or lies under a lamp. What is not given comes from the studio, else
    from the trade's starting values.
    """
    from dataclasses import replace

    from argentry.needs.develop import develop as compute
    from argentry.needs.frame import Frame
    from argentry.sky.place import check_zone, resolve_place

    now = call.now()
    by_lamp = any(value is not None for name, value in frame.items() if name.startswith("lamp_"))
    placed = now.studio is not None or lat is not None or lon is not None
    place = (
        resolve_place(now.studio, lat, lon, elevation_m, tz, haze)
        if placed or not by_lamp
        else None
    )
    zone = place.time_zone if place else check_zone("--tz", tz or "UTC")
    begun, said = moment("--start", start, zone)
    until, more = moment("--deadline", deadline, zone) if deadline else (None, [])
    outlook = outlook_here(
        call.folder, now.studio, begun, weather, call.address, elsewhere=lat is not None
    )
    answer = compute(
        place, begun, Frame(**frame), now, deadline=until, time_zone=zone, outlook=outlook
    )
    answer = replace(answer, warnings=(*said, *more, *answer.warnings))
    if not call.emitted(answer):
        _show(answer)


RIPE = "[bold]Ripe at about {end}[/], after {about}; four plates in five between {low} and {until}."
NOT_RIPE = (
    "[bold]There is not enough light:[/] by {up} ({because}) {percent:.0f} % of the dose is in."
)
WINDOW = "ripe from {ripe}, veiled after {veiled} ({low} to {high})"
NO_VEIL = "ripe from {ripe}; the light ends at {up}, before it veils"
NO_WINDOW = "none: the light ends before it is ripe"
LATEST = "{clock} for an average plate"
LIGHT = "{light} W/m² behind the filter ({source}, {note})"
LAMPLIGHT = "{light} W/m² behind the filter ({source})"
DOSE = "{middle} kJ/m² ({low} to {high})"
SEED_DOSE = DOSE + ", a starting value"
FILTER = "from {cut_on:g} nm; needs density {density:.1f} below {below:g} nm"
PEEK = (
    "Look under the same filter, never in white light; whites rise first, then the middle tones; "
    "stop before the shadows veil."
)
TURN = "Turn the frame after the sun: {tilt:g}° off it loses {lost:.0f} % of the beam."


def _show(answer: DevelopAnswer) -> None:
    from argentry.needs.doubt.words import doubt_line
    from argentry.out.numbers import numbers_line

    out = console()
    low, high = answer.end_80
    day = answer.start.date()

    def clock(when: datetime | None) -> str:
        if when is None:
            return "never"
        return f"{when:%H:%M}" if when.date() == day else f"{when:%Y-%m-%d %H:%M}"

    up = clock(answer.time_is_up)
    if answer.light_suffices:
        out.print(
            RIPE.format(
                end=clock(answer.end),
                about=_about(answer.minutes or 0.0),
                low=clock(low),
                until=clock(high) if high else "not before {up}".format(up=up),
            )
        )
    else:
        out.print(
            NOT_RIPE.format(
                up=up, because=answer.time_is_up_because, percent=100.0 * answer.share_of_dose
            )
        )
    rows = table()
    rows.add_row("development begins", f"{day} {clock(answer.start)}")
    first, last = answer.veiled_80
    window = (WINDOW if answer.veiled else NO_VEIL) if answer.end else NO_WINDOW
    rows.add_row(
        "window",
        window.format(
            ripe=clock(answer.end),
            veiled=clock(answer.veiled),
            low=clock(first),
            high=clock(last),
            up=up,
        ),
    )
    rows.add_row("odds of being ripe", f"{_odds(answer.ripe_odds)} by {up}")
    if answer.latest_start:
        rows.add_row("latest start", LATEST.format(clock=clock(answer.latest_start)))
    rows.add_row(
        "light at the start",
        (LIGHT if answer.place else LAMPLIGHT).format(
            light=two_figures(answer.development_w_m2),
            source=answer.light,
            note=answer.light_note,
        ),
    )
    dose_low, dose_high = answer.dose_kj_m2_80
    rows.add_row(
        "dose",
        (SEED_DOSE if answer.dose_is_seed else DOSE).format(
            middle=two_figures(answer.dose_kj_m2),
            low=two_figures(dose_low),
            high=two_figures(dose_high),
        ),
    )
    rows.add_row(
        "filter",
        FILTER.format(
            cut_on=answer.cut_on_nm,
            density=answer.density_needed,
            below=answer.density_below_nm,
        ),
    )
    if answer.looks:
        rows.add_row("look", ", ".join(clock(look) for look in answer.looks))
    out.print(rows)
    out.print(doubt_line(answer.doubt))
    out.print(PEEK)
    if answer.tilt_tolerance_deg is not None:
        tilt = answer.tilt_tolerance_deg
        out.print(TURN.format(tilt=tilt, lost=100.0 * (1.0 - cos(radians(tilt)))))
    out.print(numbers_line(answer.numbers_in_use, as_written=answer.as_written))
    for warning in answer.warnings:
        out.print(f"Watch: {warning}")
    for caution in answer.cautions:
        out.print(f"Caution: {caution}")


def _odds(share: float) -> str:
    if share >= 0.99:
        return "99 % or more"
    return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _about(minutes: float) -> str:
    step = 1 if minutes < 10.0 else 5
    whole = max(1, step * round(minutes / step))
    return f"{whole} min" if whole < 180 else f"{whole // 60} h {whole % 60:02d} min"
