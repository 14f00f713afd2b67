"""A minute before which no plan can end, in closed form: as a first word, and for the solver."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block, frame_span, rooms

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Whole
    from argentry.plan.problem import DayProblem


def plain_bound(problem: DayProblem) -> float:
    """Return a minute before which no plan can end, found without a search [min].

    Plates are like each other, so what counts is when the first, the second, the k-th plate can
    come to each block: no earlier than through the block before, than hands have done as many,
    than the room let go of the one before, than a frame came free. From each such time on the
    hands still have the rest of the later plates to do.

    Parameters
    ----------
    problem : DayProblem
        The day.
    """
    hands = _working_minutes(problem)
    if problem.routes or not problem.frame_counts:
        works = [
            sum(_least(problem, plate, b) for b in problem.route(plate) if b.attended)
            for plate in range(problem.plates)
        ]
        return _done(hands, [problem.first_minute] * problem.workers, sum(works))
    starts = soonest_starts(problem)
    own = [_least(problem, 0, b) if b.attended else 0 for b in problem.blocks]
    end = float(starts[-1][-1])
    for block, soonest in enumerate(starts[:-1]):
        rest = sum(own[block:])
        for place in range(problem.plates):
            # from here on hands are busy with this plate and the later ones, as they come
            free = soonest[place : place + problem.workers]
            end = max(end, _done(hands, free, (problem.plates - place) * rest))
    return min(end, float(problem.last_minute))


def _working_minutes(problem: DayProblem) -> Whole:
    """Return how many minutes one pair of hands has had by each minute, breaks left out [min]."""
    at_work = np.ones(problem.last_minute, dtype=np.int64)
    for low, high in problem.breaks:
        at_work[low:high] = 0
    return np.concatenate([[0], np.cumsum(at_work)])


def _done(hands: Whole, free: Sequence[int], work: int) -> float:
    """Return when hands that are free from these minutes on can have done so much work [min]."""
    last = len(hands) - 1
    sums = sum(np.maximum(hands - hands[min(minute, last)], 0) for minute in free)
    return float(np.searchsorted(sums, work)) if work else float(min(free))


def _least(problem: DayProblem, plate: int, block: Block) -> int:
    """Return the fewest minutes that hands need for a block of a plate [min]."""
    if block.kind != EXPOSURE:
        return block.whole_minutes
    ends = problem.exposures(plate)
    starts = np.flatnonzero(ends >= 0)
    return int((ends[starts] - starts).min()) if starts.size else 0


def soonest_starts(problem: DayProblem) -> list[list[int]]:
    """Return the soonest start of each block by the first, second, ... plate to come to it [min].

    One row more: when they are done.

    Parameters
    ----------
    problem : DayProblem
        The day; its plates are like each other and are developed in frames.
    """
    hands = _working_minutes(problem)
    blocks, plates = problem.blocks, range(problem.plates)
    take, free = frame_span(blocks)
    names = rooms(blocks)
    frames = sum(problem.frame_counts)
    kinds = np.where(problem.ripe < 0, np.iinfo(np.int64).max, problem.ripe).min(axis=0)
    tables = {EXPOSURE: first_ends(problem.exposure_ends), DEVELOPMENT: first_ends(kinds)}
    first = [problem.first_minute] * problem.workers
    begun: list[list[int]] = [[] for _ in range(len(blocks) + 1)]
    for plate in plates:
        now, before = problem.first_minute, 0
        for index, block in enumerate(blocks):
            # as many plates have been through all that comes before
            now = max(now, int(_done(hands, first, (plate + 1) * before)))
            before += _least(problem, 0, block) if block.attended else 0
            if block.attended and plate >= problem.workers:
                # so many were begun before, each by hands that did it to its end
                now = max(now, begun[index][plate - problem.workers] + _least(problem, 0, block))
            if index == take and plate >= frames:
                now = max(now, begun[free][plate - frames])
            for room in names:
                count = problem.room_counts.get(room, 1)
                span = block.holds(room)
                if span is None or block.kind == DEVELOPMENT or plate < count:
                    continue
                begin = begun[index][plate - count]
                gone = tables[EXPOSURE][begin] if block.kind == EXPOSURE else begin + _whole(span)
                now = max(now, int(min(gone, problem.last_minute)))
            if block.attended and block.kind != EXPOSURE:
                now = _clear_of(problem.breaks, now, block.whole_minutes)
            begun[index].append(now)
            table = tables.get(block.kind)
            if table is None:
                now += block.whole_minutes
            else:
                now = int(table[now]) if now < len(table) else problem.last_minute
            now = min(now, problem.last_minute)
        begun[-1].append(now)
    return begun


def _whole(span: tuple[float, float]) -> int:
    """Return for how many whole minutes the solver holds a room [min]."""
    return int(np.ceil(sum(span))) - int(np.floor(span[0]))


def first_ends(ends: Whole) -> Whole:
    """Return the first end that a start at each minute or later can have; a late one for none.

    Parameters
    ----------
    ends : Whole, shape (m + 1,)
        End by starting minute, -1 where there is none. [min]
    """
    known = np.where(ends < 0, np.iinfo(np.int64).max, ends)
    return np.minimum.accumulate(known[::-1])[::-1]


def _clear_of(breaks: Sequence[tuple[int, int]], minute: int, length: int) -> int:
    """Return the first minute from which so many minutes are free of a break [min]."""
    for low, high in sorted(breaks):
        if minute < high and minute + length > low:
            minute = high
    return minute
