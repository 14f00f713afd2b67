"""``argentry expose``: minutes before the camera, and how still to sit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import console, emit_json, json_option, studio_option
from argentry.cli.place import moment, opened_studio, place_options, span, two_figures

if TYPE_CHECKING:
    from collections.abc import Mapping


@click.command()
@place_options
@click.option("--at", metavar="TIME", help="When the lens is uncapped, ISO 8601 (default: now).")
@click.option("--lens", metavar="NAME", help="Which of the studio's lenses (default: the first).")
@click.option("--f-number", type=float, help="Focal length over the opening, as marked.")
@click.option("--focal-mm", type=float, help="Focal length, mm.")
@click.option("--distance-m", type=float, help="From lens to subject, m.")
@click.option("--transmission", type=float, help="Of the lens in the near ultraviolet, 0 to 1.")
@click.option("--speed", "speed_iso", type=float, help="Effective plate speed, ISO.")
@click.option("--speed-sigma", "speed_sigma_stops", type=float, help="Its spread, stops.")
@click.option("--coat-nm", type=float, help="Thickness of the coat, nm.")
@click.option("--plane", metavar="WORD", help="sun, shade, window, horizontal, overcast.")
@click.option("--pose", metavar="WORD", help="standing, seated, head-rest, still-life, ...")
@click.option("--reflectance", type=float, help="Of the tone that must come out light, 0 to 1.")
@click.option("--mirror", is_flag=True, help="With a reversing mirror or prism.")
@click.option("--reciprocity", "reciprocity_exponent", type=float, help="Schwarzschild's p (1).")
@click.option("--weather", metavar="FILE", help="Weather file; without one the sky is clear.")
@studio_option
@json_option
@click.pass_context
def expose(
    ctx: click.Context,
    /,
    *,
    lat: float | None,
    lon: float | None,
    elevation_m: float | None,
    tz: str | None,
    haze: float | None,
    at: str | None,
    weather: str | None,
    as_json: bool,
    **camera: Any,
) -> None:
    """Show the minutes before the camera with their range, and how still the sitter must be.

    What is not given comes from the studio, else from the trade's usual values, which are named.
    """
    from argentry.desk.weather import read_weather
    from argentry.needs.camera import Camera
    from argentry.needs.expose import expose as reckon
    from argentry.sky.place import resolve_place

    studio = opened_studio(ctx)
    place = resolve_place(studio, lat, lon, elevation_m, tz, haze)
    when, said = moment("--at", at, place.time_zone)
    sky = read_weather(Path(weather)) if weather else None
    answer = reckon(place, when, Camera(**camera), studio, sky)
    answer["warnings"] = [*said, *answer["warnings"]]
    if as_json:
        emit_json(answer)
    else:
        _show(answer)


def _show(answer: Mapping[str, Any]) -> None:
    from rich import box
    from rich.table import Table

    out = console()
    low, high = answer["minutes_80"]
    until = "the light ends first" if high is None else span(high)
    if answer["minutes_shown"] is None:
        out.print("[bold]It cannot be done:[/] the light ends before the exposure does.")
    else:
        out.print(
            f"[bold]{span(answer['minutes_shown'])}[/] at f/{answer['f_number']:g} from "
            f"{_clock(answer['time'])}; four plates in five between {span(low)} and {until}. "
            "No exposure is known to better than a third of a stop."
        )
    table = Table(box=box.SIMPLE, show_header=False, pad_edge=False)
    table.add_column()
    table.add_column()
    table.add_row(
        "light",
        f"{two_figures(answer['actinic_w_m2'])} W/m² of exposure light ({answer['light_note']}), "
        f"plane: {answer['plane']}",
    )
    table.add_row(
        "sun", f"{answer['elevation_deg']:.0f}° high, {answer['azimuth_deg']:.0f}° from north"
    )
    table.add_row("size of the picture", f"1 : {1.0 / answer['magnification']:.3g}")
    table.add_row(
        "stops",
        ", ".join(
            f"{name.replace('_', ' ')} {stops:+.1f}"
            for name, stops in answer["stops"].items()
            if abs(stops) >= 0.05 and name != "light_meter_misses"
        )
        or "none",
    )
    blur_low, blur_high = answer["blur_mm_80"]
    table.add_row(
        "blur on the plate",
        f"{answer['blur_mm']:.2f} mm wide ({blur_low:.2f} to {blur_high:.2f}) "
        f"with the pose {answer['pose']}",
    )
    table.add_row(
        "still enough",
        f"motion under {answer['stillness_mm']:.1f} mm rms at the subject "
        f"({answer['stillness_eye_mm']:.1f} mm to satisfy a sharp eye)",
    )
    sharp = [row["pose"] for row in answer["poses"] if row["sharp"]]
    table.add_row("poses that are sharp", ", ".join(sharp) or "none")
    out.print(table)
    _show_test(out, answer["step_test"])
    if answer["taken"]:
        out.print(f"Taken, as nothing was said: {', '.join(answer['taken'])}.")
    for warning in answer["warnings"]:
        out.print(f"Watch: {warning}")
    least, most = answer["settle_seconds"]
    out.print(
        f"Let the sitter settle for {least:g} to {most:g} s before you uncap; "
        "cap the lens over a fidget."
    )
    out.print("Caution: never look at the sun through a lens or a ground glass.")


def _show_test(out: Any, test: Mapping[str, Any] | None) -> None:
    if test is None:
        return
    total = 0.0
    marks = []
    for wait in test["slide_after_seconds"]:
        total += wait
        marks.append(span(total / 60.0))
    out.print(
        "Step test in half-stop strips: slide wide open, push it in over one more strip at "
        f"{', '.join(marks[:-1])}, cap at {marks[-1]}."
    )


def _clock(text: str) -> str:
    return f"{text[:10]} {text[11:16]}"
