"""How many plates a day holds, by one plain rule, for thousands of days at once.

Hands begin a plate as soon as they are free and see it through to its frame; while plates develop
they begin the next; a ripe plate is taken out at once, and nothing is begun that would keep hands
from one; what may wait until the evening is done last. Work does not run into a break, and no plate
ripens in one. The planner of one day moves plates about besides and so finds, at times, one more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from argentry.arrays import Floats, Truth, Whole
from argentry.physics.picture.dose import LightSums
from argentry.physics.picture.reciprocity import Reciprocity, lens_closes
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block
from argentry.records.day import MOST_PLATES

AT_ONCE = 30.0  # a keeping limit after the frame up to this is kept by going straight on [min]


@dataclass(frozen=True)
class Pace:
    """What a plate asks of hands, and when they are there. Minutes from the start of the hours.

    Attributes
    ----------
    before, between, out, rest : float
        Work before the exposure, from camera to frame, on the ripe plate, and what may wait. [min]
    keeps : float
        How long a ripe plate may stay in its frame. [min]
    first, last : float
        When the first plate may be begun, when all must be done. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    workers, cameras : int
        Pairs of hands, cameras.
    """

    before: float
    between: float
    out: float
    rest: float
    keeps: float
    first: float
    last: float
    breaks: tuple[tuple[float, float], ...]
    workers: int
    cameras: int


def pace_of(
    blocks: Sequence[Block],
    *,
    first: float,
    last: float,
    breaks: tuple[tuple[float, float], ...],
    workers: int,
    cameras: int,
) -> Pace:
    """Return the pace of a plate's blocks; the other parameters as of `Pace`."""
    kinds = [block.kind for block in blocks]
    shot, laid = kinds.index(EXPOSURE), kinds.index(DEVELOPMENT)
    after = blocks[laid + 1 :]
    tied = next((at for at, block in enumerate(after) if block.within is None), len(after))

    def minutes(part: Sequence[Block]) -> float:
        return sum(block.minutes for block in part)

    return Pace(
        before=minutes(blocks[:shot]),
        between=minutes(blocks[shot + 1 : laid]),
        out=minutes(after[:tied]),
        rest=minutes(after[tied:]),
        keeps=min(after[0].within or 0.0, AT_ONCE) if after else 0.0,
        first=first,
        last=last,
        breaks=breaks,
        workers=workers,
        cameras=cameras,
    )


@dataclass(frozen=True)
class Lights:
    """The light of many days, each from the start of its hours.

    Attributes
    ----------
    exposure : LightSums
        On the subject, one row a day.
    dose : float
        Exposure light that a plate needs. [J/m2]
    law : Reciprocity
        How long exposures count.
    longest : Floats, shape (days,)
        Longer exposures are not begun. [min]
    ripe : tuple of (LightSums, Floats, int)
        By kind of frame: the light behind its filter, the dose of each day's plates, how many
        frames there are. [J/m2]
    step_minutes : float
        Of the sums. [min]
    """

    exposure: LightSums
    dose: float
    law: Reciprocity
    longest: Floats
    ripe: tuple[tuple[LightSums, Floats, int], ...]
    step_minutes: float

    @property
    def minutes(self) -> float:
        """Length of the sums [min]."""
        return float(self.exposure.total.shape[-1] - 1) * self.step_minutes

    def exposed(self, rows: Whole, start: Floats) -> Floats:
        """Return when exposures end that are begun at these minutes, NaN where never [min]."""
        index = self._index(start)
        ends = lens_closes(
            lambda doses: self.exposure.ends(rows, index, doses),
            np.full(len(rows), self.dose),
            index,
            self.minutes / self.step_minutes,
            60.0 * self.step_minutes,
            self.law,
        )
        ends = ends * self.step_minutes
        return np.where(ends - start <= self.longest[rows], ends, np.nan)

    def exposed_within(self, rows: Whole, start: Floats, minutes: Floats) -> Truth:
        """Say whether exposures begun at these minutes end within so many."""
        got = self.exposure.at(rows, self._index(start + minutes))
        got -= self.exposure.at(rows, self._index(start))
        return np.asarray(got >= self.dose * self.law.need(60.0 * np.maximum(minutes, 1e-3)))

    def ripened(self, kind: int, rows: Whole, start: Floats) -> Floats:
        """Return when plates put out at these minutes are ripe, NaN where never [min]."""
        sums, dose, _ = self.ripe[kind]
        return np.asarray(sums.ends(rows, self._index(start), dose[rows]) * self.step_minutes)

    def ripe_by(self, kind: int, rows: Whole, start: Floats, minute: float) -> Truth:
        """Say whether plates put out at these minutes are ripe by another."""
        sums, dose, _ = self.ripe[kind]
        every = np.arange(len(dose))
        by = sums.at(every, self._index(np.full(len(dose), minute)))
        return np.asarray(by[rows] - sums.at(rows, self._index(start)) >= dose[rows])

    def laid_for(self, kind: int, rows: Whole, minute: float) -> Floats:
        """Return when plates are put out that are ripe at a minute; 0 where they never were."""
        sums, dose, _ = self.ripe[kind]
        got = sums.at(rows, self._index(np.full(len(rows), minute))) - dose[rows]
        start = sums.ends(rows, np.zeros(len(rows)), np.maximum(got, 0.0))
        return np.asarray(np.where(got > 0.0, start, 0.0) * self.step_minutes)

    def _index(self, minute: Floats) -> Floats:
        return np.asarray(np.clip(minute, 0.0, self.minutes) / self.step_minutes)


