"""How a day is searched: few plates once, a workshop several times and with a bound that counts."""

import numpy as np
import pytest

from argentry.plan import choose, search
from argentry.plan.problem import problem_of, shop_of
from argentry.plan.solver.bound import plain_bound
from argentry.plan.tasks import blocks_of

WORKSHOP = {"workers": 4, "frames": 6, "breaks": ((270.0, 300.0),)}


def shop_for(build_day, plates, **given):
    day = build_day(plates=plates, **given)
    return shop_of(day, blocks_of(day.tasks), plates)


@pytest.fixture
def asked(monkeypatch):
    """The searches that are made, as (seed, linear relaxation or not, bound given)."""
    made, inner = [], search.solve.solve

    def listen(problem, **how):
        if how.get("fresh_by") is None:
            made.append((how.get("seed", 1), how.get("relaxed", True), how.get("low")))
        return inner(problem, **how)

    monkeypatch.setattr(search.solve, "solve", listen)
    return made


def test_few_plates_are_searched_once_and_nothing_is_counted(build_day, asked, monkeypatch):
    monkeypatch.setattr(search, "counted_bound", None)
    plans, bound = search.solved(shop_for(build_day, 2), 1.0, None)
    assert asked == [(1, True, None)]
    assert bound <= min(plan.length for plan in plans)


def test_a_workshop_is_searched_until_its_end_is_known_to_be_near_the_earliest(build_day, asked):
    shop = shop_for(build_day, search.WORKSHOP, **WORKSHOP)
    by_rule = choose.plans_by_rule(shop, 1)[0]
    plans, bound = search.solved(shop, 1.5, by_rule)
    end = min(plan.length for plan in plans)
    plain = plain_bound(problem_of(shop))
    assert plain < bound <= end <= by_rule.length
    assert end - bound <= search.NEAR_ENOUGH * (end - shop.first_minute)
    assert not any(relaxed for _, relaxed, _ in asked)
    assert [seed for seed, _, _ in asked] == [1]


@pytest.mark.parametrize(("bound", "seeds"), [(380.0, [1, 2, 3]), (396.0, [1])])
def test_an_end_that_is_near_enough_to_its_bound_is_not_searched_for_again(
    build_day, monkeypatch, bound, seeds
):
    """The two that go on take an end as near, and the earlier of theirs is taken."""
    made, ends = [], {1: 400.0, 2: 399.0, 3: 398.0}

    def found(_problem, **how):
        made.append(how)
        end = ends[how.get("seed", 1)] if how.get("fresh_by") is None else how["fresh_by"]
        one = np.full((1, 1), int(end))
        return search.solve.Solution("feasible", one, one, one[0], end, bound, 0.0, 0.0)

    monkeypatch.setattr(search, "counted_bound", lambda *_: bound)
    monkeypatch.setattr(search.solve, "solve", found)
    problem = problem_of(shop_for(build_day, search.WORKSHOP, **WORKSHOP))
    (early, fresh), low = search._searched(problem, 1.0, None)
    searches = [how for how in made if how.get("fresh_by") is None]
    assert sorted(how.get("seed", 1) for how in searches) == seeds
    assert low == bound
    assert early.finish == fresh.finish == min(ends[seed] for seed in seeds)
    near = search.NEAR_ENOUGH * (bound - problem.first_minute)
    assert {how.get("near") for how in searches[1:]} <= {near}


def test_where_no_search_finds_a_plan_each_is_tried(build_day, asked):
    shop = shop_for(build_day, search.WORKSHOP, last=250.0, **WORKSHOP)
    plans, bound = search.solved(shop, 0.001, None)
    assert not plans
    assert sorted(seed for seed, _, _ in asked) == [1, 2, 3]
    assert bound >= plain_bound(problem_of(shop))
