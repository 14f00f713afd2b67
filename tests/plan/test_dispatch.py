from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from argentry.plan import dispatch, rules, spread
from argentry.plan.choose import held_back, plans_by_rule
from argentry.plan.problem import shop_of
from argentry.plan.rows import Branch
from argentry.plan.shop import Begun, Sort, between
from argentry.plan.tasks import blocks_of


def test_plans_by_rule_keep_every_limit(build_day, check_plan):
    day = build_day(plates=3)
    blocks = blocks_of(day.tasks)
    plans = plans_by_rule(shop_of(day, blocks, 3), 1)
    assert len(plans) > 5
    for plan in plans:
        check_plan(blocks, plan.starts, plan.ends, plan.frame_kind, day)


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
    build_day, check_plan, plain, seed, workers, frames, plates
):
    day = build_day(plates=plates, workers=workers, frames=frames)
    blocks = blocks_of(day.tasks)
    shop = shop_of(day, blocks, plates)
    rule = rules.plain_rules(shop, 1, seed)
    last = rule.part(slice(len(rule) - 1, None))
    drawn = spread.draw_days(shop, day.light, days=1, seed=seed)
    run = plain.Ran(dispatch.play(shop, last, drawn))
    done = run.finished
    if done.any():
        check_plan(
            blocks,
            np.round(run.starts[done], 6),
            np.round(run.ends[done], 6),
            run.frame_kind[done],
            day,
            lengths=drawn.minutes[0][done],
            tolerance=1e-3,
        )


def test_one_plate_at_a_time_takes_longer_than_overlapping(build_day):
    day = build_day(plates=2)
    shop = shop_of(day, blocks_of(day.tasks), 2)
    alone = rules.median_days(shop, rules.one_by_one(shop)).length[0, 0]
    assert plans_by_rule(shop, 1)[0].length < alone - 60


def test_a_plate_that_cannot_be_ripe_in_time_is_not_begun(build_day):
    day = build_day(plates=4, last=240.0)
    shop = shop_of(day, blocks_of(day.tasks), 4)
    runs = rules.median_days(shop, rules.plain_rules(shop, 20, 1))
    np.testing.assert_array_equal(np.isfinite(runs.starts[..., 0]), runs.finished)


def test_urgent_work_goes_before_a_break_on_the_day_but_not_in_the_plan(plain):
    # ripe at 102, to be taken out by 117, and a break over all of it
    shop = plain.shop(plates=1, breaks=((95.0, 142.0),))
    on_the_day = simulated(plain, shop)
    assert on_the_day.starts[0, plain.FIX] == 102.0
    planned = plain.Ran(rules.median_days(shop, plain.rule(1)))
    assert planned.starts[0, plain.FIX] == 142.0
    assert planned.lay_ripe[0] == 142.0 - 102.0 - 15.0


def test_the_same_seed_gives_the_same_days(build_day):
    day = build_day(plates=2)
    shop = shop_of(day, blocks_of(day.tasks), 2)
    rule = rules.one_by_one(shop)

    def ends(seed):
        drawn = spread.draw_days(shop, day.light, days=20, seed=seed)
        return dispatch.play(shop, rule, drawn).ends

    np.testing.assert_array_equal(ends(5), ends(5))
    assert not np.array_equal(ends(5), ends(6))


def simulated(plain, shop, rule=None, **given):
    return plain.simulated(shop, rule, **given)


def test_a_plate_alone_goes_straight_through(plain):
    run = simulated(plain, plain.shop(plates=1, first=20.0))
    np.testing.assert_allclose(run.starts[0], 20 + np.array([0, 10, 70, 72, 102, 110, 116]))
    np.testing.assert_allclose(run.ends[0], 20 + np.array([10, 70, 72, 102, 110, 116, 121]))
    assert run.clean.all()
    assert run.length == 141.0
    assert run.frame_kind.tolist() == [0]


@pytest.mark.parametrize("workers", [2, 3])
def test_one_camera_takes_one_plate_at_a_time(plain, workers):
    run = simulated(plain, plain.shop(workers=workers))
    order = np.argsort(run.starts[:, plain.EXPOSE])
    first, second = order
    assert run.starts[first, plain.EXPOSE] == 10.0 + 0.0
    assert run.starts[second, plain.EXPOSE] == run.ends[first, plain.EXPOSE] == 70.0


