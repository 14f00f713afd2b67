"""A day taken up in its middle: blocks from steps, and what is running."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import lognorm

from argentry.plan import middle
from argentry.plan.middle import LONG, begun_blocks, running_until, taken_up, waits_for_light
from argentry.plan.problem import Standing, shop_of
from argentry.plan.shop import Begun
from argentry.plan.spread import draw_days
from argentry.plan.tasks import blocks_of

KEYS = ("scour", "buff", "warm", "iodise", "load", "expose", "to frame", "develop", "fix", "gild")


def standing(day, begun, ended, frame=-1):
    """One plate: minutes by the names of its steps."""
    keys = [task.key for task in day.tasks]
    rows = [np.full((1, len(keys)), np.nan) for _ in range(2)]
    for row, times in zip(rows, (begun, ended), strict=True):
        for key, minute in times.items():
            row[0, keys.index(key)] = minute
    kept = np.full((1, len(blocks_of(day.tasks))), np.nan)
    return Standing(rows[0], rows[1], np.array([frame]), kept)


def until(day, stands, now, days=4000):
    """Return when what is running ends."""
    blocks = blocks_of(day.tasks)
    shop = replace(shop_of(day, blocks, 1), first_minute=now, begun=begun_blocks(blocks, stands))
    drawn = draw_days(shop, day.light, days=days, seed=3)
    return running_until(shop, stands, day.light, drawn, 4)[:, 0]


def in_the_light(day):
    """Return a plate that lies in the light since minute 150, all before it done."""
    begun = {**dict.fromkeys(KEYS[:7], 20.0), "develop": 150.0}
    return standing(day, begun, dict.fromkeys(KEYS[:7], 100.0), frame=0)


def test_a_block_is_begun_with_its_first_step_and_over_with_its_last(build_day):
    day = build_day()
    blocks = blocks_of(day.tasks)
    stands = standing(day, {"scour": 20, "buff": 27}, {"scour": 26})
    begun = begun_blocks(blocks, stands)
    assert begun.starts[0, 0] == 20.0
    assert np.isnan(begun.ends[0, 0])
    assert np.isnan(begun.starts[0, 1:]).all()
    last = {"scour": 20, "buff": 27, "warm": 44, "iodise": 48, "load": 51}
    over = begun_blocks(blocks, standing(day, last, {"load": 53}))
    assert over.ends[0, 0] == 53.0


def test_a_step_nobody_saw_counts_as_over_when_a_later_one_began(build_day):
    day = build_day()
    begun = begun_blocks(blocks_of(day.tasks), standing(day, {"scour": 20, "expose": 60}, {}))
    assert begun.starts[0, :2].tolist() == [20.0, 60.0]
    assert begun.ends[0, 0] == 60.0
    left_out = begun_blocks(blocks_of(day.tasks), standing(day, {}, {"scour": 25}))
    assert left_out.starts[0, 0] == 25.0


def test_nothing_runs_on_a_plate_that_waits(build_day):
    day = build_day()
    everything = {k: 20.0 + 5 * i for i, k in enumerate(KEYS[:5])}
    stands = standing(day, everything, {k: m + 4 for k, m in everything.items()})
    assert np.isnan(until(day, stands, 90.0)).all()


@pytest.mark.parametrize("spent", [2.0, 16.0, 30.0])
def test_what_took_long_already_is_a_long_one(build_day, spent):
    """What is left of a log-normal length beyond what is spent, by SciPy's own distribution."""
    day = build_day(log_sd=0.25)
    sealed = dict.fromkeys((*KEYS, "cool", "seal"), 20.0)
    stands = standing(day, {**sealed, "seal": 300.0}, dict.fromkeys((*KEYS, "cool"), 100.0))
    got = until(day, stands, 300.0 + spent) - 300.0
    law = lognorm(0.25, scale=40.0)
    shares = (0.1, 0.5, 0.9)
    want = [law.ppf(law.cdf(spent) + share * law.sf(spent)) for share in shares]
    np.testing.assert_allclose(np.quantile(got, shares), want, rtol=0.02)
    assert (got >= spent).all()


