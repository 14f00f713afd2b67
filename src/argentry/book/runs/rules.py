"""What each kind of event does to a run while the fold goes through them, in order of time.

The rules in words, and in this order: ``docs/bench.md``, section 3.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from argentry.book.runs import plans
from argentry.book.runs.about import (
    Rule,
    may_go_on,
    of_going_step,
    of_plate,
    of_plate_over,
    of_step,
)
from argentry.book.runs.moving import MovingPlate, MovingRun, MovingStep, fresh_plate
from argentry.records.event import Event
from argentry.records.run import (
    ANSWERS,
    MOMENTS,
    OUTWARD,
    REASONS,
    RIPENESS,
    GivenUp,
    Grading,
    Redone,
    Remark,
    RunReading,
)
from argentry.records.run_step import CheckAnswer, DurationChange, RipeSeen, RunStep

COMES_FIRST = "{title} comes first"
RUN_WAS = "the run was {state} already"
PLATE_WAS = "the plate was {state} already"


def _cautions_due(run: MovingRun, step: RunStep) -> bool:
    return any(
        caution.key not in run.shown and (caution.asks_again or caution.key not in run.read)
        for caution in step.cautions
    )


@of_going_step
def _begun(run: MovingRun, event: Event, plate: MovingPlate, step: MovingStep) -> None:
    current = plate.current
    if step.begun is not None:
        run.doubt(event, "it was begun already")
    elif step.over:
        run.doubt(event, "it was skipped")
    elif current is not step:
        assert current is not None
        run.doubt(event, COMES_FIRST.format(title=current.rule.title))
    else:
        if _cautions_due(run, step.rule):
            run.doubt(event, "it was begun before its cautions were shown", counted=True)
        before = plate.last_end(step.rule.key)
        step.state, step.begun = "running", event.at
        plate.begun = True
        step.waited_s = None if before is None else (event.at - before).total_seconds()


@of_going_step
def _ended(run: MovingRun, event: Event, _: MovingPlate, step: MovingStep) -> None:
    if step.state == "running":
        step.state, step.ended = "done", event.at
    else:
        run.doubt(event, "it was ended already" if step.over else "it was not begun")


@of_going_step
def _skipped(run: MovingRun, event: Event, _: MovingPlate, step: MovingStep) -> None:
    if step.state == "waiting":
        step.state, step.ended = "skipped", event.at
    else:
        run.doubt(event, "it was begun or skipped already")


@of_going_step
def _redone(run: MovingRun, event: Event, plate: MovingPlate, step: MovingStep) -> None:
    if plate.exposed:
        run.doubt(event, "an exposed plate is given up and begun again as a new making")
    elif any(other.state == "running" for other in plate.steps.values()):
        run.doubt(event, "a step of this plate is still going on")
    elif not step.over:
        known = any(one.step == step.rule.key for one in plate.redone)
        run.doubt(event, "it waits to be done again already" if known else "it was not done yet")
    else:
        keys = list(plate.steps)
        for key in keys[keys.index(step.rule.key) :]:
            plate.steps[key].wait_again()
        why = str(event.body.get("why") or "")
        plate.redone.append(Redone(event.id, step.rule.key, event.at, why))


@of_step
def _answered(run: MovingRun, event: Event, _: MovingPlate, step: MovingStep) -> None:
    body = event.body
    answer, when = body.get("answer"), body.get("when") or "after"
    minutes = _number(body.get("at_minutes")) if when == "during" else None
    if answer not in ANSWERS:
        run.doubt(event, "the answer must be right, doubtful or wrong")
    elif when not in MOMENTS:
        run.doubt(event, "the moment must be before, during or after")
    elif step.begun is None and when != "before":
        run.doubt(event, "the step was not begun")
    else:
        value, words = _number(body.get("value")), str(body.get("words") or "")
        told = CheckAnswer(when, minutes, answer, value, words, event.at)
        step.answers[when, minutes] = told


@of_step
def _ripe_seen(run: MovingRun, event: Event, _: MovingPlate, step: MovingStep) -> None:
    """Keep when pictures say that a plate is ripe; the house moves its end by that."""
    body = event.body
    dose, log_sd = (_above_0(body.get(key)) for key in ("dose_kj_m2", "log_sd"))
    alone, alone_sd = (_above_0(body.get(key)) for key in ("alone_kj_m2", "alone_log_sd"))
    if step.rule.law != "development":
        run.doubt(event, "only a development is told by its pictures")
    elif step.begun is None:
        run.doubt(event, "the step was not begun")
    elif body.get("state") not in RIPENESS:
        run.doubt(event, "the state must be ripe, not yet or veiling")
    elif dose is None or log_sd is None:
        run.doubt(event, "the ripe dose or its doubt is not a number above 0")
    else:
        both = alone is not None and alone_sd is not None
        step.ripe = RipeSeen(
            event.id, event.at, str(body.get("picture") or ""), body["state"], dose, log_sd,
            alone if both else None, alone_sd if both else None, str(body.get("words") or ""),
        )  # fmt: skip


def _above_0(value: Any) -> float | None:
    found = _number(value)
    return found if found is not None and found > 0.0 else None


def _shown(run: MovingRun, event: Event) -> None:
    _note_cautions(run, run.shown, [event.body.get("caution")])


def _read(run: MovingRun, event: Event) -> None:
    keys = event.body.get("cautions")
    _note_cautions(run, run.read, keys if isinstance(keys, list) else [])


def _note_cautions(run: MovingRun, noted: list[str], keys: list[Any]) -> None:
    known = {caution.key for step in run.steps for caution in step.cautions}
    for key in keys:
        if isinstance(key, str) and key in known and key not in noted:
            noted.append(key)


def _measured(run: MovingRun, event: Event) -> None:
    what, value = event.body.get("what"), _number(event.body.get("value"))
    if not isinstance(what, str) or not what or value is None:
        run.doubt(event, "the reading has no quantity or no number")
        return
    unit, source = (str(event.body.get(key) or "") for key in ("unit", "source"))
    run.readings[what] = RunReading(
        what, value, unit, source or event.device, event.at, event.plate, event.step
    )


@of_step
def _changed(run: MovingRun, event: Event, plate: MovingPlate, step: MovingStep) -> None:
    planned = _number(event.body.get("planned_s"))
    if planned is None or planned < 0:
        run.doubt(event, "the new length is not a number")
    elif step.state in ("waiting", "running") and not plate.abandoned and not run.closed:
        why = str(event.body.get("why") or "")
        step.changes.append(DurationChange(event.at, step.planned_s, planned, why))
        factor = planned / step.planned_s if step.planned_s > 0 else 1.0
        low, high = (_number(event.body.get(key)) for key in ("low_s", "high_s"))
        step.low_s = step.low_s * factor if low is None else low
        step.high_s = step.high_s * factor if high is None else high
        step.planned_s = planned
        step.made_of = str(event.body.get("made_of") or "")


def _paused(run: MovingRun, event: Event) -> None:
    _stop_or_go(run, event, stop=True)


def _resumed(run: MovingRun, event: Event) -> None:
    _stop_or_go(run, event, stop=False)


def _stop_or_go(run: MovingRun, event: Event, *, stop: bool) -> None:
    word = "paused" if stop else "going"
    if event.plate is None:
        if run.closed:
            run.doubt(event, "the run was over")
        elif run.paused is stop:
            run.doubt(event, RUN_WAS.format(state=word))
        else:
            run.paused = stop
    else:
        plate = run.plates.get(event.plate)
        if plate is None:
            run.doubt(event, "there is no such plate in this run")
        elif may_go_on(run, plate, event):
            if plate.paused is stop:
                run.doubt(event, PLATE_WAS.format(state=word))
            else:
                plate.paused = stop
    for plate in run.plates.values():
        stopped = bool(plate.stops) and plate.stops[-1][1] is None
        wanted = run.paused or plate.paused
        if wanted and not stopped:
            plate.stops.append((event.at, None))
        elif stopped and not wanted:
            plate.stops[-1] = (plate.stops[-1][0], event.at)


def _added(run: MovingRun, event: Event) -> None:
    """Take a plate more into the run; the plan holds it once a new one was taken."""
    plate_id, label = event.plate or "", event.body.get("label")
    if run.closed:
        run.doubt(event, "the run was over")
    elif plate_id in run.plates:
        run.doubt(event, "the plate is in this run already")
    elif not (plate_id and isinstance(label, str) and label):
        run.doubt(event, "the plate has no id or no label")
    else:
        once = event.body.get("once")
        plate = fresh_plate(plate_id, label, run.steps)
        for key in once if isinstance(once, list) else []:
            if isinstance(key, str) and key in plate.steps:
                plate.steps[key].state, plate.steps[key].ended = "skipped", event.at
        if run.paused:
            plate.stops.append((event.at, None))
        run.plates[plate_id] = plate
        if run.offer is not None and run.offer.more and run.offer.more.id == plate_id:
            others = run.offer.lines[1:]  # the first tells of this plate, where it stands alone
            run.offer = replace(run.offer, more=None) if others else None


def _said(run: MovingRun, event: Event) -> None:
    words = str(event.body.get("words") or "")
    run.remarks.append(Remark(event.at, words, event.device, event.plate, event.step))


@of_plate
def _gave_up(run: MovingRun, event: Event, plate: MovingPlate) -> None:
    if may_go_on(run, plate, event):
        plate.abandoned, plate.why = event.at, str(event.body.get("why") or "")
        plate.given_up = _given_up(plate, event.body)
        _cut_off(plate, event.at)


def _given_up(plate: MovingPlate, body: Mapping[str, Any]) -> GivenUp:
    """Return why it was given up; events of before reasons were asked: a fault once begun."""
    stood = plate.current
    reason, outward = body.get("reason"), body.get("outward")
    if reason not in REASONS:
        reason = "fault" if plate.begun else "outward"
    return GivenUp(
        stage=str(body.get("stage") or ("" if stood is None else stood.rule.stage)),
        reason=reason,
        defect=str(body.get("defect") or "") or None if reason == "fault" else None,
        outward=(outward if outward in OUTWARD else "other") if reason == "outward" else None,
        why=plate.why,
    )


@of_plate_over
def _graded(_run: MovingRun, event: Event, plate: MovingPlate) -> None:
    body = event.body
    plate.grading = Grading(
        event=event.id,
        at=event.at,
        grade=str(body.get("grade") or "") or None,
        verdict=str(body.get("verdict") or "") or None,
        defects=_pairs(body.get("defects")),
        stages=_stages(body.get("stages")),
        words=str(body.get("words") or ""),
    )
    plate.put_off = False


@of_plate_over
def _put_off(_run: MovingRun, _event: Event, plate: MovingPlate) -> None:
    if plate.grading is None:
        plate.put_off = True


def _pairs(value: Any) -> tuple[tuple[str, str], ...]:
    listed = value if isinstance(value, list) else []
    pairs = [tuple(one) for one in listed if isinstance(one, list) and len(one) == 2]
    return tuple((a, b) for a, b in pairs if isinstance(a, str) and isinstance(b, str))


def _stages(value: Any) -> dict[str, str]:
    table = value if isinstance(value, dict) else {}
    return {key: word for key, word in table.items() if word in ("ok", "fault")}


def _over(run: MovingRun, event: Event) -> None:
    if run.closed:
        run.doubt(event, "the run was over")
        return
    run.closed = event.at
    for plate in run.plates.values():
        _cut_off(plate, event.at)


@of_plate
def _plate_withdrawn(_run: MovingRun, event: Event, plate: MovingPlate) -> None:
    _withdraw(plate, event)


def _run_withdrawn(run: MovingRun, event: Event) -> None:
    run.closed, run.withdrawn = run.closed or event.at, True
    for plate in run.plates.values():
        _withdraw(plate, event)


def _withdraw(plate: MovingPlate, event: Event) -> None:
    if not plate.withdrawn:
        plate.withdrawn, plate.why = True, str(event.body.get("why") or "")
        _cut_off(plate, event.at)


def _cut_off(plate: MovingPlate, at: datetime) -> None:
    for step in plate.steps.values():
        if step.state == "running":
            step.state, step.ended = "stopped", at


def _opened_again(run: MovingRun, event: Event) -> None:
    run.doubt(event, "the run was opened already")


def _advised(run: MovingRun, event: Event) -> None:
    """Advice changes nothing of a run."""


RULES: dict[str, Rule] = {
    "run_opened": _opened_again,
    "caution_shown": _shown,
    "cautions_read": _read,
    "step_begun": _begun,
    "step_ended": _ended,
    "step_skipped": _skipped,
    "step_redone": _redone,
    "check_answered": _answered,
    "ripe_seen": _ripe_seen,
    "reading_taken": _measured,
    "duration_changed": _changed,
    "paused": _paused,
    "resumed": _resumed,
    "remark_made": _said,
    "plate_added": _added,
    "plate_abandoned": _gave_up,
    "advice_given": _advised,
    "advice_overruled": _advised,
    "plan_offered": plans.offered,
    "plan_taken": plans.taken,
    "plan_declined": plans.declined,
    "making_graded": _graded,
    "grading_put_off": _put_off,
    "run_closed": _over,
    "run_withdrawn": _run_withdrawn,
    "plate_withdrawn": _plate_withdrawn,
}


def _number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if abs(value) < 1e300 else None
