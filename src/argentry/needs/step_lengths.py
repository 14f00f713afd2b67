"""How long a step lasts: the trade's rules at a room's temperature and damp, and at a box's."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from argentry import trade
from argentry.errors import BadInput
from argentry.needs.doubt.fuming import fuming_doubt
from argentry.needs.doubt.words import doubt_line
from argentry.needs.over_iodine import BoxToday, box_today, seconds_over_iodine
from argentry.physics.ranges import checked
from argentry.physics.room import durations
from argentry.physics.stops import Z80
from argentry.plan.tasks import Task
from argentry.records.day import Range
from argentry.records.studio import Studio
from argentry.trade import steps as trade_steps
from argentry.trade.conditions import conditions, stage_priors
from argentry.trade.steps import StepRule

BY_LIGHT = ("exposure", "development")


@dataclass(frozen=True)
class Length:
    """A step's length with its 80 % range.

    Attributes
    ----------
    seconds, low, high : float
        [s]
    why : str
        What it rests on, in words that can stand before a colon.
    made_of : str
        What its range is made of, one line; empty where no doubt is worked out.
    """

    seconds: float
    low: float
    high: float
    why: str
    made_of: str = ""


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


def usual_air(studio: Studio) -> Air:
    """Return the studio's usual room and box, before anything is read."""
    return Air(
        room_c=studio.room.temperature_c,
        box_c=studio.boxes[0].temperature_c,
        room_rh_pct=studio.room.relative_humidity_pct,
    )


def plate_rules() -> tuple[StepRule, ...]:
    """Return the trade's rules of the steps each plate goes through."""
    return tuple(r for r in trade_steps.steps() if r.scope == "plate")


def day_rules() -> tuple[StepRule, ...]:
    """Return the trade's rules of the steps done once a day."""
    return tuple(r for r in trade_steps.steps() if r.scope == "day")


def opening_length(studio: Studio, rule: StepRule, area_cm2: float) -> Length:
    """Return a step's length in the studio's usual room, before anything is read.

    Exposure and development are the trade's; the light of a moment replaces them where there is
    any. Over iodine only the time over iodine counts.
    """
    found = air_length(studio, rule, area_cm2, usual_air(studio))
    return found or _of_trade(rule, area_cm2, 1.0, STARTING)


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
        return _by_air(studio, rule, area_cm2, air)
    except BadInput:  # colder, hotter or damper than the law holds: the old length stands
        return None


def _by_air(studio: Studio, rule: StepRule, area_cm2: float, air: Air) -> Length | None:
    if rule.law == "fuming":
        return _fuming(studio, air)
    if rule.law == "temperature":
        return _by_temperature(rule, area_cm2, air)
    if rule.law == "drying" and air.room_rh_pct is not None:
        usual = trade.value("day", "drying_humidity")
        factor = durations.drying_factor(air.room_rh_pct, usual)
        return _of_trade(rule, area_cm2, factor, AIR_AT.format(percent=air.room_rh_pct))
    return None


AIR_AT, HELD_AT = "air at {percent:.0f} %", "{what} at {held:.3g} °C"
STARTING = "the trade's starting value"


def _fuming(studio: Studio, air: Air) -> Length | None:
    box = studio.boxes[0]
    held = box.known_c(air.box_c, air.room_c)
    if held is None:
        return None
    checked("box", held, "fuming", "box_temperature")
    said = "box" if air.box_c is not None or box.temperature_c is not None else "room and box"
    box_now = box_today(studio, held, humidity_pct=air.room_rh_pct)
    over, made_of = _over_iodine(box_now, studio.habits.coat_nm)
    why = HELD_AT.format(what=said, held=held)
    return Length(over.middle, over.low, over.high, why, made_of)


@lru_cache(maxsize=64)  # the range is a simulation; a box keeps its temperature for many events
def _over_iodine(box: BoxToday, coat_nm: float) -> tuple[Range, str]:
    return seconds_over_iodine(box, coat_nm), doubt_line(fuming_doubt(box, coat_nm))


