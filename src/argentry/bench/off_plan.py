"""How far the plates of a run are off the plan that stands, and when that asks for a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from argentry import trade
from argentry.bench.words import minutes
from argentry.records.run import PlateState, RunState
from argentry.records.run_step import StepState
from argentry.trade.readings import LIGHT_LAWS, measured_for

BY_LIGHT = ("exposure", "development")
LATE = "{label} is {span} late"
EARLY = "{label} is {span} early"
BACK = "{label} is back on its plan"
REDONE = "{label} goes back a step"
LOST = "{label} is given up"
NOT_PLANNED = "{label} is in no plan yet"
LIGHT = "the light was read"
FORECAST = "the forecast is new"
FREED = "a frame is free"


@dataclass(frozen=True)
class OffPlan:
    """How the plates stand to their plan, as far as it matters for a new one.

    Attributes
    ----------
    late_s : Mapping[str, float]
        By plate, how late it is; negative when early. [s]
    redone : Mapping[str, int]
        By plate, how often hands went back.
    lost : tuple of str
        Plates that are given up or withdrawn.
    not_planned : tuple of str
        Plates that were taken into the run and are in no plan yet.
    light : str
        The last reading of light by hand.
    forecast : str
        State of the forecast file.
    standing : str
        Id of the plan that they are late by; empty for that of the opening.
    freed : tuple of str
        Plates that need a frame no longer, once none waits to be begun: there may be room for
        one more, though all goes as planned.
    """

    late_s: Mapping[str, float] = field(default_factory=dict)
    redone: Mapping[str, int] = field(default_factory=dict)
    lost: tuple[str, ...] = ()
    not_planned: tuple[str, ...] = ()
    light: str = ""
    forecast: str = ""
    standing: str = ""
    freed: tuple[str, ...] = ()


def off_plan(state: RunState, forecast: str = "") -> OffPlan | None:
    """Return how the plates of a run are off their plan; None where there is nothing to plan."""
    going = any(
        _lost(plate) or (plate.state == "open" and not plate.left_out) for plate in state.plates
    )  # in the place of a lost one another may be begun
    if state.state != "open" or state.now is None or not going or not is_planned(state):
        return None
    lights = [one for one in state.readings if one.what in measured_for(*LIGHT_LAWS)]
    last = max(lights, key=lambda one: one.at, default=None)
    return OffPlan(
        late_s={p.id: round(_late_s(state, p), 1) for p in state.plates if p.state == "open"},
        redone={p.id: len(p.redone) for p in state.plates if p.redone},
        lost=tuple(p.id for p in state.plates if _lost(p)),
        not_planned=tuple(p.id for p in state.plates if _not_planned(p)),
        light="" if last is None else f"{last.what} {last.at.isoformat()}",
        forecast=forecast,
        standing=state.standing,
        freed=_freed(state),
    )


def _lost(plate: PlateState) -> bool:
    return plate.state in ("abandoned", "withdrawn")


def _freed(state: RunState) -> tuple[str, ...]:
    """Return the plates whose development is over, where no plate waits to be begun."""
    if any(p.state == "open" and not (p.left_out or p.begun) for p in state.plates):
        return ()
    return tuple(
        plate.id
        for plate in state.plates
        if any(s.state == "done" and state.step(s.key).law == BY_LIGHT[1] for s in plate.steps)
    )


def _not_planned(plate: PlateState) -> bool:
    """Tell whether a plate still waits to be planned for the first time."""
    going = plate.state == "open" and not plate.left_out
    return going and all(step.plan is None for step in plate.steps)


def is_planned(state: RunState) -> bool:
    """Tell whether a run holds a plan with ends, as runs opened from a day's plan do."""
    return any(
        step.plan is not None and step.plan.end is not None
        for plate in state.plates
        for step in plate.steps
    )


def _late_s(state: RunState, plate: PlateState) -> float:
    """Return how late a plate is: its step in hand, and what the light has changed since."""
    assert state.now is not None
    if plate.current is None or plate.left_out:
        return 0.0
    step = plate.step(plate.current)
    later = 0.0
    if step.plan is None:
        return 0.0
    if step.state != "running":
        later = (state.now - step.plan.start).total_seconds()
        # before its time a plate is as early as the step before left it, however long it waits
        later = later if later > 0.0 else min(_ended_late_s(plate), 0.0)
    elif step.plan.end is not None:
        ends_in = max(step.left_s, 0.0)
        later = ends_in - (step.plan.end - state.now).total_seconds()
    return later + sum(_lengthened_s(state, one) for one in plate.steps)


def _ended_late_s(plate: PlateState) -> float:
    """Return how much later than planned the last step of a plate ended."""
    done = [step for step in plate.steps if step.state == "done"]
    last = done[-1] if done else None
    if last is None or last.ended is None or last.plan is None or last.plan.end is None:
        return 0.0
    return (last.ended - last.plan.end).total_seconds()


def _lengthened_s(state: RunState, step: StepState) -> float:
    if step.state not in ("waiting", "ready") or state.step(step.key).law not in BY_LIGHT:
        return 0.0
    if step.plan is None or step.plan.end is None:
        return 0.0
    return step.planned_s - (step.plan.end - step.plan.start).total_seconds()


def known_of(said: Mapping[str, Any]) -> OffPlan:
    """Return what an event says was known; nothing where it says nothing."""

    def table(name: str) -> Mapping[str, Any]:
        value = said.get(name)
        return value if isinstance(value, dict) else {}

    return OffPlan(
        late_s={plate: float(late) for plate, late in table("late_s").items()},
        redone={plate: int(times) for plate, times in table("redone").items()},
        lost=tuple(said.get("lost") or ()),
        not_planned=tuple(said.get("not_planned") or ()),
        light=str(said.get("light") or ""),
        forecast=str(said.get("forecast") or ""),
        standing=str(said.get("standing") or ""),
        freed=tuple(said.get("freed") or ()),
    )


def told_of(off: OffPlan) -> Mapping[str, Any]:
    """Return it as an event says it."""
    lists = {name: list(getattr(off, name)) for name in ("lost", "not_planned", "freed")}
    return {**asdict(off), **lists}


def what_changed(state: RunState, off: OffPlan, known: OffPlan) -> tuple[str, ...]:
    """Return in words what asks for a new plan, the gravest first; empty when nothing does.

    Parameters
    ----------
    state : RunState
        The run now.
    off : OffPlan
        How it stands.
    known : OffPlan
        How it stood when a plan was last made.
    """
    least = 60.0 * trade.value("bench", "replan_after")
    # by another plan nothing is late yet
    known_late = known.late_s if known.standing == off.standing else {}
    label = {plate.id: plate.label for plate in state.plates}
    moved = []
    for plate, late in off.late_s.items():
        by = late - known_late.get(plate, 0.0)
        if abs(by) >= least:
            words = BACK if abs(late) < least else LATE if late > 0.0 else EARLY
            moved.append((abs(by), words.format(label=label[plate], span=minutes(abs(late)))))
    return (
        *(LOST.format(label=label[plate]) for plate in off.lost if plate not in known.lost),
        *(
            NOT_PLANNED.format(label=label[plate])
            for plate in off.not_planned
            if plate not in known.not_planned
        ),
        *(
            REDONE.format(label=label[plate])
            for plate, times in off.redone.items()
            if times > known.redone.get(plate, 0)
        ),
        *(words for _, words in sorted(moved, key=lambda one: -one[0])),
        *([LIGHT] if off.light != known.light else []),
        *([FORECAST] if off.forecast != known.forecast else []),
        *([FREED] if set(off.freed) - set(known.freed) else []),
    )
