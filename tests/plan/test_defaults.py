"""What planning takes where nothing is said: 200 days, one seed, half of what a bath can do."""

from math import inf

from tests.defaults import beyond_nothing, modules_of

from argentry import plan

TAKEN = {
    "again.plan_again.days": 120,
    "again.plan_again.seed": 1,
    "again.one_more.days": 120,
    "again.one_more.seed": 1,
    "choose.plans_by_rule.draws": 60,
    "choose.plans_and_most.draws": 60,
    "day.plan_day.effort": 1.5,
    "day.plan_day.simulated_days": 200,
    "day.plan_day.seed": 1,
    "solver.solve.solve.relaxed": True,
    "solver.solve.solve.seed": 1,
    "search._early_and_fresh.before": inf,
    "problem.Day.hours_end": inf,
    "shop.Shop.break_grace": 10.0,
    "daylight.DayLight.window": (-inf, inf),
    "tasks.Task.usual_share": 0.5,
}


def test_what_is_taken_where_nothing_is_said():
    assert modules_of(plan)
    assert beyond_nothing(plan) == TAKEN
