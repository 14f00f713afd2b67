"""What the house answers to what it hears: which steps now last longer or shorter, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import log
from typing import Any
from zoneinfo import ZoneInfo

from argentry import trade
from argentry.bench.hands import planned_kind
from argentry.bench.words import change_words
from argentry.needs.light_lengths import NO_LIGHT_THEN, light_length, says_too_dark
from argentry.needs.step_lengths import Air, Length, air_length, usual_air
from argentry.records.run import PlateState, RunReading, RunState
from argentry.records.run_step import RipeSeen, StepState
from argentry.records.studio import USUAL_SIZE, Studio
from argentry.sky.clear_day import Found, against_clear, frame_of
from argentry.trade import steps as trade_steps
from argentry.trade.readings import FILTER_LAWS, LIGHT_LAWS, measured_for, quantities

# law that a reading feeds, to the field of `Air` that it fills
AIR = {
    "room temperature": "room_c",
    "box temperature": "box_c",
    "bath temperature": "bath_c",
    "humidity": "room_rh_pct",
}
BY_AIR = ("fuming", "temperature", "drying")
BY_LIGHT = ("exposure", "development")
LEAST_S = {"exposure": 1.0, "development": 60.0}


@dataclass(frozen=True)
class Change:
    """A step's length put right.

    Attributes
    ----------
    plate, step : str
        Of what.
    body : dict
        Body of ``duration_changed``.
    """

    plate: str
    step: str
    body: dict[str, Any]


def fresh_air(readings: Sequence[RunReading], now: datetime) -> Air:
    """Return what was last read of room, box and bath and is not too old to be used.

    Parameters
    ----------
    readings : sequence of RunReading
        Believed ones, of people and sensors, in order of time.
    now : datetime
        UTC.
    """
    known: dict[str, float] = {}
    for reading in readings:
        quantity = quantities().get(reading.what)
        if quantity is None or quantity.law not in AIR:
            continue
        if (now - reading.at).total_seconds() <= quantity.stale_after_s:
            known[AIR[quantity.law]] = reading.value
    return Air(**known)


def changes(
    studio: Studio,
    state: RunState,
    readings: Sequence[RunReading],
    now: datetime,
    *,
    light_is_new: bool,
    learned_is_new: bool = False,
    apart_s: float = 0.0,
) -> list[Change]:
    """Return every step that now lasts longer or shorter than the run says.

    Parameters
    ----------
    studio : Studio
        The studio.
    state : RunState
        The run at `now`.
    readings : sequence of RunReading
        Believed readings of people and sensors since the run was opened, in order of time.
    now : datetime
        UTC.
    light_is_new : bool
        True to look also at exposures and developments whose turn has not come.
    learned_is_new : bool
        True to look also at the time over iodine where nothing was read.
    apart_s : float
        A step changed less than this ago is left for now. [s]
    """
    if state.state not in ("open", "paused"):
        return []
    air = fresh_air(readings, now)
    lights = [r for r in readings if r.what in measured_for(*LIGHT_LAWS)]
    found_in: dict[str, list[Found]] = {}  # by frame: plates of a run may lie in several
    out = []
    for plate in state.plates:
        if plate.state != "open":
            continue
        wait_s = 0.0
        for step in plate.steps:
            if step.state not in ("waiting", "ready", "running"):
                continue
            law = state.step(step.key).law
            length: Length | None = None
            if law in BY_AIR:
                known = air
                if law == "fuming" and learned_is_new and step.state != "running":
                    known = _or_usual(studio, air)
                length = air_length(studio, trade_steps.step(step.key), _area(state, plate), known)
            elif law in BY_LIGHT and (light_is_new or step.state != "waiting"):
                start = step.begun or now + timedelta(seconds=wait_s)
                frame = str(light_constants(state, plate).get("frame"))
                if frame not in found_in:
                    found_in[frame] = lights_found(studio, state, plate, lights)
                found = found_in[frame]
                length = _lit(studio, state, plate, law, start, now, found, step.ripe)
                if length is None and _said(step) != NO_LIGHT_THEN:
                    out.append(_change(plate, step, _as_planned(step), NO_LIGHT_THEN))
            if length is not None and _matters(law, step, length) and _due(step, now, apart_s):
                out.append(_change(plate, step, length))
                wait_s += length.seconds - step.planned_s
            elif (
                length is not None and says_too_dark(length.why) and not says_too_dark(_said(step))
            ):
                # what is left of the light may be as long as was planned, and is no end
                out.append(_change(plate, step, length, length.why))
            wait_s += max(step.left_s, 0.0)
    return out


def _or_usual(studio: Studio, air: Air) -> Air:
    """Return what was read, the studio's usual room and box where nothing was."""
    usual = usual_air(studio)
    return air if air.box_c is not None or air.room_c is not None else usual


