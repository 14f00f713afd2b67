"""Which plate and step an event is about, found before its rule is asked."""

from __future__ import annotations

from collections.abc import Callable

from argentry.book.runs.moving import MovingPlate, MovingRun, MovingStep
from argentry.records.event import Event

Rule = Callable[[MovingRun, Event], None]


def of_plate(rule: Callable[[MovingRun, Event, MovingPlate], None]) -> Rule:
    """Return a rule that is given its plate; an event without one in the run stays a doubt."""

    def found(run: MovingRun, event: Event) -> None:
        plate = run.plates.get(event.plate or "")
        if plate is None:
            run.doubt(event, "there is no such plate in this run")
        else:
            rule(run, event, plate)

    return found


def of_step(rule: Callable[[MovingRun, Event, MovingPlate, MovingStep], None]) -> Rule:
    """Return a rule that is given its plate and step."""

    @of_plate
    def found(run: MovingRun, event: Event, plate: MovingPlate) -> None:
        step = plate.steps.get(event.step or "")
        if step is None:
            run.doubt(event, "there is no such step in this run")
        else:
            rule(run, event, plate, step)

    return found


def of_going_step(rule: Callable[[MovingRun, Event, MovingPlate, MovingStep], None]) -> Rule:
    """Return a rule that is given its plate and step while both plate and run go on."""

    @of_step
    def going(run: MovingRun, event: Event, plate: MovingPlate, step: MovingStep) -> None:
        if may_go_on(run, plate, event):
            rule(run, event, plate, step)

    return going


def of_plate_over(rule: Callable[[MovingRun, Event, MovingPlate], None]) -> Rule:
    """Return a rule that is given a plate whose steps are over."""

    @of_plate
    def over(run: MovingRun, event: Event, plate: MovingPlate) -> None:
        if plate.withdrawn:
            run.doubt(event, "the plate was withdrawn")
        elif not plate.begun:
            run.doubt(event, "no step of this plate was begun")
        elif plate.current is not None and not plate.abandoned and not run.closed:
            run.doubt(event, "the plate is still in work")
        else:
            rule(run, event, plate)

    return over


def may_go_on(run: MovingRun, plate: MovingPlate, event: Event) -> bool:
    """Say whether run and plate go on; where not, the event stays a doubt."""
    if run.closed:
        run.doubt(event, "the run was over")
    elif plate.withdrawn:
        run.doubt(event, "the plate was withdrawn")
    elif plate.abandoned:
        run.doubt(event, "the plate was given up")
    else:
        return True
    return False
