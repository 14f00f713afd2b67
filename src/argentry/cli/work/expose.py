"""``argentry expose``: minutes before the camera, and how still to sit."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import click

from argentry.cli.common import (
    METRES,
    MM,
    console,
    table,
)
from argentry.cli.planning.place import (
    LENS_HELP,
    WEATHER_HELP,
    WINDOW_HELP,
    LearnedCall,
    moment,
    of_studio,
    outlook_here,
    place_options,
    span,
    two_figures,
)
from argentry.records.answers.expose import ExposeAnswer, StepTest
from argentry.records.plain import plain


@click.command()
@place_options
@click.option("--at", metavar="TIME", help="When the lens is uncapped, ISO 8601 (default: now).")
@click.option("--lens", metavar="NAME", help="Which of the studio's lenses (default: the first).")
@click.option("--f-number", type=float, help="Focal length over the opening, as marked.")
@click.option("--focal-mm", type=MM, help="Focal length, mm.")
@click.option("--distance-m", type=METRES, help="From lens to subject, m.")
@click.option(
    "--transmission", type=float, help="Near ultraviolet that the lens lets through, 0 to 1."
)
@click.option("--lens-spectrum", metavar="FILE", help=LENS_HELP)
@click.option("--window", metavar="FILE", help=WINDOW_HELP)
@click.option("--speed", "speed_iso", type=float, help="Effective plate speed, ISO.")
@click.option("--speed-sigma", "speed_sigma_stops", type=float, help="Its spread, stops.")
@click.option("--coat-nm", type=float, help="Thickness of the coat, nm.")
@click.option("--plane", metavar="WORD", help="sun, shade, window, horizontal, overcast.")
@click.option("--pose", metavar="WORD", help="standing, seated, head-rest, still-life, ...")
@click.option(
    "--reflectance", type=float, help="Reflectance of the tone that must come out light, 0 to 1."
)
@click.option("--mirror", is_flag=True, help="With a reversing mirror or prism.")
@click.option(
    "--reciprocity",
    "reciprocity_exponent",
    type=float,
    help="Schwarzschild's p (default: 1, which changes nothing).",
)
@click.option("--weather", metavar="FILE", help=WEATHER_HELP)
@of_studio
def expose(
    call: LearnedCall,
    /,
    *,
    lat: float | None,
    lon: float | None,
    elevation_m: float | None,
    tz: str | None,
    haze: float | None,
    at: str | None,
    window: str | None,
    weather: str | None,
    **camera: Any,
) -> None:
    """Show the minutes before the camera with their range, and how still the sitter must be.

    What is not given comes from the studio, else from the trade's usual values, which are named.
    """
    from dataclasses import replace

    from argentry.needs.camera import Camera
    from argentry.needs.expose import expose as compute
    from argentry.needs.named_files.spectra import read_spectrum
    from argentry.sky.place import resolve_place

    now = call.now()
    place = resolve_place(now.studio, lat, lon, elevation_m, tz, haze)
    if pane := read_spectrum("--window", window, "window"):
        place = replace(place, window=pane.curve)
    when, said = moment("--at", at, place.time_zone)
    outlook = outlook_here(
        call.folder, now.studio, when, weather, call.address, elsewhere=lat is not None
    )
    answer = compute(place, when, Camera(**camera), now, outlook=outlook)
    answer = replace(answer, warnings=(*said, *answer.warnings))
    if not call.emitted(answer):
        _show(answer)


HEAD = (
    "[bold]{shown}[/] at f/{f_number:g} from {clock}; four plates in five between {low} and "
    "{high}. No exposure is known to better than a third of a stop."
)
NEVER = "[bold]It cannot be done:[/] the light ends before the exposure does."
LIGHT = "{light} W/m² of exposure light behind the lens ({note}), plane: {plane}"
SUN = "{height:.0f}° high, {azimuth:.0f}° from north"
BLUR = "{middle:.2f} mm wide ({low:.2f} to {high:.2f} mm) with the pose {pose}"
STILL = "motion under {print:.1f} mm rms at the subject ({eye:.1f} mm to satisfy a sharp eye)"
TAKEN = "Assumed (not given): {things}."
SETTLE = (
    "Let the sitter settle for {least:g} to {most:g} s before you uncap; cap the lens over a "
    "fidget."
)


def _show(answer: ExposeAnswer) -> None:
    from argentry.needs.doubt.words import doubt_line
    from argentry.out.numbers import numbers_line

    out = console()
    low, high = answer.minutes_80
    if answer.minutes_in_third_stops is None:
        out.print(NEVER)
    else:
        out.print(
            HEAD.format(
                shown=span(answer.minutes),
                f_number=answer.f_number,
                clock=_clock(answer.time),
                low=span(low),
                high="the light ends first" if high is None else span(high),
            )
        )
    rows = table()
    rows.add_row(
        "light",
        LIGHT.format(
            light=two_figures(answer.behind_lens_w_m2),
            note=answer.light_note,
            plane=answer.plane,
        ),
    )
    rows.add_row("sun", SUN.format(height=answer.elevation_deg, azimuth=answer.azimuth_deg))
    rows.add_row("size of the picture", f"1 : {1.0 / answer.magnification:.3g}")
    rows.add_row(
        "stops",
        ", ".join(
            f"{name.replace('_', ' ')} {stops:+.1f}"
            for name, stops in plain(answer.stops).items()
            if abs(stops) >= 0.05 and name != "light_meter_misses"
        )
        or "none",
    )
    blur_low, blur_high = answer.blur_mm_80
    rows.add_row(
        "blur on the plate",
        BLUR.format(middle=answer.blur_mm, low=blur_low, high=blur_high, pose=answer.pose),
    )
    rows.add_row(
        "still enough", STILL.format(print=answer.stillness_mm, eye=answer.stillness_eye_mm)
    )
    sharp = [row.pose for row in answer.poses if row.sharp]
    rows.add_row("poses that are sharp", ", ".join(sharp) or "none")
    out.print(rows)
    out.print(doubt_line(answer.doubt))
    _show_test(out, answer.step_test)
    if answer.taken:
        out.print(TAKEN.format(things=", ".join(answer.taken)))
    out.print(numbers_line(answer.numbers_in_use, as_written=answer.as_written))
    for warning in answer.warnings:
        out.print(f"Watch: {warning}")
    least, most = answer.settle_seconds
    out.print(SETTLE.format(least=least, most=most))
    out.print("Caution: never look at the sun through a lens or a ground glass.")


STEP_TEST = (
    "Step test in half-stop strips: slide wide open, push it in over one more strip at "
    "{marks}, cap at {last}."
)


def _show_test(out: Any, test: StepTest | None) -> None:
    if test is None:
        return
    total = 0.0
    marks = []
    for wait in test.slide_after_seconds:
        total += wait
        marks.append(span(total / 60.0))
    out.print(STEP_TEST.format(marks=", ".join(marks[:-1]), last=marks[-1]))


def _clock(when: datetime) -> str:
    return f"{when:%Y-%m-%d %H:%M}"
