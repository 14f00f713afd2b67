"""Today's length of every step: the trade's rules at this room's temperature, damp and box."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry import trade
from argentry.physics import durations, fuming, fuming_range
from argentry.physics.stops import Z80
from argentry.plan.tasks import Task
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from argentry.records.studio import IodineBox, Studio
    from argentry.trade.steps import StepRule


@dataclass(frozen=True)
class RoomToday:
    """The coating room on the day.

    Attributes
    ----------
    temperature_c, relative_humidity_pct : float
        [°C, %]
    pressure_pa : float
        [Pa]
    """

    temperature_c: float
    relative_humidity_pct: float
    pressure_pa: float


@dataclass(frozen=True)
class Fume:
    """The fuming of the day.

    Attributes
    ----------
    box : str
        Name of the box.
    box_temperature_c : float
        [°C]
    seconds, low, high : float
        Middle and 80 % range. [s]
    """

    box: str
    box_temperature_c: float
    seconds: float
    low: float
    high: float


def fume_today(box: IodineBox, room: RoomToday, thickness_nm: float) -> Fume:
    """Return how long a plate lies in the box today.

    Parameters
    ----------
    box : IodineBox
        The box; without a temperature of its own it takes the room's.
    room : RoomToday
        The room.
    thickness_nm : float
        Coat wanted. [nm]
    """
    temperature = box.held_c(room.temperature_c)
    low, high = fuming_range.seconds_range(
        thickness_nm,
        box_temperature_c=temperature,
        gap_mm=box.gap_mm,
        pressure_pa=room.pressure_pa,
        cover_share=box.cover_share,
        crystal_spacing_mm=box.crystal_spacing_mm,
        rested=box.rested,
        box_factor=box.box_factor,
    )
    seconds = fuming.seconds_to_thickness(
        thickness_nm,
        box_temperature_c=temperature,
        gap_mm=box.gap_mm,
        pressure_pa=room.pressure_pa,
        cover_share=box.cover_share,
        crystal_spacing_mm=box.crystal_spacing_mm,
        rested=box.rested,
        box_factor=box.box_factor,
    )
    return Fume(box.name, temperature, float(seconds), float(low), float(high))


def plate_rules() -> tuple[StepRule, ...]:
    """Return the trade's rules of the steps each plate goes through."""
    return tuple(r for r in trade_steps.steps() if r.scope == "plate")


def day_rules() -> tuple[StepRule, ...]:
    """Return the trade's rules of the steps done once a day."""
    return tuple(r for r in trade_steps.steps() if r.scope == "day")


def tasks_today(studio: Studio, room: RoomToday, fume: Fume) -> tuple[Task, ...]:
    """Return a plate's steps with today's minutes.

    Parameters
    ----------
    studio : Studio
        Plate size.
    room : RoomToday
        Temperature and damp.
    fume : Fume
        Today's fuming.
    """
    area = trade_steps.plate_size(studio.habits.plate_size).area_cm2
    return tuple(_task(rule, area, room, fume) for rule in plate_rules())


def _task(rule: StepRule, area_cm2: float, room: RoomToday, fume: Fume) -> Task:
    _, minutes, _ = trade_steps.step_minutes(rule, area_cm2)
    log_sd = trade.value("day", "step_log_sd")
    if rule.law == "temperature":
        assert rule.activation_kj_mol is not None and rule.reference_c is not None  # noqa: PT018
        minutes *= durations.temperature_factor(
            rule.activation_kj_mol, room.temperature_c, rule.reference_c
        )
    elif rule.law == "drying":
        minutes *= durations.drying_factor(
            room.relative_humidity_pct, trade.value("day", "drying_humidity")
        )
    elif rule.law == "fuming":
        over_iodine = fume.seconds + trade.value("steps", "reset_seconds")
        minutes = over_iodine / 60.0 + trade.value("day", "handling_minutes")
        log_sd = math.log(max(fume.high / fume.low, 1.001)) / (2.0 * Z80)
    return Task(
        key=rule.key,
        law=rule.law if rule.law in ("exposure", "development") else "fixed",
        minutes=minutes,
        log_sd=log_sd,
        attended=rule.attended,
        resource=rule.resource,
        within=rule.start_within_minutes,
    )
