"""The state of a run as its events leave it: plates, steps, clocks, readings, oddities.

Made by ``book.fold`` only; nothing here is stored.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any

from argentry.records.run_plan import PlanOffer
from argentry.records.run_step import RunStep, StepCaution, StepState

INNER = {"inner": True}  # metadata of a field that no answer shows
ANSWERS = ("right", "doubtful", "wrong")
MOMENTS = ("before", "during", "after")  # when a check is asked
# Laws whose length makes the picture: under this share of the least planned, it is short.
TIMED_LAWS = ("fuming", "exposure", "development", "temperature")
SHORT_SHARE = 0.5
SECONDS_COUNT = ("fuming", "exposure")  # laws of steps that are ended before their check is asked
RIPENESS = ("ripe", "not yet", "veiling")  # what pictures through the filter say
REASONS = ("fault", "outward")  # why a plate is given up: its own fault, or none of it
RUN_DAYS = 3  # an open run older than this no longer listens to sensors nor holds a plate back
OUTWARD = ("no_time", "light_gone", "sitter_left", "other")


@dataclass(frozen=True)
class Redone:
    """That hands went back to a step of a plate, to do it and all later ones once more.

    Attributes
    ----------
    event : str
        Id of the event that says so.
    step : str
        Key of the step.
    at : datetime
        When, UTC.
    why : str
        Why, in words.
    """

    event: str
    step: str
    at: datetime
    why: str


@dataclass(frozen=True)
class GivenUp:
    """That a plate was given up, and why.

    Attributes
    ----------
    stage : str
        Stage it was given up in; empty where that is not known.
    reason : str
        fault: its own; outward: time, light or sitter ran out.
    defect : str or None
        Key of the defect, where something was wrong and is named.
    outward : str or None
        no_time, light_gone, sitter_left or other.
    why : str
        In words.
    """

    stage: str
    reason: str
    defect: str | None
    outward: str | None
    why: str


@dataclass(frozen=True)
class Grading:
    """How a plate came out, as told at the end of its run.

    Attributes
    ----------
    event : str
        Id of the event that says so.
    at : datetime
        When it was said, UTC.
    grade, verdict : str or None
        Grade, and verdict on the exposure.
    defects : tuple of (str, str)
        Defect, and the stage or step it comes from.
    stages : Mapping[str, str]
        Stage to ``"ok"`` or ``"fault"``.
    words : str
        Remark.
    """

    event: str
    at: datetime
    grade: str | None
    verdict: str | None
    defects: tuple[tuple[str, str], ...]
    stages: Mapping[str, str]
    words: str


@dataclass(frozen=True)
class PlateState:
    """One plate of the run now.

    Attributes
    ----------
    id : str
        Id of the plate.
    label : str
        What is scratched on its back.
    state : str
        open, done, abandoned or withdrawn.
    paused : bool
        True when its own clock is stopped (the run's pause is the run's state).
    current : str or None
        Key of the first step that is neither done nor left out; None when all are or the plate was
        given up.
    why : str
        Why it was given up.
    steps : tuple of StepState
        In the order of the run's list.
    redone : tuple of Redone
        What was done once more, in order.
    stops : tuple of (datetime, datetime or None)
        When its clock was stopped, by its own pauses and the run's.
    begun : bool
        True once a step of it was begun: from then on it is a making.
    given_up : GivenUp or None
        When it was given up.
    grading : Grading or None
        The newest.
    grade_due : bool
        True when its steps are over and nobody said how it came out; giving it up says so.
    put_off : bool
        True when its grade is due and is to be given later.
    left_out : bool
        True when the plan that stands has no place for it.
    """

    id: str
    label: str
    state: str
    paused: bool
    current: str | None
    why: str
    steps: tuple[StepState, ...]
    redone: tuple[Redone, ...] = ()
    stops: tuple[tuple[datetime, datetime | None], ...] = field(default=(), metadata=INNER)
    begun: bool = False
    given_up: GivenUp | None = None
    grading: Grading | None = None
    grade_due: bool = False
    put_off: bool = False
    left_out: bool = False

    def step(self, key: str) -> StepState:
        """Return the step with that key; KeyError when there is none."""
        for step in self.steps:
            if step.key == key:
                return step
        raise KeyError(key)


@dataclass(frozen=True)
class RunReading:
    """The last value of a quantity said in the run.

    Attributes
    ----------
    what : str
        Key of the quantity.
    value : float
        What was read, in its unit.
    unit : str
        Its unit.
    source : str
        Who or what measured it.
    at : datetime
        When, UTC.
    plate, step : str or None
        Plate and step it belongs to, when it does.
    """

    what: str
    value: float
    unit: str
    source: str
    at: datetime
    plate: str | None = None
    step: str | None = None


@dataclass(frozen=True)
class Remark:
    """Something somebody said.

    Attributes
    ----------
    at : datetime
        When, UTC.
    words : str
        What.
    device : str
        On which device.
    plate, step : str or None
        Plate and step it is about.
    """

    at: datetime
    words: str
    device: str
    plate: str | None = None
    step: str | None = None


@dataclass(frozen=True)
class Oddity:
    """An event that did not fit what was known at its time.

    Attributes
    ----------
    event : str
        Id of the event.
    why : str
        In words.
    counted : bool
        True when it still took effect.
    """

    event: str
    why: str
    counted: bool


@dataclass(frozen=True)
class RunState:
    """A run, folded from its events.

    Attributes
    ----------
    run : str
        Id of the run, UUID version 7.
    title : str
        Its name.
    state : str
        open, paused or closed; ``"none"`` when no event opened it.
    now : datetime or None
        The moment the clocks below were read at, UTC.
    opened, closed : datetime or None
        When it was opened and closed, UTC; null while it goes on.
    steps : tuple of RunStep
        The list of all plates.
    plates : tuple of PlateState
        In the run's order.
    shown : tuple of str
        Keys of the cautions shown, in order.
    readings : tuple of RunReading
        The last of each quantity, by name.
    remarks : tuple of Remark
        In order.
    odd : tuple of Oddity
        In order.
    place : Mapping[str, Any]
        Where it was opened: name, latitude_deg, longitude_deg, elevation_m, time_zone.
    constants : Mapping[str, Any]
        What it was opened with: basis of the lengths, weather, resources (how many there are of
        each thing that a step holds), frame, box, coat_nm, sizes (by id of the plate), hours of
        the plan (begin, exposure light and development light in W/m2), wishes of the day, forecast
        (file that the plan has its weather from).
    seq : int
        Highest place in the log among the events.
    read : tuple of str
        Keys of the cautions that were read together.
    withdrawn : bool
        True when it was opened by mistake; its state is ``"closed"`` then.
    offer : PlanOffer or None
        The new plan that waits for an answer.
    standing : str
        Id of the offer that was taken last; empty while the plan of the opening stands.
    turned_down : tuple of str
        Ids of the offers turned down, in order.
    """

    run: str
    title: str
    state: str
    now: datetime | None
    opened: datetime | None = None
    closed: datetime | None = None
    steps: tuple[RunStep, ...] = ()
    plates: tuple[PlateState, ...] = ()
    shown: tuple[str, ...] = ()
    readings: tuple[RunReading, ...] = ()
    remarks: tuple[Remark, ...] = ()
    odd: tuple[Oddity, ...] = ()
    place: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    constants: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    seq: int = 0
    read: tuple[str, ...] = ()
    withdrawn: bool = False
    offer: PlanOffer | None = None
    standing: str = ""
    turned_down: tuple[str, ...] = ()

    def plate(self, plate_id: str) -> PlateState:
        """Return the plate with that id; KeyError when there is none."""
        for plate in self.plates:
            if plate.id == plate_id:
                return plate
        raise KeyError(plate_id)

    def step(self, key: str) -> RunStep:
        """Return the listed step with that key; KeyError when there is none."""
        for step in self.steps:
            if step.key == key:
                return step
        raise KeyError(key)

    def cautions_due(self, key: str) -> tuple[StepCaution, ...]:
        """Return the cautions of a step still to be confirmed before it may begin."""
        return tuple(
            caution
            for caution in self.step(key).cautions
            if caution.key not in self.shown
            and (caution.asks_again or caution.key not in self.read)
        )

    def cautions_unread(self) -> tuple[StepCaution, ...]:
        """Return the cautions of all steps that were neither read together nor shown, each once."""
        known = {caution.key: caution for step in self.steps for caution in step.cautions}
        return tuple(c for k, c in known.items() if k not in self.read and k not in self.shown)
