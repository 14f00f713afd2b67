"""How long a step lasts as things stand now: room, box, damp and light as last read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.needs.camera import Camera
from argentry.needs.camera import settle as settle_camera
from argentry.needs.step_times import Fume, RoomToday, fume_today
from argentry.physics import development, durations, exposure
from argentry.physics.air import pressure_at_elevation_pa
from argentry.physics.ranges import checked
from argentry.physics.stops import spread
from argentry.sky.clear_day import clear_day, frame_of, light_of
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from argentry.records.studio import IodineBox, Studio
    from argentry.sky.clear_day import Found
    from argentry.trade.steps import StepRule


@dataclass(frozen=True)
class Length:
    """A step's length with its 80 % range.

    Attributes
    ----------
    seconds, low, high : float
        [s]
    why : str
        What it rests on, in words that can stand before a colon.
    """

    seconds: float
    low: float
    high: float
    why: str


@dataclass(frozen=True)
class Air:
    """What was read of room, box and bath; None where nothing fresh was.

    Attributes
    ----------
    room_c, box_c, bath_c, room_rh_pct : float or None
        [°C, °C, °C, %]
    """

    room_c: float | None = None
    box_c: float | None = None
    bath_c: float | None = None
    room_rh_pct: float | None = None


def opening_length(studio: Studio, rule: StepRule, area_cm2: float) -> Length:
    """Return a step's length by the studio's usual room, before anything is read.

    Exposure and development are the trade's; `light_length` replaces them when there is light.
    """
    usual = Air(
        room_c=studio.room.temperature_c,
        box_c=studio.boxes[0].temperature_c,
        room_rh_pct=studio.room.relative_humidity_pct,
    )
    found = air_length(studio, rule, area_cm2, usual)
    if found is not None:
        return found
    low, middle, high = trade_steps.step_minutes(rule, area_cm2)
    return Length(60.0 * middle, 60.0 * low, 60.0 * high, "the trade's starting value")


def air_length(studio: Studio, rule: StepRule, area_cm2: float, air: Air) -> Length | None:
    """Return the length of a step that goes with temperature or damp; None when nothing is known.

    Parameters
    ----------
    studio : Studio
        Box and coat.
    rule : StepRule
        The step.
    area_cm2 : float
        Of the plate. [cm2]
    air : Air
        As read.
    """
    try:
        if rule.law == "fuming":
            return _fuming(studio, air)
        if rule.law == "temperature":
            return _by_temperature(rule, area_cm2, air)
        if rule.law == "drying":
            return _drying(rule, area_cm2, air)
    except BadInput:  # colder, hotter or damper than the law holds: the old length stands
        return None
    return None


def _fuming(studio: Studio, air: Air) -> Length | None:
    box = studio.boxes[0]
    follows = box.temperature_c if air.room_c is None else box.held_c(air.room_c)
    held = air.box_c if air.box_c is not None else follows
    if held is None:
        return None
    checked("box", held, "fuming", "box_temperature")
    fume = _fume(replace(box, temperature_c=held), studio)
    said = "box" if air.box_c is not None or box.temperature_c is not None else "room and box"
    return Length(fume.seconds, fume.low, fume.high, f"{said} at {held:.3g} °C")


@lru_cache(maxsize=64)  # the range is a simulation; a box keeps its temperature for many events
def _fume(box: IodineBox, studio: Studio) -> Fume:
    assert box.temperature_c is not None
    pressure = float(pressure_at_elevation_pa(studio.site.elevation_m))
    room = RoomToday(box.temperature_c, studio.room.relative_humidity_pct, pressure)
    return fume_today(box, room, studio.habits.coat_nm)


def _by_temperature(rule: StepRule, area_cm2: float, air: Air) -> Length | None:
    held = air.bath_c if air.bath_c is not None else air.room_c
    if held is None:
        return None
    assert rule.activation_kj_mol is not None
    assert rule.reference_c is not None
    factor = durations.temperature_factor(rule.activation_kj_mol, held, rule.reference_c)
    low, middle, high = (
        60.0 * factor * minutes for minutes in trade_steps.step_minutes(rule, area_cm2)
    )
    said = "bath" if air.bath_c is not None else "room"
    return Length(middle, low, high, f"{said} at {held:.3g} °C")


def _drying(rule: StepRule, area_cm2: float, air: Air) -> Length | None:
    if air.room_rh_pct is None:
        return None
    factor = durations.drying_factor(air.room_rh_pct, trade.value("day", "drying_humidity"))
    low, middle, high = (
        60.0 * factor * minutes for minutes in trade_steps.step_minutes(rule, area_cm2)
    )
    return Length(middle, low, high, f"air at {air.room_rh_pct:.0f} %")


@dataclass(frozen=True)
class Lit:
    """How long a step in the light lasts.

    Attributes
    ----------
    length : Length
        From its begin, without pauses.
    ripe_at : datetime or None
        When the middle plate has its light; None when the light ends first.
    share : float
        Share of the dose that has come in by now. [1]
    """

    length: Length
    ripe_at: datetime | None
    share: float


def doses_j_m2(studio: Studio, law: str) -> tuple[float, float, float]:
    """Return the light a plate needs in J/m2: low, middle and high of 80 % of the plates.

    Parameters
    ----------
    studio : Studio
        Lens, subject, plate speed, development dose.
    law : str
        ``"exposure"`` or ``"development"``.
    """
    if law == "development":
        median = development.development_dose_j_m2(studio.habits.development_dose_kj_m2)
        low, middle, high = development.dose_range_j_m2(median)
    else:
        asked = settle_camera(Camera(), studio)
        dose = exposure.exposure_dose_j_m2(
            plate_speed_iso=asked.speed_iso,
            f_number=asked.f_number,
            magnification=asked.scale,
            transmission=asked.transmission,
            relative_coat_speed=asked.coat_speed,
            reflectance=asked.reflectance,
            mirror=asked.mirror,
        )
        low, middle, high = spread(dose, asked.speed_sigma_stops)
    return float(low), float(middle), float(high)


def light_length(
    studio: Studio,
    law: str,
    begun: datetime,
    now: datetime,
    *,
    stops: Sequence[tuple[datetime, datetime | None]] = (),
    constants: Mapping[str, Any],
    found: Sequence[Found] = (),
) -> Lit | None:
    """Return how long an exposure or a development lasts, by the light it gets.

    Parameters
    ----------
    studio : Studio
        Place, instruments and the maker's numbers.
    law : str
        ``"exposure"`` or ``"development"``.
    begun : datetime
        When it was or will be begun, UTC.
    now : datetime
        UTC; light up to now is counted with the readings taken, later light is expected.
    stops : sequence of (datetime, datetime or None)
        When it was covered.
    constants : Mapping[str, Any]
        Of the run: ``frame``, ``hours``.
    found : sequence of Found
        Light readings in order of time.

    Returns
    -------
    Lit or None
        None when it is dark at its begin.
    """
    frame = frame_of(studio, constants.get("frame"))
    lamp = law == "development" and frame.lamp is not None
    day = clear_day(studio, frame, begun)
    total = light_of(day, law, constants, found, lit_by="lamp" if lamp else "sun")
    edges = np.arange(len(total))
    last = float(len(total) - 1) if lamp else float(day.last_index)
    start, here = day.index(begun), day.index(max(now, begun))

    def sum_to(index: float) -> float:
        return float(np.interp(index, edges, total))

    so_far = sum_to(here) - sum_to(start)
    covered_s = 0.0
    for low, high in stops:
        first = max(day.index(low), start)
        after = here if high is None else min(day.index(high), here)
        if after > first:
            so_far -= sum_to(after) - sum_to(first)
            covered_s += (after - first) * 60.0
    ahead = sum_to(last) - sum_to(min(here, last))
    dark_at_first = sum_to(min(start + 1.0, edges[-1])) <= sum_to(start)
    if dark_at_first or so_far + ahead <= 0.0:
        return None
    elapsed = (here - start) * 60.0 - covered_s
    doses = doses_j_m2(studio, law)

    def seconds(dose: float) -> tuple[float, bool]:
        left = dose - so_far
        if left <= 0.0:
            return elapsed * dose / so_far, True
        if left > ahead:
            return elapsed + max(last - here, 0.0) * 60.0, False
        reached = float(np.interp(sum_to(here) + left, total, edges))
        return elapsed + (max(reached, here) - here) * 60.0, True

    (low_s, _), (middle_s, ripe), (high_s, _) = (seconds(dose) for dose in doses)
    why = found[-1].words if found and not lamp else "lamp" if lamp else "the sun as it stands"
    if not ripe:
        got = 100.0 * (so_far + ahead) / doses[1]
        why += f", the light ends with {got:.0f} % of what the plate needs"
    left_s = middle_s - elapsed
    return Lit(
        length=Length(middle_s, min(low_s, middle_s), max(high_s, middle_s), why),
        ripe_at=day.moment(here + left_s / 60.0) if ripe else None,
        share=so_far / doses[1],
    )