def test_one_box_and_one_fire_take_one_plate_at_a_time(plain):
    # the box is held for the last 4 of 10 minutes, so preparing may overlap
    run = simulated(plain, plain.shop(expose=1.0))
    assert sorted(run.starts[:, plain.PREPARE]) == [0.0, 4.0]
    gilding = sorted(zip(run.starts[:, plain.GILD], run.ends[:, plain.GILD], strict=True))
    assert gilding[0][1] <= gilding[1][0]


def test_a_frame_is_free_again_when_its_plate_is_taken_out(plain):
    shop = plain.shop(frames=(1,), expose=5.0, develop=(100.0,), frame_within=300.0)
    run = simulated(plain, shop)
    order = np.argsort(run.starts[:, plain.TO_FRAME])
    assert run.starts[order[1], plain.TO_FRAME] == run.starts[order[0], plain.FIX]
    assert run.finished.all()


def test_the_frame_that_is_ripe_first_is_taken(plain):
    shop = plain.shop(frames=(1, 1), develop=(50.0, 20.0), expose=5.0)
    run = simulated(plain, shop)
    order = np.argsort(run.starts[:, plain.TO_FRAME])
    assert run.frame_kind[order].tolist() == [1, 0]  # the quick one is taken, then what is left
    lay = run.ends[:, plain.DEVELOP] - run.starts[:, plain.DEVELOP]
    assert lay[order].tolist() == [20.0, 50.0]


def test_no_plate_is_begun_before_its_rule_lets_it(plain):
    run = simulated(plain, plain.shop(plates=1), plain.rule(1, not_before=35.0))
    assert 35.0 <= run.starts[0, 0] <= 35.0 + dispatch.POKE_MINUTES


def test_no_more_plates_are_in_hand_than_the_rule_lets(plain):
    run = simulated(plain, plain.shop(plates=3), plain.rule(3, in_hand=1))
    order = np.argsort(run.starts[:, 0])
    assert (run.starts[order[1:], 0] >= run.ends[order[:-1], -1]).all()
    two = simulated(plain, plain.shop(plates=3), plain.rule(3, in_hand=2))
    begun = np.sort(two.starts[:, 0])
    assert begun[1] < np.min(two.ends[:, -1]) <= begun[2]


def test_the_smaller_number_of_the_rule_goes_first(plain):
    # one worker; at 10 the first plate may be posed or the second prepared
    shop = plain.shop(workers=1)
    later, sooner = np.zeros((2, 7)), np.zeros((2, 7))
    later[:, plain.PREPARE] = 5.0
    sooner[:, plain.EXPOSE] = 5.0
    held = simulated(plain, shop, plain.rule(priority=later))
    assert held.starts[1, plain.PREPARE] >= held.ends[0, plain.TO_FRAME]
    begun = simulated(plain, shop, plain.rule(priority=sooner))
    assert begun.starts[1, plain.PREPARE] < begun.starts[0, plain.EXPOSE]


def test_a_limit_that_is_overrun_is_told_by_its_minutes(plain):
    # with one pair of hands the first plate's development ends while the second is exposed
    shop = plain.shop(workers=1, expose=10.0, fix_within=5.0)
    ripe = plain.after(14.0)[None, :]  # ripe long before it was expected
    run = simulated(plain, shop, ripe=ripe)
    waited = run.starts[:, plain.FIX] - run.ends[:, plain.DEVELOP]
    np.testing.assert_allclose(run.lay_ripe, np.maximum(0.0, waited - 5.0))
    assert run.lay_ripe.max() > 0.0
    assert run.sound.all()  # a card over the frame saves it
    assert not run.clean.all()


def test_a_coat_kept_too_long_is_late_and_not_sound(plain):
    # the exposure of the first lasts four hours instead of the one expected; the second waits
    shop = plain.shop(expose=60.0, expose_within=90.0)
    run = simulated(plain, shop, exposures=plain.after(240.0))
    order = np.argsort(run.starts[:, plain.EXPOSE])
    waited = run.starts[order[1], plain.EXPOSE] - run.ends[order[1], plain.PREPARE]
    assert run.late[order[1]] == pytest.approx(waited - 90.0)
    assert run.late[order[1]] > 0.0
    assert run.late[order[0]] <= 0.0
    assert not run.sound[order[1]]


