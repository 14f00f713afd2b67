from dataclasses import replace

import numpy as np
import pytest

from argentry.plan import choose, rules, spread
from argentry.plan import day as planner
from argentry.plan.check import faults
from argentry.plan.day import plan_day
from argentry.plan.dispatch import play
from argentry.plan.problem import problem_of, shop_of


def test_a_plan_keeps_every_limit_and_proves_itself(build_day, check_plan):
    day = build_day(plates=3)
    planned = plan_day(day, effort=10.0, simulated_days=30)
    assert planned.placed == 3
    check_plan(planned.blocks, planned.starts, planned.ends, planned.frame_kind, day)
    assert planned.finish == planned.ends.max()
    assert planned.bound == planned.earliest <= planned.finish
    assert planned.proved
    assert not faults(day, planned.blocks, planned.starts, planned.ends, planned.frame_kind)


def test_overlapping_plates_gains_over_one_after_the_other(build_day):
    planned = plan_day(build_day(plates=2), simulated_days=10)
    assert planned.most > planned.one_by_one
    assert planned.finish < planned.one_by_one_minutes


@pytest.fixture(scope="module")
def crowded(build_module_day):
    """A day of which more plates are asked than it holds."""
    return plan_day(build_module_day(plates=12), effort=10.0, simulated_days=10)


def test_more_plates_than_the_day_holds_are_not_placed(crowded):
    assert 0 < crowded.placed == crowded.most < 12
    assert crowded.most_proved


def test_the_most_is_looked_for_and_proved_only_when_more_is_asked_for(build_day, crowded):
    few = plan_day(build_day(plates=1), effort=10.0, simulated_days=5)
    assert 1 < few.most <= crowded.most
    assert (few.most_proved, crowded.most_proved) == (False, True)


def test_as_many_plates_as_are_finished_on_four_days_in_five(build_day):
    """Neither so many that they are not, nor so few that another would do."""
    day = build_day(plates=None, spread=0.6, dose_log_sd=0.6)
    asked = plan_day(day, simulated_days=200)
    assert 0 < asked.placed < asked.most
    assert asked.days.all_sound > 0.74  # four in five by other days: their luck is a few points
    more = plan_day(replace(day, plates=asked.placed + 1), simulated_days=200)
    assert more.days.all_sound < 0.86


def test_plates_do_not_lie_to_the_last_minute_of_a_limit(build_day):
    """What ends the day first lets coats and latent images wait; what is chosen does not."""
    planned = plan_day(build_day(plates=3), simulated_days=100)
    for index, block in enumerate(planned.blocks):
        if block.within is not None and block.within > 30.0:
            wait = planned.starts[:, index] - planned.ends[:, index - 1]
            assert (wait <= 0.6 * block.within).all()
    assert planned.days.all_sound >= 0.9


def test_a_dark_day_holds_nothing(build_day):
    planned = plan_day(build_day(plates=2, sun=0.0), simulated_days=10)
    assert planned.placed == planned.most == 0
    assert planned.most_proved
    assert planned.days is None


def test_more_hands_hold_more_plates(build_day):
    one = plan_day(build_day(plates=6, workers=1, frames=6), effort=0.3, simulated_days=5)
    two = plan_day(build_day(plates=6, workers=2, frames=6), effort=0.3, simulated_days=5)
    assert two.most > one.most


def test_worse_weather_finishes_fewer_plates(build_day):
    bright = plan_day(build_day(plates=3, spread=0.02), simulated_days=60)
    unsure = plan_day(build_day(plates=3, spread=0.6), simulated_days=60)
    assert unsure.days.sound.mean() < bright.days.sound.mean()


@pytest.mark.parametrize("plates", [1, 3])
def test_planned_starts_lie_near_the_simulated_ones(build_day, plates):
    planned = plan_day(build_day(plates=plates), simulated_days=80)
    first = planned.days.starts[:, :, 0]
    middle = np.nanmedian(first, axis=0)
    assert np.abs(middle - planned.starts[:, 0]).max() < 45


def test_a_plate_that_rules_do_not_place_is_placed_by_the_solver_where_it_is_the_only_one(
    build_day, check_plan, monkeypatch
):
    day = build_day(plates=2)
    plain, one_by_one = choose.plans_and_most, choose.one_by_one_and_most

    def rules_place(number):
        def plans(shop, seed, draws=60, *, full=False):
            return plain(shop, seed, draws) if shop.plates <= number else ([], number)

        def in_turn(shop, seed):
            run, _ = one_by_one(shop, seed)
            late = np.arange(shop.plates)[:, None] >= number
            return replace(run, ends=np.where(late, np.nan, run.ends)), number

        monkeypatch.setattr(choose, "plans_and_most", plans)
        monkeypatch.setattr(choose, "one_by_one_and_most", in_turn)

    rules_place(1)
    tight = plan_day(day, effort=10.0, simulated_days=5)
    # two fit, as the solver finds, but with no room to move
    assert (tight.placed, tight.most, tight.most_proved) == (1, 1, False)
    rules_place(0)
    found = plan_day(day, effort=10.0, simulated_days=5)
    assert found.placed == 1
    assert found.earliest <= tight.earliest
    check_plan(found.blocks, found.starts, found.ends, found.frame_kind, day)


