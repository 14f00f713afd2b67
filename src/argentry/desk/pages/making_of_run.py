"""What a run on the bench says of one making: steps against plan, readings, advice, remarks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from argentry.bench.words import sitter_of
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.desk.numbers.run_so_far import told_odds
from argentry.records.event import Event
from argentry.records.plate_record import (
    AdviceRecord,
    ReadingRecord,
    SaidRecord,
    StepAnswer,
    StepRecord,
)
from argentry.records.run import PlateState, RunState
from argentry.records.run_step import RunStep, StepState
from argentry.trade.readings import quantities
from argentry.trade.steps import stage_of

AT_OPENING_S = 10.0  # a length changed this soon after the run was opened was planned so


@dataclass(frozen=True)
class OfRun:
    """What the events of a run say of one of its plates.

    Attributes
    ----------
    title : str
        Name of the run.
    sitter : str
        Who came for the plate, and at what time; empty: nobody by appointment.
    plates : tuple of str
        Labels of its plates.
    steps : tuple of StepRecord
        In the order of the run, a step that was done once more with each try.
    readings : tuple of ReadingRecord
        Of the plate, and of the whole run while the plate was made.
    remarks : tuple of SaidRecord
        About the plate.
    advice : tuple of AdviceRecord
        In order of time.
    """

    title: str
    sitter: str
    plates: tuple[str, ...]
    steps: tuple[StepRecord, ...]
    readings: tuple[ReadingRecord, ...]
    remarks: tuple[SaidRecord, ...]
    advice: tuple[AdviceRecord, ...]


def making_of_run(events: Sequence[Event], plate: str) -> OfRun | None:
    """Return what the events of one run say of a plate, in the run's own time zone.

    Returns
    -------
    OfRun or None
        None when the plate is not in the run.
    """
    state = fold(events)
    own = next((one for one in state.plates if one.id == plate), None)
    if own is None:
        return None
    zone = ZoneInfo(str(state.place.get("time_zone") or "UTC"))
    counted, _ = effective(events)
    mine = [event for event in counted if event.plate in (plate, None)]
    tries = [*_earlier(counted, own, zone), *_steps(state, own, zone)]
    place = {rule.key: number for number, rule in enumerate(state.steps)}
    steps = tuple(sorted(tries, key=lambda one: place[one.key]))
    return OfRun(
        title=state.title,
        sitter=sitter_of(state, plate),
        plates=tuple(one.label for one in state.plates),
        steps=steps,
        readings=_readings(mine, steps, zone),
        remarks=tuple(
            SaidRecord(one.at.astimezone(zone), one.device, one.words)
            for one in state.remarks
            if one.plate == plate
        ),
        advice=_advice(mine, zone),
    )


def _steps(state: RunState, plate: PlateState, zone: tzinfo) -> tuple[StepRecord, ...]:
    """Return the steps; where no hour was planned, the plan follows on from the first step done."""
    starts = {step.key: step.plan.start for step in plate.steps if step.plan is not None}
    at = None if starts else min((s.begun for s in plate.steps if s.begun), default=None)
    found = []
    for step in plate.steps:
        rule, planned = state.step(step.key), _planned_s(state, step)
        start = starts.get(step.key) or at
        skipped = step.state == "skipped" and step.begun is None
        end = None if start is None or skipped else start + timedelta(seconds=planned)
        at = at if starts or skipped else end
        found.append(
            StepRecord(
                key=step.key,
                title=rule.title,
                stage=rule.stage or stage_of().get(step.key, ""),
                attended=rule.attended,
                state=step.state,
                planned_start=None if end is None else _there(start, zone),
                planned_end=_there(end, zone),
                begun=_there(step.begun, zone),
                ended=_there(step.ended if step.begun else None, zone),
                planned_s=planned,
                settled_s=step.planned_s,
                low_s=step.low_s,
                high_s=step.high_s,
                elapsed_s=round(step.elapsed_s, 1) if step.begun else None,
                short=step.short,
                answers=tuple(_answers(step, rule, zone)),
                changes=tuple(dict.fromkeys(change.why for change in step.changes)),
            )
        )
    return tuple(found)


def _earlier(counted: Sequence[Event], plate: PlateState, zone: tzinfo) -> Iterator[StepRecord]:
    """Return what was done before hands went back: a fault that was mended stays on record."""
    place = {event.id: number for number, event in enumerate(counted)}
    for back in plate.redone:
        # their times are moved already by a clock that was set
        before = [one for one in counted[: place[back.event]] if one.kind != "clock_set"]
        state = fold(before, now=back.at)
        steps = _steps(state, next(one for one in state.plates if one.id == plate.id), zone)
        again = next(number for number, one in enumerate(steps) if one.key == back.step)
        yield from (replace(one, state="redone") for one in steps[again:] if one.begun)


def _there(when: datetime | None, zone: tzinfo) -> datetime | None:
    return None if when is None else when.astimezone(zone)


def _planned_s(state: RunState, step: StepState) -> float:
    """Return the length a step was opened with, before readings and light changed it."""
    planned = step.changes[0].was_s if step.changes else step.planned_s
    for change in step.changes:
        if state.opened and (change.at - state.opened).total_seconds() < AT_OPENING_S:
            planned = change.planned_s
    return planned


def _answers(step: StepState, rule: RunStep, zone: tzinfo) -> list[StepAnswer]:
    asked = {(check.when, check.at_minutes): check.text for check in rule.checks}
    return [
        StepAnswer(
            at=one.at.astimezone(zone),
            check=asked.get((one.when, one.at_minutes), rule.check),
            answer=one.answer,
            value=one.value,
            words=one.words,
        )
        for one in step.answers
    ]


def _readings(
    events: Sequence[Event], steps: Sequence[StepRecord], zone: tzinfo
) -> tuple[ReadingRecord, ...]:
    over = [step.ended for step in steps if step.ended]
    last = max(over, default=None)
    still = any(step.begun and not step.ended for step in steps)
    known = quantities()
    found = []
    for event in events:
        what, value = str(event.body.get("what")), event.body.get("value")
        if event.kind != "reading_taken" or not isinstance(value, (int, float)):
            continue
        if event.plate is None and not still and (last is None or event.at > last):
            continue
        entry = known.get(what)
        found.append(
            ReadingRecord(
                at=event.at.astimezone(zone),
                what=what,
                title=entry.title if entry else what.replace("_", " "),
                value=float(value),
                unit=str(event.body.get("unit") or (entry.unit if entry else "")),
                source=str(event.body.get("source") or event.device),
            )
        )
    return tuple(found)


def _advice(events: Sequence[Event], zone: tzinfo) -> tuple[AdviceRecord, ...]:
    instead = {
        str(event.body.get("advice")): str(event.body.get("did"))
        for event in events
        if event.kind == "advice_overruled"
    }
    found = []
    for event in events:
        if (figures := told_odds(event)) is None:
            continue
        body = event.body
        probability, low, high = figures
        found.append(
            AdviceRecord(
                at=event.at.astimezone(zone),
                stage=str(body.get("stage") or ""),
                advice=str(body.get("advice")),
                words=str(body.get("words") or ""),
                probability=probability,
                low=low,
                high=high,
                plates=int(body.get("plates") or 0),
                did=instead.get(event.id),
            )
        )
    return tuple(found)
