"""The day's band in characters, for a terminal: the same drawing as on paper, one row a plate."""

from __future__ import annotations

from argentry.out.day.band import frame_of
from argentry.out.day.blocks import at_once, is_exposure
from argentry.out.drawing.axis import Frame
from argentry.records.day import DayPlan, PlannedStep, by_event

# hands, camera, waits, float
MARKS = ("█", "▲", "░", "╌")
PLAIN_MARKS = ("#", "^", ":", "-")
GUTTER = 9  # for the row's name


def band(plan: DayPlan, width: int, *, plain: bool = False) -> list[str]:
    """Return the hours and one row of characters for each plate.

    Returns
    -------
    list of str
        Lines no longer than `width`; the last says what the marks mean.
    """
    hands, camera, waits, tail = PLAIN_MARKS if plain else MARKS
    frame = frame_of(plan, float(max(20, min(width - GUTTER - 2, 130))))
    lines = [hours(frame)]
    for plate in sorted({step.plate for step in plan.steps}):
        cells = [" "] * (int(frame.width) + 1)
        steps = [step for step in plan.steps if step.plate == plate]
        for before, step in zip([None, *steps], steps, strict=False):
            if before is None or not before.attended or not at_once(before, step):
                put(cells, frame.px(step.start), _tail_end(step, frame), tail)
        for step in sorted(steps, key=lambda one: (is_exposure(one), one.attended)):
            mark = camera if is_exposure(step) else hands if step.attended else waits
            put(cells, frame.px(step.start), frame.px(step.end), mark)
        name = f"plate {plate}" if plate else "room"
        lines.append(f"{name:>{GUTTER - 1}} {''.join(cells)}".rstrip())
    words = f"{hands} hands  {camera} camera  {waits} waits, no hands  {tail} float"
    lines.append(" " * GUTTER + words)
    return lines


def _tail_end(step: PlannedStep, frame: Frame) -> float:
    return min(frame.width, frame.px(step.start) + frame.along(_float_minutes(step)))


def _float_minutes(step: PlannedStep) -> float:
    return step.float_minutes if step.attended and not by_event(step) else 0.0


def put(cells: list[str], low: float, high: float, mark: str) -> None:
    """Put a mark into the cells from `low` to `high`, into one at least."""
    first = max(0, round(low))
    for place in range(first, min(len(cells), max(round(high), first + 1))):
        cells[place] = mark


def hours(frame: Frame, gutter: int = GUTTER) -> str:
    """Return the hours of a frame whose width counts characters, right of a gutter."""
    line = [" "] * (int(frame.width) + 4)
    free = 0
    for minute, word in frame.hours():
        place = round(frame.along(minute))
        if place >= free:
            line[place : place + 2] = word
            free = place + 4
    return " " * gutter + "".join(line).rstrip()
