"""A day's plan as a run keeps it: by plate and step, when it begins, ends, and is too late."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from argentry.bench.state_json import iso
from argentry.records.day import DayPlan, PlannedStep, by_event, within

Row = Mapping[str, str | None]
Rows = Mapping[str, Mapping[str, Row]]


def plan_rows(plan: DayPlan, plates: Sequence[str]) -> Rows:
    """Return the planned times of each plate's steps.

    Returns
    -------
    Mapping
        Plate to step to start, end, latest start by the clock (null where what ended before
        decides) and what its limit runs from, in words.
    """
    rows: dict[str, dict[str, Row]] = {}
    for number, plate in enumerate(plates, 1):
        steps = [step for step in plan.steps if step.plate in (0, number)]
        rows[plate] = {
            step.step: _row(step, before)
            for before, step in zip([None, *steps], steps, strict=False)
        }
    return rows


def _row(step: PlannedStep, before: PlannedStep | None) -> Row:
    # a step that follows at once and has no room of its own is as late as the one before it
    follows = before is not None and step.start <= before.end and not step.float_minutes
    return {
        "start": iso(step.start),
        "end": iso(step.end),
        "latest": None if follows or by_event(step) else iso(step.latest_start),
        "limit": "" if step.within_minutes is None else within(step),
        "held": "" if step.resource == "hands" else step.resource,
    }
