"""A day of plates: how many it holds, in what order, how late each step may start, at what odds."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import choose, further, latest, rules, search, spread
from argentry.plan.check import faults
from argentry.plan.daylight import ALL_DAY
from argentry.plan.problem import Day, Special, cannot_fit, problem_of, shop_of
from argentry.plan.shop import DayRun
from argentry.plan.solver import solve
from argentry.plan.solver.bound import plain_bound
from argentry.plan.tasks import Block, blocks_of, fading_blocks
from argentry.records.day import MOST_PLATES

if TYPE_CHECKING:
    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.shop import Drawn, Shop


ENOUGH = 0.8  # share of days on which every plate that is begun should be finished
LOOK_DAYS = 80  # by which the number of plates is settled
# so many plates, all placed by simple rules, which a search as long as all the rest never bettered
MANY_PLACED = 5


@dataclass(frozen=True)
class Planned:
    """What the planner answers. Minutes count from the start of the day's grid.

    Attributes
    ----------
    blocks : tuple of Block
        A plate's blocks.
    starts, ends, latest : Floats, shape (plates placed, blocks)
        The plan and the latest safe starts; ``-inf`` where none is safe. [min]
    limited : Truth, shape (plates placed, blocks)
        Whether a latest start is that of the limit which runs from the block before.
    frame_kind : Whole, shape (plates placed,)
        Kind of frame of each plate.
    days : Spread or None
        Simulated days of this plan, others than those that it was chosen by; None when nothing
        could be placed.
    finish, earliest, bound : float
        End of the last plate, of the plan found that ends earliest, and the solver's bound on
        both. [min]
    proved : bool
        True when no plan can end before `earliest`.
    first_plan_seconds, seconds : float
        Time to a first plan, and of planning in all. [s]
    most : int
        The most plates that rules place on this day; of sitters, or where rules place none, what
        the solver does.
    most_proved : bool
        True when one more is proved impossible, or at the most that is ever planned.
    one_by_one : int
        Plates the day holds when none is begun before the one before is done.
    one_by_one_minutes : float
        When the placed plates would be done one after the other; NaN when they do not fit. [min]
    special : tuple of (Special or None)
        What sets plates apart from the others, in the order of the plan.
    further : Further or None
        How a plate that is asked for and has no place is begun on days that go well; `days` are
        those on which it is.
    """

    blocks: tuple[Block, ...]
    starts: Floats
    ends: Floats
    latest: Floats
    limited: Truth
    frame_kind: Whole
    days: spread.Spread | None
    finish: float
    earliest: float
    bound: float
    proved: bool
    first_plan_seconds: float
    seconds: float
    most: int
    most_proved: bool
    one_by_one: int
    one_by_one_minutes: float
    special: tuple[Special | None, ...] = ()
    further: further.Further | None = None

    @property
    def finished(self) -> Whole:
        """Plates finished on each simulated day, shape (days,)."""
        assert self.days is not None
        more = 0 if self.further is None else self.further.sound
        return np.asarray(self.days.finished + more)

    @property
    def placed(self) -> int:
        """Plates in the plan."""
        return int(self.starts.shape[0])

    def special_of(self, plate: int) -> Special | None:
        """Return what sets a plate apart from the others."""
        return self.special[plate] if plate < len(self.special) else None

    def route(self, plate: int) -> tuple[Block, ...]:
        """Return the blocks of one plate."""
        special = self.special_of(plate)
        return self.blocks if special is None else blocks_of(special.tasks)


def _one_by_one(shop: Shop) -> DayRun:
    """Simulate the day with one plate in hand at a time."""
    return rules.median_days(shop, rules.one_by_one(shop)).one(0)


def _first_plates(single: DayRun, shop: Shop) -> DayRun:
    """Return the day one by one of fewer plates: those that come after change nothing before."""
    if shop.sorts:  # a sitter comes when the sitter comes
        return _one_by_one(shop)
    first = slice(shop.plates)
    return DayRun(single.starts[first], single.ends[first], single.frame_kind[first])


@dataclass(frozen=True)
class _Judged:
    """Plans of one number of plates, the one of them that was chosen, and the days it was by."""

    shop: Shop
    plans: list[DayRun]
    chosen: choose.Chosen
    drawn: Drawn


def plan_day(
    day: Day,
    *,
    effort: float = 1.5,
    simulated_days: int = 200,
    seed: int = 1,
    by_rule: bool = False,
    more_wanted: bool = False,
) -> Planned:
    """Plan a day.

    Parameters
    ----------
    day : Day
        What is wanted and what is there.
    effort : float
        Longest search of the solver, see `solve.solve`. [1]
    simulated_days : int
        Days by which plans are compared; four times as many are behind every range.
    seed : int
        For the rules tried and the simulated days.
    by_rule : bool
        True for a first plan, found by few rules alone: nothing is proved, the latest starts are
        the planned ones, and how many more the day may hold is not looked for.
    more_wanted : bool
        True when the maker asked for more plates than `day` has, of which no plan was found.

    Returns
    -------
    Planned
        The plan; with no plates placed when the day holds none.
    """
    began = time.perf_counter()
    blocks = blocks_of(day.tasks)
    shop_most = shop_of(day, blocks, MOST_PLATES)
    if by_rule:
        return _first_plan(day, shop_most, simulated_days, seed, began)
    if day.special:
        single, most = _one_by_one(shop_most), choose.most_in_order(shop_most, seed)
    else:
        single, most = choose.one_by_one_and_most(shop_most, seed)
    one_by_one = int(np.isfinite(single.ends[:, -1]).sum())
    most = most if day.special else max(most, one_by_one)
    wanted = day.plates
    if wanted is None:
        wanted, _ = _as_many_as_finish(shop_most, day, most, LOOK_DAYS, seed)
    shop = replace(shop_most, plates=wanted)
    found, by_rule_most = choose.plans_and_most(shop, seed, full=wanted > most)
    if found or not day.special:
        most = max(most, by_rule_most)
    first_seconds = time.perf_counter() - began

    # Is one more than the rules found possible at all? Where the solver finds a plan, that has no
    # room to move: more good plates come of the rules' number, and one more on days that go well.
    # Sitters who are expected are not sent away for that.
    most_proved = most >= MOST_PLATES
    larger: solve.Solution | None = None
    while not most_proved and wanted > most:
        problem = problem_of(replace(shop_most, plates=most + 1))
        if cannot_fit(problem):
            most_proved = True
            break
        answer = solve.solve(problem, effort=0.5 * effort, any_plan=True)
        most_proved = answer.status == "impossible"
        if not answer.found or (most and not day.special):
            break
        most, larger = most + 1, answer
        most_proved = most >= MOST_PLATES

    placed = min(wanted, most)
    if placed == 0:
        return nothing(blocks, began, first_seconds, most_proved)
    shop = replace(shop_most, plates=placed)
    if not found:
        found = choose.plans_by_rule(shop, seed)
    if larger is not None and len(larger.starts) == placed:
        found = [search.as_run(larger), *found]
    plans = choose.few_of(found, fading_blocks(blocks))
    proved, full = 0.0, placed < wanted or more_wanted or bool(day.special)
    if full or not found or not MANY_PLACED <= placed < search.WORKSHOP:
        solved, proved = search.solved(shop, effort, found[0] if found else None)
        plans += solved
    if plans:
        plans += choose.begun_earlier(shop, plans)
        plans = choose.as_hands_keep(shop, plans)
    plans = _faultless(day, blocks, plans)  # a plan with a fault is never shown
    if not plans and placed > 1:  # so many are finished of more begun, and no plan of them is found
        fewer = replace(day, plates=placed - 1)
        return plan_day(
            fewer, effort=effort, simulated_days=simulated_days, seed=seed, more_wanted=True
        )
    if not plans:
        return nothing(blocks, began, first_seconds, proved=False)

    drawn = spread.draw_days(shop, day.light, days=simulated_days, seed=seed)
    chosen, one = choose.choose(shop, plans, drawn), None
    if (more_wanted or placed < wanted) and not day.special:
        earlier = choose.begun_earlier(shop, [chosen.plan])
        earlier = choose.as_hands_keep(shop, earlier) if earlier else earlier
        earlier = _faultless(day, blocks, earlier)
        more = replace(shop, plates=placed + 1)
        many = spread.same_light(drawn, more, day.light, days=simulated_days, seed=seed)
        chosen, one = further.beyond(more, chosen, earlier, many, drawn)
    safe = latest.latest_starts(shop, chosen.rule, chosen.plan.starts, drawn, chosen.runs)
    judged = _Judged(shop, plans, chosen, drawn)
    told = _told(day, judged, *safe, max(plain_bound(problem_of(shop)), proved), seed, one)
    return replace(
        told,
        first_plan_seconds=first_seconds,
        seconds=time.perf_counter() - began,
        most=most,
        most_proved=most_proved,
        one_by_one=one_by_one,
        one_by_one_minutes=_first_plates(single, shop).length,
    )


def _first_plan(day: Day, shop_most: Shop, days: int, seed: int, began: float) -> Planned:
    """Return what few rules find, judged by the simulated days once."""
    judged = None
    if day.plates is None:
        _, judged = _as_many_as_finish(shop_most, day, MOST_PLATES, days, seed)
    else:
        judged = _judged(replace(shop_most, plates=day.plates), day, days, seed)
        fewer = day.plates - 1
        if judged is None and fewer > 0:
            shop = replace(shop_most, plates=fewer)
            most = (
                min(choose.most_in_order(shop_most, seed), fewer)
                if day.special
                else choose.most_by_rule(shop, seed, 0)
            )
            if most > 0:
                judged = _judged(replace(shop_most, plates=most), day, days, seed)
    while judged is not None:
        plan = judged.chosen.plan
        if _faultless(day, shop_most.blocks, [plan]):
            break
        others = [one for one in judged.plans if one is not plan]
        judged = _judged(judged.shop, day, days, seed, others)
    first_seconds = time.perf_counter() - began
    if judged is None:
        return nothing(shop_most.blocks, began, first_seconds, proved=False)
    starts = judged.chosen.plan.starts
    told = _told(day, judged, starts, np.zeros(starts.shape, dtype=np.bool_), 0.0, seed)
    return replace(told, first_plan_seconds=first_seconds, seconds=first_seconds)


def _judged(
    shop: Shop, day: Day, days: int, seed: int, plans: list[DayRun] | None = None
) -> _Judged | None:
    """Return the plans of simple rules and the best of the first of them; None without any."""
    found = choose.plans_by_rule(shop, seed, draws=0) if plans is None else plans
    if not found:
        return None
    drawn = spread.draw_days(shop, day.light, days=days, seed=seed)
    few = choose.few_of(found, [])[: choose.BY_ALL_DAYS]
    return _Judged(shop, found, choose.choose(shop, few, drawn), drawn)


def _told(
    day: Day, judged: _Judged, safe: Floats, limited: Truth, bound: float, seed: int,
    one: further.Further | None = None,
) -> Planned:  # fmt: skip
    """Return a chosen plan as planned, its plates in the order of their beginnings."""
    plan, blocks, placed = judged.chosen.plan, judged.shop.blocks, judged.shop.plates
    days, one = further.on_other_days(
        judged.shop, judged.chosen, judged.drawn, one, day.light, seed
    )
    order = np.argsort(plan.starts[:, 0], kind="stable")
    special = (*day.special, *[None] * placed)[:placed]
    earliest = min(one.length for one in judged.plans)
    return Planned(
        blocks=blocks,
        starts=plan.starts[order],
        ends=plan.ends[order],
        latest=safe[order],
        limited=limited[order],
        frame_kind=plan.frame_kind[order],
        days=spread.spread_of(days, blocks).of_plates(order),
        finish=plan.length,
        earliest=earliest,
        bound=min(bound, earliest),
        proved=earliest <= bound,
        first_plan_seconds=0.0,
        seconds=0.0,
        most=placed,
        most_proved=False,
        one_by_one=0,
        one_by_one_minutes=float("nan"),
        special=tuple(special[plate] for plate in order) if day.special else (),
        further=one,
    )


def _faultless(day: Day, blocks: tuple[Block, ...], plans: list[DayRun]) -> list[DayRun]:
    return [p for p in plans if not faults(day, blocks, p.starts, p.ends, p.frame_kind)]


def _as_many_as_finish(
    shop: Shop, day: Day, most: int, days: int, seed: int
) -> tuple[int, _Judged | None]:
    """Return the most plates that are all finished on enough of the days, and their plans.

    Where no forecast says what the sky will be, the days on which not even one plate can be
    finished say nothing about how many to begin on the others: they are left out. Sitters who are
    expected are not sent away.
    """
    enough, light = 0.0, day.light
    kept: _Judged | None = None
    least = max(sum(one is not None and one.light.window != ALL_DAY for one in day.special), 1)
    for plates in range(least, most + 1):
        judged = _judged(replace(shop, plates=plates), day, days, seed)
        if judged is None:
            return max(plates - 1, least), kept
        share = spread.spread_of(judged.chosen.runs, shop.blocks).all_sound
        if plates == least:
            enough = ENOUGH * (share if light.sky_seen else 1.0)
        elif share < enough:
            return plates - 1, kept
        kept = judged
    return max(most, least), kept


def nothing(blocks: tuple[Block, ...], began: float, first_seconds: float, proved: bool) -> Planned:
    """Return the answer for a day that holds no plate.

    Parameters
    ----------
    blocks : tuple of Block
        A plate's blocks.
    began : float
        When planning began, by the performance counter. [s]
    first_seconds : float
        As in `Planned`. [s]
    proved : bool
        True when it is proved that it holds none.
    """
    empty = np.empty((0, len(blocks)))
    return Planned(
        blocks=blocks,
        starts=empty,
        ends=empty,
        latest=empty,
        limited=np.empty(empty.shape, dtype=np.bool_),
        frame_kind=np.empty(0, dtype=np.int64),
        days=None,
        finish=float("nan"),
        earliest=float("nan"),
        bound=float("nan"),
        proved=proved,
        first_plan_seconds=first_seconds,
        seconds=time.perf_counter() - began,
        most=0,
        most_proved=proved,
        one_by_one=0,
        one_by_one_minutes=float("nan"),
    )
