"""Which of many plans is taken."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from argentry.plan import choose, rules
from argentry.plan.choose import LIKE_GOOD, few_of, held_back, in_order, joined
from argentry.plan.problem import shop_of
from argentry.plan.shop import DayRun
from argentry.plan.tasks import blocks_of


def plan_of(plain, shop, rule):
    return rules.median_days(shop, rule).one(0)


def fading(shop, block, per_minute):
    blocks = list(shop.blocks)
    task = replace(blocks[block].tasks[0], fading=per_minute, usual_share=0.9)
    blocks[block] = replace(blocks[block], tasks=(task, *blocks[block].tasks[1:]))
    return replace(shop, blocks=tuple(blocks))


def test_the_plan_whose_plates_wait_less_is_taken_though_it_ends_no_sooner(plain):
    shop = fading(plain.shop(plates=2, workers=2, frames=(2,)), plain.EXPOSE, 0.01)
    soon = plan_of(plain, shop, plain.rule(2))
    apart = plan_of(plain, shop, plain.rule(2, not_before=[0.0, 60.0]))
    waits = [plan.wait_before(plain.EXPOSE).sum() for plan in (soon, apart)]
    assert waits[1] < waits[0]
    got = choose.choose(shop, [soon, apart], plain.drawn(shop, days=10))
    assert got.plan is apart


def test_of_plans_as_good_as_each_other_the_earlier_is_taken(plain):
    shop = plain.shop(plates=1)
    late = plan_of(plain, shop, plain.rule(1, not_before=100.0))
    soon = plan_of(plain, shop, plain.rule(1))
    got = choose.choose(shop, [late, soon], plain.drawn(shop, days=10))
    assert got.plan is soon
    assert got.good == pytest.approx(1.0, abs=LIKE_GOOD)


def test_a_plan_that_often_fails_is_left_for_a_later_one(plain):
    """Exposures really last 100 min, and a coat keeps 80: posed at once or lost."""
    shop = plain.shop(plates=2, workers=2, expose=60.0, expose_within=80.0)
    soon = plan_of(plain, shop, plain.rule(2))
    apart = plan_of(plain, shop, plain.rule(2, not_before=[0.0, 150.0]))
    drawn = plain.drawn(shop, days=4, exposures=plain.after(100.0))
    got = choose.choose(shop, [soon, apart], drawn)
    assert got.plan is apart
    assert got.good == pytest.approx(2.0)


def test_plates_are_numbered_by_their_beginnings():
    starts = np.array([[30.0, 40.0], [10.0, 20.0]])
    plan = DayRun(starts, starts + 5.0, np.array([0, 1]))
    got = in_order(plan, [np.arange(2)])
    assert got.starts[:, 0].tolist() == [10.0, 30.0]
    assert got.ends[:, 0].tolist() == [15.0, 35.0]
    assert got.frame_kind.tolist() == [1, 0]
    # not where each is a plate of its own
    apart = in_order(plan, [np.array([0]), np.array([1])])
    assert apart.starts.tolist() == starts.tolist()


def test_of_many_plans_the_earliest_and_the_freshest_are_judged():
    def plan(end, wait):
        ends = np.array([[10.0, end]])
        return DayRun(np.array([[0.0, 10.0 + wait]]), ends, np.zeros(1, dtype=int))

    plans = [plan(100.0 + i, 60.0 - i) for i in range(40)]
    got = few_of(plans, [1])
    assert len(got) == choose.KEPT
    ends = sorted(one.length for one in got)
    assert ends == [100.0 + i for i in (*range(8), *range(32, 40))]
    assert few_of(plans[:3], [1]) == plans[:3]
    both = few_of([plan(100.0 + i, 20.0 + i) for i in range(40)], [1])
    assert sorted(one.length for one in both) == [100.0 + i for i in range(16)], "each once"


def test_one_block_is_held_back_in_each_copy(plain):
    rule = plain.rule(2, not_before=50.0)
    got = held_back(rule, [(0, 3), (1, 0)], np.array([70.0, 20.0]))
    assert len(got) == 2
    assert got.not_before[0, 0, 3] == 70.0
    assert got.not_before[1, 1, 0] == 50.0  # never sooner than the rule lets it
    assert rule.not_before[0, 0, 3] == -np.inf
    assert len(joined([rule, got])) == 3


def test_a_plan_begun_earlier_has_its_own_times(plain):
    """Idle hands could begin the second plate with the first: then that is what is printed."""
    shop = plain.shop(plates=2, workers=2, frames=(2,))
    apart = plan_of(plain, shop, plain.rule(2, not_before=[0.0, 150.0]))
    a_little, an_hour, sooner = choose.begun_earlier(shop, [apart])
    assert (a_little.starts[1, 0], an_hour.starts[1, 0]) == (130.0, 90.0)
    assert apart.starts[1, 0] == 150.0
    assert sooner.starts[1, 0] < 20.0
    assert sooner.length < apart.length


def test_a_plan_has_the_times_that_hands_keep(plain):
    """A solver's plan lets hands stand idle beside work that waits: they would begin it sooner."""
    shop = plain.shop(plates=1)
    soon = plan_of(plain, shop, plain.rule(1))
    idle = replace(soon, starts=soon.starts.copy(), ends=soon.ends.copy())
    idle.starts[:, -2:] += 50.0
    idle.ends[:, -2:] += 50.0
    (got,) = choose.as_hands_keep(shop, [idle, soon])
    assert got.starts.tolist() == soon.starts.tolist()
    assert got.ends.tolist() == soon.ends.tolist()


