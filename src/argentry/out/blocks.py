"""The day as the hands live it: steps of one plate that follow at once, taken together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.out.wording import later, minutes_between
from argentry.records.day import Range

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.records.day import DayPlan, PlannedStep

# Steps of one plate closer than this are one piece of work for the sheet. [min]
JOIN_MINUTES = 3.0
# The camera is its own piece of work: the sitter and the sun wait for it.
OWN_BLOCK = frozenset({"expose"})


@dataclass(frozen=True)
class Block:
    """Steps of one plate done one after the other without putting it down.

    Attributes
    ----------
    plate : int
        Number of the plate, 0 for the whole day.
    steps : tuple of PlannedStep
        In order; exactly one when nobody stands by it.
    attended : bool
        True when it needs hands.
    start, end, latest_start, start_low, start_high : datetime
        As in `PlannedStep`, for the block.
    float_minutes : float
        The smallest float of its steps. [min]
    minutes : Range
        Length of the block; spreads of the steps added in quadrature about the middles. [min]
    """

    plate: int
    steps: tuple[PlannedStep, ...]
    attended: bool
    start: datetime
    end: datetime
    latest_start: datetime
    float_minutes: float
    start_low: datetime
    start_high: datetime
    minutes: Range

    @property
    def name(self) -> str:
        """The steps' short names, as in ``scour, rouge buff, last buff``."""
        return ", ".join(short_name(step) for step in self.steps)


def short_name(step: PlannedStep) -> str:
    """Return the step's key in plain words."""
    return step.step.replace("_", " ").replace("-", " ")


def is_exposure(step: PlannedStep) -> bool:
    """Tell whether this is the step before the camera."""
    return step.step in OWN_BLOCK


def blocks(plan: DayPlan) -> tuple[Block, ...]:
    """Return the day's blocks in order of start.

    Parameters
    ----------
    plan : DayPlan
        The planned day.

    Returns
    -------
    tuple of Block
        Every step is in exactly one block.
    """
    groups: list[list[PlannedStep]] = []
    open_group: dict[int, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.start.timestamp(), one.plate)):
        group = open_group.get(step.plate)
        if group is not None and _follows(group[-1], step):
            group.append(step)
        else:
            group = [step]
            groups.append(group)
            open_group[step.plate] = group
    return tuple(_block(tuple(group)) for group in groups)


def _follows(before: PlannedStep, step: PlannedStep) -> bool:
    return (
        before.attended
        and step.attended
        and not is_exposure(before)
        and not is_exposure(step)
        and abs(minutes_between(before.end, step.start)) <= JOIN_MINUTES
    )


def _block(steps: tuple[PlannedStep, ...]) -> Block:
    first, last = steps[0], steps[-1]
    slack = min(step.float_minutes for step in steps)
    return Block(
        plate=first.plate,
        steps=steps,
        attended=first.attended,
        start=first.start,
        end=last.end,
        latest_start=first.latest_start if len(steps) == 1 else later(first.start, slack),
        float_minutes=slack,
        start_low=first.start_low,
        start_high=first.start_high,
        minutes=_add([step.minutes for step in steps]),
    )


def _add(spans: list[Range]) -> Range:
    middle = sum(span.middle for span in spans)
    down = math.hypot(*(span.middle - span.low for span in spans))
    up = math.hypot(*(span.high - span.middle for span in spans))
    return Range(middle - down, middle, middle + up)
