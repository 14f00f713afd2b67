import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from argentry.plan import dispatch, rules, spread
from argentry.plan.day import _shop
from argentry.plan.shop import Rule
from argentry.plan.tasks import blocks_of


def test_a_plan_by_rule_keeps_every_limit(build_day, check_plan):
    day = build_day(plates=3)
    blocks = blocks_of(day.tasks)
    _, run = rules.best_rule(_shop(day, blocks, 3), 30, 1)
    assert run.clean.all()
    check_plan(blocks, run.starts, run.ends, run.frame_kind, day)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    seed=st.integers(0, 10_000),
    workers=st.integers(1, 3),
    frames=st.integers(1, 3),
    plates=st.integers(1, 5),
)
def test_no_simulated_day_uses_more_than_there_is(
    build_day, check_plan, seed, workers, frames, plates
):
    day = build_day(plates=plates, workers=workers, frames=frames)
    blocks = blocks_of(day.tasks)
    shop = _shop(day, blocks, plates)
    minutes = spread.draw_minutes(blocks, plates, 1, seed)[0]
    rule = Rule(np.random.default_rng(seed).random((plates, len(blocks))), plates, np.zeros(plates))
    run = dispatch.run_day(
        shop, rule, minutes, shop.expected_exposure_ends, [shop.expected_ripe] * plates
    )
    done = run.finished
    if done.any():
        check_plan(
            blocks,
            np.round(run.starts[done], 6),
            np.round(run.ends[done], 6),
            run.frame_kind[done],
            day,
            strict=False,
            tolerance=1e-3,
        )


def test_one_plate_at_a_time_takes_longer_than_overlapping(build_day):
    day = build_day(plates=2)
    shop = _shop(day, blocks_of(day.tasks), 2)
    priority = np.zeros((2, len(shop.blocks)))
    alone = rules.median_day(shop, Rule(priority, 1, np.zeros(2)))
    _, together = rules.best_rule(shop, 30, 1)
    assert together.length < alone.length - 60


def test_a_plate_that_cannot_be_ripe_in_time_is_not_begun(build_day):
    day = build_day(plates=4, last=240.0)
    shop = _shop(day, blocks_of(day.tasks), 4)
    _, run = rules.best_rule(shop, 20, 1)
    begun = np.isfinite(run.starts[:, 0])
    assert (begun == run.finished).all()


def test_urgent_work_goes_before_a_break_on_the_day_but_not_in_the_plan(build_day):
    # a break that lies over the moment at which the only plate is ripe
    free = build_day(plates=1, breaks=())
    blocks = blocks_of(free.tasks)
    _, run = rules.best_rule(_shop(free, blocks, 1), 10, 1)
    ripe = run.ends[0, 3]
    day = build_day(plates=1, breaks=((ripe - 10.0, ripe + 40.0),))
    shop = _shop(day, blocks, 1)
    rule = Rule(np.zeros((1, len(blocks))), 1, np.zeros(1))
    on_the_day = dispatch.run_day(
        shop,
        rule,
        np.tile([float(b.whole_minutes) for b in blocks], (1, 1)),
        shop.expected_exposure_ends,
        [shop.expected_ripe],
    )
    planned = rules.median_day(shop, rule)
    assert on_the_day.lay_ripe[0] <= 0.0
    assert planned.starts[0, 4] == pytest.approx(np.floor(ripe + 40.0), abs=1.0)
    assert planned.lay_ripe[0] > 0.0


def test_the_same_seed_gives_the_same_days(build_day):
    day = build_day(plates=2)
    shop = _shop(day, blocks_of(day.tasks), 2)
    rule, _ = rules.best_rule(shop, 10, 1)
    first = spread.simulate(shop, rule, day.light, days=20, seed=5)
    again = spread.simulate(shop, rule, day.light, days=20, seed=5)
    np.testing.assert_array_equal(first.starts, again.starts)
    other = spread.simulate(shop, rule, day.light, days=20, seed=6)
    assert not np.array_equal(first.ends, other.ends)
