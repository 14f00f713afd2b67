"""Which plate wants hands next, and in how many seconds: a pure reading of a run's state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

from argentry.records.run import PlateState, RunState
from argentry.records.run_step import RunStep, StepState

SOON_S = 1200.0  # hands that no plate wants within this are free for a question [s]
URGENT_S = 120.0  # a keeping limit this near its end goes before work in hand (house rule)
# How one wants hands, the most pressing first.
WANTS = ("ripe", "keep", "look", "busy", "begin_kept", "begin", "wait", "left_out", "paused")


@dataclass(frozen=True)
class Hands:
    """What one plate wants of the hands.

    Attributes
    ----------
    plate : str
        Id of the plate.
    label : str
        What is scratched on its back.
    step : str
        Key of its current step.
    action : str
        ``"end"`` a running step or ``"begin"`` a ready one.
    want : str
        ripe: its time is up; keep: its keeping limit is nearly over; look: a check while it goes on
        is due; busy: hands are on it; begin_kept: it may begin and has a keeping limit; begin: it
        may begin; wait: it works alone or waits for a box, camera, frame or fire in use; left_out:
        the plan has no place for it; paused: its clock is stopped.
    in_s : float or None
        Seconds until it wants hands: 0 now, negative overdue; None while paused. [s]
    left_s, keep_left_s : float or None
        What is left of the step, and of its keeping limit. [s]
    waits_for : str or None
        Id of the plate that holds what it needs.
    check : str or None
        Key of the step whose check is asked now: the one just done, else the one at hand.
    planned_in_s : float or None
        While its step is not begun: seconds until the plan begins it, negative when that is gone;
        null without a plan. [s]
    """

    plate: str
    label: str
    step: str
    action: str
    want: str
    in_s: float | None
    left_s: float | None
    keep_left_s: float | None
    waits_for: str | None
    check: str | None
    planned_in_s: float | None


@dataclass(frozen=True)
class NextPlanned:
    """The step that the plan gives these hands next.

    Attributes
    ----------
    plate, label, step : str
        Plate and step.
    in_s : float
        Seconds until it begins by the plan, negative when that is gone. [s]
    """

    plate: str
    label: str
    step: str
    in_s: float


def next_planned(state: RunState) -> NextPlanned | None:
    """Return the step for hands that the plan begins next; None without one."""
    if state.state in ("none", "closed") or state.now is None:
        return None
    attended = {step.key for step in state.steps if step.attended}
    found = [
        ((step.plan.start - state.now).total_seconds(), order, plate, step)
        for order, plate in enumerate(state.plates)
        if plate.state == "open"
        for step in plate.steps
        if step.plan is not None and step.key in attended and step.state in ("waiting", "ready")
    ]
    if not found:
        return None
    in_s, _, plate, step = min(found, key=lambda one: one[:2])
    return NextPlanned(plate.id, plate.label, step.key, in_s)


def hands_next(state: RunState) -> tuple[Hands, ...]:
    """Return what each open plate wants, the most pressing first.

    Returns
    -------
    tuple of Hands
        Empty when the run is closed or no plate is open. Ripe plates first, then keeping limits
        within two minutes of their end, the work in hand, plates that may begin (those with a
        limit first, then by the plan), those that need no hands yet, those left out.
    """
    if state.state in ("none", "closed"):
        return ()
    wants = [
        (_want(state, plate), order)
        for order, plate in enumerate(state.plates)
        if plate.state == "open"
    ]
    return tuple(want for want, _ in sorted(wants, key=_pressing))


def to_be_graded(state: RunState) -> PlateState | None:
    """Return the plate whose questions are asked next when no other wants hands; None without."""
    return next((one for one in state.plates if one.grade_due and not one.put_off), None)


def hands_free(hands: Sequence[Hands]) -> bool:
    """Return whether no plate wants hands soon: each waits for its hour or light, or is left out.

    Without this a plate planned for the afternoon would hold back how another came out.
    """
    return all(_waits_long(one) for one in hands)


def _waits_long(one: Hands) -> bool:
    if one.check not in (None, one.step):
        return False  # the check of the step just done is asked first
    until = {"begin": one.planned_in_s, "wait": one.in_s}.get(one.want)
    return one.want == "left_out" or (until is not None and until > SOON_S)


def _pressing(item: tuple[Hands, int]) -> tuple[int, float, int]:
    want, order = item
    by = {
        "ripe": want.left_s,
        "keep": want.keep_left_s,
        "busy": want.left_s,
        "begin_kept": want.keep_left_s,
        "begin": want.planned_in_s,
        "wait": want.in_s,
    }.get(want.want)
    unknown = inf if want.want == "begin" else 0.0  # what the plan does not hold yet comes after it
    return WANTS.index(want.want), unknown if by is None else by, order


def _want(state: RunState, plate: PlateState) -> Hands:
    assert plate.current is not None
    step = plate.step(plate.current)
    rule = state.step(plate.current)
    holder: str | None = None
    in_s: float | None
    if state.state == "paused" or plate.paused:
        want, in_s = "paused", None
    elif step.state == "running":
        if step.left_s <= 0.0:
            want, in_s = "ripe", step.left_s
        elif step.ask is not None:
            want, in_s = "look", 0.0
        elif rule.attended:
            want, in_s = "busy", 0.0
        else:
            want, in_s = "wait", _until_look(rule, step)
    else:
        holder, in_s = _holder(state, plate, rule.resource)
        if holder is not None:
            want = "wait"
        elif step.keep_left_s is not None:
            want = "keep" if step.keep_left_s <= URGENT_S else "begin_kept"
        elif plate.left_out:
            want, in_s = "left_out", None
        else:
            want = "begin"
    return Hands(
        plate=plate.id,
        label=plate.label,
        step=plate.current,
        action="end" if step.state == "running" else "begin",
        want=want,
        in_s=in_s,
        left_s=step.left_s,
        keep_left_s=step.keep_left_s,
        waits_for=holder,
        check=_check(plate, step),
        planned_in_s=_planned_in(state, step),
    )


def _planned_in(state: RunState, step: StepState) -> float | None:
    if step.plan is None or step.state != "ready" or state.now is None:
        return None
    return (step.plan.start - state.now).total_seconds()


def _holder(state: RunState, plate: PlateState, resource: str) -> tuple[str | None, float]:
    """Return which plate frees the resource first when none is free, and in how many seconds."""
    if not resource or held_by(state, plate) == resource:
        return None, 0.0
    taken = [
        (max(_running_left(other), 0.0), order, other)
        for order, other in enumerate(state.plates)
        if other.id != plate.id and held_by(state, other) == resource
    ]
    kind = planned_kind(state, plate, resource)
    alike = [one for one in taken if planned_kind(state, one[2], resource) == kind]
    kinds, counts = (_counts(state, name) for name in ("of_a_kind", "resources"))
    if kind in kinds and len(alike) >= kinds[kind]:
        taken = alike
    elif len(taken) < counts.get(resource, 1):
        return None, 0.0
    left, _, holder = min(taken, key=lambda one: one[:2])
    return holder.id, left


def _counts(state: RunState, name: str) -> Mapping[str, Any]:
    counts = state.constants.get(name)
    return counts if isinstance(counts, Mapping) else {}


def planned_kind(state: RunState, plate: PlateState, resource: str) -> str:
    """Return which of several kinds the plan gives a plate: its times go by that one."""
    own = (one.plan for one in plate.steps if state.step(one.key).resource == resource)
    return next((plan.held for plan in own if plan is not None and plan.held), "")


def kind_held(state: RunState, plate: PlateState, resource: str) -> str:
    """Return the name of what a plate's step holds: as planned, or as there is one kind alone.

    Empty where the run does not say. A run that was opened before runs kept it says nothing, so
    that what its plates taught stays as it was.
    """
    told = state.constants.get("held")
    by_plate = told.get(resource) if isinstance(told, Mapping) else None
    if not isinstance(by_plate, Mapping):
        return ""
    return planned_kind(state, plate, resource) or str(by_plate.get(plate.id) or "")


def held_by(state: RunState, plate: PlateState) -> str:
    """Return the resource a plate holds now; what it is developed in until the next step begins."""
    if plate.state != "open" or plate.current is None:
        return ""
    step = plate.step(plate.current)
    if step.state == "running":
        return state.step(step.key).resource
    last = last_done(plate)
    kept = next((rule.resource for rule in state.steps if rule.law == "development"), "")
    return kept if last is not None and state.step(last.key).resource == kept else ""


def _running_left(plate: PlateState) -> float:
    assert plate.current is not None
    step = plate.step(plate.current)
    return step.left_s if step.state == "running" else 0.0


def _until_look(rule: RunStep, step: StepState) -> float:
    """Return the seconds until a running step is ripe or is to be looked at."""
    looks = [60.0 * check.at_minutes for check in rule.checks if check.at_minutes is not None]
    ahead = [at - step.elapsed_s for at in looks if at > step.elapsed_s]
    return min([step.left_s, *ahead])


def last_done(plate: PlateState) -> StepState | None:
    """Return the step of a plate that was done last; None before the first."""
    done = [step for step in plate.steps if step.state == "done"]
    return done[-1] if done else None


def _check(plate: PlateState, step: StepState) -> str | None:
    last = last_done(plate)
    if step.state != "running" and last is not None and last.check_due:
        return last.key
    return None if step.ask is None else step.key
