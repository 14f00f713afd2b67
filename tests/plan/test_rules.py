"""Which rules the hands follow."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan import choose, rules


def test_plain_rules_are_tried_with_every_limit_and_apart_then_drawn_ones(plain):
    got = rules.plain_rules(plain.shop(plates=6, first=20.0), 5, 1)
    limits = [1, 2, 3, 4, 6]
    assert got.in_hand[:10].tolist() == limits * 2
    np.testing.assert_array_equal(got.priority[0], np.tile(np.arange(7.0), (6, 1)))
    np.testing.assert_array_equal(got.priority[5], -got.priority[0])
    assert len(got) == 10 * len(rules.APART_MINUTES) + 5
    assert set(got.in_hand[-5:]) <= set(limits)
    assert len({one.tobytes() for one in got.priority[-5:]}) == 5
    np.testing.assert_array_equal(got.not_before[10, :, 0], 20.0 + 30.0 * np.arange(6))
    assert (got.not_before[:, :, 1:] == -np.inf).all()


def test_limits_go_no_further_than_the_plates(plain):
    assert rules.plain_rules(plain.shop(plates=2), 0, 1).in_hand[:4].tolist() == [1, 2, 1, 2]
    assert len(rules.plain_rules(plain.shop(plates=1), 0, 1)) == 2


def test_the_same_seed_draws_the_same_rules(plain):
    one, same, other = (rules.plain_rules(plain.shop(), 3, s).priority[-3:] for s in (7, 7, 8))
    np.testing.assert_array_equal(one, same)
    assert not np.array_equal(one, other)


def test_a_plate_that_would_be_ripe_in_a_break_is_begun_later(plain):
    """Ripe at 102, to be taken out by 117, with nobody there from 95 to 142."""
    shop = plain.shop(plates=1, breaks=((95.0, 142.0),))
    assert not rules.median_days(shop, rules.plain_rules(shop, 5, 1)).clean.any()
    plans = choose.plans_by_rule(shop, 1)
    assert plans
    assert choose.most_by_rule(shop, 1, 0) == 1
    fix = plans[0].starts[0, plain.FIX]
    assert fix >= 142.0
    assert fix - plans[0].ends[0, plain.DEVELOP] <= 15.0


def test_to_follow_a_plan_is_to_take_its_order_and_to_begin_a_little_sooner(plain):
    starts = np.arange(14.0).reshape(1, 2, 7) + 30.0
    got = rules.follow(plain.shop(), starts, 12.0)
    np.testing.assert_array_equal(got.priority, starts)
    assert got.in_hand.tolist() == [2]
    np.testing.assert_array_equal(got.not_before[0, :, 0], [18.0, 25.0])
    assert (got.not_before[0, :, 1:] == -np.inf).all()


def test_the_median_day_keeps_breaks_and_whole_minutes(plain):
    shop = plain.shop(plates=1, expose=60.4, breaks=((75.0, 110.0),))
    run = plain.Ran(rules.median_days(shop, plain.rule(1)))
    assert run.ends[0, plain.EXPOSE] == 71.0
    assert run.starts[0, plain.FIX] == 110.0  # 103 would lie in the break
    assert np.array_equal(run.starts, np.rint(run.starts))


def test_never_stays_never_on_whole_minutes(plain):
    shop = plain.shop(plates=1)
    dark = replace(shop, expected_ripe=np.full_like(shop.expected_ripe, np.nan))
    assert not rules.median_days(dark, plain.rule(1)).finished.any()
    assert rules._whole(np.array([2.5, np.nan]))[0] == pytest.approx(3.0)
