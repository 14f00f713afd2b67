"""``argentry fume``: seconds over iodine to a wanted thickness."""

from __future__ import annotations

from typing import Any

import click

from argentry.cli.common import (
    CELSIUS,
    METRES,
    MM,
    console,
    table,
)
from argentry.cli.planning.place import LearnedCall, of_studio
from argentry.errors import BadInput
from argentry.records.answers.fume import FumeAnswer
from argentry.records.day import IN_SECONDS

NO_COAT = "no coat was named and there is no studio"


@click.command()
@click.option(
    "--nm",
    "thickness_nm",
    type=float,
    help="Wanted coat, nanometres (default: the studio's).",
)
@click.option("--box-temp", "box_temperature_c", type=CELSIUS, help="Crystals' temperature, °C.")
@click.option("--gap-mm", type=MM, help="From the crystals' upper face to the plate, mm.")
@click.option("--box", help="Which of the studio's boxes (default: the first).")
@click.option(
    "--swept/--rested", "swept", default=None, help="Box just opened, or shut for minutes."
)
@click.option("--plate-temp", "plate_temperature_c", type=CELSIUS, help="Plate, °C.")
@click.option("--humidity", "humidity_pct", type=float, help="Relative humidity of the room, %.")
@click.option(
    "--back-s",
    "back_seconds",
    type=float,
    help="Seconds back over iodine in the dark after the colour is judged; 0 for none.",
)
@click.option("--size", help="Plate size by name (default: quarter).")
@click.option("--area-cm2", type=float, help="Plate area, cm2, in place of a size.")
@click.option("--tilt-mm", type=MM, help="Gap at one edge more than at the other, mm.")
@click.option("--cover", "cover_share", type=float, help="Share of the floor under crystals, 0-1.")
@click.option(
    "--spacing-mm",
    "crystal_spacing_mm",
    type=MM,
    help="Crystal to crystal, mm.",
)
@click.option("--box-factor", type=float, help="Your measured seconds over the computed ones.")
@click.option("--film-k", "film_k_m2_s", type=float, help="Rate of a self-slowing film, m2/s.")
@click.option("--pressure-hpa", type=float, help="Air pressure, hPa.")
@click.option("--elevation-m", type=METRES, help="Height above sea level, m.")
@of_studio
def fume(
    call: LearnedCall,
    /,
    *,
    swept: bool | None,
    thickness_nm: float | None,
    **given: Any,
) -> None:
    """Show the seconds over iodine to a thickness, with their range, evenness and cautions."""
    from argentry.needs.fume import Fuming
    from argentry.needs.fume import fume as compute

    now = call.now()
    rested = None if swept is None else not swept
    if thickness_nm is None:
        if now.studio is None:
            raise BadInput("coat", NO_COAT, "give --nm or --studio")
        thickness_nm = now.studio.habits.coat_nm
    answer = compute(Fuming(thickness_nm=thickness_nm, rested=rested, **given), now)
    if not call.emitted(answer):
        _show(answer)


HEAD = (
    "[bold]{middle}[/] over iodine for {nm:g} nm ({how}); four times in five between {low} and "
    "{high}."
)
LAST = (
    "{seconds:g} s add {grown:.1f} nm ({low:.1f} to {high:.1f}); judge {colour}{nm:.0f} nm before "
    "them, at {at}"
)
TURN = "{turn}; half the coat is on at {half}"
ACROSS = "{nm:.1f} nm ({percent:.1f} %)"
COMPUTED_WITH = (
    "crystals {crystals:g} °C, gap {gap:g} mm, cover {cover:.0f} %, air {air:.0f} hPa, "
    "box factor {factor:.3g}"
)


def _show(answer: FumeAnswer) -> None:
    from argentry.needs.doubt.words import doubt_line
    from argentry.out.numbers import numbers_line

    out = console()
    low, high = answer.seconds_80
    how = "box shut for minutes" if answer.rested else "box just opened"
    out.print(
        HEAD.format(
            middle=_time(answer.seconds),
            nm=answer.thickness_nm,
            how=how,
            low=_time(low),
            high=_time(high),
        )
    )
    rows = table()
    for other in answer.around:
        rows.add_row(
            "box at {box_temperature_c:g} °C".format(box_temperature_c=other.box_temperature_c),
            _time(other.seconds),
        )
    rows.add_row("box just opened", _time(answer.swept_seconds))
    rows.add_row("box shut for minutes", _time(answer.rested_seconds))
    rows.add_row("shut it before for at least", _time(answer.rest_seconds))
    rows.add_row(
        "turn the plate (half time, common practice)",
        TURN.format(turn=_time(answer.turn_plate_at_seconds), half=_time(answer.half_coat_seconds)),
    )
    last = answer.last
    if last.seconds:
        low_nm, high_nm = last.grown_nm_80
        rows.add_row(
            "back over iodine, in the dark",
            LAST.format(
                seconds=last.seconds,
                grown=last.grown_nm,
                low=low_nm,
                high=high_nm,
                colour=f"{last.judged_colour}, " if last.judged_colour else "",
                nm=last.judged_nm,
                at=_time(last.judged_at_seconds),
            ),
        )
    spread = answer.unevenness
    rows.add_row(
        "difference across the plate", ACROSS.format(nm=spread.nm, percent=100 * spread.relative)
    )
    rows.add_row("steady growth", f"{answer.steady_rate_nm_s:.2g} nm/s")
    rows.add_row("iodine in the coat", f"{answer.iodine_mg:.2g} mg")
    rows.add_row(
        "iodine in the box's air",
        "{box_air_iodine_mg:.2g} mg, lost at opening".format(
            box_air_iodine_mg=answer.box_air_iodine_mg
        ),
    )
    used = answer.box
    rows.add_row(
        "calculated with",
        COMPUTED_WITH.format(
            crystals=used.box_temperature_c,
            gap=used.gap_mm,
            cover=100 * used.cover_share,
            air=used.pressure_pa / 100,
            factor=used.box_factor,
        ),
    )
    out.print(rows)
    out.print(doubt_line(answer.doubt))
    out.print(numbers_line(answer.numbers_in_use, as_written=answer.as_written))
    for warning in answer.warnings:
        out.print(f"Watch: {warning}", style="bold")
    for note in answer.notes:
        out.print(note)
    for caution in answer.cautions:
        out.print(f"Caution: {caution}")
    out.print(answer.limits)


def _time(seconds: float) -> str:
    """Return seconds as a maker says them, as the day sheet and the bench do while they are few."""
    if seconds < IN_SECONDS:
        return f"{seconds:.0f} s"
    step = 5 if seconds < 600 else 30
    whole = step * round(seconds / step)
    return f"{whole // 60} min {whole % 60:02d} s" if whole % 60 else f"{whole // 60} min"
