"""The air use case."""

import pytest

from argentry.errors import BadInput
from argentry.needs.air import minutes_in_words, room_air


def test_a_dry_plate():
    answer = room_air(temperature_c=20.0, relative_humidity_pct=50.0)
    assert answer.dew_point_c == pytest.approx(9.26, abs=0.05)
    assert answer.margin_k == pytest.approx(10.74, abs=0.05)
    assert answer.safe is True
    assert answer.warm_to_c is None
    assert answer.warm_minutes is None


def test_a_cold_plate_is_warmed_in_the_room():
    answer = room_air(temperature_c=20.0, relative_humidity_pct=60.0, plate_temperature_c=8.0)
    assert answer.safe is False
    assert answer.margin_k == pytest.approx(-4.0, abs=0.05)
    assert answer.warm_to_c == pytest.approx(15.0, abs=0.11)
    assert answer.warm_to_c >= answer.dew_point_c + answer.wanted_margin_k
    assert answer.warm_in == "room"
    assert 1 < answer.warm_minutes < 6
    assert "would fog" in answer.advice[0]


def test_a_damp_room_needs_a_warm_place():
    answer = room_air(temperature_c=20.0, relative_humidity_pct=92.0)
    assert answer.warm_in == "warm place"
    assert answer.warm_to_c > 20.0
    assert any("damp" in sentence for sentence in answer.advice)


def test_a_thicker_plate_takes_longer():
    def minutes(mm):
        return room_air(
            temperature_c=20.0,
            relative_humidity_pct=60.0,
            plate_temperature_c=8.0,
            plate_thickness_mm=mm,
        ).warm_minutes

    assert minutes(2.0) == pytest.approx(2 * minutes(1.0))


def test_wet_bulb_stands_for_humidity():
    answer = room_air(temperature_c=20.0, wet_bulb_c=14.0)
    assert answer.relative_humidity_pct == pytest.approx(51.5, abs=1.0)
    high = room_air(temperature_c=20.0, wet_bulb_c=14.0, elevation_m=3000.0)
    assert high.relative_humidity_pct > answer.relative_humidity_pct


def test_the_hygrometer_s_error_is_shown():
    answer = room_air(temperature_c=20.0, relative_humidity_pct=79.0)
    low, high = answer.dew_point_80
    assert low < answer.dew_point_c < high
    full = room_air(temperature_c=20.0, relative_humidity_pct=100.0)
    assert full.dew_point_80[1] == pytest.approx(20.0)


@pytest.mark.parametrize(
    "wrong",
    [
        {"temperature_c": None},
        {"relative_humidity_pct": None},
        {"relative_humidity_pct": 140.0},
        {"relative_humidity_pct": float("nan")},
        {"wet_bulb_c": 15.0},
        {"temperature_c": 80.0},
        {"plate_temperature_c": 200.0},
        {"plate_thickness_mm": 0.0},
        {"warm_place_c": 5.0},
        {"elevation_m": float("inf")},
        {"temperature_c": 45.0, "relative_humidity_pct": 99.0},
    ],
)
def test_bad_input(wrong):
    good = {"temperature_c": 20.0, "relative_humidity_pct": 50.0}
    with pytest.raises(BadInput):
        room_air(**{**good, **wrong})


@pytest.mark.parametrize(
    ("minutes", "words"), [(0.2, "1 minute"), (1.4, "1 minute"), (6.6, "7 minutes")]
)
def test_minutes_in_words(minutes, words):
    assert minutes_in_words(minutes) == words
