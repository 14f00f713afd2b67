"""Sitters who come at a set time: the plate of each with its own pose, lens and size."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.day.day_clock import Clock, wall_time
from argentry.day.planner_light import DayNeeds, LitDay, longest_pose_min
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.needs.camera import Camera, camera_values
from argentry.needs.camera_time import camera_ends, exposure_dose
from argentry.needs.step_lengths import Length
from argentry.plan.daylight import ALL_DAY, expected_exposure_ends
from argentry.plan.problem import Special
from argentry.records.day import Range
from argentry.records.studio import Studio
from argentry.records.wishes import Sitter

OPTION = "--sitter"
TOO_EARLY = "{time} is before the hours begin at {begin:%H:%M}"
TOO_LATE = "{time} is after the hours end at {end:%H:%M}"
IN_A_BREAK = "{time} lies in the break from {low:%H:%M} to {high:%H:%M}"
ANOTHER_TIME = "give a time within the hours and outside the breaks, or other hours"
TOO_DARK = "no pose begun at {time} ends within {longest}"
LIGHT_FROM = "give a time from {low:%H:%M} to {high:%H:%M}, when the light is strong enough"
SHORTEST = "the shortest of the day takes {shortest}, at {low:%H:%M}: allow a longer pose"
NO_LIGHT = "no hour of this day has light enough: choose another day"
SECONDS, MINUTES, BOTH, SHORT_S = "{s} s", "{min} min", "{min} min {s:02d} s", 90


@dataclass(frozen=True)
class Seat:
    """The plate of a sitter.

    Attributes
    ----------
    sitter : Sitter
        As asked.
    special : Special
        What sets the plate apart for the planner.
    needs : DayNeeds
        Of the day, before this lens.
    lengths : Mapping[str, Length]
        Of the steps, for this size of plate.
    """

    sitter: Sitter
    special: Special
    needs: DayNeeds
    lengths: Mapping[str, Length]


@dataclass(frozen=True)
class Hall:
    """The day that sitters come to.

    Attributes
    ----------
    studio : Studio
        Lens, plate size and habits where a sitter asks for nothing else.
    day : date
        The date.
    clock, lit, breaks
        Hours, light and breaks of the day.
    over_iodine : Range
        Time over iodine. [s]
    """

    studio: Studio
    day: date
    clock: Clock
    lit: LitDay
    breaks: tuple[tuple[float, float], ...]
    over_iodine: Range


def seats_of(hall: Hall, sitters: tuple[Sitter, ...]) -> tuple[Seat, ...]:
    """Return the plates of a day's sitters, the first who comes first.

    Raises
    ------
    BadInput
        If one comes outside the hours, in a break, or when there is too little light.
    """
    polished = hall.studio.habits.polished
    in_turn = sorted(sitters, key=lambda one: one.time)
    return tuple(seat_of(hall, one, polished=n < polished) for n, one in enumerate(in_turn))


def seat_of(
    hall: Hall, sitter: Sitter, *, polished: bool, from_minute: float | None = None
) -> Seat:
    """Return the plate of a sitter.

    Parameters
    ----------
    hall : Hall
        The day.
    sitter : Sitter
        Who comes.
    polished : bool
        True when the plate comes polished.
    from_minute : float, optional
        Now, in the middle of the day: a sitter who came waits from then on. [min]
    """
    studio, clock, lit = hall.studio, hall.clock, hall.lit
    minute = _minute(sitter, hall.day, clock, hall.breaks)
    own = studio
    if sitter.size:
        own = replace(studio, habits=replace(studio.habits, plate_size=sitter.size))
    lengths = step_lengths.lengths_today(own)
    camera = camera_values(Camera(f_number=sitter.f_number), own)
    longest = longest_pose_min(studio)
    if sitter.pose_s is not None:
        longest = min(longest, sitter.pose_s / 60.0)
    light = replace(
        lit.day,
        exposure_dose=exposure_dose(camera),
        law=camera.law,
        longest_exposure=longest,
        patience=np.inf,
        expected=(
            camera_ends(lit.exposure_w_m2, camera, lit.elevation_deg)
            if lit.day.expected is not None
            else None
        ),
    )
    anyhow = expected_exposure_ends(light)
    last = max(minute, from_minute or minute) + trade.value("day", "sitter_waits")
    light = replace(light, window=(minute, last))
    if not np.isfinite(expected_exposure_ends(light)).any():
        most = trade.value("exposure", "longest_exposure")
        anyway = expected_exposure_ends(replace(light, longest_exposure=most, window=ALL_DAY))
        raise _too_dark(sitter, clock, anyhow, anyway, longest)
    tasks = step_lengths.tasks_today(
        lengths, hall.over_iodine, polished=polished, seal_later=studio.habits.seal_later
    )
    return Seat(sitter, Special(tasks, light), replace(lit.needs, camera=camera), lengths)


def _minute(
    sitter: Sitter, day: date, clock: Clock, breaks: tuple[tuple[float, float], ...]
) -> float:
    """Return the minute at which a sitter comes, within the hours and outside the breaks [min]."""
    minute = clock.minute(wall_time(OPTION, day, sitter.time, clock.zone))
    said: dict[str, object] = {"time": sitter.time, "begin": clock.begin, "end": clock.end}
    if minute < 0.0:
        raise BadInput(OPTION, TOO_EARLY, ANOTHER_TIME, **said)
    if minute >= clock.minutes:
        raise BadInput(OPTION, TOO_LATE, ANOTHER_TIME, **said)
    for low, high in breaks:
        if low <= minute < high:
            said |= {"low": clock.at(low), "high": clock.at(high)}
            raise BadInput(OPTION, IN_A_BREAK, ANOTHER_TIME, **said)
    return minute


def _too_dark(
    sitter: Sitter,
    clock: Clock,
    ends: Floats,
    anyway: Floats,
    longest: float,
) -> BadInput:
    """Return the refusal with what would be right: another time, a longer pose, another day."""
    said: dict[str, object] = {"time": sitter.time, "longest": _length(longest)}
    light = np.flatnonzero(np.isfinite(ends[: clock.minutes]))
    lengths = anyway - np.arange(len(anyway))
    if light.size:
        said |= {"low": clock.at(int(light[0])), "high": clock.at(int(light[-1]))}
        return BadInput(OPTION, TOO_DARK, LIGHT_FROM, **said)
    if np.isfinite(lengths).any():
        best = int(np.nanargmin(lengths))
        said |= {"shortest": _length(float(lengths[best])), "low": clock.at(best)}
        return BadInput(OPTION, TOO_DARK, SHORTEST, **said)
    return BadInput(OPTION, TOO_DARK, NO_LIGHT, **said)


def _length(minutes: float) -> str:
    whole, rest = divmod(math.ceil(round(60.0 * minutes, 3)), 60)  # typed again, it is enough
    if 60 * whole + rest < SHORT_S:
        return SECONDS.format(s=60 * whole + rest)
    return (BOTH if rest else MINUTES).format(min=whole, s=rest)
