"""The state of a run from its events: one pure function, the same in the page's JavaScript.

``docs/bench.md`` says every rule in words; ``tests/fixtures/fold`` holds the cases both must pass.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from argentry.book.corrections import effective
from argentry.book.opening import opened_plates, opened_steps, opened_table
from argentry.records.run import (
    ANSWERS,
    DurationChange,
    Oddity,
    PlateState,
    Remark,
    RunReading,
    RunState,
    StepState,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from argentry.records.event import Event
    from argentry.records.run import RunStep


@dataclass
class _Step:
    """A step of a plate while the events pass by."""

    rule: RunStep
    planned_s: float
    low_s: float
    high_s: float
    state: str = "waiting"  # waiting, running, done, skipped, stopped; ready is told at the end
    begun: datetime | None = None
    ended: datetime | None = None
    waited_s: float | None = None
    answer: str | None = None
    answer_value: float | None = None
    answer_words: str = ""
    changes: list[DurationChange] = field(default_factory=list)

    @property
    def over(self) -> bool:
        return self.state in ("done", "skipped")


@dataclass
class _Plate:
    """A plate while the events pass by."""

    id: str
    label: str
    steps: dict[str, _Step]
    paused: bool = False
    why: str = ""
    abandoned: datetime | None = None
    stops: list[tuple[datetime, datetime | None]] = field(default_factory=list)

    @property
    def current(self) -> _Step | None:
        return next((s for s in self.steps.values() if not s.over), None)

    def last_end(self, before: str) -> datetime | None:
        """Return when the nearest done step before that one ended."""
        end = None
        for key, step in self.steps.items():
            if key == before:
                break
            if step.state == "done":
                end = step.ended
        return end


@dataclass
class _Run:
    """The run while the events pass by."""

    steps: tuple[RunStep, ...]
    plates: dict[str, _Plate]
    paused: bool = False
    closed: datetime | None = None
    shown: list[str] = field(default_factory=list)
    readings: dict[str, RunReading] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    odd: list[Oddity] = field(default_factory=list)

    def doubt(self, event: Event, why: str, *, counted: bool = False) -> None:
        self.odd.append(Oddity(event.id, why, counted))


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
    run = _Run(steps, {p: _plate(p, label, steps) for p, label in opened_plates(opening.body)})
    for event in counted:
        if event is not opening and event.kind in _RULES:
            _RULES[event.kind](run, event)
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
    )


def _plate(plate_id: str, label: str, steps: tuple[RunStep, ...]) -> _Plate:
    fresh = {s.key: _Step(s, s.planned_s, s.low_s, s.high_s) for s in steps}
    return _Plate(plate_id, label, fresh)


def _found(run: _Run, event: Event) -> tuple[_Plate, _Step] | None:
    """Return the plate and step of an event, or None and a doubt when it has none that is open."""
    plate = run.plates.get(event.plate or "")
    if plate is None:
        run.doubt(event, "there is no such plate in this run")
        return None
    step = plate.steps.get(event.step or "")
    if step is None:
        run.doubt(event, "there is no such step in this run")
        return None
    return plate, step


def _may_go_on(run: _Run, plate: _Plate, event: Event) -> bool:
    if run.closed:
        run.doubt(event, "the run was over")
    elif plate.abandoned:
        run.doubt(event, "the plate was given up")
    else:
        return True
    return False


def _begun(run: _Run, event: Event) -> None:
    found = _found(run, event)
    if found is None or not _may_go_on(run, found[0], event):
        return
    plate, step = found
    current = plate.current
    if step.begun is not None:
        run.doubt(event, "it was begun already")
    elif step.over:
        run.doubt(event, "it was left out")
    elif current is not step:
        assert current is not None
        run.doubt(event, f"{current.rule.title} comes first")
    else:
        if any(caution.key not in run.shown for caution in step.rule.cautions):
            run.doubt(event, "it was begun before its cautions were shown", counted=True)
        before = plate.last_end(step.rule.key)
        step.state, step.begun = "running", event.at
        step.waited_s = None if before is None else (event.at - before).total_seconds()


def _ended(run: _Run, event: Event) -> None:
    found = _found(run, event)
    if found is None or not _may_go_on(run, found[0], event):
        return
    _, step = found
    if step.state == "running":
        step.state, step.ended = "done", event.at
    else:
        run.doubt(event, "it was ended already" if step.over else "it was not begun")


def _skipped(run: _Run, event: Event) -> None:
    found = _found(run, event)
    if found is None or not _may_go_on(run, found[0], event):
        return
    _, step = found
    if step.state == "waiting":
        step.state, step.ended = "skipped", event.at
    else:
        run.doubt(event, "it was begun or left out already")


def _answered(run: _Run, event: Event) -> None:
    found = _found(run, event)
    if found is None:
        return
    _, step = found
    answer = event.body.get("answer")
    if answer not in ANSWERS:
        run.doubt(event, "the answer is none of right, doubtful, wrong")
    elif step.begun is None:
        run.doubt(event, "the step was not begun")
    else:
        step.answer = answer
        step.answer_value = _number(event.body.get("value"))
        step.answer_words = str(event.body.get("words") or "")


def _shown(run: _Run, event: Event) -> None:
    key = event.body.get("caution")
    known = {caution.key for step in run.steps for caution in step.cautions}
    if isinstance(key, str) and key in known and key not in run.shown:
        run.shown.append(key)


def _measured(run: _Run, event: Event) -> None:
    what, value = event.body.get("what"), _number(event.body.get("value"))
    if not isinstance(what, str) or not what or value is None:
        run.doubt(event, "the reading has no quantity or no number")
        return
    unit, source = (str(event.body.get(key) or "") for key in ("unit", "source"))
    run.readings[what] = RunReading(
        what, value, unit, source or event.device, event.at, event.plate, event.step
    )


def _changed(run: _Run, event: Event) -> None:
    found = _found(run, event)
    if found is None:
        return
    plate, step = found
    planned = _number(event.body.get("planned_s"))
    if planned is None or planned < 0:
        run.doubt(event, "the new length is no number")
    elif step.state in ("waiting", "running") and not plate.abandoned and not run.closed:
        why = str(event.body.get("why") or "")
        step.changes.append(DurationChange(event.at, step.planned_s, planned, why))
        factor = planned / step.planned_s if step.planned_s > 0 else 1.0
        low, high = (_number(event.body.get(key)) for key in ("low_s", "high_s"))
        step.low_s = step.low_s * factor if low is None else low
        step.high_s = step.high_s * factor if high is None else high
        step.planned_s = planned


def _paused(run: _Run, event: Event) -> None:
    _stop_or_go(run, event, stop=True)


def _resumed(run: _Run, event: Event) -> None:
    _stop_or_go(run, event, stop=False)


def _stop_or_go(run: _Run, event: Event, *, stop: bool) -> None:
    word = "paused" if stop else "going"
    if event.plate is None:
        if run.closed:
            run.doubt(event, "the run was over")
        elif run.paused is stop:
            run.doubt(event, f"the run was {word} already")
        else:
            run.paused = stop
    else:
        plate = run.plates.get(event.plate)
        if plate is None:
            run.doubt(event, "there is no such plate in this run")
        elif _may_go_on(run, plate, event):
            if plate.paused is stop:
                run.doubt(event, f"the plate was {word} already")
            else:
                plate.paused = stop
    for plate in run.plates.values():
        stopped = bool(plate.stops) and plate.stops[-1][1] is None
        wanted = run.paused or plate.paused
        if wanted and not stopped:
            plate.stops.append((event.at, None))
        elif stopped and not wanted:
            plate.stops[-1] = (plate.stops[-1][0], event.at)


def _said(run: _Run, event: Event) -> None:
    words = str(event.body.get("words") or "")
    run.remarks.append(Remark(event.at, words, event.device, event.plate, event.step))


def _gave_up(run: _Run, event: Event) -> None:
    plate = run.plates.get(event.plate or "")
    if plate is None:
        run.doubt(event, "there is no such plate in this run")
    elif _may_go_on(run, plate, event):
        plate.abandoned, plate.why = event.at, str(event.body.get("why") or "")
        _cut_off(plate, event.at)


def _over(run: _Run, event: Event) -> None:
    if run.closed:
        run.doubt(event, "the run was over")
        return
    run.closed = event.at
    for plate in run.plates.values():
        _cut_off(plate, event.at)


def _cut_off(plate: _Plate, at: datetime) -> None:
    for step in plate.steps.values():
        if step.state == "running":
            step.state, step.ended = "stopped", at


def _opened_again(run: _Run, event: Event) -> None:
    run.doubt(event, "the run was opened already")


_RULES: dict[str, Callable[[_Run, Event], None]] = {
    "run_opened": _opened_again,
    "caution_shown": _shown,
    "step_begun": _begun,
    "step_ended": _ended,
    "step_skipped": _skipped,
    "check_answered": _answered,
    "reading_taken": _measured,
    "duration_changed": _changed,
    "paused": _paused,
    "resumed": _resumed,
    "remark_made": _said,
    "plate_abandoned": _gave_up,
    "run_closed": _over,
}


def _number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if abs(value) < 1e300 else None


def _elapsed_s(plate: _Plate, step: _Step, now: datetime) -> float:
    """Return the seconds of a step without the time its clock was stopped."""
    if step.begun is None:
        return 0.0
    end = now if step.ended is None else step.ended
    seconds = (end - step.begun).total_seconds()
    for low, high in plate.stops:
        stop = end if high is None else min(high, end)
        seconds -= max((stop - max(low, step.begun)).total_seconds(), 0.0)
    return max(seconds, 0.0)


def _plate_state(run: _Run, plate: _Plate, now: datetime) -> PlateState:
    current = plate.current
    going = plate.abandoned is None and run.closed is None
    told = "abandoned" if plate.abandoned else "done" if current is None else "open"
    return PlateState(
        id=plate.id,
        label=plate.label,
        state=told,
        paused=plate.paused,
        current=None if current is None or plate.abandoned else current.rule.key,
        why=plate.why,
        steps=tuple(
            _step_state(plate, step, now, ready=going and step is current)
            for step in plate.steps.values()
        ),
        stops=tuple(plate.stops),
    )


def _step_state(plate: _Plate, step: _Step, now: datetime, *, ready: bool) -> StepState:
    state = "ready" if ready and step.state == "waiting" else step.state
    before = plate.last_end(step.rule.key) if state == "ready" else None
    keep = None
    if before is not None and step.rule.within_s is not None:
        keep = step.rule.within_s - (now - before).total_seconds()
    elapsed = _elapsed_s(plate, step, now)
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
        answer=step.answer,
        answer_value=step.answer_value,
        answer_words=step.answer_words,
        check_due=step.state == "done" and bool(step.rule.check) and step.answer is None,
        changes=tuple(step.changes),
    )
