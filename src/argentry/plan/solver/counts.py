"""A minute before which no plan can end, by counting how many plates have come how far.

Of plates that are like each other it does not matter which is which: a plan is told by how many of
them have begun each block by each minute, N(block, minute). Whatever the plan, these numbers

- grow, but not in minutes at which the block cannot be begun (a break, no light);
- are at most the plates that have ended the block before, and at least those that ended it so
  long ago that their limit is over;
- leave, begun and not ended, no more plates than there are hands, rooms and frames.

All of this is linear in N, so a linear program says how many plates can have ended their last
block by a minute if plates could also be cut into parts. True plans are among what it may choose
from: where even so fewer plates are finished than are wanted, no plan ends by that minute. It sees
what sums of minutes do not: that hands do whole blocks after a break (a label takes 20 minutes or
is not begun), and that there is nothing to do for many hands while plates lie in their frames.

The program's own word is not taken: from its prices (the dual values) the greatest number of plates
is computed again, which holds for any prices at all, be they the best or not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.solver.bound import first_ends, soonest_starts
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, frame_span, rooms

if TYPE_CHECKING:
    from argentry.arrays import Floats, Whole
    from argentry.plan.problem import DayProblem


SPARE = 1e-6  # of a plate: what sums of many prices may be off by
MOST_STEPS = 200  # of the interior point method; twelve plates need some thirty
NEVER = np.iinfo(np.int64).max


def counted_bound(problem: DayProblem, low: float, high: float) -> float:
    """Return a minute before which no plan can end, looked for by halves [min].

    Parameters
    ----------
    problem : DayProblem
        The day.
    low : float
        A minute before which none can end, as known so far. [min]
    high : float
        A minute up to which to look: when a plan ends that was found. [min]

    Returns
    -------
    float
        From `low` to `high`; `low` where plates differ from each other.
    """
    if problem.routes or not problem.frame_counts:
        return low
    lowest, highest = int(low), int(high)
    while lowest < highest:
        middle = (lowest + highest) // 2
        if most_finished(problem, middle) < problem.plates - SPARE:
            lowest = middle + 1
        else:
            highest = middle
    return max(low, float(lowest))


def most_finished(problem: DayProblem, until: int) -> float:
    """Return a number of plates of which no plan finishes more by a minute [1].

    Parameters
    ----------
    problem : DayProblem
        The day; its plates are like each other.
    until : int
        [min]
    """
    from scipy.optimize import linprog  # heavy: only where a workshop is planned
    from scipy.sparse import coo_array

    counts = _Counts(problem, until)
    if counts.last < 0:
        return 0.0
    rows, columns, values, limits = counts.rows()
    caps = np.array(counts.caps, dtype=np.float64)
    worth = np.zeros(len(caps))
    worth[counts.last] = -1.0
    table = coo_array((values, (rows, columns)), shape=(len(limits), len(caps))).tocsr()
    solved = linprog(
        worth, A_ub=table, b_ub=limits, bounds=np.stack([np.zeros_like(caps), caps], axis=1),
        method="highs-ipm", options={"maxiter": MOST_STEPS},
    )  # fmt: skip
    if solved.status != 0:
        return float(problem.plates)
    prices = np.maximum(-solved.ineqlin.marginals, 0.0)
    gain = np.minimum(worth + table.T @ prices, 0.0)
    return float(prices @ limits - gain @ caps)


class _Counts:
    """The numbers N(block, minute) as unknowns, and what holds of them in every plan.

    A row of minutes holds the place of the unknown that counts at each; -1 where it is nothing yet.
    """

    def __init__(self, problem: DayProblem, until: int) -> None:
        self.problem, self.until = problem, until
        self.minutes = np.arange(until + 1)
        self.caps: list[float] = []
        blocks = problem.blocks
        ends = [self._ends(index) for index in range(len(blocks))]
        latest = self._latest([low for low, _ in ends])
        soonest = soonest_starts(problem)
        # as many as may have begun or ended, and as surely have; they differ by kinds of frame
        self.begun: list[tuple[Whole, Whole]] = []
        self.ended: list[tuple[Whole, Whole]] = []
        for index, block in enumerate(blocks):
            low, high = ends[index]
            if index and not block.attended:
                self.begun.append(self.ended[-1])  # a wait begins by itself
            else:
                came = np.searchsorted(np.array(soonest[index]), self.minutes, side="right")
                can = (low < NEVER) & (self.minutes <= latest[index]) & (came > 0)
                row = len(self.caps) - 1 + np.cumsum(can)
                row[row < len(self.caps)] = -1
                self.caps += came[can].tolist()
                self.begun.append((row, row))
            most, sure = self.begun[-1]
            by_then = (first_ends(low), np.maximum.accumulate(high))
            self.ended.append((_then(most, by_then[0]), _then(sure, by_then[1])))
        self.last = int(self.ended[-1][0][-1])

    def _ends(self, index: int) -> tuple[Whole, Whole]:
        """Return the soonest and the latest end of a block by its start.

        No soonest one where it cannot be begun; there the latest says nothing.
        """
        problem, block = self.problem, self.problem.blocks[index]
        if block.kind in (EXPOSURE, DEVELOPMENT):
            tables = problem.exposure_ends[None] if block.kind == EXPOSURE else problem.ripe
            tables = tables[:, : self.until + 1]
            low = np.where(tables < 0, NEVER, tables).min(axis=0)
            high = tables.max(axis=0)
        else:
            low = high = self.minutes + block.whole_minutes
        can = self.minutes >= problem.first_minute
        if block.attended:
            for begin, over in problem.breaks:
                can &= (self.minutes >= over) | (low <= begin)
        return np.where(can, low, NEVER), high

    def _latest(self, ends: list[Whole]) -> list[int]:
        """Return the last start of each block of a plate that is done in time; -1 for none."""
        found: list[int] = []
        by = self.until
        for low in reversed(ends):
            starts = np.flatnonzero(low <= by)
            by = int(starts[-1]) if starts.size else -1
            found.append(by)
        return found[::-1]

    def rows(self) -> tuple[Whole, Whole, Floats, Floats]:
        """Return (row, unknown, factor) of all that is not zero, and what each row may come to."""
        problem, blocks = self.problem, self.problem.blocks
        held: list[tuple[list[Whole], list[Whole], float]] = []  # more, less, the most between
        hands: tuple[list[Whole], list[Whole]] = ([], [])
        for index, block in enumerate(blocks):
            if index and not block.attended:
                continue
            begun = self.begun[index][0]
            held.append(([_before(begun, 1)], [begun], 0.0))
            if block.attended:
                hands[0].append(begun)
                hands[1].append(self.ended[index][0])
            if not index:
                continue
            most, sure = self.ended[index - 1]
            held.append(([begun], [most], 0.0))
            if block.within is not None:
                held.append(([_before(sure, int(block.within))], [begun], 0.0))
        held.append((*hands, float(problem.workers)))
        take, free = frame_span(blocks)
        held.append(
            ([self.begun[take][1]], [self.begun[free][0]], float(sum(problem.frame_counts)))
        )
        held += [self._room(room) for room in rooms(blocks)]
        return _stacked(held)

    def _room(self, room: str) -> tuple[list[Whole], list[Whole], float]:
        inside: list[Whole] = []
        gone: list[Whole] = []
        for index, block in enumerate(self.problem.blocks):
            span = block.holds(room)
            if span is None or not block.attended:
                continue
            begun, ended = self.begun[index][0], self.ended[index][0]
            if block.kind != EXPOSURE:
                ended = _before(begun, int(np.ceil(sum(span))))
                begun = _before(begun, int(np.floor(span[0])))
            inside.append(begun)
            gone.append(ended)
        return inside, gone, float(self.problem.room_counts.get(room, 1))


def _then(begun: Whole, ends: Whole) -> Whole:
    """Return what counts the plates that have ended a block by each minute, from ends that grow."""
    last = np.searchsorted(ends, np.arange(len(begun)), side="right") - 1
    return np.where(last < 0, -1, begun[last])


def _before(row: Whole, minutes: int) -> Whole:
    """Return what counted so many minutes before."""
    return np.concatenate([np.full(min(minutes, len(row)), -1), row])[: len(row)]


def _stacked(
    held: list[tuple[list[Whole], list[Whole], float]],
) -> tuple[Whole, Whole, Floats, Floats]:
    """Return the rows of every minute below each other, those that say the same once."""
    rows: list[Whole] = []
    columns: list[Whole] = []
    values: list[Floats] = []
    limits: list[Floats] = []
    count = 0
    for more, less, limit in held:
        every = np.unique(np.stack([*more, *less], axis=1), axis=0)
        row, place = np.nonzero(every >= 0)
        rows.append(row + count)
        columns.append(every[row, place])
        values.append(np.where(place < len(more), 1.0, -1.0))
        limits.append(np.full(len(every), limit))
        count += len(every)
    return (
        np.concatenate(rows), np.concatenate(columns), np.concatenate(values),
        np.concatenate(limits),
    )  # fmt: skip