def test_a_plate_that_is_never_ripe_keeps_its_frame(plain):
    shop = plain.shop(frames=(1,), expose=5.0)
    never = np.full((1, plain.GRID + 1), np.nan)
    run = simulated(plain, shop, ripe=never)
    assert not run.finished.any()
    assert np.isfinite(run.starts[:, plain.TO_FRAME]).sum() == 1


def test_nothing_is_begun_that_the_day_does_not_hold(plain):
    exact = simulated(plain, plain.shop(plates=1, last=121.0))
    assert exact.finished.all()
    short = simulated(plain, plain.shop(plates=1, last=120.0))
    assert np.isnan(short.starts).all()


def test_nothing_is_exposed_into_a_queue_for_the_frame_that_fades_it(plain):
    # the one frame is free at 217 (ripe 200 min after 17); the image keeps for 110 min
    shop = plain.shop(frames=(1,), expose=5.0, develop=(200.0,), frame_within=110.0)
    run = simulated(plain, shop)
    assert run.finished.all()
    assert run.sound.all()
    first, second = np.argsort(run.starts[:, plain.EXPOSE])
    free = run.starts[first, plain.FIX]
    assert free - 110.0 <= run.ends[second, plain.EXPOSE] <= free - 100.0, "no later than it must"
    two = simulated(plain, replace(shop, frame_counts=(2,)))
    assert two.starts[:, plain.EXPOSE].max() < 30.0, "with a frame for each nobody waits"


def test_a_plate_waits_for_light_that_comes_later(plain):
    shop = plain.shop(plates=1)
    dark = shop.expected_exposure_ends.copy()
    dark[:100] = np.nan
    shop = replace(shop, expected_exposure_ends=dark)
    run = simulated(plain, shop)
    assert run.finished.all()
    assert 100.0 <= run.starts[0, plain.EXPOSE] <= 110.0
    night = replace(shop, expected_exposure_ends=np.full_like(dark, np.nan))
    assert np.isnan(simulated(plain, night).starts).all()


def test_work_keeps_out_of_a_break_that_nothing_hurries(plain):
    """Ten minutes of work, five before the break: on the day its beginning may wait a little."""
    shop = plain.shop(plates=1, breaks=((5.0, 40.0),))
    assert simulated(plain, shop).starts[0, plain.PREPARE] == 0.0
    assert simulated(plain, replace(shop, strict_breaks=True)).starts[0, plain.PREPARE] == 40.0
    # a plan takes nothing of a break: what would end half a minute in it waits
    hardly = replace(shop, breaks=((9.5, 40.0),), strict_breaks=True)
    assert simulated(plain, hardly).starts[0, plain.PREPARE] == 40.0
    assert simulated(plain, replace(shop, break_grace=4.0)).starts[0, plain.PREPARE] == 40.0
    fits = simulated(plain, plain.shop(plates=1, breaks=((10.0, 40.0),)))
    assert fits.starts[0, plain.PREPARE] == 0.0
    assert fits.starts[0, plain.EXPOSE] == 40.0


def test_a_plate_out_of_its_frame_is_gone_on_with_though_it_will_hardly_be_done(plain):
    """Usually it would be sealed two minutes too late; on this day sealing takes two less."""
    usual = simulated(plain, plain.shop(plates=1))
    shop = plain.shop(plates=1, last=float(usual.ends[0, plain.SEAL]) - 2.0)
    at_hand = Begun(usual.starts.copy(), usual.ends.copy(), usual.frame_kind)
    for times in (at_hand.starts, at_hand.ends):
        times[:, plain.SEAL] = np.nan
    now = replace(shop, begun=at_hand, first_minute=float(usual.ends[0, plain.SEAL - 1]))
    shorter = plain.drawn(shop).minutes
    shorter[:, :, plain.SEAL] -= 2.0
    assert simulated(plain, now, minutes=shorter).sound.all()
    strict = replace(now, strict_breaks=True)
    assert not simulated(plain, strict, minutes=shorter).finished.any()


