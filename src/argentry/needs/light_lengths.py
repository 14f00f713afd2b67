"""How long an exposure or a development lasts at the bench, by the light it gets as it goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry.arrays import Floats
from argentry.needs.camera import Camera, camera_values
from argentry.needs.camera_time import exposure_dose, subject_light
from argentry.needs.development_time import development_dose, kept_stops
from argentry.needs.doubt.compose import compose, weather_turns
from argentry.needs.doubt.development import (
    development_doubt,
    fading_part,
    lamp_doubt,
    other_light_part,
    red_light_doubt,
)
from argentry.needs.doubt.exposure import exposure_doubt, reciprocity_part
from argentry.needs.doubt.words import doubt_line
from argentry.needs.lamp import lamp_of, lamp_read, longest_lamp_minutes
from argentry.needs.numbers import dose_sigma_stops, veil_known
from argentry.needs.step_lengths import Length
from argentry.physics.picture.development import veiled_dose_j_m2
from argentry.physics.picture.reciprocity import CLOSE_S
from argentry.physics.stops import spread
from argentry.records.answers.doubt import Doubt, DoubtPart
from argentry.records.instruments import DevelopmentFrame
from argentry.records.studio import Studio
from argentry.sky.clear_day import (
    MINUTE_S,
    ClearDay,
    Found,
    clear_day,
    expected_turn,
    frame_of,
    light_of,
    of_plan,
)
from argentry.sky.weather.as_read import counts_until, gone


@dataclass(frozen=True)
class Lit:
    """How long a step in the light lasts.

    Attributes
    ----------
    length : Length
        From its begin, without pauses.
    ripe_at : datetime or None
        When the middle plate has its light; None when the light ends first.
    veiled_at : datetime or None
        When the shadows of a developing plate veil; None when the light ends first.
    share : float
        Share of the dose that has come in by now. [1]
    doubt : Doubt
        What the range is made of.
    """

    length: Length
    ripe_at: datetime | None
    veiled_at: datetime | None
    share: float
    doubt: Doubt


@dataclass(frozen=True)
class Summed:
    """The light of the day that holds a begin, summed up by minute.

    Attributes
    ----------
    day : ClearDay
        The day.
    frame : DevelopmentFrame
        With its lamp as read under its filter.
    found : sequence of Found
        Readings that count for it.
    start, last : float
        Begin, and when the light ends. [min of the day]
    total : ndarray
        Running sum at the end of each minute of the day. [J/m2]
    """

    day: ClearDay
    frame: DevelopmentFrame
    found: Sequence[Found]
    start: float
    last: float
    total: Floats


PICTURES = "pictures through the filter"
NO_LIGHT_THEN = "no light by then: a usual length stands here, which is not for this hour"
FINE = 20  # moments of each minute of an exposure
OF_PLAN = "{words} ({share:.2f} of the plan's light, counts until about {until:%H:%M})"
ENDS_WITH = "{why}, the light ends with {percent:.0f} % of what the plate needs"


def says_too_dark(why: str) -> bool:
    """Say whether a length's words tell that the light ends before the plate has enough."""
    return ENDS_WITH.rpartition("}")[2] in why


def summed_light(
    studio: Studio,
    law: str,
    begun: datetime,
    constants: Mapping[str, Any],
    found: Sequence[Found],
) -> Summed:
    """Return the light of a step begun then; what is not said here is as in `light_length`."""
    frame = frame_of(studio, constants.get("frame"))
    day = clear_day(studio, frame, begun)
    start = day.index(begun)
    if law != "development" or frame.lamp is None:
        found = [one for one in found if one.under_filter is None]
        total = light_of(day, law, constants, found)
        return Summed(day, frame, found, start, float(day.last_index), total)
    # a lamp is steady: what is read under its filter held from the begin; the sky is nothing
    found = [one for one in found if one.under_filter is not None]
    lamp = frame.lamp
    if found and found[-1].under_filter is not None:
        lamp = lamp_read(lamp, *found[-1].under_filter)
        frame = replace(frame, lamp=lamp)
    last = start + longest_lamp_minutes()  # it may burn past midnight
    steady = lamp_of(studio, frame, lamp).development_w_m2 * MINUTE_S
    return Summed(day, frame, found, start, last, np.arange(np.ceil(last) + 1.0) * steady)


