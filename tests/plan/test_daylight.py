from dataclasses import replace

import numpy as np

from argentry.plan import daylight
from argentry.plan.daylight import Frames


def test_an_exposure_too_long_cannot_be_made(light):
    ends = daylight.exposure_ends(light.exposure_middle, replace(light, longest_exposure=5.0))
    known = np.isfinite(ends)
    assert known.any()
    assert not known.all()
    assert (ends - np.arange(len(ends)))[known].max() <= 5.0


def test_no_long_pose_is_planned_where_a_short_one_will_come(light):
    plain = daylight.exposure_ends(light.exposure_middle, replace(light, longest_exposure=60.0))
    patient = daylight.patient_ends(light.exposure_middle, light)
    minutes = np.arange(len(plain))
    shortest = np.nanmin(plain - minutes)
    assert np.nanmax(patient - minutes) <= 2.5 * shortest
    assert np.nanmax(plain - minutes) > 2.5 * shortest
    kept = np.isfinite(patient)
    np.testing.assert_array_equal(patient[kept], plain[kept])


def test_a_dark_day_has_no_exposure(light):
    assert np.isnan(daylight.patient_ends(0.0 * light.exposure_middle, light)).all()


def test_whole_ends_never_come_before_the_light_ends_the_step(light):
    ends = daylight.exposure_ends(light.exposure_middle, replace(light, longest_exposure=60.0))
    whole = daylight.whole_ends(ends)
    known = np.isfinite(ends)
    assert (whole[~known] == -1).all()
    assert (whole[known] >= ends[known] - 1e-6).all()
    assert (whole[known] <= ends[known] + 1.0).all()


def steady(dose=10.0, longest=60.0, patience=2.5, expected=None):
    sums = np.arange(101.0)
    return daylight.DayLight(sums, sums[None], dose, longest, patience, (), expected)


def test_ends_under_a_steady_light_by_hand():
    light = steady()
    assert light.minutes == 100
    ends = daylight.exposure_ends(
        light.exposure_middle, replace(light, exposure_dose=10.0, longest_exposure=60.0)
    )
    np.testing.assert_array_equal(ends[:91], np.arange(91) + 10.0)
    assert np.isnan(ends[91:]).all()
    assert np.isfinite(
        daylight.exposure_ends(
            light.exposure_middle, replace(light, exposure_dose=10.0, longest_exposure=10.0)
        )[0]
    )
    assert np.isnan(
        daylight.exposure_ends(
            light.exposure_middle, replace(light, exposure_dose=10.0, longest_exposure=9.99)
        )
    ).all()


def test_patience_is_counted_from_the_shortest_pose():
    rising = np.concatenate([np.arange(50.0), 50.0 + 4.0 * np.arange(51.0)])  # four times as bright

    def expected(light):
        return daylight.expected_exposure_ends(replace(light, exposure_middle=rising))

    ends = expected(steady(patience=3.9))
    assert np.isnan(ends[10])  # 10 min here, 2.5 later: more than 3.9 times as long
    assert np.isfinite(ends[60])
    assert np.isfinite(expected(steady(patience=4.0))[10])


def test_a_dark_hour_is_taken_as_it_is_unless_a_shorter_pose_comes_soon():
    """Ten minutes a pose until the light is four times as strong, at minute 50."""
    late = np.concatenate([np.arange(50.0), 50.0 + 4.0 * np.arange(51.0)])
    light = replace(steady(patience=2.0), exposure_middle=4.0 * np.arange(101.0))
    ends = daylight.patient_ends(late, light)  # 2.5 min are expected, all day long
    np.testing.assert_array_equal(ends[[5, 15]], [15.0, 25.0])
    assert np.isnan(ends[[25, 40]]).all()  # half an hour later it takes less than half as long
    np.testing.assert_array_equal(ends[50:60], np.arange(50.0, 60.0) + 2.5)
    dark = np.arange(101.0) / 3.0  # 30 min all day long: the day has no shorter one
    assert np.isfinite(daylight.patient_ends(dark, light)[10])
    brief = replace(light, longest_exposure=9.0)  # and nothing longer than is ever attempted
    assert np.isnan(daylight.patient_ends(late, brief)[5])


def test_in_an_hour_that_no_plan_would_use_a_shorter_pose_is_waited_for():
    """As at dawn: expected to take too long at minute 5, and a short one comes in the day."""
    late = np.concatenate([np.arange(50.0), 50.0 + 4.0 * np.arange(51.0)])
    told = np.arange(101.0) + 2.5
    told[:10] = np.nan
    light = steady(patience=2.0, expected=told)
    ends = daylight.patient_ends(late, light)
    assert np.isnan(ends[5])
    assert ends[15] == 25.0


def test_what_is_expected_is_told_or_the_middle_day():
    np.testing.assert_array_equal(
        daylight.expected_exposure_ends(steady()), daylight.patient_ends(np.arange(101.0), steady())
    )
    told = np.arange(101.0) + 20.0
    told[5] = 5 + 61.0  # longer than anybody waits
    told[6] = 6 + 51.0  # two and a half times as long as the shortest, and more
    got = daylight.expected_exposure_ends(steady(expected=told))
    assert np.isnan(got[[5, 6]]).all()
    np.testing.assert_array_equal(got[[4, 7]], [24.0, 27.0])


def test_whole_minutes_by_hand():
    ends = np.array([0.0, 1.5, 2.0000000001, np.nan, 9.0])
    np.testing.assert_array_equal(daylight.whole_ends(ends), [1, 2, 3, -1, 9])


def test_frames_are_ripe_as_expected_or_on_the_middle_day():
    sums = np.arange(101.0)
    plain = Frames("sun", 1, sums, sums[None], 30.0, 0.0, False)
    np.testing.assert_array_equal(plain.expected_ends[:71], np.arange(71) + 30.0)
    told = np.arange(101.0) + 7.0
    other = Frames("sun", 1, sums, sums[None], 30.0, 0.0, False, told)
    np.testing.assert_array_equal(other.expected_ends, told)
