"""The state of a run from its events: one pure function, the same in the page's JavaScript.

``docs/bench.md`` says every rule in words; ``tests/fixtures/fold`` holds the cases both must pass.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from argentry.book.runs.corrections import effective
from argentry.book.runs.moving import MovingPlate, MovingRun, MovingStep, fresh_plate
from argentry.book.runs.opening import opened_plates, opened_steps, opened_table
from argentry.book.runs.plans import opened_plan, plan_of
from argentry.book.runs.rules import RULES
from argentry.records.event import Event
from argentry.records.run import SHORT_SHARE, TIMED_LAWS, Oddity, PlateState, RunState
from argentry.records.run_step import StepCheck, StepState


def fold(events: Iterable[Event], *, now: datetime | None = None) -> RunState:
    """Return the state that a run's events leave it in.

    Parameters
    ----------
    events : iterable of Event
        All events of one run, in any order, some perhaps twice.
    now : datetime or None
        The moment to read the clocks at, UTC; None: the time of the last event that counts.

    Returns
    -------
    RunState
        The same for every order of the same events.
    """
    listed = list(events)
    counted, bad = effective(listed)
    run_id = listed[0].run if listed else ""
    seq = max((event.seq for event in listed), default=0)
    opening = next((e for e in counted if e.kind == "run_opened"), None)
    odd = [Oddity(event, why, counted=False) for event, why in bad]
    if now is None and counted:
        now = counted[-1].at
    if opening is None:
        odd += [Oddity(e.id, "no run was opened for it", counted=False) for e in counted]
        return RunState(run_id, "", "none", now, odd=tuple(odd), seq=seq)
    steps = opened_steps(opening.body)
    opened = opened_plates(opening.body)
    run = MovingRun(steps, {plate: fresh_plate(plate, label, steps) for plate, label in opened})
    planned = opened_plan(opening.body)
    for plate in run.plates.values():
        plan_of(plate, planned)
    for event in counted:
        if event is not opening and event.kind in RULES:
            RULES[event.kind](run, event)
    assert now is not None
    state = "closed" if run.closed else "paused" if run.paused else "open"
    return RunState(
        run=run_id,
        title=str(opening.body.get("title") or ""),
        state=state,
        now=now,
        opened=opening.at,
        closed=run.closed,
        steps=steps,
        plates=tuple(_plate_state(run, plate, now) for plate in run.plates.values()),
        shown=tuple(run.shown),
        readings=tuple(run.readings[what] for what in sorted(run.readings)),
        remarks=tuple(run.remarks),
        odd=tuple(odd + run.odd),
        place=opened_table(opening.body, "place"),
        constants=opened_table(opening.body, "constants"),
        seq=seq,
        read=tuple(run.read),
        withdrawn=run.withdrawn,
        offer=None if run.closed else run.offer,
        standing=run.standing,
        turned_down=tuple(run.turned_down),
    )


def _elapsed_s(plate: MovingPlate, step: MovingStep, now: datetime) -> float:
    """Return the seconds of a step without the time its clock was stopped."""
    if step.begun is None:
        return 0.0
    end = now if step.ended is None else step.ended
    seconds = (end - step.begun).total_seconds()
    for low, high in plate.stops:
        stop = end if high is None else min(high, end)
        seconds -= max((stop - max(low, step.begun)).total_seconds(), 0.0)
    return max(seconds, 0.0)


def _plate_state(run: MovingRun, plate: MovingPlate, now: datetime) -> PlateState:
    current = plate.current
    left = plate.withdrawn or plate.abandoned is not None
    going = not left and run.closed is None
    told = "open" if current is not None else "done"
    if left:
        told = "withdrawn" if plate.withdrawn else "abandoned"
    due = plate.begun and not left and plate.grading is None
    return PlateState(
        id=plate.id,
        label=plate.label,
        state=told,
        paused=plate.paused,
        current=None if current is None or left else current.rule.key,
        why=plate.why,
        steps=tuple(
            _step_state(plate, step, now, going=going, ready=going and step is current)
            for step in plate.steps.values()
        ),
        redone=tuple(plate.redone),
        stops=tuple(plate.stops),
        begun=plate.begun,
        given_up=plate.given_up,
        grading=plate.grading,
        grade_due=due and (current is None or run.closed is not None),
        put_off=plate.put_off,
        left_out=plate.left_out,
    )


def _step_state(
    plate: MovingPlate, step: MovingStep, now: datetime, *, going: bool, ready: bool
) -> StepState:
    state = "ready" if ready and step.state == "waiting" else step.state
    latest = step.plan.latest if step.plan and going and step.state == "waiting" else None
    before = plate.last_end(step.rule.key) if state == "ready" else None
    keep = None
    if before is not None and step.rule.within_s is not None:
        keep = step.rule.within_s - (now - before).total_seconds()
    elapsed = _elapsed_s(plate, step, now)
    answer = step.answers.get(("after", None))
    ask = _asked(step, state, elapsed)
    return StepState(
        key=step.rule.key,
        state=state,
        planned_s=step.planned_s,
        low_s=step.low_s,
        high_s=step.high_s,
        begun=step.begun,
        ended=step.ended,
        elapsed_s=elapsed,
        left_s=step.planned_s - elapsed,
        keep_left_s=keep,
        waited_s=step.waited_s,
        answer=None if answer is None else answer.answer,
        answer_value=None if answer is None else answer.value,
        answer_words="" if answer is None else answer.words,
        check_due=ask is not None and ask.when == "after",
        changes=tuple(step.changes),
        answers=tuple(step.answers.values()),
        ask=ask,
        short=state == "done"
        and step.rule.law in TIMED_LAWS
        and elapsed < SHORT_SHARE * min(step.low_s, step.planned_s),
        plan=step.plan,
        made_of=step.made_of,
        ripe=step.ripe,
        float_s=None if latest is None else (latest - now).total_seconds(),
    )


def _asked(step: MovingStep, state: str, elapsed_s: float) -> StepCheck | None:
    """Return the check that is asked now: while it goes on only the last whose time has come."""
    moment = {"ready": "before", "running": "during", "done": "after"}.get(state)
    checks = [check for check in step.rule.checks if check.when == moment]
    if moment == "during":
        checks = [c for c in checks if c.at_minutes is not None and elapsed_s >= 60 * c.at_minutes]
        checks = sorted(checks, key=lambda c: c.at_minutes or 0.0)[-1:]
    return next((c for c in checks if (c.when, c.at_minutes) not in step.answers), None)
