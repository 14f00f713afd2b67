"""One making on the time band in characters, for a terminal: plan above, what was done below it."""

from __future__ import annotations

from datetime import datetime

from argentry.out.day.band_text import hours, put
from argentry.out.drawing.axis import Frame
from argentry.out.wording import later
from argentry.records.plate_record import MakingRecord, StepRecord

# planned, done by hands, done without hands, reading
MARKS = ("─", "█", "░", "•")
PLAIN_MARKS = ("-", "#", ":", "o")
GUTTER = 12  # for the stage's name
WIDEST = 120  # characters
KEY = "{planned} planned  {hands} done  {waits} done, no hands  {read} reading"


def seen_until(step: StepRecord) -> datetime | None:
    """Return until when a step is known to have gone on: its end, or as it has lasted so far."""
    if step.ended is not None or step.begun is None:
        return step.ended
    return later(step.begun, (step.elapsed_s or 0.0) / 60.0)


def frame_of(making: MakingRecord, width: float) -> Frame:
    """Return the hours around what was planned and what was done."""
    moments = [
        when
        for step in making.steps
        for when in (step.planned_start, step.planned_end, step.begun, seen_until(step))
        if when is not None
    ]
    return Frame.around(moments, width)


def making_band_text(making: MakingRecord, width: int, *, plain: bool = False) -> list[str]:
    """Return the hours, two rows of characters for each stage, the readings and the key.

    Returns
    -------
    list of str
        Lines no longer than `width`; none for a making without timed steps.
    """
    if not any(step.begun for step in making.steps):
        return []
    planned, hands, waits, read = PLAIN_MARKS if plain else MARKS
    frame = frame_of(making, float(max(20, min(width - GUTTER - 4, WIDEST))))
    size = int(frame.width) + 1
    lines = [hours(frame, GUTTER)]
    for stage in dict.fromkeys(step.stage for step in making.steps):
        plan, done = [" "] * size, [" "] * size
        for step in (one for one in making.steps if one.stage == stage):
            if step.planned_start and step.planned_end:
                put(plan, frame.px(step.planned_start), frame.px(step.planned_end), planned)
            if step.begun:
                end = frame.px(seen_until(step) or step.begun)
                put(done, frame.px(step.begun), end, hands if step.attended else waits)
        if "".join(plan + done).strip():
            name = stage or "room"
            lines += [_row(name, plan), _row("", done)]
    seen = [" "] * size
    for reading in making.readings:
        if 0.0 <= frame.px(reading.at) <= frame.width:
            put(seen, frame.px(reading.at), frame.px(reading.at), read)
    if "".join(seen).strip():
        lines.append(_row("read", seen))
    lines.append(" " * GUTTER + KEY.format(planned=planned, hands=hands, waits=waits, read=read))
    return lines


def _row(name: str, cells: list[str]) -> str:
    return f"{name:>{GUTTER - 1}} {''.join(cells)}".rstrip()