def test_hands_stay_free_for_a_plate_that_will_be_ripe(plain):
    # ripe 60 min after the frame, taken out within 5: preparing a second plate is fine, posing it
    # for an hour would leave the first one lying
    shop = plain.shop(workers=1, develop=(60.0,), fix_within=5.0, expose=58.0)
    run = simulated(plain, shop)
    assert (run.lay_ripe <= 0.0).all()
    assert run.finished.all()
    apart = run.starts[:, plain.EXPOSE]
    first, second = np.argsort(apart)
    assert apart[second] >= run.starts[first, plain.FIX]


def test_a_plate_overdue_in_its_frame_keeps_no_hands_idle(plain):
    """Expected after 30 min, ripe after 200: meanwhile the other plate is finished."""
    shop = plain.shop(workers=1, frames=(1, 1), develop=(30.0, 30.0), expose=5.0)
    run = simulated(plain, shop, ripe=np.stack([plain.after(200.0), plain.after(30.0)]))
    slow, quick = np.argsort(run.frame_kind)
    assert run.ends[quick, plain.SEAL] < run.ends[slow, plain.DEVELOP] - 60.0
    assert run.finished.all()


def test_a_plate_past_its_limit_no_longer_goes_first(plain):
    """The first lies 170 min longer than expected: the frame is then for what is still good."""
    shop = plain.shop(plates=3, workers=1, frames=(1,), expose=5.0, frame_within=40.0)
    third = plain.rule(3, not_before=[0.0, 0.0, 190.0])
    run = simulated(plain, shop, third, ripe=plain.after(200.0)[None])
    assert run.starts[1, plain.EXPOSE] + 45.0 < run.starts[0, plain.FIX] - 40.0, "it is lost"
    assert run.sound.tolist() == [True, False, True]
    assert not run.starts[1, plain.TO_FRAME] < run.starts[2, plain.TO_FRAME]


def test_the_end_between_two_minutes_of_a_table():
    def at(table, minute):
        return float(between(np.array([table]), np.zeros(1, dtype=int), np.array([minute]))[0])

    table = [10.0, 14.0, np.nan]
    assert at(table, 0.25) == 11.0
    assert np.isnan(at(table, 1.5))
    assert np.isnan(at(table, 2.0))
    assert at([10.0, 14.0, 20.0], 1.0) == 14.0


def test_days_side_by_side_are_the_days_alone(build_day):
    """Rows of one array do not touch each other: each rule on each day is as if played alone."""
    day = build_day(plates=3, workers=2)
    shop = shop_of(day, blocks_of(day.tasks), 3)
    many = rules.plain_rules(shop, 4, 1)
    drawn = spread.draw_days(shop, day.light, days=6, seed=2)
    together = dispatch.play(shop, many, drawn)
    for rule in (0, 7, len(many) - 1):
        for at in (0, 5):
            one = replace(
                drawn,
                minutes=drawn.minutes[at : at + 1],
                weather=drawn.weather[at : at + 1],
                doses=tuple(d[at : at + 1] for d in drawn.doses),
            )
            alone = dispatch.play(shop, many.part(slice(rule, rule + 1)), one)
            np.testing.assert_array_equal(together.starts[rule, at], alone.starts[0, 0])
            np.testing.assert_array_equal(together.late[rule, at], alone.late[0, 0])


def test_hands_alone_wait_for_no_room(build_day):
    """One pair of hands is never in its own way: what a plate holds costs two of them time."""
    ends = []
    for workers, box in ((1, 1), (1, 9), (2, 1), (2, 9)):
        day = build_day(plates=3, workers=workers)
        shop = replace(shop_of(day, blocks_of(day.tasks), 3), room_counts={"box": box})
        drawn = spread.draw_days(shop, day.light, days=20, seed=3)
        rule = replace(rules.one_by_one(shop), in_hand=np.array([3]))
        ends.append(dispatch.play(shop, rule, drawn).ends)
    np.testing.assert_array_equal(ends[0], ends[1])
    assert not np.array_equal(ends[2], ends[3], equal_nan=True)