@pytest.mark.parametrize(("played", "kept", "asked"), [((60, 30, 0), 0, 3), ((60, 60, 0), 60, 2)])
def test_a_plan_is_played_again_until_hands_keep_to_it(plain, monkeypatch, played, kept, asked):
    """Three times at most: what hands begin sooner may let them begin more sooner."""
    shop = plain.shop(plates=1)
    runs = {
        minutes: rules.median_days(shop, plain.rule(1, not_before=float(minutes)))
        for minutes in (0, 30, 60, 100)
    }
    days = iter(played)
    monkeypatch.setattr(choose.rules, "median_days", lambda *_: runs[next(days)])
    (got,) = choose.as_hands_keep(shop, [runs[100].one(0)])
    assert got.starts.tolist() == runs[kept].one(0).starts.tolist()
    assert len(list(days)) == len(played) - asked


def test_a_plan_that_hands_would_end_later_keeps_its_own_times(plain, monkeypatch):
    shop = plain.shop(plates=1)
    soon = plan_of(plain, shop, plain.rule(1))
    late = rules.median_days(shop, plain.rule(1, not_before=100.0))
    monkeypatch.setattr(choose.rules, "median_days", lambda *_: late)
    (got,) = choose.as_hands_keep(shop, [soon])
    assert got is soon


@pytest.mark.parametrize("last", [240.0, 480.0])
def test_a_day_that_is_thought_full_is_answered_as_any_other(plain, last):
    """Its later beginnings are played with the others, and count only where those find no plan."""
    shop = plain.shop(plates=2, workers=1, last=last)
    plans, most = choose.plans_and_most(shop, 1, 5)
    full, full_most = choose.plans_and_most(shop, 1, 5, full=True)
    assert most == full_most
    assert [one.starts.tolist() for one in plans] == [one.starts.tolist() for one in full]
    single, by_rule = choose.one_by_one_and_most(shop, 1)
    np.testing.assert_array_equal(
        single.starts, plan_of(plain, shop, rules.one_by_one(shop)).starts
    )
    assert by_rule == choose.most_by_rule(shop, 1, 0)


def test_whether_a_day_holds_its_plates_is_known_before_all_is_played_out(build_day):
    """The short answer is that of the plans themselves, on days that are full to the minute too."""
    answers = []
    for workers, frames, plates in ((1, 3, 2), (1, 1, 3), (2, 2, 4), (2, 3, 5)):
        for last in (300.0, 360.0, 420.0, 480.0, 560.0):
            day = build_day(plates=plates, workers=workers, frames=frames, last=last)
            shop = shop_of(day, blocks_of(day.tasks), plates)
            answers.append(choose.holds(shop, 1))
            assert answers[-1] == bool(choose.plans_by_rule(shop, 1, draws=0))
    assert 4 < sum(answers) < 16


def test_each_plan_is_kept_once_and_in_its_order(plain, monkeypatch):
    shop = plain.shop(plates=1)
    first, second = (plan_of(plain, shop, plain.rule(1, not_before=at)) for at in (0.0, 50.0))
    unclean = SimpleNamespace(clean=np.zeros((3, 1, 1), bool), one=lambda _: first)
    monkeypatch.setattr(choose.rules, "median_days", lambda *_: unclean)
    got = choose.as_hands_keep(shop, [second, first, second])
    assert [plan.starts[0, 0] for plan in got] == [0.0, 50.0]
