"""What simulated days are given and give back: the shop, rules, what is drawn, the runs."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.tasks import DEVELOPMENT, EXPOSURE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats, Truth, Whole
    from argentry.physics.picture.dose import LightSums
    from argentry.plan.daylight import DayLight
    from argentry.plan.tasks import Block


BREAK_GRACE = 10.0  # by which work that was begun may run into a break on the day [min]


@dataclass(frozen=True)
class Begun:
    """Where the plates stand when a day is planned from the middle of it.

    Attributes
    ----------
    starts, ends : Floats, shape (plates, blocks)
        What has happened; NaN where a block was not begun, or has not ended. [min]
    frame_kind : Whole, shape (plates,)
        Kind of frame each plate lies in; -1 for none.
    """

    starts: Floats
    ends: Floats
    frame_kind: Whole


@dataclass(frozen=True)
class Rules:
    """What the hands prefer, one rule or many.

    Attributes
    ----------
    priority : Floats, shape (rules, plates, blocks)
        The free hands take the ready block with the smallest value.
    in_hand : Whole, shape (rules,)
        Most plates begun and not yet finished at a time.
    not_before : Floats, shape (rules, plates, blocks)
        No block is begun before this, even by idle hands. [min]
    """

    priority: Floats
    in_hand: Whole
    not_before: Floats

    def __len__(self) -> int:
        """Return how many rules there are."""
        return len(self.in_hand)

    def part(self, which: Whole | slice) -> Rules:
        """Return some of the rules."""
        return Rules(self.priority[which], self.in_hand[which], self.not_before[which])


@dataclass(frozen=True)
class Sort:
    """Plates that differ from the others of their day: in how long hands take, or in the pose.

    Attributes
    ----------
    blocks : tuple of Block
        As everyone's, some of them shorter or longer.
    light : DayLight
        With its own exposure.
    expected_exposure_ends : Floats, shape (m + 1,)
        End by starting minute on the middle day. [min]
    """

    blocks: tuple[Block, ...]
    light: DayLight
    expected_exposure_ends: Floats


@dataclass(frozen=True)
class Shop:
    """What does not change between simulated days.

    Attributes
    ----------
    blocks : tuple of Block
        A plate's blocks.
    plates : int
        How many plates are wanted.
    workers : int
        Pairs of hands.
    frame_counts : tuple of int
        Frames by kind.
    first_minute : float
        When the first plate may be begun (the room is ready). [min]
    last_minute : float
        When everything must be done. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    strict_breaks : bool
        True for a plan, which keeps every break; on the day itself urgent work goes before it.
    expected_exposure_ends, expected_ripe : Floats
        Ends by starting minute on the middle day, shape (m + 1,) and (frames, m + 1);
        what the maker expects when deciding. [min]
    begun : Begun or None
        Where the plates stand when the day is planned from the middle of it.
    sorts : tuple of Sort
        Of plates that differ from the others.
    sort_of : tuple of int
        Of the first plates: 0 for one like the others, else its place in `sorts`, from 1; all
        further plates are like each other.
    room_counts : Mapping[str, int]
        How many there are of what one plate at a time holds, where there is more than one.
    break_grace : float
        By how much work that was begun may run into a break, unless breaks are strict. [min]
    """

    blocks: tuple[Block, ...]
    plates: int
    workers: int
    frame_counts: tuple[int, ...]
    first_minute: float
    last_minute: float
    breaks: tuple[tuple[float, float], ...]
    expected_exposure_ends: Floats
    expected_ripe: Floats
    strict_breaks: bool = False
    begun: Begun | None = None
    sorts: tuple[Sort, ...] = ()
    sort_of: tuple[int, ...] = ()
    room_counts: Mapping[str, int] = field(default_factory=dict)
    break_grace: float = BREAK_GRACE

    @property
    def by_plate(self) -> Whole:
        """The sort of every plate, shape (plates,)."""
        known = self.sort_of[: self.plates]
        return np.array([*known, *[0] * (self.plates - len(known))], dtype=np.int64)

    @property
    def routes(self) -> tuple[tuple[Block, ...], ...]:
        """The blocks of every sort of plate, first of those that are like the others."""
        return (self.blocks, *(sort.blocks for sort in self.sorts))

    @property
    def exposure_tables(self) -> Floats:
        """Expected ends of an exposure by sort of plate, shape (sorts, m + 1) [min]."""
        own = [sort.expected_exposure_ends for sort in self.sorts]
        return np.stack([self.expected_exposure_ends, *own])

    @property
    def due(self) -> Floats:
        """When blocks must begin for the sake of a sitter, shape (sorts, blocks + 1) [min]."""
        due = np.full((len(self.routes), len(self.blocks) + 1), np.inf)
        pose = next((i for i, b in enumerate(self.blocks) if b.kind == EXPOSURE), 0)
        for sort, own in enumerate(self.sorts, 1):
            due[sort, pose] = own.light.window[1]
            for block in range(pose - 1, -1, -1):
                due[sort, block] = due[sort, block + 1] - own.blocks[block].minutes
        return due

    @property
    def appointments(self) -> Floats:
        """When the sitter of every plate comes, NaN for nobody, shape (plates,) [min]."""
        times = np.array([np.nan, *(sort.light.window[0] for sort in self.sorts)])
        return np.asarray(np.where(np.isfinite(times), times, np.nan)[self.by_plate])

    def alike(self) -> list[Whole]:
        """Return the plates in groups that are like each other."""
        sorts = self.by_plate
        return [np.flatnonzero(sorts == sort) for sort in sorted(set(sorts.tolist()))]


@dataclass(frozen=True)
class Drawn:
    """What simulated days turn out to be.

    Attributes
    ----------
    minutes : Floats, shape (days, plates, blocks)
        Of hands-on blocks and waits; 0 for what the light decides. [min]
    weather : Whole, shape (days,)
        Which of the weathers each day has.
    exposure_ends : Floats, shape (sorts * weathers, m + 1)
        End of an exposure by starting minute; NaN where it cannot be. Those of plates that are like
        the others come first. [min]
    sums : tuple over frames of LightSums
        Running sums of development light, one of each weather.
    doses : tuple over frames of Floats, shape (days, plates)
        Dose at which a plate is ripe. [J/m2]
    expected_exposures : Floats, shape (sorts * (1 or weathers), m + 1)
        When the maker expects an exposure begun at each minute to end: the same on all days, or by
        the sky of the day. [min]
    expected_ripe : Floats, shape (frames, 1 or weathers, m + 1)
        The same for a plate put out then. [min]
    hoped_ripe : Floats, shape of `expected_ripe`, or None
        When a plate that needs little is ripe: what may come out in time is tried. None: only what
        is expected to come out is. [min]
    ripe_ends : Floats, shape (frames, m + 1), or None
        When every plate put out at each minute is ripe, in the place of sums and doses. [min]
    fading : float
        As of the day's light. [1/min]
    running_until : Floats, shape (days, plates), or None
        When what is running ends where a day is taken up in its middle; NaN: as drawn. [min]
    held_back : Floats, shape (days, plates), or None
        No plate is begun before this. [min]
    """

    minutes: Floats
    weather: Whole
    exposure_ends: Floats
    sums: tuple[LightSums, ...]
    doses: tuple[Floats, ...]
    expected_exposures: Floats
    expected_ripe: Floats
    ripe_ends: Floats | None = None
    hoped_ripe: Floats | None = None
    fading: float = 0.0
    running_until: Floats | None = None
    held_back: Floats | None = None

    @property
    def days(self) -> int:
        """How many days are drawn."""
        return len(self.weather)

    def first(self, days: int) -> Drawn:
        """Return the first of the days."""
        doses = tuple(one[:days] for one in self.doses)
        until, held = (
            None if one is None else one[:days] for one in (self.running_until, self.held_back)
        )
        return replace(
            self, minutes=self.minutes[:days], weather=self.weather[:days], doses=doses,
            running_until=until, held_back=held,
        )  # fmt: skip

    def ripe(self, kind: int, day: Whole, plate: Whole, start: Floats, waited: Floats) -> Floats:
        """Return when plates put out then, after such waits, are ripe; NaN where never [min]."""
        if self.ripe_ends is not None:
            return between(self.ripe_ends[kind][None], np.zeros(len(start), np.int64), start)
        weather = self.weather[day]
        faded = np.exp(self.fading * np.nan_to_num(waited))
        dose = self.doses[kind][day, plate] * faded
        return self.sums[kind].ends(weather, start, dose)


@dataclass(frozen=True)
class Runs:
    """Simulated days: every rule on every day.

    Attributes
    ----------
    starts, ends : Floats, shape (rules, days, plates, blocks)
        NaN where a block was never begun or never ended. [min]
    frame_kind : Whole, shape (rules, days, plates)
        Kind of frame each plate lay in; -1 for none.
    late : Floats, shape (rules, days, plates)
        Most minutes by which the plate overran a keeping limit, the frame apart. [min]
    lay_ripe : Floats, shape (rules, days, plates)
        Minutes by which it lay ripe in its frame beyond the limit; a card over the frame saves
        it, so it is reported and not counted as lost. [min]
    """

    starts: Floats
    ends: Floats
    frame_kind: Whole
    late: Floats
    lay_ripe: Floats

    @property
    def finished(self) -> Truth:
        """Plates whose last block ended that day."""
        return np.isfinite(self.ends[..., -1])

    @property
    def sound(self) -> Truth:
        """Plates finished with every keeping limit held."""
        return self.finished & (self.late <= 0.0)

    @property
    def clean(self) -> Truth:
        """Sound plates that never lay ripe in the frame either."""
        return self.sound & (self.lay_ripe <= 0.0)

    @property
    def length(self) -> Floats:
        """End of the last finished plate of every run; NaN when none was finished [min]."""
        last = np.where(self.finished, self.ends[..., -1], -np.inf).max(axis=-1)
        return np.asarray(np.where(np.isfinite(last), last, np.nan))

    def first(self, days: int) -> Runs:
        """Return the first of the days."""
        return Runs(
            self.starts[:, :days],
            self.ends[:, :days],
            self.frame_kind[:, :days],
            self.late[:, :days],
            self.lay_ripe[:, :days],
        )

    def of_rule(self, rule: int) -> Runs:
        """Return the runs of one of the rules."""
        return Runs(*(values[rule : rule + 1] for values in vars(self).values()))

    def of_plates(self, which: Whole) -> Runs:
        """Return the runs of some of the plates."""
        return Runs(
            self.starts[:, :, which],
            self.ends[:, :, which],
            self.frame_kind[:, :, which],
            self.late[:, :, which],
            self.lay_ripe[:, :, which],
        )

    def one(self, rule: int, day: int = 0) -> DayRun:
        """Return one of the days."""
        at = (rule, day)
        return DayRun(self.starts[at], self.ends[at], self.frame_kind[at])


@dataclass(frozen=True)
class DayRun:
    """One day as it is planned or as it ran.

    Attributes
    ----------
    starts, ends : Floats, shape (plates, blocks)
        NaN where a block was never begun or never ended. [min]
    frame_kind : Whole, shape (plates,)
        Kind of frame each plate lay in; -1 for none.
    """

    starts: Floats
    ends: Floats
    frame_kind: Whole

    @property
    def length(self) -> float:
        """End of the last plate; NaN when one is not finished [min]."""
        return float(self.ends[:, -1].max())

    def wait_before(self, block: int) -> Floats:
        """Return how long each plate waits before a block, shape (plates,) [min]."""
        return np.asarray(self.starts[:, block] - self.ends[:, block - 1])


def between(tables: Floats, which: Whole, minute: Floats) -> Floats:
    """Return the ends for starts between two minutes, each by its own table; NaN where never.

    Parameters
    ----------
    tables : Floats, shape (k, m + 1)
        Ends by starting minute. [min]
    which : Whole
        The table of each start.
    minute : Floats, shape of `which`
        Starts. [min]
    """
    last = tables.shape[-1] - 1
    inside = np.minimum(np.maximum(minute, 0.0), float(last))
    low = np.minimum(inside.astype(np.int64), last - 1)
    share = inside - low
    # looked up hundreds of times a plan: one index into the flat table is half the work of two
    at = low + which * (last + 1)
    flat = tables.ravel()
    ends = flat.take(at) * (1.0 - share) + flat.take(at + 1) * share
    return np.where(minute < last, ends, np.nan)


def developing(blocks: tuple[Block, ...]) -> int:
    """Return the index of the block in which the light develops the plate."""
    return next(i for i, b in enumerate(blocks) if b.kind == DEVELOPMENT)