def test_the_steps_that_follow_in_a_block_are_to_come_yet(build_day):
    day = build_day(log_sd=0.0)
    stands = standing(day, {"scour": 20.0, "buff": 26.0}, {"scour": 26.0})
    # 16 of buffing from minute 26, then warm 3, iodise 2, load 2
    assert set(until(day, stands, 30.0)) == {26.0 + 16 + 3 + 2 + 2}
    # a buff that takes longer than it ever does: now, and the others after it
    assert set(until(day, stands, 60.0)) == {60.0 + 3 + 2 + 2}


def test_a_plate_that_is_not_ripe_yet_needs_more_than_it_has_had(build_day):
    day = build_day(dose_log_sd=0.3, spread=0.0)
    stands = in_the_light(day)
    frame = day.light.frames[0]
    grid = np.arange(len(frame.middle))
    for now in (160.0, 260.0):
        got = until(day, stands, now)
        had = np.interp(now, grid, frame.middle) - np.interp(150.0, grid, frame.middle)
        law = lognorm(0.3, scale=frame.dose)
        wanted = law.ppf(law.cdf(had) + 0.5 * law.sf(had)) + np.interp(150.0, grid, frame.middle)
        assert np.median(got) == pytest.approx(np.interp(wanted, frame.middle, grid), abs=1.5)
        assert got.min() >= now


def test_a_plate_whose_pictures_moved_its_end_is_ripe_about_then_on_most_days(build_day):
    day = build_day()
    light = replace(day.light, frames=tuple(replace(f, days=f.middle[None].repeat(len(f.days), 0))
                                            for f in day.light.frames))  # fmt: skip
    day = replace(day, light=light)
    stands = standing(day, dict.fromkeys(KEYS[:8], 150.0), dict.fromkeys(KEYS[:7], 150.0), 0)
    usual = np.median(until(day, stands, 190.0))
    own = replace(stands, ripe=((usual + 30.0, 0.02),))
    low, middle, high = np.quantile(until(day, own, 190.0), (0.1, 0.5, 0.9))
    assert middle == pytest.approx(usual + 30.0, abs=1.0)
    assert high - low < 0.1 * (middle - 150.0)
    # an end beyond the light that is known says nothing
    beyond = replace(stands, ripe=((1e6, 0.02),))
    np.testing.assert_array_equal(until(day, beyond, 190.0), until(day, stands, 190.0))
    assert own.with_one_more().part(np.array([1, 0])).ripe == (None, own.ripe[0])


def test_a_plate_never_ripe_runs_on_for_ever(build_day):
    day = build_day(sun=0.05)
    stands = in_the_light(day)
    assert (until(day, stands, 400.0) == LONG).all()


def test_an_exposure_ends_by_the_light_or_when_nobody_waits_longer(build_day):
    times = dict.fromkeys(KEYS[:5], 20.0)

    def ends(day):
        stands = standing(day, {**times, "expose": 100.0}, dict.fromkeys(KEYS[:5], 90.0))
        return until(day, stands, 101.0)

    assert 101.0 <= np.median(ends(build_day())) < 120.0
    dark = build_day(sun=1e-4)
    assert set(ends(dark)) == {100.0 + dark.light.longest_exposure}


def test_the_expected_end_is_the_planned_one_until_that_time_has_passed(build_day):
    day = build_day(dose_log_sd=0.3)
    blocks = blocks_of(day.tasks)
    stands = in_the_light(day)
    planned = float(np.ceil(day.light.frames[0].expected_ends[150]))
    early = taken_up(replace(day, first_minute=planned - 20.0), blocks, stands, 60, 1)
    assert early.until.tolist() == [planned]
    late = taken_up(replace(day, first_minute=planned + 15.0), blocks, stands, 60, 1)
    assert late.until[0] > planned + 15.0