def after_breaks(start: Floats, minutes: Floats | float, pace: Pace) -> Floats:
    """Return when work of so many minutes begins that does not run into a break [min]."""
    for low, high in pace.breaks:
        start = np.where((start < high) & (start + minutes > low), np.maximum(start, high), start)
    return start


@dataclass(frozen=True)
class _Begun:
    """Plates followed from their beginning, one a row. [min]."""

    shot: Floats
    closed: Floats
    laid: Floats
    ripe: Floats
    kind: Whole
    frame: Whole

    def put(self, where: Truth, other: _Begun) -> _Begun:
        """Return these plates with others in the place of some."""
        parts = []
        for own, new in zip(vars(self).values(), vars(other).values(), strict=True):
            joined = own.copy()
            joined[where] = new
            parts.append(joined)
        return _Begun(*parts)


def plates_of_days(lights: Lights, pace: Pace, openings: Floats) -> Whole:
    """Return how many plates each day holds.

    Parameters
    ----------
    lights : Lights
        Of the days.
    pace : Pace
        Hands and steps.
    openings : Floats, shape (days, steps + 1)
        The first minute, from each step on, at which an exposure can be begun; infinite for none.
        [min]
    """
    days = len(lights.longest)
    rows = np.arange(days)
    hands = np.full((days, pace.workers), pace.first)
    cameras = np.zeros((days, min(pace.cameras, pace.workers)))
    frames = [np.zeros((days, count)) for _, _, count in lights.ripe]
    taken = _Taken(*(np.empty((days, 0)) for _ in range(4)))
    count = np.zeros(days, dtype=np.int64)
    for _ in range(MOST_PLATES):
        who = hands[rows].argmin(axis=1)
        start = hands[rows, who]
        begun = _through(lights, pace, rows, start, openings, cameras, frames)
        for _ in range(taken.plates):
            clash = np.zeros(len(rows), dtype=np.bool_)
            for other, out in zip(taken.who.T, taken.out.T, strict=True):
                meets = other == who
                meets &= (start < out + pace.out) & (begun.laid > out + pace.keeps)
                start = np.where(meets, out + pace.out, start)
                clash |= meets
            if not clash.any():
                break
            later = _through(lights, pace, rows[clash], start[clash], openings, cameras, frames)
            begun = begun.put(clash, later)
        out = after_breaks(begun.ripe, pace.out, pace)
        for other, earlier in zip(taken.who.T, taken.out.T, strict=True):
            near = (other == who) & (np.abs(out - earlier) < pace.out)  # one after the other
            out = np.where(near, np.maximum(out, earlier + pace.out), out)
        done = after_breaks(out + pace.out, pace.rest, pace) + pace.rest
        work = pace.before + pace.between + begun.closed - begun.shot
        tried = taken.with_plate(who, start, work, out)
        fit = (out <= begun.ripe + max(pace.keeps, pace.out)) & np.isfinite(out)
        fit &= (done <= pace.last) & tried.fits(pace)
        keep = np.flatnonzero(fit)
        if not keep.size:
            break
        rows, who, out, taken = rows[keep], who[keep], out[keep], tried.part(keep)
        count[rows] += 1
        hands[rows, who] = begun.laid[keep]
        cameras[rows, cameras[rows].argmin(axis=1)] = begun.closed[keep]
        for index, free in enumerate(frames):
            here = begun.kind[keep] == index
            free[rows[here], begun.frame[keep][here]] = out[here]
    return count


