import numpy as np

from argentry.physics.dose import cumulative_j_m2, end_index
from argentry.plan import daylight
from argentry.plan.daylight import Frames


def test_an_exposure_too_long_cannot_be_made(light):
    ends = daylight.exposure_ends(light.exposure_middle, light.exposure_dose, 5.0)
    known = np.isfinite(ends)
    assert known.any()
    assert not known.all()
    assert (ends - np.arange(len(ends)))[known].max() <= 5.0


def test_no_long_pose_is_planned_where_a_short_one_will_come(light):
    plain = daylight.exposure_ends(light.exposure_middle, light.exposure_dose, 60.0)
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
    ends = daylight.exposure_ends(light.exposure_middle, light.exposure_dose, 60.0)
    whole = daylight.whole_ends(ends)
    known = np.isfinite(ends)
    assert (whole[~known] == -1).all()
    assert (whole[known] >= ends[known] - 1e-6).all()
    assert (whole[known] <= ends[known] + 1.0).all()


def test_the_safe_latest_start_is_ripe_on_nine_days_of_ten_and_a_little_later_is_not():
    steady = np.full(600, 100.0)
    levels = np.linspace(0.5, 1.5, 101)
    days = cumulative_j_m2(steady * levels[:, None], 60.0)
    frames = Frames("sun", 1, cumulative_j_m2(steady, 60.0), days, 6e5, 0.0, False)
    doses = np.full(101, 6e5)
    latest = daylight.safe_latest_start(frames, doses, 500.0, 0.9)

    def ripe(start):
        return np.mean([end_index(d, start, 6e5) <= 500.0 + 1e-9 for d in days])

    assert ripe(latest) >= 0.9
    assert ripe(latest + 5.0) < 0.9


def test_no_start_is_safe_when_the_light_fails_too_often():
    dark = np.zeros((10, 61))
    frames = Frames("sun", 1, dark[0], dark, 1e5, 0.0, False)
    assert daylight.safe_latest_start(frames, np.full(10, 1e5), 60.0, 0.9) == -np.inf
