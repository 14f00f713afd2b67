"""Simulated days: their draws, and what is counted of them."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan.choose import held_back
from argentry.plan.dispatch import play
from argentry.plan.problem import shop_of
from argentry.plan.rules import one_by_one
from argentry.plan.spread import (
    draw_days,
    draw_doses,
    draw_minutes,
    same_light,
    spread_of,
    wait_loss,
    worth,
)
from argentry.plan.tasks import Task, blocks_of


def test_drawn_minutes_have_the_median_and_the_spread_of_their_step(plain):
    task = Task("buff", "fixed", 16.0, 0.25, True)
    got = draw_minutes(replace(plain.shop(plates=2), blocks=blocks_of((task,))), 4000, 1)
    assert got.shape == (4000, 2, 1)
    logs = np.log(got)
    assert np.exp(np.median(logs)) == pytest.approx(16.0, rel=0.02)
    assert logs.std() == pytest.approx(0.25, rel=0.05)
    assert abs(np.corrcoef(got[:, 0, 0], got[:, 1, 0])[0, 1]) < 0.05


def test_a_block_is_the_sum_of_its_steps_and_light_is_not_drawn(plain):
    got = draw_minutes(plain.shop(plates=1), 3, 1)
    np.testing.assert_allclose(got, [[[10.0, 0.0, 2.0, 0.0, 8.0, 6.0, 5.0]]] * 3)


def test_a_plate_has_the_same_luck_in_every_frame(light):
    kind = light.frames[0]
    other = replace(kind, dose=2.0 * kind.dose, dose_log_sd=2.0 * kind.dose_log_sd)
    one, two = draw_doses(replace(light, frames=(kind, other)), 3, 500, 4)
    luck = np.log(one / kind.dose) / kind.dose_log_sd
    np.testing.assert_allclose(np.log(two / other.dose) / other.dose_log_sd, luck)
    assert luck.std() == pytest.approx(1.0, abs=0.05)
    assert luck.mean() == pytest.approx(0.0, abs=0.08)


def test_what_is_not_known_of_the_studio_is_the_same_for_the_plates_of_a_day(light):
    frame = replace(light.frames[0], dose_log_sd=0.2, dose_doubt_log_sd=0.7)
    doses = draw_doses(replace(light, frames=(frame,)), 2, 4000, 3)[0]
    logs = np.log(doses / frame.dose)
    assert logs.std() == pytest.approx(np.hypot(0.2, 0.7), rel=0.05)
    assert (logs[:, 0] - logs[:, 1]).std() == pytest.approx(0.2 * np.sqrt(2.0), rel=0.05)


def test_the_weathers_are_taken_in_turn(build_day):
    day = build_day(plates=2, weathers=3)
    shop = shop_of(day, blocks_of(day.tasks), 2)
    drawn = draw_days(shop, day.light, days=5, seed=9)
    assert drawn.weather.tolist() == [0, 1, 2, 0, 1]
    np.testing.assert_array_equal(drawn.minutes, draw_minutes(shop, 5, 9))
    doses = draw_doses(day.light, 2, 5, 10)[0]
    start = np.full(5, 60.0)
    for plate in range(2):
        at = drawn.ripe(0, np.arange(5), np.full(5, plate), start, np.zeros(5))
        for number, end in enumerate(at):
            sums = day.light.frames[0].days[number % 3]
            grown = np.interp(end, np.arange(len(sums)), sums) - sums[60]
            assert grown == pytest.approx(doses[number, plate], rel=1e-9)


@pytest.mark.parametrize("seen", [False, True])
def test_what_is_hoped_for_comes_about_once_in_ten_times(build_day, seen):
    """Of plates put out at minute 60 under the one sky, one in ten is ripe by then."""
    day = build_day(plates=1, weathers=1)
    light = replace(day.light, sky_seen=seen)
    shop = shop_of(day, blocks_of(day.tasks), 1)
    drawn = draw_days(shop, light, days=2000, seed=3)
    days = np.arange(2000)
    ends = drawn.ripe(0, days, 0 * days, np.full(2000, 60.0), np.zeros(2000))
    by_then = np.nan_to_num(ends, nan=np.inf) <= drawn.hoped_ripe[0, 0, 60]
    assert by_then.mean() == pytest.approx(0.1, abs=0.02)


def test_what_went_wrong_is_counted_by_day(plain):
    shop = plain.shop(plates=2)
    runs = play(shop, plain.rule(2), plain.drawn(shop, days=5))
    late, ripe = np.zeros((1, 5, 2)), np.zeros((1, 5, 2))
    late[0, [1, 4], 1] = 1.0
    ripe[0, 2, 0] = 1.0
    got = spread_of(replace(runs, late=late, lay_ripe=ripe), shop.blocks)
    assert (got.late_days, got.ripe_days) == (2 / 5, 1 / 5)
    assert got.finished.tolist() == [2, 1, 2, 2, 1]
    assert got.all_sound == pytest.approx(3 / 5)


def test_a_wait_takes_its_part_of_the_odds_and_a_lost_plate_keeps_nothing(plain):
    """A probit of 0.3 an hour off a stage of which nine in ten come through: normal tables."""
    shop = plain.shop(plates=1)
    block = shop.blocks[plain.EXPOSE]
    task = replace(block.tasks[0], fading=0.3 / 60.0, usual_share=0.9)
    fading = replace(block, tasks=(task,))
    # z(0.9) = 1.2816; one hour leaves 0.9816, of which the table gives 0.8368; two 0.6816: 0.7522
    lost = wait_loss(fading, np.array([0.0, 60.0, 120.0]))
    np.testing.assert_allclose(lost, [0.0, 1 - 0.8368 / 0.9, 1 - 0.7522 / 0.9], atol=2e-4)
    blocks = (*shop.blocks[: plain.EXPOSE], fading, *shop.blocks[plain.TO_FRAME :])
    held = held_back(plain.rule(1), [(0, plain.EXPOSE)], np.array([70.0]))
    runs = play(replace(shop, blocks=blocks), held, plain.drawn(shop))
    assert worth(runs, blocks)[0, 0, 0] == pytest.approx(0.8368 / 0.9, abs=2e-4)
    never = replace(runs, late=np.ones_like(runs.late))
    assert worth(never, blocks).sum() == 0.0


def test_a_sure_day_is_every_day(build_day):
    day = build_day(plates=1, log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    shop = shop_of(day, blocks_of(day.tasks), 1)
    drawn = draw_days(shop, day.light, days=4, seed=1)
    got = spread_of(play(shop, one_by_one(shop), drawn), shop.blocks)
    assert (got.starts == got.starts[0]).all()
    assert got.sound.all()
    assert (got.late_days, got.ripe_days) == (0.0, 0.0)


def test_days_of_one_plate_more_are_drawn_without_their_light(build_day):
    """What the light of the days decides does not hang on how many plates there are."""
    day = build_day(plates=2)
    two, three = (shop_of(day, blocks_of(day.tasks), plates) for plates in (2, 3))
    drawn = draw_days(two, day.light, days=9, seed=4)
    got = same_light(drawn, three, day.light, days=9, seed=4)
    asked = draw_days(three, day.light, days=9, seed=4)
    assert got.minutes.shape == (9, 3, len(three.blocks))
    for name in ("minutes", "weather", "exposure_ends", "doses", "expected_ripe", "hoped_ripe"):
        np.testing.assert_array_equal(getattr(got, name), getattr(asked, name))
    np.testing.assert_array_equal(got.sums[0].total, asked.sums[0].total)
    more = same_light(drawn, two, day.light, days=20, seed=5)
    assert more.days == len(more.minutes) == len(more.doses[0]) == 20
    np.testing.assert_array_equal(more.weather, [*range(9), *range(9), 0, 1])
    assert (more.minutes[:9] != drawn.minutes).any()
    assert more.exposure_ends is drawn.exposure_ends


@pytest.mark.parametrize("days", [40, 35])
def test_luck_that_turns_round_is_as_wide_and_has_no_mean(build_day, days):
    """Under the same sky one plate is slow where the other was quick: antithetic variates."""
    day = build_day(plates=2)
    shop = shop_of(day, blocks_of(day.tasks), 2)
    median = np.array([sum(task.minutes for task in block.tasks) for block in shop.blocks])
    (dose,) = draw_doses(day.light, 2, days, 3, turned=10)[:1]
    assert dose.shape == (days, 2)
    logs = np.log(dose / day.light.frames[0].dose)
    np.testing.assert_allclose(logs[10:20], -logs[:10])
    np.testing.assert_allclose(logs[30:], -logs[20 : days - 10])
    assert not np.isclose(logs[20:30], logs[:10]).any()
    one = [i for i, block in enumerate(shop.blocks) if len(block.tasks) == 1 and median[i] > 0.0]
    steps = np.log(draw_minutes(shop, days, 1, turned=10)[:, :, one])
    both = np.broadcast_to(2.0 * np.log(median[one]), (10, 2, len(one)))
    np.testing.assert_allclose(steps[10:20] + steps[:10], both)
    wide = np.log(draw_doses(day.light, 2, 4000, 3, turned=1000)[0]).std()
    assert wide == pytest.approx(np.log(draw_doses(day.light, 2, 4000, 4)[0]).std(), rel=0.05)
