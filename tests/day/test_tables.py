"""What the sheet tabulates, from days and plans made by hand."""

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from argentry import trade
from argentry.day import good_count, tables
from argentry.day.day_clock import Clock
from argentry.day.planner_light import Known
from argentry.day.tables import EndTables
from argentry.out.wording import count_range
from argentry.plan.daylight import DayLight, Frames
from argentry.plan.spread import Spread
from argentry.plan.tasks import Task, blocks_of
from argentry.records.day import Range, by_event
from argentry.records.learned import GoodOdds, Share

ZONE = ZoneInfo("Europe/Madrid")
MINUTES = 300


def clock(start=8 * 60 + 20):
    begin = datetime(2026, 6, 21, start // 60, start % 60, tzinfo=ZONE)
    end = begin.replace(hour=(start + MINUTES) // 60, minute=(start + MINUTES) % 60)
    return Clock(begin, end, ZONE, MINUTES)


def tasks():
    def hands(key, minutes, resource="", within=None):
        return Task(key, "fixed", minutes, 0.2, True, resource, within)

    return (
        hands("coarse", 10.0),
        hands("iodise", 2.0, "box", 0.0),
        Task("expose", "exposure", 0.0, 0.2, True, "camera", 60.0),
        hands("out", 2.0, "frame", 60.0),
        Task("develop", "development", 0.0, 0.2, False, "frame", 10.0),
        hands("fix", 8.0, "", 15.0),
        hands("seal", 20.0),
    )


BLOCKS = blocks_of(tasks())


def steady(value, weathers=4, rises=(1.0, 1.0, 1.0, 1.0)):
    return (
        np.cumsum(np.pad(np.full((weathers, MINUTES), value), ((0, 0), (1, 0))), axis=1)
        * (np.array(rises)[:, None])
    )


def lit(rises=(1.0, 1.0, 1.0, 1.0)):
    """A light that never changes: 10 min before the camera, 60 in the frame on the middle day."""
    frame = Frames("sun", 2, steady(1.0)[0], steady(1.0, rises=rises), 60.0, 0.0, False)
    day = DayLight(steady(1.0)[0], steady(1.0, rises=rises), 10.0, 60.0, 2.5, (frame,))
    return SimpleNamespace(
        day=day,
        elevation_deg=np.linspace(10.0, 70.0, MINUTES),
        exposure_w_m2=np.tile(np.arange(MINUTES, dtype=float), (4, 1)),
        development_w_m2=np.full((4, MINUTES), 7.0),
        needs=SimpleNamespace(
            camera_minutes=lambda minute: Known(Range(8.0, 10.0, 12.0 + minute)),
            development_minutes=lambda start, frame, waited: Known(Range(50.0, 60.0, 70.0)),
        ),
    )


def test_a_range_is_of_four_in_five_and_what_never_ends_is_long():
    assert good_count.drawn_range(np.arange(11.0)) == Range(1.0, 5.0, 9.0)
    assert good_count.drawn_range(np.arange(10.0)[::-1]) == Range(1.0, 5.0, 9.0)
    got = good_count.drawn_range(np.array([3.0, np.nan, 1.0, np.nan, np.nan]))
    assert (got.low, got.middle, got.high) == (1.0, np.inf, np.inf)
    assert good_count.drawn_range(np.empty(0)) == Range(np.inf, np.inf, np.inf)
    assert good_count.drawn_range(np.array([4.0])) == Range(4.0, 4.0, 4.0)


def test_ends_of_a_steady_light():
    got = tables.end_tables(lit((1.0, 2.0, 0.5, 0.1)), 1)
    np.testing.assert_allclose(got.exposures[:3, 50], [60.0, 55.0, 70.0])
    assert np.isnan(got.exposures[3, 50])  # a hundred minutes are more than anybody waits
    np.testing.assert_allclose(got.ripe[0][:3, 50], [110.0, 80.0, 170.0])
    assert np.isnan(got.ripe[0][3, 50])


def test_each_weather_has_one_dose_and_a_frame_its_own_spread():
    one = lit()
    frame = one.day.frames[0]
    wide = Frames("sun", 2, frame.middle, frame.days, 60.0, 0.5, False)
    one.day = DayLight(
        one.day.exposure_middle, one.day.exposure_days, 10.0, 60.0, 2.5, (frame, wide)
    )
    plain, spread = tables._doses(one, 4)
    assert plain.tolist() == [60.0] * 4
    luck = np.random.default_rng(11).standard_normal(4)
    np.testing.assert_allclose(spread, 60.0 * np.exp(0.5 * luck))


def test_each_full_hour_has_its_light_and_odds():
    one = lit((1.0, 1.0, 1.0, 0.1))
    rows = tables.hours(clock(), one, BLOCKS, tables.end_tables(one, 1))
    assert [f"{row.time:%H:%M}" for row in rows] == ["09:00", "10:00", "11:00", "12:00", "13:00"]
    first, last = rows[0], rows[-1]
    assert first.sun_elevation_deg == one.elevation_deg[40]
    assert first.exposure_w_m2.middle == pytest.approx(np.arange(40, 100).mean())
    assert last.exposure_w_m2.middle == pytest.approx(np.arange(280, 300).mean())
    assert first.development_w_m2 == Range(7.0, 7.0, 7.0)
    assert first.exposure_minutes == Range(8.0, 10.0, 52.0)
    assert (first.exposure_suffices, first.development_suffices) == (0.75, 0.75)
    assert f"{first.development_end:%H:%M}" == "10:00"
    # to be ripe by 13:12 a plate must be out by 12:12, for it is taken out and fixed in 8 min
    assert f"{rows[3].development_end:%H:%M}" == "13:00"
    assert (last.development_suffices, last.development_end) == (0.0, None)


def test_a_plate_must_be_ripe_early_enough_to_be_fixed():
    one = lit()
    for start, end in ((9 * 60 - 232, "in time"), (9 * 60 - 233, "too late")):
        # the hour of nine is minute 232 or 233 of a day of 300; ripe at 292 or 293, fixed by 300
        row = tables.hours(clock(start), one, BLOCKS, tables.end_tables(one, 1))
        nine = next(r for r in row if r.time.hour == 9)
        assert (nine.development_suffices == 1.0) is (end == "in time")
        assert (nine.development_end is not None) is (end == "in time")


def test_a_day_that_begins_on_the_hour_shows_that_hour():
    one = lit()
    rows = tables.hours(clock(8 * 60), one, BLOCKS, tables.end_tables(one, 1))
    assert f"{rows[0].time:%H:%M}" == "08:00"
    assert len(rows) == 5


def planned(**given):
    first, second = [0.0, 12.0, 22.0, 24.0, 84.0, 92.0], [12.0, 24.0, 40.0, 42.0, 102.0, 112.0]
    starts = np.array([first, second])
    ends = np.array(
        [[12.0, 22.0, 24.0, 84.0, 92.0, 112.0], [24.0, 34.0, 42.0, 102.0, 110.0, 132.0]]
    )
    latest = starts + np.array([[30.0, 20.0, 20.0, 20.0, 5.0, 8.0], [-np.inf] * 6])
    days = Spread(
        starts + np.array([0.0, 1.0, 2.0, np.nan])[:, None, None],
        ends + np.array([0.0, 2.0, 4.0, np.nan])[:, None, None],
        np.array([[True, True], [True, False], [True, True], [False, False]]),
        np.ones((4, 2)), 0.0, 0.0,
    )  # fmt: skip
    base = {
        "blocks": BLOCKS, "starts": starts, "ends": ends, "latest": latest, "placed": 2,
        "limited": np.array([[False, True, False, False, True, False], [False] * 6]),
        "frame_kind": np.array([0, 0]), "days": days,
        "route": lambda plate: BLOCKS, "special_of": lambda plate: None,
    }  # fmt: skip
    made = SimpleNamespace(**{**base, **given})
    made.route = lambda _: made.blocks
    made.finished = None if made.days is None else made.days.finished
    return made


def test_the_light_serves_a_plan_when_every_plate_ends_in_time():
    plan = planned()
    exposures = np.full((4, MINUTES + 1), 50.0)
    ripe = np.full((4, MINUTES + 1), 292.0)
    assert tables.light_serves(plan, BLOCKS, 300.0, EndTables(exposures, [ripe])).mean() == 1.0
    exposures[0, 24] = np.nan  # the second plate cannot be exposed in the first weather
    assert tables.light_serves(plan, BLOCKS, 300.0, EndTables(exposures, [ripe])).mean() == 0.75
    ripe[1, 24] = 292.5  # nor the first fixed in the second
    assert tables.light_serves(plan, BLOCKS, 300.0, EndTables(exposures, [ripe])).mean() == 0.5
    exposures[2, 25] = ripe[3, 25] = np.nan  # at minutes at which nothing begins
    assert tables.light_serves(plan, BLOCKS, 300.0, EndTables(exposures, [ripe])).mean() == 0.5


def test_a_plate_lies_in_its_own_kind_of_frame():
    never, now = np.full((4, 301), np.nan), np.full((4, 301), 200.0)
    ends = EndTables(np.full((4, 301), 50.0), [never, now])
    assert tables.light_serves(planned(), BLOCKS, 300.0, ends).mean() == 0.0
    other = planned(frame_kind=np.array([1, 1]))
    assert tables.light_serves(other, BLOCKS, 300.0, ends).mean() == 1.0


def test_what_was_simulated_of_a_blocks_start():
    low, high = tables._simulated_start(planned(), (1, 1), (3.0, 28.0), 500.0)
    begun = 24.0 + 3.0 + np.array([0.0, 1.0, 2.0, 500.0 - 27.0])  # never begun: after all others
    assert (low, high) == pytest.approx(tuple(np.quantile(begun, [0.1, 0.9])))
    never = planned(
        days=Spread(
            *[np.full((4, 2, 6), np.nan)] * 2, np.zeros((4, 2), bool), np.zeros((4, 2)), 0, 0
        )
    )
    assert tables._simulated_start(never, (0, 0), (3.0, 28.0), 500.0) == (28.0, 500.0)
    early, late = (
        tables._simulated_start(planned(), (1, 1), (3.0, t), 500.0) for t in (9.0, 510.0)
    )
    assert early == (9.0, high), "the planned start lies within"
    assert late == (low, 510.0)


def test_a_steps_minutes_are_what_is_needed_or_what_was_planned():
    frames = SimpleNamespace(frames=["red", "lamp"])
    lengths = {"iodise": SimpleNamespace(low=60.0, seconds=90.0, high=240.0)}
    task = tasks()

    def of(where, of_task, one=None, plan=None):
        plan = plan or planned()
        return tables._known(plan, frames, (one or lit()).needs, lengths, where, of_task).minutes

    assert of((0, 0, 1), task[1]) == Range(1.0, 1.5, 4.0)
    assert of((1, 1, 0), task[2]) == Range(8.0, 10.0, 36.0)  # begun at 24
    assert of((0, 3, 0), task[4]) == Range(50.0, 60.0, 70.0)
    dark = lit()
    dark.needs = SimpleNamespace(
        camera_minutes=lambda _: Known(Range(np.inf, np.inf, np.inf)),
        development_minutes=lambda start, frame, waited: Known(
            Range(start, np.inf if frame == "lamp" else 1, 9)
        ),
    )
    assert of((0, 1, 0), task[2], dark) == Range(10.0, 10.0, np.inf)
    assert of((0, 3, 0), task[4], dark) == Range(24.0, 1, 9)
    lamp = planned(frame_kind=np.array([1, 1]))
    assert of((0, 3, 0), task[4], dark, lamp) == Range(24.0, 60.0, 9)


def test_plates_finished():
    assert good_count.finished(planned()) == Range(0.0, 1.25, 2.0)
    assert good_count.finished(planned(days=None)) == Range(0.0, 0.0, 0.0)


def studio(share=None, plates=0):
    return SimpleNamespace(habits=SimpleNamespace(good_share=share, good_share_plates=plates))


def test_the_chance_of_a_good_plate_is_the_trades_the_makers_or_learned():
    alpha, beta = trade.value("day", "good_alpha"), trade.value("day", "good_beta")
    assert good_count._good_beta(studio(), None) == (alpha, beta)
    assert good_count._good_beta(studio(0.25, 40), None) == (alpha + 10.0, beta + 30.0)
    learned = Share(0.4, 0.3, 0.5, 33.4)
    good, lost = good_count._good_beta(studio(0.9, 99), learned)
    assert good / (good + lost) == pytest.approx(0.4)
    assert good + lost == pytest.approx(0.24 / (0.2 / 2.563) ** 2 - 1.0, rel=1e-3)
    sure = good_count._good_beta(studio(), Share(1.0, 1.0, 1.0, 5))
    assert sure[0] / sum(sure) == pytest.approx(0.99)
    assert sum(sure) == pytest.approx(0.99 * 0.01 / 0.01**2 - 1.0)
    assert sum(good_count._good_beta(studio(), Share(0.5, 0.0, 1.0, 1))) >= 1.0


def test_the_share_of_good_plates_and_how_many_stand_behind_it():
    learned = GoodOdds(Share(0.4, 0.3, 0.5, 33.4), Share(0.4, 0.38, 0.42, 33.4))
    assert good_count.good_share(studio(), learned) == (Range(0.3, 0.4, 0.5), 33)
    none_yet = GoodOdds(Share(0.4, 0.3, 0.5, 0.0), Share(0.4, 0.3, 0.5, 0.0))
    assert good_count.good_share(studio(0.4, 12), none_yet) == (Range(0.3, 0.4, 0.5), 12)
    assert good_count.good_share(studio(None, 12), none_yet) == (Range(0.3, 0.4, 0.5), 0)
    own, behind = good_count.good_share(studio(0.25, 400))
    assert behind == 400
    assert own.low < own.middle < own.high
    assert own.middle == pytest.approx(0.25, abs=0.02)
    assert good_count.good_share(studio())[1] == 0
    assert good_count.good_share(studio(None, 12))[1] == 0


def test_good_plates_are_some_of_those_finished():
    many = Spread(None, None, np.ones((4000, 2), dtype=bool), np.ones((4000, 2)), 0.0, 0.0)
    # the share of many counts, not how far single plates may lie from it
    single = Share(0.5, 0.01, 0.99, 100)
    sure = GoodOdds(single, Share(0.99, 0.98, 0.999, 100))
    assert good_count.good_plates(planned(days=many), studio(), 1, sure) == Range(2.0, 2.0, 2.0)
    never = GoodOdds(single, Share(0.01, 0.0, 0.02, 100))
    assert good_count.good_plates(planned(days=many), studio(), 1, never) == Range(0.0, 0.0, 0.0)
    assert good_count.good_plates(planned(days=None), studio(), 1) == Range(0.0, 0.0, 0.0)


def test_a_number_of_plates_is_told_by_its_mean():
    """Both plates on 54 % of days, each good on half: a median of 0 or 1 would mislead a maker."""
    both = np.repeat([[True, True], [False, False]], [540, 460], axis=0)
    many = planned(days=Spread(None, None, both, np.ones((1000, 2)), 0.0, 0.0))
    assert good_count.finished(many) == Range(0.0, pytest.approx(1.08), 2.0)
    good = good_count.good_plates(many, studio(0.5, 4000), 1)
    assert good == Range(0.0, pytest.approx(0.54, abs=1e-3), 2.0)
    assert count_range(good) == f"{good.middle:.1f} (0–2)"
    rare = planned(days=Spread(None, None, np.arange(1000)[:, None] < 30, np.ones((1000, 1)), 0, 0))
    assert good_count.finished(rare) == Range(0.0, 0.0, 0.0)


def test_few_simulated_days_do_not_part_good_plates_from_finished_ones():
    """A first plan has 80 days: drawn, "1.2 good" stood beside "2 finished" and "50 % good"."""
    days = planned(days=Spread(None, None, np.ones((80, 2), dtype=bool), np.ones((80, 2)), 0, 0))
    share = good_count.good_share(studio())[0].middle
    for seed in range(4):
        good = good_count.good_plates(days, studio(), seed)
        assert good.middle == pytest.approx(2.0 * share, abs=0.02)


def test_a_step_has_its_latest_start_and_its_range():
    rule = SimpleNamespace(
        key="iodise", title="Over iodine", resource="box", attended=True, look_for="straw",
        checks_line="", cautions=(), scope="plate",
    )  # fmt: skip
    names = SimpleNamespace(
        boxes=[SimpleNamespace(name="Iodine box")], lenses=[SimpleNamespace(name="Lens")],
        frames=[SimpleNamespace(name="Red frame"), SimpleNamespace(name="Lamp")],
        subject=SimpleNamespace(plane="sun"),
    )  # fmt: skip
    row = tables._plate_step(
        clock(), planned(), names, rule, (0, 0, 1), Known(Range(1.0, 2.0, 5.0))
    )
    assert (row.plate, row.resource) == (1, "Iodine box")
    assert row.start == datetime(2026, 6, 21, 8, 30, tzinfo=ZONE)
    assert (row.end - row.start).total_seconds() == 120.0
    assert row.float_minutes == 30.0
    assert row.latest_start == datetime(2026, 6, 21, 9, 0, tzinfo=ZONE)
    assert row.minutes == Range(1.0, 2.0, 5.0)
    second = tables._plate_step(
        clock(), planned(), names, rule, (1, 0, 1), Known(Range(1.0, 2.0, 5.0))
    )
    assert (second.plate, second.float_minutes) == (2, 0.0)  # no start is safe
    assert second.latest_start == second.start
    light = tables._plate_step(
        clock(), planned(), names, rule, (0, 1, 0), Known(Range(8.0, 9.0, 11.0))
    )
    assert (light.end - light.start).total_seconds() == 600.0
    # told by what a limit runs from where that comes first, however long the limit
    assert (row.limit_first, light.limit_first) == (False, True)
    assert by_event(replace(light, within_minutes=110.0))
    assert not by_event(replace(light, within_minutes=110.0, limit_first=False))
    for resource, name in (("camera", "Lens"), ("fire", "hands"), ("", "hands")):
        assert tables._resource(SimpleNamespace(resource=resource), names, 0) == name
    assert tables._resource(SimpleNamespace(resource="frame"), names, 1) == "Lamp"
    assert row.start.astimezone(UTC).hour == 6