@pytest.mark.parametrize("over", [5.0, 40.0])
def test_a_plate_past_its_planned_end_is_expected_by_the_likely_sky(build_day, over):
    """The truncated log-normal of SciPy, in the light of the likely day; the drawn ones are dim."""
    day = build_day(dose_log_sd=0.3)
    [frame] = day.light.frames
    dim = replace(frame, days=0.6 * frame.days)
    day = replace(day, light=replace(day.light, frames=(dim,)))
    stands = in_the_light(day)
    now = float(np.ceil(frame.expected_ends[150])) + over
    late = taken_up(replace(day, first_minute=now), blocks_of(day.tasks), stands, 60, 1)
    grid = np.arange(len(frame.middle))
    start, until_now = (np.interp(minute, grid, frame.middle) for minute in (150.0, now))
    law = lognorm(np.hypot(frame.dose_log_sd, frame.dose_doubt_log_sd), scale=frame.dose)
    had = until_now - start
    wanted = start + law.ppf(law.cdf(had) + 0.5 * law.sf(had))
    assert late.until.tolist() == [np.ceil(np.interp(wanted, frame.middle, grid))]


def test_a_dose_without_doubt_is_reached_when_the_sums_say_so(build_day):
    day = build_day(dose_log_sd=0.0, spread=0.0)
    stands = in_the_light(day)
    frame = day.light.frames[0]
    grid = np.arange(len(frame.middle))
    ripe = np.interp(frame.middle[150] + frame.dose, frame.middle, grid)
    np.testing.assert_allclose(until(day, stands, 160.0, days=40), ripe, atol=1e-6)


def waits(plain, now, *plates, moved=()):
    """Tell whether plates wait for light; each as its starts, its ends and when it is posed."""
    shop = plain.shop(plates=len(plates), first=now)
    starts, ends, kept = np.full((3, len(plates), len(shop.blocks)), np.nan)
    for plate, (begun, ended, posed) in enumerate(plates):
        starts[plate, : len(begun)], ends[plate, : len(ended)] = begun, ended
        kept[plate, plain.EXPOSE] = posed
    standing = SimpleNamespace(
        kept=kept, ripe_of=lambda plate: (1.0, 0.1) if plate in moved else None
    )
    begun = Begun(starts, ends, np.where(np.isfinite(starts[:, plain.TO_FRAME]), 0, -1))
    return waits_for_light(SimpleNamespace(shop=shop, begun=begun, standing=standing))


def test_a_plate_waits_for_light_where_the_sky_is_darker_than_expected(plain):
    coated = ([0.0], [10.0], 12.0)
    assert [waits(plain, now, coated) for now in (14.0, 14.5)] == [False, True]
    assert [waits(plain, now, ([0.0], [10.0], 20.0)) for now in (19.5, 20.0)] == [False, True]
    fresh, posing = ([], [], 12.0), ([0.0, 10.0], [10.0], 10.0)
    posed = ([0.0, 10.0], [10.0, 70.0], 10.0)  # it waits for a frame
    assert not waits(plain, 500.0, fresh, posing, posed)
    # half an hour is expected under the filter, and a quarter of it more is no wonder
    ripening = ([0.0, 10.0, 70.0, 72.0], [10.0, 70.0, 72.0], 10.0)
    assert [waits(plain, now, ripening) for now in (109.5, 110.0)] == [False, True]
    assert not waits(plain, 110.0, ripening, moved=(0,))
    assert waits(plain, 110.0, fresh, posing, ripening)
    assert waits(plain, 110.0, ripening, ripening, moved=(0,))
    late = ([0.0, 10.0, 70.0, 580.0], [10.0, 70.0, 72.0], 10.0)
    assert not waits(plain, 599.0, late), "the day holds no light for it"


def test_a_plate_that_follows_another_is_held_until_a_step_of_that_is_over(plain):
    shop = plain.shop(plates=3)
    ends = np.full((2, 3, len(shop.blocks)), np.nan)
    ends[:, 0, plain.PREPARE], ends[:, 0, plain.EXPOSE] = [10.0, 12.0], [70.0, 90.0]
    after = {
        2: SimpleNamespace(plate=0, task=2, until=80.0),
        1: SimpleNamespace(plate=0, task=1, until=12.0),
    }
    held = middle._held(shop, after, ends)
    assert held[:, 0].tolist() == [-np.inf, -np.inf]
    assert held[:, 1].tolist() == [10.0, 12.0]
    assert held[:, 2].tolist() == [70.0, middle.NEVER]
    after[2] = SimpleNamespace(plate=0, task=3, until=80.0)
    assert middle._held(shop, after, ends)[:, 2].tolist() == [middle.NEVER] * 2, "it is not done"
