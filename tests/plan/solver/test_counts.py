"""The counted bound: never above the earliest end, which small days are searched through for."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.plan.problem import DayProblem
from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.counts import SPARE, counted_bound, most_finished
from argentry.plan.solver.solve import solve
from argentry.plan.tasks import EXPOSURE, Task, blocks_of, frame_span

LAST = 30


def small(*, plates, workers, frames, cameras, breaks, hands, waits, within, poses, ripe, cool):
    """A day of few minutes: coat, pose, put out, develop, fix, cool (a wait, or none), seal."""
    coat, out, fix, seal = hands

    def by_hand(key, minutes, resource="", limit=None):
        return Task(key, "fixed", float(minutes), 0.0, True, resource, limit)

    tasks = (
        by_hand("coat", coat, "box"),
        Task("expose", "exposure", 0.0, 0.0, True, "camera", waits),
        by_hand("to frame", out, "frame", waits),
        Task("develop", "development", 0.0, 0.0, False, "frame", 10.0),
        by_hand("fix", fix, "fire", within),
        *((Task("cool", "fixed", float(cool), 0.0, False),) if cool else ()),
        by_hand("seal", seal),
    )
    return DayProblem(
        blocks=blocks_of(tasks), plates=plates, workers=workers, frame_counts=frames,
        first_minute=1, last_minute=LAST, breaks=breaks, exposure_ends=ends_after(poses),
        ripe=np.stack([ends_after(one) for one in ripe]), room_counts={"camera": cameras},
    )  # fmt: skip


def ends_after(lengths):
    """Ends that never come sooner for a later start; -1 where the length is 0, or past the day."""
    ends = np.maximum.accumulate(np.arange(LAST + 1) + np.resize(lengths, LAST + 1))
    return np.where((np.resize(lengths, LAST + 1) == 0) | (ends > LAST), -1, ends)


def earliest_end(problem):
    """Go through every day there is, minute by minute; None when none ends in time.

    A plate is its running or last block with start and end, and its kind of frame: -1 for none.
    """
    days = {((-1, 0, 0, -1),) * problem.plates}
    count, route = len(problem.blocks), route_of(problem.blocks)
    for now in range(problem.first_minute, problem.last_minute + 1):
        if any(all(at == count - 1 and end <= now for at, _, end, _ in day) for day in days):
            return now
        days = {
            tuple(sorted(kept(problem, plate, now + 1) for plate in day))
            for before in days
            for day in every_choice(problem, route, before, now)
            if allowed(problem, route, day, now) and all(in_time(route, one) for one in day)
        }
    return None


class Route(NamedTuple):
    """What the rules ask of the blocks again and again; the block before the first is the last."""

    take: int  # the block that takes the frame
    free: int  # the block at whose start it is free
    to_come: list  # minutes of all blocks after each
    uses: list  # what each holds while it runs


def route_of(blocks):
    minutes = [block.whole_minutes for block in blocks]
    to_come = [sum(minutes[at + 1 :]) for at in range(len(blocks))]
    uses = [
        [room for room in ("box", "camera", "fire") if block.holds(room) is not None]
        + ["hands"] * block.attended
        for block in blocks
    ]
    return Route(*frame_span(blocks), [*to_come, sum(minutes)], uses)


def kept(problem, plate, now):
    """What matters of a plate from now on: of days that go on alike one is enough."""
    at, start, end, kind = plate
    ended = at >= 0 and end <= now
    free = at == len(problem.blocks) - 1 or problem.blocks[at + 1].within is None
    waits = at < 0 or (ended and free)
    return (at, 0 if ended else start, 0 if waits else end, kind)


def in_time(route, plate):
    at, _, end, _ = plate
    return end + route.to_come[at] <= LAST


def every_choice(problem, route, day, now):
    choices = [()]
    for plate in day:
        choices = [(*some, one) for some in choices for one in moves(problem, route, plate, now)]
    return choices


def moves(problem, route, plate, now):
    at, _, end, kind = plate
    if end > now or at == len(problem.blocks) - 1:
        return [plate]
    block, take = problem.blocks[at + 1], route.take
    if block.kind == EXPOSURE:
        ends = [(int(problem.exposure_ends[now]), kind)]
    elif block.kind == "development":
        ends = [(int(problem.ripe[kind, now]), kind)]
    else:
        kinds = range(len(problem.frame_counts)) if at + 1 == take else [kind]
        ends = [(now + block.whole_minutes, one) for one in kinds]
    begun = [(at + 1, now, over, one) for over, one in ends if over > now]
    if not block.attended:
        return begun  # a wait begins by itself
    late = at >= 0 and block.within is not None and now >= end + int(block.within)
    broken = [
        any(now < high and over > low for low, high in problem.breaks) for _, _, over, _ in begun
    ]
    can = [one for one, no in zip(begun, broken, strict=True) if not no]
    return can if late else [plate, *can]


def allowed(problem, route, day, now):
    held = dict.fromkeys(("hands", "box", "camera", "fire", *range(len(problem.frame_counts))), 0)
    for at, start, end, kind in day:
        if at >= 0 and start <= now < end:
            for one in route.uses[at]:
                held[one] += 1
        if route.take <= at < route.free:
            held[kind] += 1
    most = {"hands": problem.workers, "box": 1, "fire": 1, **problem.room_counts}
    most |= dict(enumerate(problem.frame_counts))
    return all(count <= most[what] for what, count in held.items())


minutes = st.integers(1, 4)
days = st.builds(
    small,
    plates=st.sampled_from([2, 1, 3]),
    workers=st.integers(1, 2),
    frames=st.sampled_from([(1,), (2,), (1, 1)]),
    cameras=st.integers(1, 2),
    breaks=st.sampled_from([(), ((8, 11),), ((5, 6), (13, 16))]),
    hands=st.tuples(minutes, st.integers(1, 2), minutes, minutes),
    waits=st.sampled_from([None, 0.0, 3.0]),
    within=st.sampled_from([None, 0.0, 2.0]),
    poses=st.lists(st.sampled_from([1, 2, 3, 0]), min_size=4, max_size=9),
    ripe=st.tuples(*[st.lists(st.integers(2, 7), min_size=5, max_size=9)] * 2),
    cool=st.integers(0, 2),
)


@given(days)
@settings(max_examples=settings().max_examples // 6)  # 0.1 s each
def test_it_is_never_above_the_earliest_end_of_all_days_there_are(day):
    day = replace(day, ripe=day.ripe[: len(day.frame_counts)])
    earliest = earliest_end(day)
    if earliest is None:
        return  # every minute may be refuted
    bound = counted_bound(day, plain_bound(day), LAST + 1.0)
    assert plain_bound(day) <= earliest
    assert bound <= earliest
    assert most_finished(day, earliest) >= day.plates - SPARE


def test_hands_do_whole_blocks_after_a_break_as_worked_out_by_hand(plain):
    """Two plates keep one pair of hands 2 x 32 min; a break from 62 to 80 cuts into the last seal.

    To the minute 2 of those 64 are left for after the break: 82. But the seal takes its 5: 85.
    """
    one = plain.problem(plain.shop(workers=1, expose=1.0, develop=(1.0,), breaks=((62, 80),)))
    assert plain_bound(one) == 82.0
    assert solve(one, effort=5.0).finish == 85.0
    assert counted_bound(one, 82.0, 500.0) == 85.0
    assert counted_bound(one, 82.0, 84.0) == 84.0  # no plan is said to be known


@pytest.mark.parametrize("seed", range(4))
def test_it_is_never_above_what_the_solver_proves(plain, seed):
    one = plain.problem(
        plain.shop(
            plates=3 + seed % 2, workers=1 + seed % 3, frames=(1 + seed % 3,), develop=(29.0,),
            breaks=((50 + 9 * seed, 75 + 9 * seed),), expose=2.0 + 4.0 * seed,
        )
    )  # fmt: skip
    found = solve(one, effort=20.0)
    assert found.status == "optimal"
    assert counted_bound(one, 0.0, found.finish + 40.0) <= found.finish


def test_nothing_is_counted_of_plates_that_differ(plain):
    one = plain.problem(plain.shop(plates=2))
    differing = replace(one, routes=(one.blocks, one.blocks))
    assert counted_bound(one, 7.0, 500.0) > 7.0
    assert counted_bound(differing, 7.0, 500.0) == 7.0


def test_a_day_without_light_to_come_finishes_none(plain):
    one = plain.problem(plain.shop(plates=2))
    dark = replace(one, exposure_ends=np.full_like(one.exposure_ends, -1))
    assert most_finished(dark, 600) == 0.0
