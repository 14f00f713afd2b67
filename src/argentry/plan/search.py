"""What the solver finds of a day: the plan that ends first, one as early with short waits, a bound.

Ten plates or more are searched several times, with a bound that is worth its seconds there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import choose
from argentry.plan.problem import problem_of
from argentry.plan.shop import DayRun
from argentry.plan.solver import solve
from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.counts import counted_bound

if TYPE_CHECKING:
    from argentry.plan.problem import DayProblem
    from argentry.plan.shop import Shop

WORKSHOP = 10  # so many plates are worth more searches, and a bound that takes a second or two
SEARCHES = 2  # by other seeds: a third and longer ones moved no end of six days, in twice the time
NEAR_ENOUGH = 0.015  # of the time until an end that is found: so little is left to be found
FRESH_EFFORT = 0.3  # of the search for the earliest end goes into the one for short waits


def solved(shop: Shop, effort: float, hint: DayRun | None) -> tuple[list[DayRun], float]:
    """Return the solver's plan that ends first, one as early with short waits, and its bound.

    Parameters
    ----------
    shop : Shop
        The day.
    effort : float
        Longest search of few plates, see `solve.solve`. [1]
    hint : DayRun or None
        A day to start from.

    Returns
    -------
    plans : list of DayRun
        None, one or two.
    bound : float
        A minute before which no plan can end. [min]
    """
    problem = problem_of(shop)
    if shop.plates < WORKSHOP:
        solution = solve.solve(problem, effort=effort, hint=hint)
        bound = float(np.nan_to_num(solution.bound, nan=0.0))
    else:
        solution, bound = _searched(problem, effort, hint)
    if not solution.found:
        return [], bound
    plans = [choose.in_order(as_run(solution), shop.alike())]
    fresh = solve.solve(
        problem,
        effort=FRESH_EFFORT * effort,
        hint=plans[-1],
        fresh_by=int(solution.finish),
    )
    if fresh.found:
        plans.append(choose.in_order(as_run(fresh), shop.alike()))
    return plans, bound


def _searched(
    problem: DayProblem, effort: float, hint: DayRun | None
) -> tuple[solve.Solution, float]:
    """Return the best of several searches, and a minute before which no plan can end.

    They end once no end can be much earlier.
    """
    high = float(problem.last_minute) if hint is None else hint.length
    low = counted_bound(problem, plain_bound(problem), high)
    best = _search(problem, effort, hint, low, 1)
    for seed in range(2, SEARCHES + 1):
        low = max(low, float(np.nan_to_num(best.bound, nan=0.0)))
        if best.finish - low <= NEAR_ENOUGH * (best.finish - problem.first_minute):
            break
        one = _search(problem, effort, as_run(best) if best.found else hint, low, seed)
        if one.found and not best.finish <= one.finish:
            best = one
    return best, max(low, float(np.nan_to_num(best.bound, nan=0.0)))


def _search(
    problem: DayProblem, effort: float, hint: DayRun | None, low: float, seed: int
) -> solve.Solution:
    return solve.solve(problem, effort=effort, hint=hint, low=low, seed=seed, relaxed=False)


def as_run(solution: solve.Solution) -> DayRun:
    """Return a plan as a day that runs as planned."""
    starts, ends = solution.starts.astype(np.float64), solution.ends.astype(np.float64)
    return DayRun(starts, ends, solution.frame_kind)