@dataclass(frozen=True)
class _Taken:
    """The plates of each day so far, shape (days, plates): whose, begun, their work, taken out."""

    who: Floats
    start: Floats
    work: Floats
    out: Floats

    @property
    def plates(self) -> int:
        return int(self.who.shape[1])

    def with_plate(self, *plate: Floats) -> _Taken:
        """Return these and one more."""
        return _Taken(
            *(np.column_stack(both) for both in zip(vars(self).values(), plate, strict=True))
        )

    def part(self, days: Whole) -> _Taken:
        """Return some of the days."""
        return _Taken(*(values[days] for values in vars(self).values()))

    def fits(self, pace: Pace) -> Truth:
        """Say whether hands have the time, from the first minute and from each taking out on."""
        after = pace.out + pace.rest
        fit = np.ones(len(self.who), dtype=np.bool_)
        for at in range(-1, self.plates):
            since = np.full(len(fit), pace.first) if at < 0 else self.out[:, at]
            need = np.where(self.start >= since[:, None], self.work, 0.0).sum(axis=1)
            need += after * (self.out >= since[:, None]).sum(axis=1)
            free = pace.last - since
            for low, high in pace.breaks:
                free = free - np.maximum(high - np.maximum(since, low), 0.0)
            fit &= ~(need > pace.workers * free)
        return fit


def _through(
    lights: Lights,
    pace: Pace,
    rows: Whole,
    start: Floats,
    openings: Floats,
    cameras: Floats,
    frames: Sequence[Floats],
) -> _Begun:
    """Follow plates begun then until they are ripe."""
    shot = after_breaks(start, pace.before, pace) + pace.before
    shot = np.maximum(shot, cameras[rows].min(axis=1))
    shot = _opened(lights, rows, shot, openings)
    closed = lights.exposed(rows, shot)
    for low, high in pace.breaks:  # no pose into a break
        meets = (shot < high) & (closed > low)
        if meets.any():
            shot[meets] = _opened(lights, rows[meets], np.maximum(shot[meets], high), openings)
            closed[meets] = lights.exposed(rows[meets], shot[meets])
    put = after_breaks(closed, pace.between, pace) + pace.between
    best, laid = np.full(len(rows), np.inf), put
    kinds, chosen = (np.zeros(len(rows), dtype=np.int64) for _ in range(2))
    dark = np.isnan(closed)
    for kind, free in enumerate(frames):
        frame = free[rows].argmin(axis=1)
        light = np.where(dark, lights.minutes, np.fmax(put, free[rows, frame]))
        ripe = lights.ripened(kind, rows, light)
        for low, high in pace.breaks:  # laid out later, so that it does not ripen in a break
            meets = (ripe > low - pace.out) & (ripe < high - pace.keeps)
            if meets.any():
                wanted = lights.laid_for(kind, rows[meets], high - pace.keeps)
                light[meets] = np.maximum(light[meets], wanted)
                ripe[meets] = lights.ripened(kind, rows[meets], light[meets])
        ripe = np.where(np.isnan(ripe) | dark, np.inf, ripe)
        better = ripe < best
        best, laid = np.where(better, ripe, best), np.where(better, light, laid)
        kinds, chosen = np.where(better, kind, kinds), np.where(better, frame, chosen)
    return _Begun(shot, closed, laid, best, kinds, chosen)


def _opened(lights: Lights, rows: Whole, minute: Floats, openings: Floats) -> Floats:
    """Return when an exposure can be begun from a minute on: then, where it can [min]."""
    at = np.minimum(minute / lights.step_minutes, openings.shape[-1] - 1.0).astype(np.int64)
    return np.asarray(np.maximum(minute, openings[rows, at]))
