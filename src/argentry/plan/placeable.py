"""Which of the plates that must be made at a set time can be, one with the others."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from argentry.plan.choose import plans_by_rule
from argentry.plan.problem import problem_of, shop_of
from argentry.plan.solve import solve
from argentry.plan.tasks import blocks_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.plan.problem import Day, Special

EFFORT = 0.5


def placeable(day: Day, plates: Sequence[Special], seed: int) -> tuple[Special, ...]:
    """Return the plates that can be made together, an earlier one going before a later one.

    Parameters
    ----------
    day : Day
        The day.
    plates : sequence of Special
        In the order of their times.
    seed : int
        For the rules tried.
    """
    kept: tuple[Special, ...] = ()
    for plate in plates:
        tried = (*kept, plate)
        if fits(replace(day, special=tried, plates=len(tried)), seed):
            kept = tried
    return kept


def fits(day: Day, seed: int) -> bool:
    """Say whether there is a plan with all the plates of a day.

    Parameters
    ----------
    day : Day
        With its number of plates.
    seed : int
        For the rules tried.
    """
    assert day.plates is not None
    shop = shop_of(day, blocks_of(day.tasks), day.plates)
    if plans_by_rule(shop, seed):
        return True
    return solve(problem_of(shop), effort=EFFORT, any_plan=True).found
