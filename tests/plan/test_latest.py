from dataclasses import replace

import numpy as np

from argentry.plan import latest, rules
from argentry.plan.day import _shop, plan_day
from argentry.plan.daylight import DayLight, Frames
from argentry.plan.shop import Rule
from argentry.plan.tasks import blocks_of


def finish_when_begun_at(day, minute):
    """Length of a one-plate day that is begun at a given minute, with nothing uncertain."""
    blocks = blocks_of(day.tasks)
    shop = _shop(day, blocks, 1)
    rule = Rule(np.zeros((1, len(blocks))), 1, np.array([minute]))
    run = rules.median_day(shop, rule)
    return run.length if run.sound.all() else np.inf


def test_a_sure_day_can_be_begun_at_its_latest_start_and_hardly_later(build_day):
    day = build_day(plates=1, breaks=(), log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    planned = plan_day(day, simulated_days=5)
    last = float(planned.latest[0, 0])
    assert last > planned.starts[0, 0] + 60
    # idle hands look up every ten minutes, so the start is tried at whole tens
    tens = 10.0 * np.floor((last - 20.0) / 10.0) + 20.0
    assert finish_when_begun_at(day, tens) <= day.last_minute
    assert finish_when_begun_at(day, last + 15.0) == np.inf


def test_doubt_makes_the_latest_start_earlier(build_day):
    sure = plan_day(build_day(plates=1, log_sd=0.0, dose_log_sd=0.0, spread=0.0), simulated_days=5)
    unsure = plan_day(build_day(plates=1, log_sd=0.3, dose_log_sd=0.4), simulated_days=5)
    assert unsure.latest[0, 0] < sure.latest[0, 0] - 10


def test_a_step_may_never_be_later_than_its_keeping_limit(build_day):
    planned = plan_day(build_day(plates=2), simulated_days=5)
    for index, block in enumerate(planned.blocks):
        if block.within is not None:
            limit = planned.ends[:, index - 1] + block.within
            assert (planned.latest[:, index] <= limit + 1e-6).all()


def test_later_finishing_work_waits_for_earlier_on_the_same_hands(build_day):
    day = build_day(plates=2, log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    planned = plan_day(day, simulated_days=5)
    # both plates must be sealed one after the other before the day ends
    seal = np.sort(planned.latest[:, -1])
    assert seal[1] <= 660 - 40 + 1e-6
    assert seal[0] <= 660 - 80 + 1e-6


# -- a day worked out by hand: every exposure 60 min, every development 30; see plain_day.py


def steady_light(kinds=1, weathers=3, expose=60.0):
    sums = np.tile(np.arange(601.0), (weathers, 1))
    frames = tuple(Frames(f"f{k}", 2, sums[0], sums, 30.0, 0.0, False) for k in range(kinds))
    return DayLight(sums[0], sums, expose, 90.0, 2.5, frames)


def late(shop, run, **given):
    told = {
        "workers": shop.workers, "breaks": (), "last_minute": 600.0, "light": steady_light(),
        "doses": (np.full(3, 30.0),), **given,
    }  # fmt: skip
    return latest.latest_starts(shop.blocks, run.starts, run.ends, run.frame_kind, **told)


def without_limits(shop):
    free = tuple(replace(block, within=None) for block in shop.blocks)
    return replace(shop, blocks=free)


def test_one_plate_from_the_days_end_backwards(plain):
    shop = without_limits(plain.shop(plates=1, workers=1))
    got = late(shop, rules.median_day(shop, plain.rule(1)))
    # seal 5, gild 6, fix 8, develop 30, to the frame 2, expose 60, prepare 10
    np.testing.assert_allclose(got, [[479.0, 489.0, 549.0, 551.0, 581.0, 589.0, 595.0]])


def test_keeping_limits_count_from_the_end_of_the_step_before(plain):
    shop = plain.shop(plates=1, workers=1)
    run = rules.median_day(shop, plain.rule(1))
    got = late(shop, run)
    want = [479.0, 10 + 180.0, 70 + 110.0, 72 + 10.0, 102 + 15.0, 589.0, 595.0]
    np.testing.assert_allclose(got, [want])


def test_hands_on_work_keeps_out_of_a_break_and_waits_do_not(plain):
    shop = without_limits(plain.shop(plates=1, workers=1))
    run = rules.median_day(shop, plain.rule(1))
    got = late(shop, run, breaks=((585.0, 590.0),))
    # gilding (6) may not touch 585 to 590, so it ends at 585
    np.testing.assert_allclose(got[0, plain.FIX :], [571.0, 579.0, 595.0])
    over = late(shop, run, breaks=((560.0, 570.0),))  # while it lies in the frame
    np.testing.assert_allclose(over, late(shop, run))
    twice = late(shop, run, breaks=((575.0, 585.0), (585.0, 590.0)))
    assert twice[0, plain.GILD] == 569.0
    touching = late(shop, run, breaks=((595.0, 595.0 + 5.0),))
    assert touching[0, plain.SEAL] == 590.0


def test_doubt_is_the_root_of_the_summed_variances_of_what_is_to_come(plain):
    shop = without_limits(plain.shop(plates=1, workers=1))
    unsure = tuple(
        replace(block, tasks=tuple(replace(task, log_sd=0.25) for task in block.tasks))
        for block in shop.blocks
    )
    shop = replace(shop, blocks=unsure)
    got = late(shop, rules.median_day(shop, plain.rule(1)))
    z = 1.2815515655446004
    doubt = [z * 0.25 * np.sqrt(sum(m**2 for m in left)) for left in ([5], [5, 6], [5, 6, 8])]
    np.testing.assert_allclose(
        got[0, plain.FIX :], [581 - doubt[2], 589 - doubt[1], 595 - doubt[0]]
    )
    np.testing.assert_allclose(got[0, plain.DEVELOP], np.floor(581 - doubt[2]) - 30.0, atol=1.0)
    # before development the light's own doubt takes the place of what comes after
    move = z * 0.25 * 2.0
    np.testing.assert_allclose(got[0, plain.TO_FRAME], got[0, plain.DEVELOP] - 2.0 - move)


def test_one_camera_one_fire_and_the_frames_bind_in_the_order_of_the_plan(plain):
    shop = without_limits(plain.shop(plates=2, workers=2))
    run = rules.median_day(shop, plain.rule(2))
    first, second = np.argsort(run.starts[:, plain.EXPOSE])
    got = late(shop, run)
    alone = [479.0, 489.0, 549.0, 551.0, 581.0, 589.0, 595.0]
    np.testing.assert_allclose(got[second, 1:], alone[1:])
    # the first must be out of the camera when the second must be in it, at 489
    assert got[first, plain.EXPOSE] == 429.0
    assert got[first, plain.PREPARE] <= 419.0
    # and gilded before the second is gilded
    assert got[first, plain.GILD] == 583.0


def test_one_frame_must_be_empty_for_the_next_plate(plain):
    shop = without_limits(plain.shop(plates=2, workers=2, frames=(1,), expose=1.0))
    run = rules.median_day(shop, plain.rule(2))
    one = steady_light(expose=1.0)
    one = replace(one, frames=(replace(one.frames[0], count=1),))
    got = late(shop, run, light=one)
    first, second = np.argsort(run.starts[:, plain.TO_FRAME])
    assert got[second, plain.TO_FRAME] == 549.0
    assert got[first, plain.DEVELOP] == 549.0 - 30.0


def test_one_pair_of_hands_does_the_finishing_in_the_order_of_the_plan(plain):
    shop = without_limits(plain.shop(plates=2, workers=1, expose=1.0))
    run = rules.median_day(shop, plain.rule(2))
    got = late(shop, run, light=steady_light(expose=1.0))
    work = sorted(
        (run.starts[p, b], got[p, b], run.ends[p, b] - run.starts[p, b])
        for p in range(2)
        for b in (plain.FIX, plain.GILD, plain.SEAL)
    )
    end = 600.0
    for _, latest_start, length in reversed(work):
        assert latest_start == end - length
        end = latest_start


def test_pairs_that_follow_each_other_in_the_same_hands():
    def held(plate, start, end):
        return latest._Held(plate, 0, start, end)

    a, b, c, d = held(0, 0, 10), held(1, 0, 4), held(2, 5, 9), held(3, 10, 12)
    assert latest._lanes([d, c, b, a], 1) == [(b, a), (a, c), (c, d)]
    # of two pairs of hands the one that was free last takes the next piece of work
    assert latest._lanes([d, c, b, a], 2) == [(b, c), (a, d)]


def test_the_spread_of_the_exposure_is_that_between_the_weathers_at_noon():
    rates = np.array([1.0, 0.5, 2.0])
    sums = rates[:, None] * np.arange(601.0)
    light = replace(steady_light(), exposure_days=sums)
    light = replace(light, longest_exposure=200.0)
    assert latest._exposure_sd(light) == np.std([60.0, 120.0, 30.0])
    assert latest._exposure_sd(replace(light, longest_exposure=70.0)) == np.std([60.0, 30.0])
    assert latest._exposure_sd(replace(light, longest_exposure=40.0)) == 0.0