def light_length(
    studio: Studio,
    law: str,
    begun: datetime,
    now: datetime,
    *,
    stops: Sequence[tuple[datetime, datetime | None]] = (),
    constants: Mapping[str, Any],
    found: Sequence[Found] = (),
    waited_min: float = 0.0,
    by_pictures: tuple[float, float] | None = None,
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
    waited_min : float
        Of a development: since the end of the exposure. [min]
    by_pictures : (float, float) or None
        Of a development: the light at which pictures say that this plate is ripe [J/m2], in the
        light as it is counted here, and how well they know it [stops].

    Returns
    -------
    Lit or None
        None when it is dark at its begin.
    """
    light = summed_light(studio, law, begun, constants, found)
    day, frame, found, start = light.day, light.frame, light.found, light.start
    total, last = light.total, light.last
    lamp = frame.lamp if law == "development" else None
    here = day.index(max(now, begun))
    edges = np.arange(len(total))

    def sum_to(index: float) -> float:
        return float(np.interp(index, edges, total))

    so_far = sum_to(here) - sum_to(start)
    covered_s = 0.0
    for low, high in stops:
        first = max(day.index(low), start)
        after = here if high is None else min(day.index(high), here)
        if after > first:
            so_far -= sum_to(after) - sum_to(first)
            covered_s += (after - first) * MINUTE_S
    ahead = sum_to(last) - sum_to(min(here, last))
    dark_at_first = sum_to(min(start + 1.0, edges[-1])) <= sum_to(start)
    if dark_at_first or so_far + ahead <= 0.0:
        return None
    elapsed = (here - start) * MINUTE_S - covered_s
    parts = FINE if law == "exposure" else 1
    later = np.append(np.arange(np.ceil(here * parts), last * parts) / parts, max(here, last))
    open_s = np.concatenate(([0.0, elapsed], elapsed + (later - here) * MINUTE_S))
    had = so_far + np.interp(later, edges, total) - sum_to(here)
    received = np.maximum.accumulate(np.concatenate(([0.0, so_far], had)))
    at = min(max(int(start), 0), len(day.elevation_deg) - 1)
    turns = expected_turn(day, at, constants, 3 if law == "exposure" else 4)
    if found and lamp is None:  # what a reading settled opens again as the hours go by
        turns = None if turns is None else turns * gone(start - day.index(found[-1].at))
    if law == "exposure":
        need = _exposure(studio, day, at, turns, found, open_s, received)
    else:
        height = float(day.elevation_deg[at])
        need = (
            _development(studio, frame, height, turns, received, waited_min)
            if by_pictures is None
            else _as_seen(studio, by_pictures, turns, received, waited_min)
        )

    def seconds(dose: float) -> tuple[float, bool]:
        ripe = dose <= need.effect[-1]
        return float(np.interp(dose, need.effect, open_s)), bool(ripe)

    veil_s, veils = seconds(need.veil_dose) if need.veil_dose else (0.0, False)

    def moment(open_for_s: float) -> datetime:
        return day.moment(here + (open_for_s - elapsed) / MINUTE_S)

    doses = spread(need.dose, need.doubt.sigma_stops).tolist()
    (low_s, _), (middle_s, ripe), (high_s, _) = map(seconds, doses)
    why = "lamp" if lamp else "the sun as it stands"
    if found:
        why = found[-1].words
        share = None if lamp else of_plan(day, law, constants, found[-1])
        if share is not None:
            until = counts_until(found[-1].at).astimezone(ZoneInfo(studio.site.time_zone))
            why = OF_PLAN.format(words=why, share=share, until=until)
    if not ripe:
        why = ENDS_WITH.format(why=why, percent=100.0 * need.effect[-1] / need.dose)
    return Lit(
        length=Length(
            middle_s, min(low_s, middle_s), max(high_s, middle_s), why, doubt_line(need.doubt)
        ),
        ripe_at=moment(middle_s) if ripe else None,
        veiled_at=moment(veil_s) if veils else None,
        share=float(np.interp(elapsed, open_s, need.effect)) / need.dose,
        doubt=need.doubt,
    )


@dataclass(frozen=True)
class _Need:
    """The light a plate needs, and what it will have had of it at each moment looked at."""

    dose: float  # [J/m2]
    doubt: Doubt
    effect: Floats  # never falling [J/m2]
    veil_dose: float | None = None  # of a development [J/m2]


def _exposure(
    studio: Studio,
    day: ClearDay,
    at: int,
    turns: float | None,
    found: Sequence[Found],
    open_s: Floats,
    received: Floats,
) -> _Need:
    camera = camera_values(Camera(), studio)
    if found:
        light, metered = (*found[-1].doubts, *weather_turns(turns)), found[-1].metered
    else:  # a clear sky, or what the plan's weather leaves open
        metered = False
        height = float(day.elevation_deg[at])
        light = (
            *subject_light(
                camera,
                height,
                haze_named=studio.site.haze_aod is not None,
                varied=turns is not None,
            ),
            *weather_turns(turns),
        )
    # once the light has gone the effect can only stand still: dark time undoes nothing
    effect = np.maximum.accumulate(received / camera.law.need(np.maximum(open_s, CLOSE_S)))
    dose = exposure_dose(camera)
    lasts = float(np.interp(dose, effect, open_s))
    plate = (*camera.doubts, reciprocity_part(camera.law, max(lasts, CLOSE_S)))
    doubt = exposure_doubt(plate, light, scatter=camera.scatter, metered=metered)
    return _Need(dose, doubt, effect)


def _development(
    studio: Studio,
    frame: DevelopmentFrame,
    elevation_deg: float,
    turns: float | None,
    received: Floats,
    waited_min: float,
) -> _Need:
    haze_named = studio.site.haze_aod is not None or turns is not None
    light = (
        (*red_light_doubt(elevation_deg, haze_named=haze_named), *weather_turns(turns))
        if frame.lamp is None
        else lamp_doubt(frame.lamp)
    )
    light = (
        *light,
        fading_part(waited_min),
        *other_light_part(studio, frame.through, frame.lamp),
    )
    scatter = studio.habits.strayed("development")
    doubt = development_doubt(dose_sigma_stops(studio.habits), light, scatter)
    dose = development_dose(studio.habits, waited_min=waited_min).middle
    return _Need(dose, doubt, received, _veiled(studio, dose, waited_min))


def _veiled(studio: Studio, ripe_j_m2: float, waited_min: float) -> float:
    ratio, _ = veil_known(studio.habits)
    return veiled_dose_j_m2(ripe_j_m2, kept_stops(0.0, waited_min), ratio)


def _as_seen(
    studio: Studio,
    ripe: tuple[float, float],
    turns: float | None,
    received: Floats,
    waited_min: float,
) -> _Need:
    """Return what a plate needs as its pictures show it; light counted wrongly is in that dose."""
    dose, sigma_stops = ripe
    doubt = compose((DoubtPart(PICTURES, sigma_stops, shared=False), *weather_turns(turns)))
    return _Need(dose, doubt, received, _veiled(studio, dose, waited_min))
