"""The band of an open run: its light, each plate's plan as outline, and what was done as ink."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, tzinfo

from argentry.bench.opening import hours_told
from argentry.out.colours import HAIR, INK
from argentry.out.day.band import CURVES, axis_told, curve, curve_names
from argentry.out.day.bars import hour_axis, waiting
from argentry.out.drawing.axis import Frame
from argentry.out.drawing.svg import box, drawing, line, moved, text
from argentry.out.drawing.type import width as type_width
from argentry.out.drawing.type import wrap
from argentry.out.plates.band import key_of
from argentry.out.wording import later
from argentry.records.run import RunState
from argentry.records.run_step import StepState

TITLE = "The run: planned as outline, done as ink."
MARKS = ("planned", "hands", "waits")
ROW, BAR = 2.0, 0.62  # of a plate, and of each of its two lines, in heights of the type
HIGH = 5.4  # of the light, in heights of the type
SHORTEST = 1.5  # a step that took seconds is still seen. [px]
LONGEST_LABEL = 90.0  # [px]


def run_band(state: RunState, zone: tzinfo, width: float, size: float) -> str:
    """Return the drawing of an open run; nothing while it has neither plan nor work.

    Parameters
    ----------
    state : RunState
        The run now.
    zone : tzinfo
        Whose hours are drawn.
    width, size : float
        Of the drawing and of its type. [px]
    """
    plates = [one for one in state.plates if any(True for step in one.steps for _ in _ends(step))]
    if not plates or state.now is None:
        return ""
    moments = [when for one in plates for step in one.steps for when in _ends(step)]
    labels = [wrap(one.label, LONGEST_LABEL, size)[0] for one in plates]
    gutter = 0.7 * size + max(type_width(label, size) for label in labels)
    local = [when.astimezone(zone) for when in (*moments, state.now)]
    frame = Frame.around(local, width - gutter - 3.4 * size)
    parts, top = _light(state, frame, zone, size)
    rows = ROW * size * len(plates) + 0.5 * size
    marks = hour_axis(frame, rows, size)
    for row, (one, label) in enumerate(zip(plates, labels, strict=True)):
        y = (0.4 + row * ROW) * size
        marks.append(text(-0.7 * size, y + 1.1 * size, label, size=size, anchor="end"))
        for step in one.steps:
            marks += _step(step, state, frame, y, size)
    parts.append(moved(0.0, top, marks))
    top += rows + 1.9 * size
    key, high = key_of(MARKS, frame.width)
    parts.append(moved(0.0, top, key))
    body = [moved(gutter, 0.0, parts), axis_told(frame, gutter, top)]
    return drawing(width, top + high, TITLE, body)


def _ends(step: StepState) -> Iterator[datetime]:
    """Yield when a step is planned and when it was done; of one left out, nothing."""
    if step.state == "skipped":
        return
    planned = () if step.plan is None else (step.plan.start, step.plan.end)
    yield from (when for when in (*planned, step.begun, step.ended) if when is not None)


def _light(state: RunState, frame: Frame, zone: tzinfo, size: float) -> tuple[list[str], float]:
    """Return the light that the plan expects of the hours; nothing where it knows none."""
    hours = hours_told(state.constants.get("hours") or ())
    if not hours:
        return [], 0.0
    top, names = curve_names(frame, size)
    marks = [
        line((x, 0), (x, HIGH * size), stroke=HAIR, width=0.5)
        for x in (frame.along(minute) for minute, _ in frame.hours())
    ]
    for row, (_, colour, dash) in enumerate(CURVES):
        spans = [
            (later(start.astimezone(zone), 30.0), red if row else violet)
            for start, violet, red in hours
        ]
        ends = (0.4 * size, HIGH * size)
        marks += curve(spans, frame, ends, (colour, dash), size, right=bool(row))
    return [moved(0.0, 0.0, names), moved(0.0, top, marks)], top + (HIGH + 0.4) * size


def _step(step: StepState, state: RunState, frame: Frame, y: float, size: float) -> list[str]:
    parts, bar = [], BAR * size
    plan = step.plan
    if plan is not None and plan.start and plan.end and step.state != "skipped":
        left, right = frame.px(plan.start), frame.px(plan.end)
        parts.append(box(left, y, max(right, left + SHORTEST), y + bar, stroke=INK, width=0.7))
    if step.begun is not None and state.now is not None:
        left, right = frame.px(step.begun), frame.px(step.ended or state.now)
        right, top, foot = max(right, left + SHORTEST), y + bar + 2.0, y + 2.0 * bar + 2.0
        attended = state.step(step.key).attended
        parts.append(
            box(left, top, right, foot, fill=INK) if attended else waiting(left, top, right, foot)
        )
    return parts
