"""A day to be ordered, what can be said of it without a search, and where its plates stand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import daylight
from argentry.plan.shop import Shop, Sort
from argentry.plan.tasks import EXPOSURE, Block, blocks_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats, Whole
    from argentry.plan.daylight import DayLight
    from argentry.plan.tasks import Task


@dataclass(frozen=True)
class Special:
    """A plate that differs from the others of its day.

    Attributes
    ----------
    tasks : tuple of Task
        Its steps: they make the same blocks as everyone's.
    light : DayLight
        The day's light with its own exposure.
    """

    tasks: tuple[Task, ...]
    light: DayLight


@dataclass(frozen=True)
class Day:
    """What the planner is asked.

    Attributes
    ----------
    tasks : tuple of Task
        A plate's steps with their durations settled.
    plates : int or None
        How many plates are wanted, 1 to 12; None: as many as are finished on four days in five.
    workers : int
        Pairs of hands.
    first_minute, last_minute : float
        When the first plate may be begun, when all must be done. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    light : DayLight
        The day's light on the same grid.
    special : tuple of (Special or None)
        What sets the first plates apart, None for one like the others; all further plates are like
        each other. Plates with the same one are alike.
    room_counts : Mapping[str, int]
        How many there are of what one plate at a time holds, where there is more than one.
    hours_end : float
        When the studio's own hours end, where the day is planned past them. [min]
    """

    tasks: tuple[Task, ...]
    plates: int | None
    workers: int
    first_minute: float
    last_minute: float
    breaks: tuple[tuple[float, float], ...]
    light: DayLight
    special: tuple[Special | None, ...] = ()
    room_counts: Mapping[str, int] = field(default_factory=dict)
    hours_end: float = np.inf

    def of_plates(self, which: Whole) -> Day:
        """Return the day of some of the plates, in their order."""
        if not self.special:
            return self
        every = (*self.special, *[None] * (int(which.max(initial=-1)) + 1))
        return replace(self, special=tuple(every[int(plate)] for plate in which))


@dataclass(frozen=True)
class DayProblem:
    """A day to be ordered.

    Attributes
    ----------
    blocks : tuple of Block
        A plate's blocks.
    plates : int
        How many plates must be placed.
    workers : int
        Pairs of hands.
    frame_counts : tuple of int
        Frames by kind.
    first_minute, last_minute : int
        Span of the day. [min]
    breaks : tuple of (int, int)
        When no hands are there. [min]
    exposure_ends : Whole, shape (m + 1,)
        End by starting minute, -1 where an exposure cannot be made. [min]
    own_exposure_ends : tuple of Whole, shape (m + 1,)
        The same of each plate where they differ; empty: `exposure_ends` for every plate. [min]
    groups : tuple of Whole
        Plates that are like each other; empty: all are.
    room_counts : Mapping[str, int]
        As in `Day`.
    appointments : tuple of float
        When the sitter of each plate comes, NaN for nobody; empty: nobody does. [min]
    ripe : Whole, shape (frames, m + 1)
        The same for development. [min]
    routes : tuple of tuple of Block
        Blocks of each plate where they differ; empty: every plate goes through `blocks`.
    """

    blocks: tuple[Block, ...]
    plates: int
    workers: int
    frame_counts: tuple[int, ...]
    first_minute: int
    last_minute: int
    breaks: tuple[tuple[int, int], ...]
    exposure_ends: Whole
    ripe: Whole
    routes: tuple[tuple[Block, ...], ...] = ()
    own_exposure_ends: tuple[Whole, ...] = ()
    groups: tuple[Whole, ...] = ()
    room_counts: Mapping[str, int] = field(default_factory=dict)
    appointments: tuple[float, ...] = ()

    def exposures(self, plate: int) -> Whole:
        """Return the ends of an exposure of one plate [min]."""
        return self.own_exposure_ends[plate] if self.own_exposure_ends else self.exposure_ends

    def alike(self) -> tuple[Whole, ...]:
        """Return the plates in groups that are like each other."""
        if self.groups or self.routes:
            return self.groups
        return (np.arange(self.plates),)

    def route(self, plate: int) -> tuple[Block, ...]:
        """Return the blocks of one plate."""
        return self.routes[plate] if self.routes else self.blocks


def shop_of(day: Day, blocks: tuple[Block, ...], plates: int) -> Shop:
    """Return what does not change between the simulated days of a day.

    Parameters
    ----------
    day : Day
        What is wanted and what is there.
    blocks : tuple of Block
        A plate's blocks.
    plates : int
        How many plates.
    """
    ripe = np.stack([frame.expected_ends for frame in day.light.frames])
    different: dict[int, Special] = {id(one): one for one in day.special if one is not None}
    place = {key: index for index, key in enumerate(different, 1)}
    return Shop(
        blocks=blocks,
        plates=plates,
        workers=day.workers,
        frame_counts=tuple(f.count for f in day.light.frames),
        first_minute=day.first_minute,
        last_minute=day.last_minute,
        breaks=day.breaks,
        expected_exposure_ends=daylight.expected_exposure_ends(day.light),
        expected_ripe=ripe,
        room_counts=day.room_counts,
        sorts=tuple(_sort(one, blocks) for one in different.values()),
        sort_of=tuple(0 if one is None else place[id(one)] for one in day.special),
    )


def _sort(special: Special, blocks: tuple[Block, ...]) -> Sort:
    own = blocks_of(special.tasks)
    if [(b.kind, b.within) for b in own] != [(b.kind, b.within) for b in blocks]:
        raise ValueError("the steps of a special plate make other blocks than everyone's")
    return Sort(own, special.light, daylight.expected_exposure_ends(special.light))


def problem_of(shop: Shop) -> DayProblem:
    """Return the day on whole minutes, as the solver takes it.

    Parameters
    ----------
    shop : Shop
        The day.
    """
    tables = daylight.whole_ends(shop.exposure_tables)
    several = bool(shop.by_plate.any())
    return DayProblem(
        blocks=shop.blocks,
        plates=shop.plates,
        workers=shop.workers,
        frame_counts=shop.frame_counts,
        first_minute=int(np.ceil(shop.first_minute)),
        last_minute=int(shop.last_minute),
        breaks=tuple((int(low), int(np.ceil(high))) for low, high in shop.breaks),
        exposure_ends=tables[0],
        ripe=np.stack([daylight.whole_ends(r) for r in shop.expected_ripe]),
        routes=tuple(shop.routes[sort] for sort in shop.by_plate) if several else (),
        own_exposure_ends=tuple(tables[sort] for sort in shop.by_plate) if several else (),
        groups=tuple(shop.alike()) if several else (),
        room_counts=shop.room_counts,
        appointments=tuple(shop.appointments.tolist()) if several else (),
    )


def cannot_fit(problem: DayProblem) -> bool:
    """Say whether the hands-on minutes alone already exceed the day (a bound, no search).

    Parameters
    ----------
    problem : DayProblem
        The day.
    """
    hands = problem.workers * (
        problem.last_minute - problem.first_minute - sum(high - low for low, high in problem.breaks)
    )
    need = 0
    for plate in range(problem.plates):
        ends = problem.exposures(plate)
        starts = np.flatnonzero(ends >= 0)
        if not starts.size:
            return True
        route = problem.route(plate)
        need += sum(b.whole_minutes for b in route if b.attended)
        need += sum(b.kind == EXPOSURE for b in route) * int((ends[starts] - starts).min())
    return need > hands


@dataclass(frozen=True)
class After:
    """What a plate more waits for before it is begun: a step of another, done early enough.

    Attributes
    ----------
    plate, task : int
        Of which plate, and which of its steps.
    until : float
        On days on which that is done later it is not begun. [min]
    """

    plate: int
    task: int
    until: float


@dataclass(frozen=True)
class Standing:
    """Where a day's plates stand. Minutes count from the start of the day's grid.

    Attributes
    ----------
    begun, ended : Floats, shape (plates, tasks)
        What has happened; NaN where a step was not begun, or has not ended. [min]
    frame_kind : Whole, shape (plates,)
        Kind of frame each plate lies in or lay in; -1 for none.
    kept : Floats, shape (plates, blocks)
        Starts in the plan that stands; NaN for a plate that it does not hold. [min]
    ripe : tuple of (float, float) or None
        For each plate, where its own pictures moved the end of its development: that end [min],
        and the standard deviation of the natural logarithm of its light [1]. Empty for none.
    after : tuple of (After or None)
        For each plate, what it waits for before it is begun. Empty for nothing.
    """

    begun: Floats
    ended: Floats
    frame_kind: Whole
    kept: Floats
    ripe: tuple[tuple[float, float] | None, ...] = ()
    after: tuple[After | None, ...] = ()

    def ripe_of(self, plate: int) -> tuple[float, float] | None:
        """Return the end that a plate's own pictures gave it, None for none."""
        return self.ripe[plate] if plate < len(self.ripe) else None

    def after_of(self, plate: int) -> After | None:
        """Return what a plate that nobody has begun waits for, None for nothing."""
        after = self.after[plate] if plate < len(self.after) else None
        return after if np.isnan(self.begun[plate]).all() else None

    def with_one_more(self) -> Standing:
        """Return them and a plate of which nothing was done and nothing is planned."""
        begun, ended, kept = (
            np.concatenate([one, np.full((1, one.shape[1]), np.nan)])
            for one in (self.begun, self.ended, self.kept)
        )
        return Standing(begun, ended, np.append(self.frame_kind, -1), kept, self.ripe, self.after)

    def part(self, which: Whole) -> Standing:
        """Return some of the plates."""
        return Standing(
            self.begun[which], self.ended[which], self.frame_kind[which], self.kept[which],
            tuple(self.ripe_of(int(plate)) for plate in which),
            tuple(_among(self.after_of(int(plate)), which) for plate in which),
        )  # fmt: skip


def _among(after: After | None, which: Whole) -> After | None:
    """Return it by the plates that are left; nothing to wait for where that one is not."""
    if after is None:
        return None
    at = np.flatnonzero(np.asarray(which) == after.plate)
    return replace(after, plate=int(at[0])) if len(at) else None
