"""Which rule the hands follow."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan import rules


def test_plain_rules_come_first_each_at_every_limit_then_the_drawn_ones(plain):
    got = list(rules.rules(plain.shop(plates=6), 5, 1))
    limits = [1, 2, 3, 4, 6]
    assert [one.in_hand for one in got[:10]] == limits * 2
    np.testing.assert_array_equal(got[0].priority, np.tile(np.arange(7.0), (6, 1)))
    np.testing.assert_array_equal(got[5].priority, -got[0].priority)
    assert len(got) == 15
    assert all(one.in_hand in limits for one in got[10:])
    assert all((one.not_before == 0.0).all() for one in got)
    assert len({one.priority.tobytes() for one in got[10:]}) == 5


def test_limits_go_no_further_than_the_plates(plain):
    assert [one.in_hand for one in rules.rules(plain.shop(plates=2), 0, 1)] == [1, 2, 1, 2]


def test_the_same_seed_draws_the_same_rules(plain):
    shop = plain.shop()
    one, same, other = ([r.priority for r in rules.rules(shop, 3, s)][-3:] for s in (7, 7, 8))
    np.testing.assert_array_equal(one, same)
    assert not np.array_equal(one, other)


def test_to_follow_a_plan_is_to_take_its_order_and_to_begin_a_little_sooner(plain):
    starts = np.arange(14.0).reshape(2, 7) + 30.0
    got = rules.follow(plain.shop(), starts, 12.0)
    np.testing.assert_array_equal(got.priority, starts)
    assert got.in_hand == 2
    np.testing.assert_array_equal(got.not_before, [18.0, 25.0])


def test_the_median_day_keeps_breaks_and_whole_minutes(plain):
    shop = plain.shop(plates=1, expose=60.4, breaks=((75.0, 110.0),))
    run = rules.median_day(shop, plain.rule(1))
    assert run.ends[0, plain.EXPOSE] == 71.0
    assert run.starts[0, plain.FIX] == 110.0  # 103 would lie in the break
    assert np.array_equal(run.starts, np.rint(run.starts))


def test_the_best_rule_finishes_most_plates_and_then_soonest(plain):
    shop = plain.shop(plates=3, workers=2, frames=(3,))
    rule, best = rules.best_rule(shop, 12, 1)
    every = [rules.median_day(shop, one) for one in rules.rules(shop, 12, 1)]
    assert best.clean.sum() == max(one.clean.sum() for one in every) == 3
    assert best.length == min(one.length for one in every if one.clean.sum() == 3)
    np.testing.assert_array_equal(rules.median_day(shop, rule).starts, best.starts)


def test_a_day_that_holds_one_plate_finishes_one(plain):
    _, best = rules.best_rule(plain.shop(plates=2, workers=1, last=130.0), 4, 1)
    assert best.clean.sum() == 1


def test_never_stays_never_on_whole_minutes(plain):
    shop = plain.shop(plates=1)
    dark = replace(shop, expected_ripe=np.full_like(shop.expected_ripe, np.nan))
    assert not rules.median_day(dark, plain.rule(1)).finished.any()
    assert rules._whole(np.array([2.5, np.nan]))[0] == pytest.approx(3.0)
