"""The rows of a day in order of time, one piece of work each, and the rules of waiting."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from argentry.out.day.blocks import (
    Block,
    at_once,
    begins,
    block_of,
    blocks,
    from_to,
    is_exposure,
    names,
    over_iodine,
    ripe,
    short_name,
)
from argentry.out.wording import clock, clock_range, length_range
from argentry.records.day import (
    BREAK_GRACE_MINUTES,
    URGENT_MINUTES,
    DayPlan,
    PlannedStep,
    Range,
    by_event,
    within,
)

CAMERA = "camera {minutes}"
AT_ONCE, FIRST_BY = "at once", "the first by {latest}"
RIPE, IN_FRAME = "ripe {range}", "{ripe} in {frame}"
VEILED, VEILED_PLATE = "out of the frame before the veil (plate {each})", "{plate} at {veiled}"
FIRST = "of two plates that wait, one with under {minutes:.0f} min left goes first"
GRACE = "before the break at {start} begin what ends by {end}"
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
        Number of the plate, or of several that hands begin together; empty for the whole day.
    what : str
        First and last step of the hands, or the minutes before the camera with their range.
    every : str
        The same with every step of the hands.
    length : str
        Length of the hands' work with its range; empty where the camera's minutes say it.
    wait : str
        When the plate that then waits is ripe, on 80 % of days, and in which frame where the day
        uses several kinds; empty when nothing waits.
    """

    start: str
    range: str
    latest: str
    plate: str
    what: str
    every: str
    length: str
    wait: str


def rows(plan: DayPlan, *, each_step: bool = False) -> tuple[Row, ...]:
    """Return the day's pieces of work in order of time.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    each_step : bool
        True for a row for each step, where there is room.
    """
    if each_step:
        ordered = sorted(plan.steps, key=lambda step: step.start.timestamp())
        return tuple(
            replace(row, latest=AT_ONCE) if _follows(before, step) else row
            for before, step in zip([None, *ordered], ordered, strict=False)
            for row in (_row(plan, block_of((step,))),)
        )
    alike: dict[object, list[Block]] = {}
    for block in blocks(plan):
        alike.setdefault(_kind(block), []).append(block)
    return tuple(_row(plan, *group) for group in alike.values())


def _kind(block: Block) -> object:
    """Return what is the same for work that several hands begin together on a plate each."""
    if block.wait is not None or not block.plate or any(map(is_exposure, block.steps)):
        return id(block)
    return clock(block.start), names(block.hands), spelt(block.minutes)


def _follows(before: PlannedStep | None, step: PlannedStep) -> bool:
    """Tell whether a step can only be begun as the one before it ends."""
    return (
        before is not None
        and before.plate == step.plate
        and before.attended
        and step.attended
        and not by_event(step)
        and step.float_minutes < 1.0
        and at_once(before, step)
    )


def spelt(span: Range) -> str:
    """Return a length with its range: ``29 min (19–63)``."""
    return _with_range(*length_range(span))


def _with_range(middle: str, ends: str) -> str:
    return f"{middle} ({ends})" if ends else middle


def _row(plan: DayPlan, block: Block, *more: Block) -> Row:
    every_block = (block, *more)
    work = block.hands or block.steps
    exposed = next((step for step in work if is_exposure(step)), None)
    if exposed is None:
        fumed = over_iodine(plan, work[0]) if len(work) == 1 else None
        what, every = from_to(work), names(work)
        length = _with_range(*fumed) if fumed else spelt(block.minutes)
    else:
        after = tuple(step for step in work if step is not exposed)
        what, length = CAMERA.format(minutes=spelt(exposed.minutes)), ""
        every = f"{what}, {names(after)}" if after else what
    wait = ""
    if block.wait is not None:
        early, _, late = ripe(block.wait)
        wait = RIPE.format(range=clock_range(early, late))
        if len({step.resource for step in plan.steps if step.step == block.wait.step}) > 1:
            wait = IN_FRAME.format(ripe=wait, frame=block.wait.resource)
        length = length if block.hands else ""
    return Row(
        start=clock(block.start),
        range=begins(plan, *every_block),
        latest=_latest(every_block) if block.hands else "",
        plate=_numbers([one.plate for one in every_block]) if block.plate else "",
        what=what,
        every=every,
        length=length,
        wait=wait,
    )


def _latest(alike: tuple[Block, ...]) -> str:
    """Return by when work must begin; of several plates, by when the first of them."""
    first = min(alike, key=lambda one: one.steps[0].latest_start.timestamp())
    if len({one.begin_by for one in alike}) == 1 or by_event(first.steps[0]):
        return first.begin_by
    return FIRST_BY.format(latest=first.begin_by)


def _numbers(plates: list[int]) -> str:
    """Return the numbers of plates, those that follow each other as one: ``1–4, 6``."""
    runs: list[list[int]] = []
    for plate in sorted(plates):
        if runs and plate == runs[-1][-1] + 1:
            runs[-1].append(plate)
        else:
            runs.append([plate])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def wait_rules(plan: DayPlan) -> tuple[str, ...]:
    """Return how long what may wait on this day, each rule once, in the order of the work.

    Returns
    -------
    tuple of str
        ``"fix within 15 min of ripe"``; none for limits that the next movement of the hand keeps.
        After them what goes first, and what is begun before a break that is planned behind it, as
        the simulated days take it.
        Last, when the shadows of each developing plate veil.
    """
    rules = (
        f"{short_name(step)} {within(step)}"
        for step in plan.steps
        if step.within_minutes is not None and step.within_minutes >= RULES_FROM_MINUTES
    )
    veiled = [
        VEILED_PLATE.format(plate=step.plate, veiled=clock(step.veiled))
        for step in plan.steps
        if step.veiled is not None
    ]
    first = (FIRST.format(minutes=URGENT_MINUTES),) if plan.plates_placed > 1 else ()
    last = (VEILED.format(each=", ".join(veiled)),) if veiled else ()
    return (*dict.fromkeys(rules), *first, *_before_breaks(plan), *last)


def _before_breaks(plan: DayPlan) -> tuple[str, ...]:
    """Return until when work may run into breaks, of those before which some may be begun."""
    by_hand = [step for step in plan.steps if step.attended]
    grace = timedelta(minutes=BREAK_GRACE_MINUTES)
    return tuple(
        GRACE.format(start=clock(pause.start), end=clock(pause.start + grace))
        for pause in plan.breaks
        if any(step.start_low < pause.start and step.start >= pause.end for step in by_hand)
    )
