"""Conditions worked out from the columns of a plate."""

import pytest

from argentry.learn.stages.derived_conditions import measure, value_of
from argentry.trade.conditions import conditions

KNOWN = {condition.key: condition for condition in conditions()}


@pytest.mark.parametrize(
    ("key", "known", "value"),
    [
        ("room_rh_pct", {"room_rh_pct": 65.0}, 1.0),
        ("room_rh_pct", {"room_rh_pct": 5.0}, -3.0),  # held within three widths
        ("room_rh_pct", {"room_rh_pct": 100.0}, 3.0),
        ("room_rh_pct", {"room_rh_pct": "damp"}, None),
        ("room_rh_pct", {"room_rh_pct": float("nan")}, None),
        ("room_rh_pct", {}, None),
        ("buff_minutes", {"buff_minutes": 40.0}, 1.0),
        ("buff_minutes", {"buff_minutes": 0.0}, -3.0),
        ("buff_minutes", {"buff_minutes": -1.0}, None),
        ("coat_nm", {"coat_nm": 35.0}, 1.0),
        ("coat_nm", {"coat_colour": "rose", "coat_cycle": 1.0}, 0.8),  # typical 33 nm
        ("coat_nm", {"coat_colour": "plaid"}, None),
        ("water_kind", {"water_kind": "tap"}, 1.0),
        ("water_kind", {"water_kind": "distilled"}, 0.0),
        ("water_kind", {}, None),
        ("development_start_hour", {"development_start": "2024-05-01T15:00:00+02:00"}, 1.0),
        ("development_start_hour", {"development_start": "after lunch"}, None),
        ("dew_margin_k", {"plate_c": 20.0, "room_c": 20.0}, None),
        ("dew_margin_k", {"dew_margin_k": 8.0}, 1.0),
    ],
)
def test_standardised_by_the_trade(key, known, value):
    found = measure(KNOWN[key], known)
    assert found == (None if value is None else pytest.approx(value))


def test_length_of_development():
    start, end = "2024-05-01T10:00:00+02:00", "2024-05-01T14:00:00+02:00"
    known = {"development_start": start, "development_end": end}
    assert measure(KNOWN["development_minutes"], known) == pytest.approx(1.0)
    backwards = {"development_start": end, "development_end": start}
    assert measure(KNOWN["development_minutes"], backwards) is None


def test_plate_at_the_dew_point():
    # saturated air: the dew point is the air's own temperature
    known = {"plate_c": 20.0, "room_c": 20.0, "room_rh_pct": 100.0}
    assert measure(KNOWN["dew_margin_k"], known) == pytest.approx((0.0 - 5.0) / 3.0, abs=0.01)


def test_one_stop_more_light_is_one_width_more():
    known = {"f_number": 4.0, "meter_ev": 14.0, "exposure_seconds": 400.0}
    once = measure(KNOWN["exposure_stops"], known)
    twice = measure(KNOWN["exposure_stops"], {**known, "exposure_seconds": 800.0})
    open_ = measure(KNOWN["exposure_stops"], {**known, "f_number": 4.0 / 2**0.5})
    assert (twice - once, open_ - once) == pytest.approx((1.0, 1.0))


def test_cold_box_needs_more_seconds_for_the_same():
    key = "fuming_seconds_20c"
    warm = measure(KNOWN[key], {"fuming_seconds": 60.0, "box_c": 20.0})
    cold = measure(KNOWN[key], {"fuming_seconds": 60.0, "box_c": 10.0})
    assert warm == pytest.approx(0.0)
    assert -2.0 < cold < -1.0  # iodine's pressure more than doubles in ten degrees


@pytest.mark.parametrize(
    ("key", "known", "value"),
    [
        ("room_c", {"room_c": 21.0}, 21.0),
        ("coat_nm", {"coat_nm": 31.0, "coat_colour": "rose"}, 31.0),
        ("coat_nm", {"coat_colour": "rose"}, 33.0),
        ("coat_nm", {"coat_colour": "rose", "coat_cycle": 1.0}, 33.0),
        ("coat_nm", {"coat_colour": 7.0, "coat_cycle": 1.0}, None),
        ("fuming_seconds_20c", {"fuming_seconds": 60.0, "box_c": 20.0}, 60.0),
        ("fuming_seconds_20c", {"fuming_seconds": 60.0, "box_c": -10.1}, None),
        ("fuming_seconds_20c", {"fuming_seconds": 60.0, "box_c": 60.1}, None),
        ("fuming_seconds_20c", {"fuming_seconds": 60.0}, None),
        ("fuming_seconds_20c", {"box_c": 20.0}, None),
        ("development_start_hour", {"development_start": "2024-05-01T15:45:00+02:00"}, 15.75),
        ("development_minutes", {"development_start": "2024-05-01T10:00:00",
                                 "development_end": "2024-05-01T10:00:00"}, 0.0),
        ("development_minutes", {"development_start": "2024-05-01T10:00:00",
                                 "development_end": "2024-05-01T11:00:00+02:00"}, None),
        ("development_minutes", {"development_start": "2024-05-01T10:00:00"}, None),
        ("dew_margin_k", {"plate_c": 20.0, "room_c": 20.0}, None),
    ],
)  # fmt: skip
def test_what_is_worked_out_from_the_columns(key, known, value):
    found = value_of(key, known, KNOWN[key].columns[0])
    assert found == (None if value is None else pytest.approx(value, abs=1e-6))


def test_a_box_is_believed_to_its_limits():
    for box in (-10.0, 60.0):
        assert value_of("fuming_seconds_20c", {"fuming_seconds": 60.0, "box_c": box}) > 0.0


def test_a_switch_is_known_by_a_word_alone():
    for nothing in ("", 3.0, None):
        assert measure(KNOWN["water_kind"], {"water_kind": nothing}) is None


def test_a_colour_comes_back_thicker_in_its_second_cycle():
    first, second = (
        value_of("coat_nm", {"coat_colour": "rose", "coat_cycle": cycle}) for cycle in (1.0, 2.0)
    )
    assert second > first + 50.0
