"""A plate beyond those that the usual day holds: until when it is begun, and what it brings."""

import numpy as np
import pytest

from argentry.plan import further, rules
from argentry.plan.choose import joined
from argentry.plan.day import plan_day
from argentry.plan.dispatch import play
from argentry.plan.further import (
    NEVER,
    TOLD_SEED,
    TOLD_TIMES,
    _best_time,
    _without,
    with_one_more,
)
from argentry.plan.problem import shop_of
from argentry.plan.rows import Branch
from argentry.plan.shop import Rules
from argentry.plan.spread import draw_days, same_light, worth
from argentry.plan.tasks import blocks_of


def test_it_is_begun_as_long_as_the_days_so_far_gain():
    start = np.array([40.0, np.nan, 10.0, 20.5, 30.0])
    gain = np.array([0.4, 9.0, 1.0, 0.5, -2.0])  # what is never begun gains nothing
    all_sound = np.ones(5, dtype=bool)
    until, brought = _best_time(start, gain, all_sound, 0.0)
    assert (until, brought) == (21.0, pytest.approx(1.5 / 5))
    assert _best_time(start, -np.abs(gain), all_sound, 0.0)[1] <= 0.0
    assert _best_time(np.full(3, np.nan), np.ones(3), all_sound[:3], 0.0) == (-np.inf, 0.0)


def test_one_that_nobody_asked_for_is_begun_while_most_of_them_are_finished():
    start, gain = np.array([10.0, 20.0, 30.0, 40.0, np.nan]), np.array([0.9, 0.8, 0.7, 0.6, 0.0])
    sound = np.array([True, True, False, True, True])
    # shares of those begun so far that are finished: 1, 1, 2/3, 3/4
    assert _best_time(start, gain, sound, 0.0)[0] == 40.0
    assert _best_time(start, gain, sound, 0.75)[0] == 40.0
    assert _best_time(start, gain, sound, 0.8)[0] == 20.0
    assert _best_time(start, gain, ~sound, 0.8)[1] == -np.inf


def test_of_days_on_which_it_would_begin_in_one_minute_all_count():
    """It was taken until a minute of which only the first, lucky days were counted."""
    start, gain = np.full(4, 10.0), np.array([0.9, 0.9, -0.9, -0.9])
    sound = np.array([True, True, False, False])
    until, brought = _best_time(start, gain, sound, 0.0)
    assert (until, brought) == (10.0, pytest.approx(0.0))
    assert _best_time(start, gain, sound, 0.8)[1] == -np.inf


@pytest.fixture(scope="module")
def short(build_module_day):
    """Hours that hold one plate of the two asked for on a usual day, and two on a good one."""
    day = build_module_day(plates=2, workers=2, frames=1, last=300.0, breaks=())
    return day, plan_day(day, simulated_days=60)


def test_its_days_are_those_of_the_plan_until_it_begins(short):
    day, plan = short
    assert plan.placed == 1
    one = plan.further
    shop = shop_of(day, blocks_of(day.tasks), 2)
    rule = rules.follow(shop_of(day, shop.blocks, 1), plan.starts[None], 0.0)
    drawn = draw_days(shop, day.light, days=60, seed=1)
    told = {"days": 60 * TOLD_TIMES, "seed": 1 + TOLD_SEED, "turned": 60}
    drawn = same_light(drawn, shop, day.light, **told)
    assert (one.follows == 0) == (one.behind > 0.0)
    without = play(shop, with_one_more(rule, NEVER, one.behind), drawn)
    assert one.begun.any()
    assert (one.runs.starts[0, one.begun, 1, 0] <= one.until).all()
    done = one.runs.ends[0, one.begun, one.plate, one.block]
    assert (one.runs.starts[0, one.begun, 1, 0] >= done - 1e-6).all()
    ours, other = one.runs.ends[0, ~one.begun], without.ends[0, ~one.begun]
    np.testing.assert_array_equal(ours, other)
    brought = worth(one.runs, shop.blocks)[0] - worth(without, shop.blocks)[0]
    assert brought.sum(axis=1).mean() >= further.WORTH_TELLING
    np.testing.assert_array_equal(plan.finished, one.runs.sound[0].sum(axis=1))
    assert plan.days.sound.shape == (240, 1)


def test_days_beyond_two_plans_are_each_played_from_where_it_may_begin(short):
    """As played from the morning: until then they run as the days of their own plan do."""
    day, plan = short
    shop = shop_of(day, blocks_of(day.tasks), 2)
    alone = shop_of(day, shop.blocks, 1)
    ways = [rules.follow(alone, plan.starts[None] + late, 0.0) for late in (0.0, 25.0)]
    drawn = draw_days(shop, day.light, days=20, seed=1)
    times = np.array([20.0, 20.0, 60.0, 60.0, NEVER, NEVER])
    of = np.tile([1, 0], 3)
    many = joined([with_one_more(ways[way], at) for way, at in zip(of, times, strict=True)])
    minute = np.where(times < NEVER, times, np.inf)[:, None] * np.ones(drawn.days)
    whole = play(shop, many, drawn)
    part = play(shop, many, drawn, Branch(_without(shop, ways, drawn), minute, of))
    for name, values in vars(whole).items():
        np.testing.assert_array_equal(getattr(part, name), values, err_msg=name)
    assert (whole.starts[0] != whole.starts[1]).any()
    assert (whole.starts[0] != whole.starts[2]).any()


def test_it_waits_for_all_work_or_follows_the_plate_begun_last():
    priority = np.array([[[50.0, 90.0], [70.0, 120.0], [20.0, 60.0]]])
    rule = Rules(priority, np.array([3]), np.full((1, 3, 2), -np.inf))
    behind = with_one_more(rule, 100.0, 30.0)
    assert behind.priority[0, 3].tolist() == [100.0, 150.0]
    assert (behind.in_hand[0], behind.not_before[0, 3, 0]) == (4, 100.0)
    assert (with_one_more(rule, 100.0).priority[0, 3] > priority.max()).all()


def test_what_luck_alone_may_bring_is_not_told(short, monkeypatch):
    day, plan = short
    shop = shop_of(day, blocks_of(day.tasks), 2)
    rule = rules.follow(shop_of(day, shop.blocks, 1), plan.starts[None], 0.0)
    drawn = draw_days(shop, day.light, days=60, seed=1)
    assert further.find(shop, [rule], drawn, asked=True) is not None
    monkeypatch.setattr(further, "SURE", 1e3)
    assert further.find(shop, [rule], drawn, asked=True) is None


def test_none_is_named_where_all_that_are_asked_for_are_planned(build_module_day):
    assert plan_day(build_module_day(plates=1), simulated_days=20, effort=0.1).further is None