def _by_temperature(rule: StepRule, area_cm2: float, air: Air) -> Length | None:
    held = air.bath_c if air.bath_c is not None else air.room_c
    if held is None:
        return None
    assert rule.activation_kj_mol is not None
    assert rule.reference_c is not None
    factor = durations.temperature_factor(rule.activation_kj_mol, held, rule.reference_c)
    said = "bath" if air.bath_c is not None else "room"
    return _of_trade(rule, area_cm2, factor, HELD_AT.format(what=said, held=held))


def _of_trade(rule: StepRule, area_cm2: float, factor: float, why: str) -> Length:
    low, middle, high = (
        60.0 * factor * minutes for minutes in trade_steps.step_minutes(rule, area_cm2)
    )
    return Length(middle, low, high, why)


def lengths_today(studio: Studio) -> dict[str, Length]:
    """Return how long each step of a plate keeps the hands today, handling at the box included.

    Raises
    ------
    BadInput
        If the room is colder, hotter or damper than a law holds.
    """
    area, air = trade_steps.plate_size(studio.habits.plate_size).area_cm2, usual_air(studio)
    handling = trade.value("steps", "reset_seconds") + 60.0 * trade.value("day", "handling_minutes")
    found = {}
    for rule in plate_rules():
        one = _by_air(studio, rule, area, air) or _of_trade(rule, area, 1.0, STARTING)
        more = handling if rule.law == "fuming" else 0.0
        found[rule.key] = replace(
            one, seconds=one.seconds + more, low=one.low + more, high=one.high + more
        )
    return found


def tasks_today(
    lengths: Mapping[str, Length],
    over_iodine: Range,
    *,
    polished: bool = False,
    seal_later: bool = False,
) -> tuple[Task, ...]:
    """Return a plate's steps of the day as the planner moves them.

    Parameters
    ----------
    lengths : Mapping[str, Length]
        From `lengths_today`.
    over_iodine : Range
        The time over iodine, for how far it may stray. [s]
    polished : bool
        True for a plate that was polished the evening before.
    seal_later : bool
        True when what may be done after the day is left for another.
    """
    rules = plate_rules()
    fading = _fading(rules)
    left = {"before": polished, "after": seal_later}
    rules = tuple(rule for rule in rules if not left.get(rule.another_day, False))
    return tuple(_task(r, lengths[r.key], over_iodine, fading.get(r.key)) for r in rules)


def _fading(rules: tuple[StepRule, ...]) -> dict[str, tuple[float, float]]:
    """Return what waiting costs, by the steps before which it may happen.

    A gap between two steps that is a condition of a stage is a wait before any step from the first
    to the second.

    Returns
    -------
    dict of str to (float, float)
        What a minute takes, by all that is believed of it, and the stage's usual share of good
        ones. [probit/min, 1]
    """
    keys = [rule.key for rule in rules]
    found = {}
    for condition in conditions():
        for rule in rules:
            for feed in rule.feeds:
                if feed.column != condition.key or feed.how != "gap" or condition.sign >= 0:
                    continue
                cost = condition.expected_effect / condition.width
                usual = stage_priors()[condition.stage].ok_middle
                for key in keys[keys.index(feed.of) + 1 : keys.index(rule.key) + 1]:
                    found[key] = (cost, usual)
    return found


def _task(rule: StepRule, length: Length, over: Range, fading: tuple[float, float] | None) -> Task:
    per_minute, usual = fading or (0.0, 0.5)
    log_sd = trade.value("day", "step_log_sd")  # of one maker's hands; the range is all makers'
    if rule.law == "fuming":
        log_sd = math.log(max(over.high / over.low, 1.001)) / (2.0 * Z80)
    return Task(
        key=rule.key,
        law=rule.law if rule.law in BY_LIGHT else "fixed",
        minutes=length.seconds / 60.0,
        log_sd=log_sd,
        attended=rule.attended,
        resource=rule.resource,
        within=rule.start_within_minutes,
        fading=per_minute,
        usual_share=usual,
    )
