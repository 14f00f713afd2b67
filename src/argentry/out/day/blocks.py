"""The day as the hands live it: steps of one plate that follow at once, taken together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from argentry.out.wording import clock_range, deadline, later, minutes_between, step_range
from argentry.records.day import DayPlan, PlannedStep, Range, by_event, within
from argentry.trade.steps import by_law

# Steps of one plate closer than this are one piece of work for the sheet. [min]
JOIN_MINUTES = 3.0
BEGIN_WITHIN = "Begin within {minutes:.0f} min of {event}."
AT_THE_LATEST = "Begin at the latest {latest_start}."


@dataclass(frozen=True)
class Block:
    """Steps of one plate done one after the other without putting it down.

    Attributes
    ----------
    plate : int
        Number of the plate, 0 for the whole day.
    steps : tuple of PlannedStep
        In order; only the last may be one that needs no hands.
    start, end, start_low, start_high : datetime
        As in `PlannedStep`, for the hands' part.
    float_minutes : float
        That of its first step; 0 where an event decides. [min]
    minutes : Range
        Length of the hands' part; spreads of the steps added in quadrature about the middles. [min]
    """

    plate: int
    steps: tuple[PlannedStep, ...]
    start: datetime
    end: datetime
    float_minutes: float
    start_low: datetime
    start_high: datetime
    minutes: Range

    @property
    def hands(self) -> tuple[PlannedStep, ...]:
        """The steps that need hands."""
        return tuple(step for step in self.steps if step.attended)

    @property
    def begin_by(self) -> str:
        """When it must begin at the latest, see `begin_by`."""
        return begin_by(self.steps[0])

    @property
    def wait(self) -> PlannedStep | None:
        """The step it ends in that needs no hands, if there is one."""
        return None if self.steps[-1].attended else self.steps[-1]


def short_name(step: PlannedStep) -> str:
    """Return the step's key in plain words."""
    return step.step.replace("_", " ").replace("-", " ")


def names(steps: tuple[PlannedStep, ...]) -> str:
    """Return the short names of steps in one line, as in ``scour, rouge buff, final buff``."""
    return ", ".join(short_name(step) for step in steps)


def from_to(steps: tuple[PlannedStep, ...]) -> str:
    """Return the first and the last short name: ``scour to load``; all of two or fewer."""
    if len(steps) <= 2:
        return names(steps)
    return f"{short_name(steps[0])} to {short_name(steps[-1])}"


def over_iodine(plan: DayPlan, step: PlannedStep) -> tuple[str, str] | None:
    """Return the time over iodine of a step that is over iodine, and its range, as at the bench.

    The step's own length holds the handling too: who counts that has too thick a coat.
    """
    seconds = plan.over_iodine_seconds
    if step.step != by_law("fuming").key or not seconds.middle > 0.0:
        return None
    middle, _, ends = step_range(seconds.middle, seconds.low, seconds.high).partition(" (")
    return middle, ends.rstrip(")")


def is_exposure(step: PlannedStep) -> bool:
    """Tell whether this is the step before the camera."""
    return step.step == by_law("exposure").key


def at_once(before: PlannedStep, step: PlannedStep) -> bool:
    """Tell whether `step` begins as `before` ends."""
    return abs(minutes_between(before.end, step.start)) <= JOIN_MINUTES


def ripe(step: PlannedStep) -> tuple[datetime | None, datetime | None, datetime | None]:
    """Return when a step begun as planned ends: early, middle, late; None where it never does."""
    early, middle, late = (
        later(step.start, span) if math.isfinite(span) else None
        for span in (step.minutes.low, step.minutes.middle, step.minutes.high)
    )
    return early, middle, late


def begins(plan: DayPlan, *alike: Block) -> str:
    """Return when work begins on 80 % of the simulated days; ``never`` where it does not.

    On a day on which it cannot be begun any more it counts as begun when the hands leave.
    """
    low = min((one.start_low for one in alike), key=datetime.timestamp)
    high = max((one.start_high for one in alike), key=datetime.timestamp)
    end = plan.end.timestamp()
    return clock_range(*(one if one.timestamp() < end else None for one in (low, high)))


def blocks(plan: DayPlan) -> tuple[Block, ...]:
    """Return the day's blocks in order of start.

    Returns
    -------
    tuple of Block
        Every step is in exactly one block.
    """
    groups: list[list[PlannedStep]] = []
    open_group: dict[int, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.start.timestamp(), one.plate)):
        group = open_group.get(step.plate)
        # the camera begins a piece of work of its own: the sitter and the sun wait for it
        if group and group[-1].attended and not is_exposure(step) and at_once(group[-1], step):
            group.append(step)
        else:
            group = [step]
            groups.append(group)
            open_group[step.plate] = group
    return tuple(block_of(tuple(group)) for group in groups)


def begin_by(step: PlannedStep) -> str:
    """Return by when a step must begin: ``09:50``, or ``within 15 min of ripe``."""
    return within(step) if by_event(step) else deadline(step.latest_start)


def latest_words(step: PlannedStep) -> str:
    """Return in a sentence by when a step must begin."""
    clock = AT_THE_LATEST.format(latest_start=deadline(step.latest_start))
    if step.within_minutes is None:
        return clock
    words = BEGIN_WITHIN.format(event=step.event, minutes=step.within_minutes)
    return words if by_event(step) else f"{words} {clock}"


def block_of(steps: tuple[PlannedStep, ...]) -> Block:
    """Return steps that follow at once as one piece of work."""
    first = steps[0]
    counted = tuple(step for step in steps if step.attended) or steps
    return Block(
        plate=first.plate,
        steps=steps,
        start=first.start,
        end=counted[-1].end,
        float_minutes=0.0 if by_event(first) else first.float_minutes,
        start_low=first.start_low,
        start_high=first.start_high,
        minutes=_add([step.minutes for step in counted]),
    )


def _add(spans: list[Range]) -> Range:
    middle = sum(span.middle for span in spans)
    if not math.isfinite(middle):
        return Range(sum(span.low for span in spans), middle, math.inf)
    down = math.hypot(*(span.middle - span.low for span in spans))
    up = math.hypot(*(span.high - span.middle for span in spans))
    return Range(middle - down, middle, middle + up)
