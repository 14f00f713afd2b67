"""A run, its plates and their steps while the fold goes through the events."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from argentry.records.event import Event
from argentry.records.run import GivenUp, Grading, Oddity, Redone, Remark, RunReading
from argentry.records.run_plan import PlannedTime, PlanOffer
from argentry.records.run_step import CheckAnswer, DurationChange, RipeSeen, RunStep


@dataclass
class MovingStep:
    """A step of a plate while the events pass by."""

    rule: RunStep
    planned_s: float
    low_s: float
    high_s: float
    state: str = "waiting"  # waiting, running, done, skipped, stopped; ready is told at the end
    begun: datetime | None = None
    ended: datetime | None = None
    waited_s: float | None = None
    answers: dict[tuple[str, float | None], CheckAnswer] = field(default_factory=dict)
    changes: list[DurationChange] = field(default_factory=list)
    plan: PlannedTime | None = None
    made_of: str = ""
    ripe: RipeSeen | None = None

    @property
    def over(self) -> bool:
        """Say whether it is done or left out."""
        return self.state in ("done", "skipped")

    def wait_again(self) -> None:
        """Take back what its last doing left, but not what is known of its length."""
        self.state, self.begun, self.ended, self.waited_s = "waiting", None, None, None
        self.answers, self.ripe = {}, None


@dataclass
class MovingPlate:
    """A plate while the events pass by."""

    id: str
    label: str
    steps: dict[str, MovingStep]
    paused: bool = False
    why: str = ""
    abandoned: datetime | None = None
    withdrawn: bool = False
    begun: bool = False
    given_up: GivenUp | None = None
    grading: Grading | None = None
    put_off: bool = False
    stops: list[tuple[datetime, datetime | None]] = field(default_factory=list)
    redone: list[Redone] = field(default_factory=list)
    left_out: bool = False

    @property
    def exposed(self) -> bool:
        """Say whether light was let at it on purpose: from then on nothing can be done again."""
        return any(s.rule.law == "exposure" and s.begun is not None for s in self.steps.values())

    @property
    def current(self) -> MovingStep | None:
        """Return the first step that is neither done nor left out."""
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


def fresh_plate(plate: str, label: str, steps: Iterable[RunStep]) -> MovingPlate:
    """Return a plate of which nothing was done yet."""
    fresh = {s.key: MovingStep(s, s.planned_s, s.low_s, s.high_s, made_of=s.made_of) for s in steps}
    return MovingPlate(plate, label, fresh)


@dataclass
class MovingRun:
    """The run while the events pass by."""

    steps: tuple[RunStep, ...]
    plates: dict[str, MovingPlate]
    paused: bool = False
    closed: datetime | None = None
    withdrawn: bool = False
    read: list[str] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    readings: dict[str, RunReading] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    odd: list[Oddity] = field(default_factory=list)
    offers: dict[str, tuple[PlanOffer, Mapping[str, Mapping[str, PlannedTime]]]] = field(
        default_factory=dict
    )
    offer: PlanOffer | None = None
    answers: dict[str, str] = field(default_factory=dict)  # to offers, by their id
    standing: str = ""
    turned_down: list[str] = field(default_factory=list)

    def doubt(self, event: Event, why: str, *, counted: bool = False) -> None:
        """Note that an event does not fit."""
        self.odd.append(Oddity(event.id, why, counted))
