"""The band of an open run: its light, each plate's plan as outline, and what was done as ink."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, tzinfo

from argentry.bench.opening import hours_told
from argentry.out.day.band import LIGHT_HIGH, axis_told, curve_names, light_curves
from argentry.out.day.bars import hour_axis, planned_and_done
from argentry.out.drawing.axis import Frame
from argentry.out.drawing.svg import drawing, moved, text
from argentry.out.drawing.type import width as type_width
from argentry.out.plates.band import key_of
from argentry.records.run import RunState
from argentry.records.run_step import StepState

TITLE = "The run: planned as outline, done as ink."
MARKS = ("planned", "hands", "waits")
ROW, BAR = 2.0, 0.62  # of a plate, and of each of its two lines, in heights of the type
LONGEST_LABEL = 8.0  # of a plate, in heights of the type: "2026-06-21/1" is whole


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
    labels = [_short(one.label, size) for one in plates]
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


def _short(label: str, size: float) -> str:
    """Return a label that leaves room for its row: of a long one the end, where labels differ."""
    kept = label
    while type_width(kept, size) > LONGEST_LABEL * size:
        kept = f"…{kept.removeprefix('…')[1:]}"
    return kept


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
    marks = light_curves(
        [(start.astimezone(zone), violet, red) for start, violet, red in hours], frame, size
    )
    return [moved(0.0, 0.0, names), moved(0.0, top, marks)], top + (LIGHT_HIGH + 0.4) * size


def _step(step: StepState, state: RunState, frame: Frame, y: float, size: float) -> list[str]:
    plan, planned, done = step.plan, None, None
    if plan is not None and plan.start and plan.end and step.state != "skipped":
        planned = (frame.px(plan.start), frame.px(plan.end))
    if step.begun is not None and state.now is not None:
        done = (frame.px(step.begun), frame.px(step.ended or state.now))
    attended = state.step(step.key).attended
    return planned_and_done(planned, done, y, BAR * size, attended=attended)
