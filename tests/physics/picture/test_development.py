"""Under the red filter: ends, latest starts, what is reached by dark."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.picture import development as red
from argentry.physics.picture.dose import cumulative_j_m2
from argentry.physics.stops import even_draws

DAY = cumulative_j_m2(np.full(300, 100.0), 60.0)  # five hours of 100 W/m2
DOSES = red.dose_range_j_m2(600_000.0, 0.5)  # 100 min of it


def test_a_plate_put_out_in_time_is_ripe_when_the_rule_of_three_says():
    found = red.ripening(DAY, 30.0, DOSES, 300.0)
    assert found.suffices
    assert found.end_index == pytest.approx(130.0)
    assert found.low_index < found.end_index < found.high_index
    assert found.latest_start_index == pytest.approx(200.0)


def test_a_plate_put_out_too_late_is_told_what_share_it_got():
    found = red.ripening(DAY, 240.0, DOSES, 300.0)
    assert not found.suffices
    assert np.isnan(found.end_index)
    assert found.share == pytest.approx(0.6)
    assert found.ripe_share < 0.1


def test_at_the_latest_start_half_the_plates_are_ripe():
    latest = red.ripening(DAY, 0.0, DOSES, 300.0).latest_start_index
    found = red.ripening(DAY, latest - 1e-6, DOSES, 300.0)
    assert found.suffices
    assert found.ripe_share == pytest.approx(0.5, abs=1e-3)
    assert np.isnan(found.high_index)


@given(st.floats(0.0, 290.0), st.floats(1.0, 2000.0))
def test_more_dose_never_ends_earlier_and_never_raises_the_odds(start, kj):
    small, large = (red.dose_range_j_m2(1000.0 * kj * f, 0.6) for f in (1.0, 1.3))
    first, second = (red.ripening(DAY, start, d, 300.0) for d in (small, large))
    assert second.ripe_share <= first.ripe_share
    if second.suffices:
        assert first.end_index < second.end_index


def test_many_days_of_one_light_are_that_light():
    doses = even_draws(600_000.0, 0.5, 101)
    days = np.broadcast_to(DAY, (101, len(DAY)))
    for start in (0.0, 30.0, 190.0):
        one = red.ripening(DAY, start, DOSES, 300.0)
        many = red.ripening_of_days(days, start, doses, 300.0)
        assert many.end_index == pytest.approx(one.end_index, abs=1.0)
        assert many.low_index == pytest.approx(one.low_index, abs=2.0)
        assert many.share == pytest.approx(one.share)
        assert many.ripe_share == pytest.approx(one.ripe_share, abs=0.02)
        assert many.latest_start_index == pytest.approx(one.latest_start_index, abs=1.0)


def test_the_light_suffices_when_it_does_on_most_days():
    dull = np.stack([DAY, 0.1 * DAY, 0.1 * DAY])
    doses = np.full(3, 600_000.0)
    found = red.ripening_of_days(dull, 0.0, doses, 300.0)
    assert not found.suffices
    assert found.ripe_share == pytest.approx(1 / 3)
    assert found.share == pytest.approx(0.3)
    assert np.isnan(found.latest_start_index)
    bright = red.ripening_of_days(dull[[0, 0, 1]], 0.0, doses, 300.0)
    assert bright.suffices
    assert bright.end_index == pytest.approx(100.0)
    assert bright.latest_start_index == pytest.approx(200.0)


def test_a_tower_does_not_end_the_day_and_the_skyline_does():
    seen = np.array([False, True, True, False, True, False, False])
    assert red.light_end_index(seen, 1.0) == 5.0
    assert red.light_end_index(seen, 6.0) == 6.0
    assert red.light_end_index(np.zeros(4, dtype=bool), 2.0) == 2.0


def test_a_spread_of_nothing_is_a_certainty():
    doses = red.dose_range_j_m2(1000.0, 0.0)
    assert red.ripe_share(999.0, doses) == 0.0
    assert red.ripe_share(1001.0, doses) == 1.0
    assert red.ripe_share(0.0, doses) == 0.0


def test_more_exposure_ripens_sooner():
    assert red.development_dose_j_m2(500.0, 1.0) < red.development_dose_j_m2(500.0, 0.0)


@pytest.mark.parametrize("kj", [0.0, -3.0, float("nan"), 1e9])
def test_impossible_doses_are_refused(kj):
    with pytest.raises(BadInput, match="dose"):
        red.development_dose_j_m2(kj)


def test_looks_come_at_30_60_90_and_end_with_the_range():
    assert red.looks_minutes(100.0) == [30.0, 60.0, 90.0]
    assert red.looks_minutes(20.0) == [12]
    assert red.looks_minutes(3.0) == []
    assert len(red.looks_minutes(1e4)) == 12


def test_full_sun_warms_the_frame_by_tens_of_degrees():
    assert 10.0 < red.frame_warming_k(1000.0) < 40.0


# --- the window from ripe to veiled


def test_a_right_exposure_is_ripe_at_its_dose_and_veiled_at_the_seed():
    assert red.window() == (1.0, trade.value("development", "veil_ratio"))
    assert red.development_dose_j_m2(500.0) == 500_000.0
    assert red.veiled_dose_j_m2(500_000.0) == 500_000.0 * trade.value("development", "veil_ratio")


@given(st.floats(-3.0, 2.9), st.floats(0.05, 0.1))
def test_a_longer_exposure_is_ripe_and_veiled_sooner_and_its_window_is_narrower_than_right(e, more):
    ripe, veiled = red.window(e)
    ripe_more, veiled_more = red.window(e + more)
    assert ripe_more < ripe < veiled
    assert veiled_more < veiled
    right = red.window()
    if e > 0.05:
        assert veiled - ripe < right[1] - right[0]


def test_the_longer_an_exposure_is_the_less_the_veil_outruns_the_image():
    # an exposure far too short comes nearer to its veil: longer development does not save it
    ratios = [veiled / ripe for ripe, veiled in map(red.window, (-3.0, 0.0, 3.0))]
    assert ratios == sorted(ratios)
    assert ratios[0] < 2.0 < ratios[1]


def test_window_by_hand():
    build = 2.0 ** (0.25 * 2.0)
    assert red.window(2.0) == pytest.approx((1.0 / build, 2.5 / (0.5 + 0.5 * build)))
    assert red.development_dose_j_m2(400.0, 2.0) == pytest.approx(400_000.0 / build)
    ripe = red.development_dose_j_m2(400.0, -1.0)
    veiled = 400_000.0 * red.window(-1.0)[1]
    assert red.veiled_dose_j_m2(ripe, -1.0) == pytest.approx(veiled)


@pytest.mark.parametrize("stops", [-3.1, 3.1, float("nan")])
def test_an_exposure_out_of_range_is_refused(stops):
    with pytest.raises(BadInput, match="exposure"):
        red.window(stops)


def test_a_plate_that_is_ripe_half_a_minute_after_the_end_is_not_ripe():
    days = np.cumsum(np.ones((5, 61)), axis=1) - 1.0
    for end, ripe in ((30.0, True), (29.5, False)):
        found = red.ripening_of_days(days, 0.0, np.full(5, 30.0), end)
        assert np.isfinite(found.end_index) == ripe


def test_a_plate_of_a_tiny_dose_is_ripe_half_the_time_at_its_middle():
    assert red.ripe_share(0.5, np.array([0.1, 0.5, 2.5])) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("minutes", "hours"), [(0.0, 0.0), (30.0, 0.5), (120.0, 2.0), (1e4, 166.0)]
)
def test_an_image_fades_evenly_until_three_stops_are_gone(minutes, hours):
    each_hour = trade.value("development", "fading_per_hour")
    assert red.fading_stops(minutes) == pytest.approx(min(each_hour * hours, 3.0))


@pytest.mark.parametrize(
    ("latest", "looks"),
    [(4.99, []), (5.0, [3]), (30.0, [18]), (30.1, [30.0]), (60.0, [30.0, 60.0]), (59.9, [30.0])],
)
def test_looks_are_within_the_range_to_its_very_end(latest, looks):
    assert red.looks_minutes(latest) == looks


def test_each_end_of_many_days_is_its_own_and_open_where_half_are_too_dull():
    days = np.arange(1.0, 22.0)[:, None] * np.arange(601.0)  # the first the dullest of 21
    doses = np.full(21, 1500.0)
    found = red.ripening_of_days(days, 0.0, doses, 600.0)
    ends = (found.low_index, found.end_index, found.high_index)
    assert ends == pytest.approx((1500.0 / 19.0, 1500.0 / 11.0, 1500.0 / 3.0))
    assert found.latest_start_index == pytest.approx(600.0 - 1500.0 / 11.0)
    short = red.ripening_of_days(days, 0.0, doses, 300.0)
    assert short.low_index == pytest.approx(1500.0 / 19.0)
    assert np.isnan(short.high_index)
    half = red.ripening_of_days(days[[0, 0, 20, 20]], 0.0, doses[:4], 300.0)
    assert np.isnan(half.latest_start_index)  # in half the cases no start is early enough
