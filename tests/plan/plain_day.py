"""A day on which every exposure and every development lasts the same, to be worked out by hand.

Block by block: prepare 10 min (the last 4 over iodine), expose 60, to the frame 2, develop 30,
fix 8, gild 6 (fire), seal 5; a plate that never waits is done 121 min after it was begun.
"""

import numpy as np

from argentry.plan.dispatch import play
from argentry.plan.problem import DayProblem
from argentry.plan.shop import Drawn, Rules, Shop
from argentry.plan.tasks import Task, blocks_of

GRID = 600
PREPARE, EXPOSE, TO_FRAME, DEVELOP, FIX, GILD, SEAL = range(7)


def tasks(fix_within=15.0, frame_within=110.0, expose_within=180.0):
    def hands(key, minutes, resource="", within=None):
        return Task(key, "fixed", minutes, 0.0, True, resource, within)

    return (
        hands("scour", 6.0),
        hands("iodise", 4.0, "box", 0.0),
        Task("expose", "exposure", 0.0, 0.0, True, "camera", expose_within),
        hands("to frame", 2.0, "frame", frame_within),
        Task("develop", "development", 0.0, 0.0, False, "frame", 10.0),
        hands("fix", 8.0, "", fix_within),
        hands("gild", 6.0, "fire"),
        hands("seal", 5.0),
    )


def after(minutes, grid=GRID):
    """Return the table of something that always lasts as long, and never past the grid."""
    ends = np.arange(grid + 1.0) + minutes
    return np.where(ends > grid, np.nan, ends)


def shop(plates=2, workers=2, frames=(2,), breaks=(), first=0.0, last=float(GRID), **given):
    expose, develop = given.pop("expose", 60.0), given.pop("develop", (30.0,))
    return Shop(
        blocks=blocks_of(tasks(**given)),
        plates=plates,
        workers=workers,
        frame_counts=frames,
        first_minute=first,
        last_minute=last,
        breaks=breaks,
        expected_exposure_ends=after(expose),
        expected_ripe=np.stack([after(one) for one in develop]),
    )


def rule(plates=2, in_hand=None, not_before=0.0, priority=None):
    order = np.zeros((plates, 7)) if priority is None else np.asarray(priority, dtype=float)
    held = np.full((1, plates, 7), -np.inf)
    held[:, :, PREPARE] = not_before
    return Rules(order[None], np.array([in_hand or plates]), held)


def drawn(one, *, days=1, minutes=None, exposures=None, ripe=None):
    """Return days that run as expected, or with other minutes or ends than expected."""
    usual = np.tile([float(b.whole_minutes) for b in one.blocks], (days, one.plates, 1))
    exposures = one.expected_exposure_ends if exposures is None else exposures
    return Drawn(
        minutes=usual if minutes is None else minutes,
        weather=np.zeros(days, dtype=np.int64),
        exposure_ends=exposures[None],
        sums=(),
        doses=(),
        expected_exposures=one.expected_exposure_ends[None],
        expected_ripe=one.expected_ripe[:, None],
        ripe_ends=one.expected_ripe if ripe is None else ripe,
    )


class Ran:
    """The one day of one rule, with what was counted of it."""

    def __init__(self, runs, at=(0, 0)):
        for name in ("starts", "ends", "frame_kind", "late", "lay_ripe"):
            setattr(self, name, getattr(runs, name)[at])
        for name in ("finished", "sound", "clean"):
            setattr(self, name, getattr(runs, name)[at])
        self.length = runs.length[at]


def simulated(one, rules=None, **given):
    return Ran(play(one, rule(one.plates) if rules is None else rules, drawn(one, **given)))


def problem(one):
    def whole(table):
        return np.where(np.isnan(table), -1, table).astype(np.int64)

    return DayProblem(
        blocks=one.blocks,
        plates=one.plates,
        workers=one.workers,
        frame_counts=one.frame_counts,
        first_minute=int(one.first_minute),
        last_minute=int(one.last_minute),
        breaks=tuple((int(a), int(b)) for a, b in one.breaks),
        exposure_ends=whole(one.expected_exposure_ends),
        ripe=np.stack([whole(table) for table in one.expected_ripe]),
    )
