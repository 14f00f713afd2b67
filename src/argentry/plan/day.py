"""A day of plates: how many it holds, in what order, how late each step may start, at what odds."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import daylight, latest, rules, solve, spread
from argentry.plan.problem import DayProblem, cannot_fit, plain_bound
from argentry.plan.shop import DayRun, Rule, Shop
from argentry.plan.tasks import Block, Task, blocks_of
from argentry.records.day import MOST_PLATES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

RULE_DRAWS = 90
LEAD_MINUTES = 20.0  # idle hands may begin a plate this much before the plan says


@dataclass(frozen=True)
class Day:
    """What the planner is asked.

    Attributes
    ----------
    tasks : tuple of Task
        A plate's steps with their durations settled.
    plates : int
        How many plates are wanted, 1 to 12.
    workers : int
        Pairs of hands.
    first_minute, last_minute : float
        When the first plate may be begun, when all must be done. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    light : DayLight
        The day's light on the same grid.
    """

    tasks: tuple[Task, ...]
    plates: int
    workers: int
    first_minute: float
    last_minute: float
    breaks: tuple[tuple[float, float], ...]
    light: daylight.DayLight


@dataclass(frozen=True)
class Planned:
    """What the planner answers. Minutes count from the start of the day's grid.

    Attributes
    ----------
    blocks : tuple of Block
        A plate's blocks.
    starts, ends, latest : NDArray[float64], shape (plates placed, blocks)
        The plan and the latest safe starts; ``-inf`` where none is safe. [min]
    frame_kind : NDArray[int64], shape (plates placed,)
        Kind of frame of each plate.
    days : Spread or None
        Simulated days of this plan; None when nothing could be placed.
    finish, bound : float
        End of the last plate and the solver's bound on it. [min]
    proved : bool
        True when no plan can end earlier.
    first_plan_seconds, seconds : float
        Time to a first plan, and of planning in all. [s]
    most : int
        The most plates this day holds as far as found.
    most_proved : bool
        True when one more is proved impossible, or at the most that is ever planned.
    one_by_one : int
        Plates the day holds when none is begun before the one before is done.
    one_by_one_minutes : float
        When the placed plates would be done one after the other; NaN when they do not fit. [min]
    """

    blocks: tuple[Block, ...]
    starts: Array
    ends: Array
    latest: Array
    frame_kind: NDArray[np.int64]
    days: spread.Spread | None
    finish: float
    bound: float
    proved: bool
    first_plan_seconds: float
    seconds: float
    most: int
    most_proved: bool
    one_by_one: int
    one_by_one_minutes: float

    @property
    def placed(self) -> int:
        """Plates in the plan."""
        return int(self.starts.shape[0])


def _shop(day: Day, blocks: tuple[Block, ...], plates: int) -> Shop:
    ripe = np.stack([frame.expected_ends for frame in day.light.frames])
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
    )


def _problem(shop: Shop) -> DayProblem:
    return DayProblem(
        blocks=shop.blocks,
        plates=shop.plates,
        workers=shop.workers,
        frame_counts=shop.frame_counts,
        first_minute=int(np.ceil(shop.first_minute)),
        last_minute=int(shop.last_minute),
        breaks=tuple((int(low), int(np.ceil(high))) for low, high in shop.breaks),
        exposure_ends=daylight.whole_ends(shop.expected_exposure_ends),
        ripe=np.stack([daylight.whole_ends(r) for r in shop.expected_ripe]),
    )


def _one_by_one(shop: Shop) -> DayRun:
    """Simulate the day with one plate in hand at a time."""
    priority = np.tile(np.arange(len(shop.blocks), dtype=np.float64), (shop.plates, 1))
    return rules.median_day(shop, Rule(priority, 1, np.zeros(shop.plates)))


def plan_day(day: Day, *, effort: float = 1.5, simulated_days: int = 200, seed: int = 1) -> Planned:
    """Plan a day.

    Parameters
    ----------
    day : Day
        What is wanted and what is there.
    effort : float
        Longest search of the solver, see `solve.solve`. [1]
    simulated_days : int
        Days behind every range.
    seed : int
        For the rules tried and the simulated days.

    Returns
    -------
    Planned
        The plan; with no plates placed when the day holds none.
    """
    began = time.perf_counter()
    blocks = blocks_of(day.tasks)
    shop_most = _shop(day, blocks, MOST_PLATES)
    single = _one_by_one(shop_most)
    _, run_most = rules.best_rule(shop_most, RULE_DRAWS // 3, seed)
    shop = replace(shop_most, plates=day.plates)
    _, run = rules.best_rule(shop, RULE_DRAWS, seed)
    most = int(max(run_most.clean.sum(), run.clean.sum(), single.clean.sum()))
    first_seconds = time.perf_counter() - began

    # Is one more than the rules found possible at all? The solver proves or refutes it.
    most_proved = most >= MOST_PLATES
    larger: solve.Solution | None = None
    while not most_proved:
        problem = _problem(replace(shop_most, plates=most + 1))
        if cannot_fit(problem):
            most_proved = True
            break
        answer = solve.solve(problem, effort=0.5 * effort, any_plan=True)
        if answer.status == "impossible":
            most_proved = True
        elif answer.found:
            most, larger = most + 1, answer
            most_proved = most >= MOST_PLATES
            continue
        break

    placed = min(day.plates, most)
    if placed == 0:
        return _nothing(blocks, began, first_seconds, most_proved)
    shop = replace(shop_most, plates=placed)
    if larger is not None and larger.starts.shape[0] == placed:
        run = _as_run(larger)
    elif placed != day.plates or not run.clean.all():
        _, run = rules.best_rule(shop, RULE_DRAWS, seed)
    hint = run if run.clean.all() else None
    solution = solve.solve(_problem(shop), effort=effort, hint=hint)
    starts, ends, kinds, finish = _better(solution, run)
    bound = max(plain_bound(_problem(shop)), float(np.nan_to_num(solution.bound, nan=0.0)))

    rule = rules.follow(shop, starts, LEAD_MINUTES)
    days = spread.simulate(shop, rule, day.light, days=simulated_days, seed=seed)
    weathers = day.light.exposure_days.shape[0]
    doses = tuple(d[:, 0] for d in spread.draw_doses(day.light, 1, weathers, seed + 2))
    safe = latest.latest_starts(
        blocks,
        starts,
        ends,
        kinds,
        workers=day.workers,
        breaks=day.breaks,
        last_minute=day.last_minute,
        light=day.light,
        doses=doses,
    )
    alone = _one_by_one(shop)
    return Planned(
        blocks=blocks,
        starts=starts,
        ends=ends,
        latest=safe,
        frame_kind=kinds,
        days=days,
        finish=finish,
        bound=bound,
        proved=solution.status == "optimal" or finish <= bound,
        first_plan_seconds=first_seconds,
        seconds=time.perf_counter() - began,
        most=most,
        most_proved=most_proved,
        one_by_one=int(single.clean.sum()),
        one_by_one_minutes=alone.length if alone.clean.all() else float("nan"),
    )


def _as_run(solution: solve.Solution) -> DayRun:
    """Return a plan as a day that runs as planned."""
    none = np.zeros(len(solution.frame_kind))
    starts, ends = solution.starts.astype(np.float64), solution.ends.astype(np.float64)
    return DayRun(starts, ends, solution.frame_kind, none, none)


def _better(solution: solve.Solution, run: DayRun) -> tuple[Array, Array, NDArray[np.int64], float]:
    """Return (starts, ends, frame kinds, finish): the solver's plan, else the simulated one."""
    if solution.found and not (run.clean.all() and run.length < solution.finish):
        return (
            solution.starts.astype(np.float64),
            solution.ends.astype(np.float64),
            solution.frame_kind,
            solution.finish,
        )
    order = np.argsort(run.starts[:, 0])
    return run.starts[order], run.ends[order], run.frame_kind[order], run.length


def _nothing(
    blocks: tuple[Block, ...], began: float, first_seconds: float, proved: bool
) -> Planned:
    empty = np.empty((0, len(blocks)))
    return Planned(
        blocks=blocks,
        starts=empty,
        ends=empty,
        latest=empty,
        frame_kind=np.empty(0, dtype=np.int64),
        days=None,
        finish=float("nan"),
        bound=float("nan"),
        proved=proved,
        first_plan_seconds=first_seconds,
        seconds=time.perf_counter() - began,
        most=0,
        most_proved=proved,
        one_by_one=0,
        one_by_one_minutes=float("nan"),
    )
