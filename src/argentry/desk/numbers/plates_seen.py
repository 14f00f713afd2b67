"""What plates say of the studio's numbers: judged exposures, timed coats, ripe ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import nan
from typing import NamedTuple

from argentry import trade
from argentry.learn.numbers.exposure_belief import GradedExposure
from argentry.learn.numbers.speed import light_given
from argentry.learn.stages.derived_conditions import value_of
from argentry.learn.stages.table import succeeded
from argentry.needs.over_iodine import box_today, grown_back
from argentry.needs.plate_light import (
    Shot,
    dose_needed,
    kept_share,
    number_of,
    ripenings,
    shots,
    sun_frame,
)
from argentry.physics.vapour.iodine_box import THICKEST_NM
from argentry.records.plate import Making
from argentry.records.studio import Studio
from argentry.trade.columns import columns
from argentry.trade.defects import defects
from argentry.trade.steps import stage_of

OPENED = ("bottle", "lot", "batch")  # in the name of a column of the maker's own
FARTHEST = 10.0  # from the exposure needed: beyond it nothing is learned [stops]


class TimedCoat(NamedTuple):
    """A coat whose seconds, box and colour are known; NaN for what was not read."""

    seconds: float
    nm: float
    box_c: float
    plate_c: float
    humidity_pct: float
    day: date


class Ended(NamedTuple):
    """Where a development ended, or by its pictures would have: 0 where they did not tell it.

    The minutes are those behind the filter; NaN where pictures told it.
    """

    dose_kj_m2: float
    end: str
    light_sd: float
    day: date
    pictures_log_sd: float = 0.0
    minutes: float = nan


@dataclass(frozen=True)
class Seen:
    """What plates tell of the studio's numbers: each row ends with its day, or has one."""

    exposures: tuple[GradedExposure, ...]
    coats: tuple[TimedCoat, ...]
    ends: tuple[Ended, ...]

    def until(self, day: date) -> Seen:
        """Return what was told before that day."""
        return Seen(
            tuple(one for one in self.exposures if one.day is None or one.day < day),
            tuple(one for one in self.coats if one.day < day),
            tuple(one for one in self.ends if one.day < day),
        )


def seen_of(studio: Studio, makings: Sequence[Making], start_iso: float) -> Seen:
    """Return what plates tell; under a lamp an end of development tells no dose of sunlight."""
    return Seen(
        graded_exposures(studio, makings, start_iso),
        _timed_coats(studio, makings),
        _end_points(studio, makings),
    )


def coat_nm(making: Making) -> float | None:
    """Return the thickness of a coat, measured or by its colour word; None for a slip. [nm]."""
    found = value_of("coat_nm", making.conditions)
    return found if found is not None and 0.0 < found <= THICKEST_NM else None


def coat_at_exposure_nm(studio: Studio, making: Making) -> float | None:
    """Return the coat with what the studio's last seconds back over iodine added to it. [nm].

    Parameters
    ----------
    studio : Studio
        Its habit; none set adds nothing.
    making : Making
        The plate; its box's temperature as read, else as the studio holds it.
    """
    judged, seconds = coat_nm(making), studio.habits.back_over_iodine_s
    if judged is None or not seconds:
        return judged
    held = number_of(making, "box_c")
    fact = trade.facts("fuming")["box_temperature"]
    if held is not None and not fact.low <= held <= fact.high:
        held = None
    return min(judged + grown_back(box_today(studio, held), seconds).middle, THICKEST_NM)


def box_held_c(studio: Studio, making: Making) -> float | None:
    """Return what the box was at: as read, else as it is held, else as its room was. [°C]."""
    read, room = number_of(making, "box_c"), number_of(making, "room_c")
    return studio.boxes[0].known_c(read, room)