RIPE_AT, VEILED_AFTER = "{why}, ripe from {ripe:%H:%M}", ", veiled after {veiled:%H:%M}"
BY_PICTURES = "by its pictures, {why}"


def _lit(
    studio: Studio,
    state: RunState,
    plate: PlateState,
    law: str,
    start: datetime,
    now: datetime,
    found: Sequence[Found],
    seen: RipeSeen | None,
) -> Length | None:
    ripe = None if seen is None else (1000.0 * seen.dose_kj_m2, seen.log_sd / log(2.0))
    lit = light_length(
        studio, law, start, max(now, start), stops=plate.stops,
        constants=light_constants(state, plate), found=found,
        waited_min=waited_min(plate, start), by_pictures=ripe,
    )  # fmt: skip
    if lit is None:
        return None
    length = lit.length
    if ripe is not None:
        length = replace(length, why=BY_PICTURES.format(why=length.why))
    if law == "development" and lit.ripe_at is not None:
        zone = ZoneInfo(studio.site.time_zone)
        why = RIPE_AT.format(why=length.why, ripe=lit.ripe_at.astimezone(zone))
        if lit.veiled_at is not None:
            why += VEILED_AFTER.format(veiled=lit.veiled_at.astimezone(zone))
        length = replace(length, why=why)
    return length


def waited_min(plate: PlateState, start: datetime) -> float:
    """Return the minutes since the end of the exposure; 0 where it is not known. [min]."""
    ended = next(
        (s.ended for s in plate.steps if s.key == trade_steps.by_law("exposure").key), None
    )
    return 0.0 if ended is None else max((start - ended).total_seconds() / 60.0, 0.0)


def _area(state: RunState, plate: PlateState) -> float:
    sizes = state.constants.get("sizes")
    name = sizes.get(plate.id, USUAL_SIZE) if isinstance(sizes, dict) else USUAL_SIZE
    return trade_steps.plate_size(name).area_cm2


def _matters(law: str, step: StepState, length: Length) -> bool:
    share = trade.value("bench", "least_change")
    least = max(LEAST_S.get(law, 1.0), share * step.planned_s)
    return abs(length.seconds - step.planned_s) >= least


def _due(step: StepState, now: datetime, apart_s: float) -> bool:
    return not step.changes or (now - step.changes[-1].at).total_seconds() >= apart_s


def _said(step: StepState) -> str:
    return step.changes[-1].why if step.changes else ""


def _as_planned(step: StepState) -> Length:
    return Length(step.planned_s, step.low_s, step.high_s, "", step.made_of)


def _change(plate: PlateState, step: StepState, length: Length, words: str = "") -> Change:
    planned = round(length.seconds, 1)
    return Change(
        plate.id,
        step.key,
        {
            "planned_s": planned,
            "was_s": round(step.planned_s, 1),
            "low_s": round(min(length.low, planned), 1),
            "high_s": round(max(length.high, planned), 1),
            "why": words or change_words(length.why, step.planned_s, planned),
            "made_of": length.made_of,
        },
    )


def light_constants(state: RunState, plate: PlateState) -> Mapping[str, Any]:
    """Return the run's constants with the frame that this plate is developed in."""
    frame = planned_kind(state, plate, trade_steps.by_law("development").resource)
    return {**state.constants, "frame": frame} if frame else state.constants


def lights_found(
    studio: Studio, state: RunState, plate: PlateState, readings: Sequence[RunReading]
) -> list[Found]:
    """Return what the light readings of a run found of the clear sky's light for one plate.

    What was read under the filter of a plate in another frame is not of this one.
    """
    frame = frame_of(studio, light_constants(state, plate).get("frame"))
    frames = trade_steps.by_law("development").resource
    own = planned_kind(state, plate, frames)
    other = {p.id for p in state.plates if planned_kind(state, p, frames) != own}
    of_its = (one for one in readings if not (one.plate in other and _under_filter(one)))
    found = (against_clear(studio, frame, one) for one in of_its)
    return [one for one in found if one is not None]


def _under_filter(reading: RunReading) -> bool:
    return quantities()[reading.what].law in FILTER_LAWS
