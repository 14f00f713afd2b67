import numpy as np
import pytest

from argentry.plan.day import _problem, plan_day


def test_a_plan_keeps_every_limit_and_proves_itself(build_day, check_plan):
    day = build_day(plates=3)
    planned = plan_day(day, effort=10.0, simulated_days=30)
    assert planned.placed == 3
    check_plan(planned.blocks, planned.starts, planned.ends, planned.frame_kind, day)
    assert planned.proved
    assert planned.finish == planned.ends.max()
    assert planned.bound <= planned.finish


def test_overlapping_plates_gains_over_one_after_the_other(build_day):
    planned = plan_day(build_day(plates=2), simulated_days=10)
    assert planned.most > planned.one_by_one
    assert planned.finish < planned.one_by_one_minutes


def test_more_plates_than_the_day_holds_are_not_placed(build_day):
    planned = plan_day(build_day(plates=12), effort=10.0, simulated_days=10)
    assert 0 < planned.placed == planned.most < 12
    assert planned.most_proved


def test_the_most_does_not_depend_on_what_was_asked(build_day):
    few = plan_day(build_day(plates=1), effort=10.0, simulated_days=5)
    many = plan_day(build_day(plates=9), effort=10.0, simulated_days=5)
    assert few.most == many.most


def test_a_dark_day_holds_nothing(build_day):
    planned = plan_day(build_day(plates=2, sun=0.0), simulated_days=10)
    assert planned.placed == planned.most == 0
    assert planned.most_proved
    assert planned.days is None


def test_more_hands_hold_more_plates(build_day):
    one = plan_day(build_day(plates=6, workers=1, frames=6), simulated_days=5)
    two = plan_day(build_day(plates=6, workers=2, frames=6), simulated_days=5)
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


def test_a_plate_more_than_the_rules_found_is_placed_when_the_solver_finds_it(
    build_day, check_plan, monkeypatch
):
    from argentry.plan import rules

    day = build_day(plates=3)
    usual = plan_day(day, effort=10.0, simulated_days=5)
    plain = rules.best_rule

    def one_plate_only(shop, draws, seed):
        rule, run = plain(shop, draws, seed)
        run.ends[1:, -1] = np.nan  # as if no rule finished more than the first
        return rule, run

    monkeypatch.setattr(rules, "best_rule", one_plate_only)
    found = plan_day(day, effort=10.0, simulated_days=5)
    assert (found.placed, found.most) == (usual.placed, usual.most)
    assert found.proved
    assert found.finish == usual.finish
    check_plan(found.blocks, found.starts, found.ends, found.frame_kind, day)


def test_a_plan_gives_a_break_every_minute_it_touches(plain):
    shop = plain.shop(first=10.2, last=500.9, breaks=((100.6, 130.4),))
    problem = _problem(shop)
    assert problem.breaks == ((100, 131),)
    assert (problem.first_minute, problem.last_minute) == (11, 500)