def test_a_plan_with_a_fault_is_never_shown(build_day, monkeypatch):
    monkeypatch.setattr(planner, "faults", lambda *_: ("Plate 1: nonsense.",))
    planned = plan_day(build_day(plates=2), simulated_days=5)
    assert planned.placed == 0


def test_a_plan_gives_a_break_every_minute_it_touches(plain):
    shop = plain.shop(first=10.2, last=500.9, breaks=((100.6, 130.4),))
    problem = problem_of(shop)
    assert problem.breaks == ((100, 131),)
    assert (problem.first_minute, problem.last_minute) == (11, 500)


def test_a_first_plan_keeps_every_limit_and_proves_nothing(build_day, check_plan):
    day = build_day(plates=2)
    first = plan_day(day, simulated_days=5, by_rule=True)
    whole = plan_day(day, simulated_days=5, effort=0.05)
    assert first.placed == whole.placed == 2
    assert first.earliest >= whole.earliest
    assert not first.most_proved
    assert (first.latest == first.starts).all()
    check_plan(first.blocks, first.starts, first.ends, first.frame_kind, day)


def test_a_first_plan_has_as_many_plates_as_are_finished_on_four_days_in_five(build_day):
    def first(plates):
        day = build_day(plates=plates, spread=0.6, dose_log_sd=0.6)
        return plan_day(day, simulated_days=60, by_rule=True)

    found = first(None)
    more, doubt = first(found.placed + 1), 2.0 * np.sqrt(0.8 * 0.2 / 60)  # it is told by others
    assert found.days.all_sound >= 0.8 - doubt
    assert more.days.all_sound < min(0.8 + doubt, found.days.all_sound)


@pytest.mark.parametrize("by_rule", [True, False])
def test_odds_are_told_by_days_that_had_no_part_in_the_choice(build_day, by_rule):
    """The best of many looks better on the days that chose it: selection bias, common knowledge."""
    day = build_day(plates=2)
    plan = plan_day(day, simulated_days=30, effort=0.05, by_rule=by_rule)
    shop = shop_of(day, plan.blocks, 2)
    chose = spread.draw_days(shop, day.light, days=30, seed=1)
    asked = play(shop, rules.follow(shop, plan.starts[None], 0.0), chose)
    assert plan.days.starts.shape[0] == 120
    first = 0  # a plate's first step begins as planned, all that follows by its luck
    assert np.isclose(plan.days.starts[:30, 0, first], asked.starts[0, :, 0, first]).all()
    assert not np.isclose(plan.days.ends[:30, 0, first], asked.ends[0, :, 0, first]).any()


def test_a_first_plan_places_what_fits_of_more_plates(build_day):
    assert 0 < plan_day(build_day(plates=12), simulated_days=5, by_rule=True).placed < 12
    assert plan_day(build_day(plates=2, sun=0.0), simulated_days=5, by_rule=True).placed == 0


def test_a_first_plan_with_a_fault_gives_way_to_the_next(build_day, monkeypatch):
    told = []

    def first_has_one(_day, _blocks, starts, *_):
        told.append(starts)
        return ("Plate 1: nonsense.",) if len(told) == 1 else ()

    monkeypatch.setattr(planner, "faults", first_has_one)
    shown = plan_day(build_day(plates=2), simulated_days=5, by_rule=True)
    assert len(told) == 2
    assert shown.placed == 2
    assert not np.array_equal(shown.starts, told[0])


def test_where_no_plan_of_so_many_is_found_fewer_are_planned(build_day, monkeypatch):
    """Rules may finish two of more that are begun, and yet no plan of just two be found."""
    by_rule, solved = choose.plans_and_most, planner.search.solved

    def found(shop, *rest, **more):
        plans, most = by_rule(shop, *rest, **more)
        return [] if shop.plates == 2 else plans, most

    def searched(shop, *rest):
        return ([], 0.0) if shop.plates == 2 else solved(shop, *rest)

    monkeypatch.setattr(choose, "plans_and_most", found)
    monkeypatch.setattr(planner.search, "solved", searched)
    plan = planner.plan_day(build_day(plates=2), effort=0.2, simulated_days=10)
    assert plan.placed == 1


@pytest.mark.parametrize(("plates", "searched"), [(4, True), (5, False), (9, False), (10, True)])
def test_five_to_nine_plates_that_rules_place_are_not_searched(
    build_day, monkeypatch, plates, searched
):
    asked = []

    def solved(shop, *_):
        asked.append(shop.plates)
        return [], 0.0

    monkeypatch.setattr(planner.search, "solved", solved)
    plan = planner.plan_day(build_day(plates=plates, workers=4, frames=6), simulated_days=5)
    assert plan.placed == plates
    assert asked == [plates] * searched
