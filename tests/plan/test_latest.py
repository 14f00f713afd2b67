"""How late each step may start: a promise, kept on simulated days."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from argentry.plan import latest, rules
from argentry.plan.choose import held_back
from argentry.plan.day import plan_day
from argentry.plan.dispatch import play
from argentry.plan.problem import shop_of
from argentry.plan.spread import draw_days
from argentry.plan.tasks import blocks_of


def of_plain_day(plain, shop, days=20):
    drawn = plain.drawn(shop, days=days)
    plan = rules.median_days(shop, plain.rule(shop.plates)).one(0)
    rule = rules.follow(shop, plan.starts[None], 0.0)
    usual = play(shop, rule, drawn)
    return latest.latest_starts(shop, rule, plan.starts, drawn, usual)


def test_one_plate_from_the_days_end_backwards(plain):
    """Every exposure 60 min, every development 30, seal 5, gild 6, fix 8, to the frame 2."""
    shop = plain.shop(plates=1, workers=1)
    got, limited = of_plain_day(plain, shop)
    want = np.array([479.0, 489.0, 549.0, -np.inf, 581.0, 589.0, 595.0])
    # whoever waits on purpose begins a minute before a limit is over: 180, 110 and 15 min
    bound = np.isin(np.arange(7), [plain.EXPOSE, plain.TO_FRAME, plain.FIX])
    assert got[0, plain.DEVELOP] == -np.inf
    np.testing.assert_array_equal(got[0, bound], [10 + 179.0, 70 + 109.0, 102 + 14.0])
    np.testing.assert_array_equal(limited[0], bound)
    free = ~bound & (np.arange(7) != plain.DEVELOP)
    # found by halving the span until it is short, so never later and a little early
    assert (got[0, free] <= want[free]).all()
    assert (got[0, free] >= want[free] - latest.CLOSE_MINUTES - 2.0).all()


def test_hands_on_work_that_would_run_into_a_break_is_begun_before_it(plain):
    shop = plain.shop(plates=1, workers=1, last=300.0, breaks=((280.0, 300.0),))
    got, _ = of_plain_day(plain, shop)
    # five minutes of work may run into it by ten, but are begun before it
    assert 280.0 - 6.0 <= got[0, plain.SEAL] < 280.0


def test_what_is_looked_at_ahead_is_answered_as_if_it_had_been_asked_alone(plain, monkeypatch):
    shop = plain.shop(plates=2, workers=1)
    ahead = of_plain_day(plain, shop)
    monkeypatch.setattr(latest, "_asked_now_and_next", lambda wide, search: [(wide, search[1])])
    for found, alone in zip(ahead, of_plain_day(plain, shop), strict=True):
        np.testing.assert_array_equal(found, alone)


@pytest.fixture(scope="module")
def planned(build_module_day):
    day = build_module_day(plates=2)
    return day, plan_day(day, simulated_days=200)


def test_begun_at_its_latest_start_a_step_costs_a_tenth_of_the_odds_at_most(planned):
    day, plan = planned
    shop = shop_of(day, blocks_of(day.tasks), 2)
    rule = rules.follow(shop, plan.starts[None], 20.0)
    drawn = draw_days(shop, day.light, days=300, seed=99)
    usual = play(shop, rule, drawn).sound.all(axis=2).mean()
    where = [tuple(at) for at in np.argwhere(np.isfinite(plan.latest))]
    held = held_back(rule, where, np.array([plan.latest[at] for at in where]))
    share = play(shop, held, drawn).sound.all(axis=2).mean(axis=1)
    # other days than those it was found by: three points for the luck of them
    assert (share >= usual - latest.FALL - 0.03).mean() >= 0.9
    assert (share >= usual - 0.2).all()


def test_latest_starts_of_a_plate_follow_each_other(plain):
    """Held back alone the camera may begin at 100, preparing at 150: then at 90, ten min before."""
    runs = play(plain.shop(), plain.rule(2), plain.drawn(plain.shop()))
    one = np.array([[150.0, 100.0, 300.0, -np.inf, 280.0, 400.0, 410.0]])
    by_clock = np.array([[True, True, False, False, True, True, True]])
    starts = np.array([[0.0, 10.0, 70.0, 72.0, 102.0, 110.0, 116.0]])
    limited = np.array([[False, False, True, False, False, False, False]])
    got, moves = latest._one_after_the_other(one, (by_clock, limited), starts, runs)
    # its limit would let it begin at 300: from 248 on the fix at 280 is missed
    np.testing.assert_array_equal(got, [[90.0, 100.0, 248.0, -np.inf, 280.0, 400.0, 410.0]])
    assert not moves.any(), "so it is told by the clock"
    early = np.where(np.arange(7) == 2, 170.0, one)
    got, moves = latest._one_after_the_other(early, (by_clock, limited), starts, runs)
    assert (got[0, 2], moves.sum(), bool(moves[0, 2])) == (170.0, 1, True), "here it comes first"
    both = np.where(np.arange(7) == 2, 248.0, one)
    assert latest._one_after_the_other(both, (by_clock, limited), starts, runs)[1][0, 2], "so too"
    tight, _ = latest._one_after_the_other(one - 100.0, (by_clock, limited), starts, runs)
    assert (tight[0, 0], tight[0, 1]) == (0.0, 0.0), "never before the plan"


def test_latest_starts_are_not_merely_early(planned):
    day, plan = planned
    shop = shop_of(day, blocks_of(day.tasks), 2)
    rule = rules.follow(shop, plan.starts[None], 20.0)
    drawn = draw_days(shop, day.light, days=200, seed=98)
    usual = play(shop, rule, drawn).sound.all(axis=2).mean()
    free = [
        (int(p), int(b))
        for p, b in np.argwhere(np.isfinite(plan.latest))
        if plan.blocks[b].within is None  # a step that an event binds is not held back longer
    ]
    held = held_back(rule, free, np.array([plan.latest[at] + 30.0 for at in free]))
    share = play(shop, held, drawn).sound.all(axis=2).mean(axis=1)
    assert (share < usual - latest.FALL).mean() >= 0.5


def test_doubt_makes_the_latest_start_earlier(build_day):
    sure = plan_day(build_day(plates=1, log_sd=0.0, dose_log_sd=0.0, spread=0.0), simulated_days=60)
    unsure = plan_day(build_day(plates=1, log_sd=0.3, dose_log_sd=0.4), simulated_days=60)
    assert unsure.latest[0, 0] < sure.latest[0, 0] - 10


def test_on_a_day_that_hardly_ever_finishes_the_latest_starts_bind_all_the_same(plain):
    """A tenth of a chance of a twentieth would be no limit: half of that chance is one.

    Two days of forty end in time, as an exposure of 60 min and a development of 30 do in the test
    above; on the others the light is never enough for it.
    """
    shop = plain.shop(plates=1, workers=1)
    plan = rules.median_days(shop, plain.rule(1)).one(0)
    rule = rules.follow(shop, plan.starts[None], 0.0)
    drawn = plain.drawn(shop, days=40)
    ends = np.repeat(drawn.exposure_ends, 40, axis=0)
    ends[2:] = np.nan
    few = replace(drawn, weather=np.arange(40), exposure_ends=ends)
    usual = play(shop, rule, few)
    assert usual.sound.all(axis=2).mean() == pytest.approx(0.05)
    got, _ = latest.latest_starts(shop, rule, plan.starts, few, usual)
    sure = of_plain_day(plain, shop)[0]
    bound = np.isin(np.arange(7), [plain.EXPOSE, plain.TO_FRAME, plain.DEVELOP, plain.FIX])
    np.testing.assert_array_equal(got[0, bound], sure[0, bound])
    # an end of the day is looked for from what is short on most days: each within its doubt
    np.testing.assert_allclose(got[0, ~bound], sure[0, ~bound], atol=latest.CLOSE_MINUTES)
    ends[:] = np.nan
    usual = play(shop, rule, few)
    assert not usual.sound.any()
    assert not np.isfinite(latest.latest_starts(shop, rule, plan.starts, few, usual)[0]).any()


class Shares:
    """Days on which all is finished, first among eighty, then among all."""

    def __init__(self, usual, first, whole):
        self.usual = np.zeros(320, dtype=bool)
        self.usual[: usual[0]] = self.usual[80 : 80 + usual[1] - usual[0]] = True
        self.first, self.whole, self.asked = first, whole, []

    def look_at(self, asked, days):
        ((blocks, until),) = asked
        self.asked.append((blocks.tolist(), until.tolist(), days))

    def finished(self, blocks, until, days):
        self.asked.append((blocks.tolist(), until.tolist(), days))
        good = np.array(self.first if days == 80 else self.whole)[blocks]
        return np.arange(days) < good[:, None]


def test_a_few_days_settle_a_promise_that_is_far_from_its_edge():
    """A share of 0.8 is promised: two standard errors of eighty days are left to all of them."""
    until = np.array([10.0, 20.0, 30.0, 40.0])
    # 0.0125 off is a doubt, and so is 0.0875; 0.1125 below or 0.1 above is none
    shares = Shares((72, 288), [63, 57, 55, 72], [256, 256, 320, 0])
    assert latest._kept(shares, until, 320).tolist() == [True, True, False, True]
    assert shares.asked == [
        ([0, 1, 2, 3], [10.0, 20.0, 30.0, 40.0], 320),
        ([0, 1, 2, 3], [10.0, 20.0, 30.0, 40.0], 80),
        ([0, 1], [10.0, 20.0], 320),
    ]
    # a fall is known to a day of the eighty: with five good of them, half of it is kept for sure
    rare = Shares((5, 20), [5, 4], [0, 20])
    assert latest._kept(rare, until[:2], 320).tolist() == [True, True]
    assert rare.asked[-1] == ([1], [20.0], 320)
    rarer = Shares((3, 12), [3], [0])
    assert latest._kept(rarer, until[:1], 320).tolist() == [False]
    few = Shares((36, 36), [0], [32])
    assert latest._kept(few, until[:1], 40).tolist() == [True]
    assert [days for *_, days in few.asked] == [40, 40, 40]


def test_what_a_promise_leaves_of_the_chance():
    def least(good, days=20):
        return latest._least(np.arange(days) < good)

    assert least(20) == pytest.approx(0.9)
    assert least(5) == pytest.approx(0.15)
    assert least(4) == pytest.approx(0.1)
    assert least(2) == pytest.approx(0.05)
    assert least(0) == np.inf


def test_many_starts_are_judged_by_fewer_days_each():
    assert [latest._days(copies, 24, 60) for copies in (1, 100, 110, 250, 300)] == [
        60, 60, 54, 24, 24,
    ]  # fmt: skip


def test_a_start_is_too_late_where_what_follows_is_short_on_nearly_every_day():
    """Of twenty days one is shorter; a step that did not end is the longest."""
    starts = np.broadcast_to(np.arange(20.0)[:, None, None], (1, 20, 1, 3))
    ends = starts + np.array([10.0, 20.0, 5.0])
    ends[0, 1, 0] = starts[0, 1, 0] + [1.0, 2.0, 0.5]
    ends[0, 8:, 0, 2] = np.nan
    shop, usual = SimpleNamespace(last_minute=600.0), SimpleNamespace(starts=starts, ends=ends)
    where = [(0, 0), (0, 2)]
    assert latest._upper(shop, usual, where, np.array([np.inf, np.inf])).tolist() == [565.0, 595.0]
    assert latest._upper(shop, usual, where, np.array([500.0, 596.0])).tolist() == [500.0, 595.0]


def test_by_a_limit_a_step_begins_a_minute_before_it_is_over_on_nearly_every_day():
    """The block before ends at 100, 101 ... 120, or never; the sitter goes at 130.9."""
    ends = np.full((1, 22, 2, 3), np.nan)
    ends[0, :21, 0, 0] = np.arange(100.0, 121.0)
    due = np.array([[np.inf, np.inf, np.inf], [np.inf, 130.9, 130.9]])
    usual = SimpleNamespace(ends=ends)

    def by_limit(within, sort=0, plate=0):
        blocks = [None, SimpleNamespace(within=within)]
        by_plate = [sort, sort]
        shop = SimpleNamespace(blocks=blocks, due=due, by_plate=by_plate)
        return latest._by_limit(shop, usual, (plate, 1))

    assert by_limit(None) == np.inf
    assert by_limit(None, sort=1) == 130.0
    assert by_limit(30.5) == 130.0  # 101 and the limit less a minute
    assert by_limit(60.0, sort=1) == 130.0
    assert by_limit(20.0, sort=1) == 120.0
    assert by_limit(20.0, plate=1) == -np.inf  # it is never begun