def test_many_rows_are_played_in_parts(build_day, monkeypatch):
    day = build_day(plates=2)
    shop = shop_of(day, blocks_of(day.tasks), 2)
    many = rules.plain_rules(shop, 3, 1)
    drawn = spread.draw_days(shop, day.light, days=5, seed=2)
    whole = dispatch.play(shop, many, drawn)
    monkeypatch.setattr(dispatch, "ROWS_AT_ONCE", 7)
    parts = dispatch.play(shop, many, drawn)
    np.testing.assert_array_equal(whole.ends, parts.ends)
    np.testing.assert_array_equal(whole.frame_kind, parts.frame_kind)


def test_a_day_is_taken_up_where_its_plates_stand(plain):
    """One is exposed and waits, one lies in its frame, one is not begun; the clock stands at 80."""
    shop = plain.shop(plates=3, workers=1, frames=(2,), first=80.0)
    starts, ends = np.full((3, 7), np.nan), np.full((3, 7), np.nan)
    starts[0, :4], ends[0, :3] = [0, 10, 70, 72], [10, 70, 72]
    starts[1, :1], ends[1, :1] = [60], [70]
    begun = Begun(starts, ends, np.array([0, -1, -1]))
    run = simulated(plain, replace(shop, begun=begun))
    np.testing.assert_array_equal(run.starts[0, :4], [0, 10, 70, 72])
    assert run.ends[0, plain.DEVELOP] == 102.0
    assert run.starts[1, plain.PREPARE] == 60.0
    assert np.nanmin(run.starts[1, plain.EXPOSE :]) >= 80.0
    assert run.starts[2, plain.PREPARE] >= 80.0
    assert run.finished.all()


def test_whoever_is_held_back_keeps_the_limit_all_the_same(plain):
    """Gilding held back to minute 500 is begun a minute before its hour is over, not later."""
    blocks = list(plain.shop(plates=1).blocks)
    blocks[plain.GILD] = replace(blocks[plain.GILD], within=60.0)
    shop = replace(plain.shop(plates=1), blocks=tuple(blocks))
    rule = held_back(plain.rule(1), [(0, plain.GILD)], np.array([500.0]))
    run = simulated(plain, shop, rule)
    assert run.starts[0, plain.GILD] == run.ends[0, plain.FIX] + 59.0
    assert run.clean.all()


def test_who_sees_the_sky_begins_nothing_that_it_will_not_finish(plain):
    """Light that is enough only as expected: a plate is begun in hope, or not at all."""
    shop = plain.shop(plates=1)
    dark = np.full_like(shop.expected_ripe, np.nan)
    hoping = plain.drawn(shop, ripe=dark)
    seeing = replace(hoping, expected_ripe=dark[:, None])
    assert np.isfinite(dispatch.play(shop, plain.rule(1), hoping).starts[0, 0, 0, 0])
    assert np.isnan(dispatch.play(shop, plain.rule(1), seeing).starts).all()
    # it is tried where it is ripe in time if it needs little; here it is
    trying = replace(plain.drawn(shop), expected_ripe=dark[:, None])
    trying = replace(trying, hoped_ripe=shop.expected_ripe[:, None])
    assert dispatch.play(shop, plain.rule(1), trying).sound.all()


@pytest.mark.parametrize(("plates", "workers", "frames"), [(2, 1, 3), (4, 2, 2), (3, 1, 1)])
def test_a_day_that_branches_off_is_the_day_played_from_the_morning(
    build_day, plates, workers, frames
):
    """A block held back changes nothing before it; only when idle hands look again may differ."""
    day = build_day(plates=plates, workers=workers, frames=frames, lamp=True)
    shop = shop_of(day, blocks_of(day.tasks), plates)
    plan = plans_by_rule(shop, 1)[0]
    rule = rules.follow(shop, plan.starts[None], 20.0)
    drawn = spread.draw_days(shop, day.light, days=12, seed=1)
    usual = dispatch.play(shop, rule, drawn)
    where = [(p, b) for p in range(plates) for b, k in enumerate(shop.blocks) if k.attended]
    until = np.array([plan.starts[at] + 30.0 for at in where])
    held = held_back(rule, where, until)
    begun = np.stack([usual.starts[0, :, p, b] for p, b in where])
    branch = Branch(usual, np.where(begun < until[:, None], begun, np.inf))
    part, whole = dispatch.play(shop, held, drawn, branch), dispatch.play(shop, held, drawn)
    assert np.isinf(branch.minute).any()
    np.testing.assert_array_equal(part.sound, whole.sound)
    apart = np.abs(part.ends - whole.ends)[part.sound]
    assert apart.max() <= dispatch.POKE_MINUTES
    assert (apart > 1e-9).mean() < 0.02
    np.testing.assert_allclose(part.late, whole.late, atol=dispatch.POKE_MINUTES)
    np.testing.assert_allclose(part.lay_ripe, whole.lay_ripe, atol=dispatch.POKE_MINUTES)
    assert part.late.max() > 0.0 or part.lay_ripe.max() > 0.0 or workers == 2
    np.testing.assert_array_equal(part.frame_kind[part.sound], whole.frame_kind[part.sound])


