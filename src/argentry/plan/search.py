"""What the solver finds of a day: the plan that ends first, one as early with short waits, a bound.

Ten plates or more are searched several times, with a bound that is worth its seconds there. Solver
and bound leave Python's lock, so that two of them run side by side. Each ends by the solver's own
count of its work, none by the clock or because the other has ended: the same day gives the same
plan on every machine.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import choose
from argentry.plan.problem import problem_of
from argentry.plan.shop import DayRun
from argentry.plan.solver import cp_sat, solve
from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.counts import counted_bound

if TYPE_CHECKING:
    from typing import Any

    from argentry.plan.problem import DayProblem
    from argentry.plan.shop import Shop

WORKSHOP = 10  # so many plates are worth more searches, and a bound that takes a second or two
FIRST, SECOND = 0.2, 0.3  # of the effort: beside the bound, and of two beside each other
NEAR_ENOUGH = 0.015  # of the time until an end that is found: so little is left to be found
FRESH_EFFORT = 0.3  # of the search for the earliest end goes into the one for short waits
FRESH_OF_MANY = 0.1


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
        found = _early_and_fresh(problem, FRESH_EFFORT * effort, effort=effort, hint=hint)
        bound = _bound(found[0])
    else:
        found, bound = _searched(problem, effort, hint)
    return [choose.in_order(as_run(one), shop.alike()) for one in found if one.found], bound


def _early_and_fresh(
    problem: DayProblem, fresh_effort: float, before: float = np.inf, **how: Any
) -> tuple[solve.Solution, ...]:
    """Return the plan that ends first and, where there is one, one as early with short waits.

    The second only where the first ends sooner than some minute.
    """
    early = solve.solve(problem, **how)
    if not early.found or early.finish >= before:
        return (early,)
    fresh = solve.solve(
        problem,
        effort=fresh_effort,
        hint=as_run(early),
        fresh_by=int(early.finish),
        relaxed=how.get("relaxed", True),
    )
    return early, fresh


def _searched(
    problem: DayProblem, effort: float, hint: DayRun | None
) -> tuple[tuple[solve.Solution, ...], float]:
    """Return the best of several searches, and a minute before which no plan can end.

    The first runs beside the bound. Where it ends within `NEAR_ENOUGH` of that, no other is made;
    else two go on from it, one by hours and one by order, until they end as near.
    """
    from concurrent.futures import ThreadPoolExecutor

    high = float(problem.last_minute) if hint is None else hint.length
    fresh = FRESH_OF_MANY * effort
    cp_sat.load()  # not by two threads at once
    with ThreadPoolExecutor(2) as beside:
        counting = beside.submit(counted_bound, problem, plain_bound(problem), high)
        how: dict[str, Any] = {"effort": FIRST * effort, "hint": hint, "relaxed": False}
        found = _early_and_fresh(problem, fresh, by_order=True, **how)
        low = max(counting.result(), _bound(found[0]))
        near = NEAR_ENOUGH * (low - problem.first_minute)
        if found[0].finish - low <= near:
            return found, low
        how |= {"effort": SECOND * effort, "low": low, "near": near}
        if found[0].found:
            how |= {"hint": as_run(found[0]), "before": found[0].finish}
        asked = [
            beside.submit(_early_and_fresh, problem, fresh, seed=seed, by_order=by_order, **how)
            for seed, by_order in ((2, False), (3, True))
        ]
        for other in (search.result() for search in asked):
            low = max(low, _bound(other[0]))
            if other[0].found and not found[0].finish <= other[0].finish:
                found = other
    return found, low


def _bound(solution: solve.Solution) -> float:
    """Return the solver's bound, 0 where it gave none [min]."""
    return float(np.nan_to_num(solution.bound, nan=0.0))


def as_run(solution: solve.Solution) -> DayRun:
    """Return a plan as a day that runs as planned."""
    starts, ends = solution.starts.astype(np.float64), solution.ends.astype(np.float64)
    return DayRun(starts, ends, solution.frame_kind)