def graded_exposures(
    studio: Studio, makings: Sequence[Making], start_iso: float
) -> tuple[GradedExposure, ...]:
    """Return the judged exposures: the light they had against what the starting speed asks for.

    A plate whose polish or coat was at fault says nothing of the exposure and is left out. Of a
    plate with a step wedge each step is a strip, and all share what is the plate's own.
    """
    judged = [
        one
        for one in makings
        if (one.verdict is not None or one.strips)
        and "fault" not in (one.stages.get("polish"), one.stages.get("coat"))
    ]
    found = []
    for shot in shots(studio, judged):
        stops = stops_given(studio, shot, start_iso)
        if stops is None:
            continue
        own = shot.making.strips or ((0.0, str(shot.making.verdict)),)
        strips = [(more, word) for more, word in own if abs(stops + more) <= FARTHEST]
        if not strips:
            continue
        found.append(
            GradedExposure(
                stops=tuple(stops + more for more, _ in strips),
                verdicts=tuple(verdict for _, verdict in strips),
                light_sd=min(shot.light_sd, 3.0),
                session=shot.making.session,
                day=shot.making.day,
                group=shot.plane,
                opened=_opened(shot.making),
            )
        )
    return tuple(found)


def stops_given(studio: Studio, shot: Shot, start_iso: float) -> float | None:
    """Return the light of an exposure against what the starting speed asks for. [stops].

    None where lens or coat cannot be, and for a slip of the pen.
    """
    needed = dose_needed(studio, shot, coat_at_exposure_nm(studio, shot.making), start_iso)
    if needed is None:
        return None
    stops = light_given(shot.dose_j_m2, needed)
    return stops if abs(stops) <= FARTHEST else None


def _opened(making: Making) -> str:
    """Return the bottle or lot in use, as the maker's own columns name it."""
    named = {
        name: value
        for name, value in making.conditions.items()
        if isinstance(value, str) and name not in columns() and any(w in name for w in OPENED)
    }
    return "; ".join(f"{name} {value}" for name, value in sorted(named.items()))


def _timed_coats(studio: Studio, makings: Sequence[Making]) -> tuple[TimedCoat, ...]:
    """Return the coats whose seconds, box and colour are known."""
    fact = trade.facts("fuming")["box_temperature"]
    coats = []
    for one in makings:
        seconds, nm = number_of(one, "fuming_seconds"), coat_at_exposure_nm(studio, one)
        held = box_held_c(studio, one)
        if seconds is None or nm is None or held is None or seconds <= 0.0:
            continue
        if nm > 1.0 and fact.low <= held <= fact.high:  # else a slip
            plate, damp = number_of(one, "plate_c"), number_of(one, "room_rh_pct")
            coats.append(
                TimedCoat(
                    seconds,
                    nm,
                    held,
                    nan if plate is None else plate,
                    nan if damp is None else damp,
                    one.day,
                )
            )
    return tuple(coats)


def _end_points(studio: Studio, makings: Sequence[Making]) -> tuple[Ended, ...]:
    """Return how much light plates had when they came out, or needed by their pictures.

    How a plate came out goes before what its pictures predicted.
    """
    ripened = {ripe.making.id: ripe for ripe in ripenings(studio, makings)}
    found = []
    for one in makings:
        ripe, end = ripened.get(one.id), _end(one)
        if ripe is not None and end is not None:
            found.append(Ended(ripe.dose_kj_m2, end, ripe.light_sd, one.day, minutes=ripe.minutes))
        elif (
            end is None
            and one.ripe_seen is not None
            and one.verdict in (None, "right")
            and sun_frame(studio, one) is not None
        ):
            dose, log_sd = one.ripe_seen
            found.append(Ended(dose / kept_share(one), "ripe", 0.0, one.day, log_sd))
    return tuple(found)


def _end(making: Making) -> str | None:
    """Return how a plate came out of the frame; only a right exposure tells of the dose."""
    if making.verdict not in (None, "right"):
        return None
    told = {
        defects()[key].ended
        for key, origin in making.defects
        if key in defects() and stage_of().get(origin, origin) == "development"
    }
    for end in ("too long", "unripe"):
        if end in told:
            return end
    if making.stages.get("development") == "ok" or succeeded(making):
        return "ripe"
    return None
