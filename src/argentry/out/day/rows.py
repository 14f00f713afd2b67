"""The rows of a day in order of time, one piece of work each, and the rules of waiting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.out.day.blocks import blocks, from_to, is_exposure, names, ripe, short_name
from argentry.out.wording import clock, clock_range, length_range
from argentry.records.day import within

if TYPE_CHECKING:
    from argentry.out.day.blocks import Block
    from argentry.records.day import DayPlan, Range

CAMERA = "camera {minutes}"
RIPE = "ripe {range}"
RULES_FROM_MINUTES = 15.0  # shorter limits are the next step of the same piece of work


@dataclass(frozen=True)
class Row:
    """One piece of work as it is printed.

    Attributes
    ----------
    start : str
        Planned start.
    range : str
        Of the start, on 80 % of days.
    latest : str
        Latest start: a time, or ``within 15 min of ripe``; empty for what begins by itself.
    plate : str
        Number of the plate; empty for what serves the whole day.
    what : str
        First and last step of the hands, or the minutes before the camera with their range.
    every : str
        The same with every step of the hands.
    length : str
        Length of the hands' work with its range; empty where the camera's minutes say it.
    wait : str
        When the plate that then waits is ripe, on 80 % of days; empty when nothing waits.
    """

    start: str
    range: str
    latest: str
    plate: str
    what: str
    every: str
    length: str
    wait: str


def rows(plan: DayPlan) -> tuple[Row, ...]:
    """Return the day's pieces of work in order of time.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    """
    return tuple(_row(block) for block in blocks(plan))


def spelt(span: Range) -> str:
    """Return a length with its range: ``29 min (19–63)``."""
    middle, ends = length_range(span)
    return f"{middle} ({ends})" if ends else middle


def _row(block: Block) -> Row:
    exposed = next((step for step in block.hands if is_exposure(step)), None)
    if exposed is None:
        what, every = from_to(block.hands), names(block.hands)
        long = spelt(block.minutes) if block.hands else ""
    else:
        after = tuple(step for step in block.hands if step is not exposed)
        what = CAMERA.format(minutes=spelt(exposed.minutes))
        every = f"{what}, {names(after)}" if after else what
        long = ""
    wait = ""
    if block.wait is not None:
        early, _, late = ripe(block.wait)
        wait = RIPE.format(range=clock_range(early, late))
    return Row(
        start=clock(block.start),
        range=clock_range(block.start_low, block.start_high),
        latest=block.begin_by if block.hands else "",
        plate=str(block.plate) if block.plate else "",
        what=what,
        every=every,
        length=long,
        wait=wait,
    )


def wait_rules(plan: DayPlan) -> tuple[str, ...]:
    """Return how long what may wait on this day, each rule once, in the order of the work.

    Parameters
    ----------
    plan : DayPlan
        The planned day.

    Returns
    -------
    tuple of str
        ``"fix within 15 min of ripe"``; none for limits that the next movement of the hand keeps.
    """
    rules = (
        f"{short_name(step)} {within(step)}"
        for step in plan.steps
        if step.within_minutes is not None and step.within_minutes >= RULES_FROM_MINUTES
    )
    return tuple(dict.fromkeys(rules))