def test_each_sort_of_plate_is_begun_and_posed_by_its_own_light(plain):
    """Two sorts beside the usual one: a pose of 90 min, and one that no light is left for."""
    usual = plain.shop(plates=3, workers=3)
    light = SimpleNamespace(window=(-np.inf, np.inf))
    tables = plain.after(90.0), np.full(plain.GRID + 1, np.nan)
    sorts = tuple(Sort(usual.blocks, light, table) for table in tables)
    for sort_of in ((0, 1, 2), (2, 0, 1), (1, 2, 0)):
        one = replace(usual, sorts=sorts, sort_of=sort_of)
        day = replace(
            plain.drawn(one),
            exposure_ends=one.exposure_tables,
            expected_exposures=one.exposure_tables,
        )
        run = plain.Ran(dispatch.play(one, plain.rule(3), day))
        posed = run.ends[:, plain.EXPOSE] - run.starts[:, plain.EXPOSE]
        assert [posed[sort_of.index(sort)] for sort in (0, 1)] == [60.0, 90.0]
        assert np.isnan(run.starts[sort_of.index(2)]).all()


def seated(plain, comes, waits, rule, **given):
    """Play a plate like all and one whose sitter comes at a minute and waits so long, one hand."""
    usual = plain.shop(plates=2, workers=1)
    minute = np.arange(plain.GRID + 1.0)
    window = (comes, comes + waits)
    table = np.where((minute >= window[0]) & (minute <= window[1]), minute + 20.0, np.nan)
    own = Sort(usual.blocks, SimpleNamespace(window=window), table)
    one = replace(usual, sorts=(own,), sort_of=(0, 1), **given)
    day = replace(
        plain.drawn(one),
        exposure_ends=one.exposure_tables,
        expected_exposures=one.exposure_tables,
    )
    return plain.Ran(dispatch.play(one, rule, day))


def test_hands_are_free_when_a_sitter_comes(plain):
    """Gilding lasts from 110 to 116 and can wait; the sitter of the other plate comes at 114."""
    order = np.zeros((2, 7))
    order[1] = 1.0  # what the plan begins later
    rule = plain.rule(2, priority=order, not_before=[0.0, 75.0])
    run = seated(plain, 114.0, 20.0, rule)
    assert run.ends[1, plain.PREPARE] <= 102.0, "the coat is ready before"
    assert run.starts[1, plain.EXPOSE] == 114.0
    assert run.starts[0, plain.GILD] >= run.ends[1, plain.EXPOSE]


def test_the_plate_of_a_sitter_who_has_gone_keeps_no_hands(plain):
    """Hands were at another pose until 70; the sitter waited from 60 to 65."""
    starts, ends = np.full((2, 7), np.nan), np.full((2, 7), np.nan)
    starts[0, : plain.EXPOSE + 1], ends[0, plain.PREPARE] = (0.0, 10.0), 10.0
    begun = Begun(starts, ends, np.array([-1, -1]))
    run = seated(plain, 60.0, 5.0, plain.rule(2), begun=begun, first_minute=20.0)
    assert np.isnan(run.starts[1, plain.PREPARE])
    assert run.starts[0, plain.TO_FRAME] == 70.0
    assert run.ends[0, plain.SEAL] == 121.0
