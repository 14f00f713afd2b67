"""What a day is to the maker of the second simulation: lengths, limits, rooms, expected ends.

Worked out from the planner's question alone (tasks, hands, hours, running sums of light), with none
of the planner's code: a judge that shares the code of what it judges shares its mistakes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

NEVER = math.inf
GRACE = 10.0  # a meal may begin this much late [min]


@dataclass(frozen=True)
class Work:
    """A run of steps without a pause, as the day's sheet groups them."""

    kind: str  # "hands", "exposure", "development" or "wait"
    steps: tuple[tuple[float, float], ...]  # (median minutes, spread of the logarithm)
    within: float | None  # minutes after the work before, at most
    rooms: tuple[tuple[str, int, int], ...]  # (name, first step, last step) that it holds
    minutes: float  # median, 0 where the light decides

    @property
    def attended(self):
        return self.kind in ("hands", "exposure")


@dataclass(frozen=True)
class Setting:
    works: tuple[Work, ...]
    exposing: int
    take: int  # the work that takes a frame
    free: int  # the work that gives it back as it begins
    workers: int
    frames: tuple[int, ...]
    first: float
    last: float
    breaks: tuple[tuple[float, float], ...]
    pose: np.ndarray  # expected end of an exposure by starting minute, inf where none is begun
    ripe: np.ndarray  # the same for a development, by kind of frame
    straight: np.ndarray  # (works + 1, minutes): expected end of a plate that goes right through
    longest: float
    fading: float  # by how much a minute between camera and frame raises the log of the dose
    light: np.ndarray  # running sum of exposure light on the day as expected
    behind: tuple  # (running sum, dose, whether a lamp's) by kind of frame, on that day

    def ripe_under(self, kind, minute, sky):
        """When a plate put out then is ripe if the sky stays as it is, a share of the expected."""
        sums, dose, lamp = self.behind[kind]
        if lamp:
            return self.at(self.ripe[kind], minute)
        return reach(sums, minute, dose / sky) if sky > 0.0 else NEVER

    def at(self, table, minute):
        """Read a table by starting minute; inf past its end."""
        low = math.floor(minute)
        if not 0 <= low < len(table):
            return NEVER
        part = minute - low
        if part < 1e-9:
            return float(table[low])
        below, above = float(table[low]), float(table[min(low + 1, len(table) - 1)])
        if not (math.isfinite(below) and math.isfinite(above)):
            return NEVER
        return below + part * (above - below)

    def needs(self, index, minute):
        """Expected minutes of a work begun then."""
        work = self.works[index]
        if work.kind == "exposure":
            return self.at(self.pose, minute) - minute
        return work.minutes


def reach(sums, start, dose):
    """Return when a running sum of light has grown by a dose since `start`; inf if never."""
    last = len(sums) - 1
    if not 0.0 <= start <= last:
        return NEVER
    low = min(int(start), last - 1)
    wanted = sums[low] + (start - low) * (sums[low + 1] - sums[low]) + dose
    over = int(np.searchsorted(sums, wanted))
    if over > last:
        return NEVER
    if over == 0:
        return start
    rise = sums[over] - sums[over - 1]
    return max(start, over - 1 + (wanted - sums[over - 1]) / rise)


def _table(sums, dose, expected):
    if expected is not None:
        return np.where(np.isnan(expected), NEVER, expected)
    return np.array([reach(sums, minute, dose) for minute in range(len(sums))])


def setting_of(day, blocks):
    """Turn a planner's question into the maker's day."""
    works = tuple(_work(block) for block in blocks)
    light = day.light
    frame = next(t.resource for b in blocks for t in b.tasks if t.law == "development")
    users = [i for i, b in enumerate(blocks) if any(t.resource == frame for t in b.tasks)]
    pose = _table(light.exposure_middle, light.exposure_dose, light.expected)
    lengths = pose - np.arange(len(pose))
    allowed = min(light.longest_exposure, light.patience * lengths.min())
    # a plan holds no pose that is long where a short one will come; nor does the maker begin one
    pose = np.where(lengths <= allowed + 1e-9, pose, NEVER)
    ripe = np.stack([_table(f.middle, f.dose, f.expected) for f in light.frames])
    works = tuple(
        Work(w.kind, w.steps, w.within, tuple(r for r in w.rooms if r[0] != frame), w.minutes)
        for w in works
    )
    return Setting(
        works=works,
        exposing=next(i for i, w in enumerate(works) if w.kind == "exposure"),
        take=users[0],
        free=users[-1] + 1,
        workers=day.workers,
        frames=tuple(f.count for f in light.frames),
        first=day.first_minute,
        last=day.last_minute,
        breaks=tuple(day.breaks),
        pose=pose,
        ripe=ripe,
        straight=_straight(works, pose, ripe.min(axis=0), day.breaks),
        longest=light.longest_exposure,
        fading=light.fading,
        light=light.exposure_middle,
        behind=tuple((f.middle, f.dose, f.lamp) for f in light.frames),
    )


def _work(block):
    law = block.tasks[0].law
    kind = law if law in ("exposure", "development") else "hands"
    if kind == "hands" and not any(t.attended for t in block.tasks):
        kind = "wait"
    held = {}
    for index, task in enumerate(block.tasks):
        if task.resource:
            held[task.resource] = (held.get(task.resource, (index, index))[0], index)
    return Work(
        kind=kind,
        steps=tuple((t.minutes, t.log_sd) for t in block.tasks),
        within=block.tasks[0].within,
        rooms=tuple((name, low, high) for name, (low, high) in held.items()),
        minutes=sum(t.minutes for t in block.tasks) if kind in ("hands", "wait") else 0.0,
    )


def _straight(works, pose, ripe, breaks):
    """Expected end of a plate whose work `index` begins at a minute and never waits for hands."""
    grid = np.arange(len(pose), dtype=float)
    after = grid.copy()
    rows = [after]
    for work in reversed(works):
        if work.kind == "exposure":
            # the pose waits for the light where there is none yet
            ends = np.minimum.accumulate(pose[::-1])[::-1]
        elif work.kind == "development":
            ends = ripe
        else:
            begin = grid.copy()
            for low, high in breaks if work.attended else ():
                eats = (begin < high) & (begin + work.minutes > low + GRACE)
                begin = np.where(eats, np.maximum(begin, high), begin)
            ends = begin + work.minutes
        known = np.isfinite(ends) & (ends <= len(grid) - 1)
        row = np.full(len(grid), NEVER)
        row[known] = np.interp(ends[known], grid, np.where(np.isfinite(after), after, 1e9))
        after = np.where(row > 1e8, NEVER, row)
        rows.append(after)
    return np.stack(rows[::-1])
