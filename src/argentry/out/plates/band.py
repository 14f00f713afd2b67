"""One making on the time band: what was planned as outline, what was done as ink, readings as dots.

The light's place above the band is taken by the chance of a good plate as told at each checkpoint.
"""

from __future__ import annotations

from collections.abc import Sequence

from argentry.out.colours import HAIR, INK, SOFT
from argentry.out.day.bars import hour_axis, hour_lines, planned_and_done, waiting
from argentry.out.drawing.axis import Axis, Frame
from argentry.out.drawing.svg import box, dot, drawing, line, path, straight, text
from argentry.out.drawing.type import width as type_width
from argentry.out.drawing.type import wrap
from argentry.out.plates.band_text import frame_of, seen_until
from argentry.out.plates.words import dose_line
from argentry.records.plate import GRADES, STAGES
from argentry.records.plate_record import DoseRecord, MakingRecord, StepRecord

TITLE = "Steps of {day} against plan: planned as outline, done as ink, readings as dots."
SIZE = 12.5  # of the type. [px]
LEADING = 16.0
BAR = 9.0  # [px]
KEYS = {"planned": "planned", "hands": "done", "waits": "done, no hands", "dot": "reading"}
BELOW = "dot: received; bar: what four such plates in five need"


def making_band(making: MakingRecord, width: float) -> str:
    """Return the drawing of one making; nothing for one without timed steps."""
    if not any(step.begun for step in making.steps):
        return ""
    # a plan that never came about (days away) is not drawn: it would leave no room for what did
    gutter = max(type_width(name, SIZE) for name in (*STAGES, "planned", "chance")) + 10
    frame = frame_of(making, width - gutter - 12)
    parts, y = _odds(making, frame)
    rows = _rows(making, frame, y)
    parts += rows[0]
    y = rows[1]
    axis = [f'<g transform="translate(0,{y - 4:g})">{"".join(hour_axis(frame, 4, SIZE))}</g>']
    grid = hour_lines(frame, y)
    y += 26
    key, high = key_of(tuple(KEYS), frame.width + gutter)
    body = f'<g transform="translate({gutter:g},0)">{"".join([*grid, *parts, *axis])}</g>'
    foot = f'<g transform="translate(0,{y:g})">{"".join(key)}</g>'
    return drawing(width, y + high, TITLE.format(day=making.day), [body, foot])


def _odds(making: MakingRecord, frame: Frame) -> tuple[list[str], float]:
    """Return the chance told at each checkpoint with its range, and what came at the end."""
    if not making.advice:
        return [], 6.0
    up = Axis(0.0, 1.0, 62.0, 8.0)
    parts = [text(-8, up.at(0.5) + 4, "chance", size=SIZE, anchor="end")]
    for value, word in ((0.0, "0"), (1.0, "100 %")):
        parts.append(line((0, up.at(value)), (frame.width, up.at(value)), stroke=HAIR, width=0.75))
        parts.append(text(-8, up.at(value) + 4, word, size=12, anchor="end", fill=SOFT))
    places = [(min(max(frame.px(one.at), 0), frame.width), one) for one in making.advice]
    way = [(x, up.at(one.probability)) for x, one in places]
    parts.append(path(straight(way), stroke=INK, width=1.0, dash="2 2"))
    for x, one in places:
        parts.append(line((x, up.at(one.low)), (x, up.at(one.high)), width=2))
        parts.append(dot(x, up.at(one.probability), 3.5))
    if making.grade:
        ended = [step.ended for step in making.steps if step.ended]
        last = max(ended, key=lambda when: when.timestamp(), default=None)
        x = frame.width if last is None else frame.px(last)
        good = making.grade in GRADES[2:]
        parts.append(dot(x, up.at(float(good)), 4.5, fill="none", stroke=INK))
        room = type_width(making.grade, SIZE) + 8
        after = x + room <= frame.width
        words_y = up.at(float(good)) + (13 if good else -6)
        parts.append(
            text(x + (8 if after else -8), words_y, making.grade, size=SIZE,
                 anchor="start" if after else "end", bold=True)
        )  # fmt: skip
    return parts, 76.0


def _rows(making: MakingRecord, frame: Frame, top: float) -> tuple[list[str], float]:
    """Return a row for each stage: plan above, ink below, the readings as dots on the last line."""
    parts = []
    y = top
    for stage in dict.fromkeys(step.stage for step in making.steps):
        own = [step for step in making.steps if step.stage == stage]
        if not any(step.begun or step.planned_start for step in own):
            continue
        parts.append(text(-8, y + BAR + 5, stage or "room", size=SIZE, anchor="end"))
        for step in own:
            parts += _step(step, frame, y)
        y += 2 * BAR + 10
    seen = [x for x in (frame.px(one.at) for one in making.readings) if 0 <= x <= frame.width]
    if seen:
        parts.append(text(-8, y + 8, "read", size=SIZE, anchor="end"))
        parts += [dot(x, y + 4, 3) for x in seen]
        y += 18
    return parts, y


def _step(step: StepRecord, frame: Frame, y: float) -> list[str]:
    planned = done = None
    if step.planned_start and step.planned_end:
        planned = (frame.px(step.planned_start), frame.px(step.planned_end))
    if step.begun:
        done = (frame.px(step.begun), frame.px(seen_until(step) or step.begun))
    return planned_and_done(planned, done, y, BAR, attended=step.attended)


def key_of(kinds: Sequence[str], width: float) -> tuple[list[str], float]:
    """Return what marks of `KEYS` mean, in as many lines as it takes, and their height. [px]."""
    parts: list[str] = []
    x, y = 0.0, 0.0
    for kind in kinds:
        words = KEYS[kind]
        wide = 26 + type_width(words, SIZE)
        if x and x + wide > width:
            x, y = 0.0, y + LEADING + 2
        if kind == "planned":
            parts.append(box(x, y + 3, x + 20, y + 12, stroke=INK, width=0.7))
        elif kind == "hands":
            parts.append(box(x, y + 3, x + 20, y + 12, fill=INK))
        elif kind == "waits":
            parts.append(waiting(x, y + 3, x + 20, y + 12))
        else:
            parts.append(dot(x + 10, y + 8, 3))
        parts.append(text(x + 26, y + 12, words, size=SIZE))
        x += wide + 20
    return parts, y + LEADING + 4


def dose_chart(doses: Sequence[DoseRecord], width: float) -> str:
    """Return light received as a mark against light needed as a range, each on its own scale.

    Parameters
    ----------
    doses : sequence of DoseRecord
        At least one.
    width : float
        Of the drawing. [px]
    """
    parts: list[str] = []
    y = 0.0
    for one in doses:
        for part in wrap(dose_line(one), width, SIZE):
            y += LEADING
            parts.append(text(0, y, part, size=SIZE))
        y += 14
        axis = Axis(0.0, 1.15 * max(one.received, one.needed_high), 4.0, width - 8.0)
        parts.append(line((4, y), (width - 8, y), stroke=HAIR, width=0.75))
        parts.append(line((axis.at(one.needed_low), y), (axis.at(one.needed_high), y), width=2))
        x = axis.at(one.needed)
        parts.append(line((x, y - 5), (x, y + 5), width=2))
        parts.append(dot(axis.at(one.received), y, 5))
        y += 18
    parts.append(text(0, y + 10, BELOW, size=12, fill=SOFT))
    return drawing(width, y + 16, "Light received against light needed", parts)
