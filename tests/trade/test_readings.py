import math

import pytest

from argentry import trade
from argentry.errors import ArgentryError, BadInput
from argentry.trade import readings as module
from argentry.trade.readings import (
    AIR_LAWS,
    LIGHT_LAWS,
    in_own_unit,
    measured_for,
    quantities,
    quantity,
    short_names,
    value_in,
)


def test_every_quantity_can_be_true_and_grows_stale():
    for each in quantities().values():
        assert each.low < each.high
        assert each.longest_jump_per_minute > 0
        assert each.stale_after_s > 0


@pytest.mark.parametrize(
    ("key", "value", "unit", "own"),
    [
        ("room_c", 68.0, "°F", 20.0),
        ("room_c", 68.0, "F", 20.0),
        ("room_c", 293.15, "K", 20.0),
        ("room_c", 21.5, "", 21.5),
        ("room_c", 21.5, "degC", 21.5),
        ("room_rh_pct", 0.5, "1", 50.0),
        ("light_lx", 12.5, "klx", 12500.0),
        ("light_lx", 900.0, "lux", 900.0),
        ("pressure_hpa", 101325.0, "Pa", 1013.25),
        ("pressure_hpa", 1013.25, "mbar", 1013.25),
        ("pressure_hpa", 101.325, "kPa", 1013.25),
        ("water_us_cm", 3.0, "\u03bcS/cm", 3.0),
        ("water_us_cm", 0.3, "mS/cm", 300.0),
        ("uv_w_m2", 3000.0, "µW/cm²", 30.0),
        ("sun_w_m2", 800.0, "W/m²", 800.0),
    ],
)
def test_units_come_to_the_quantity_s_own(key, value, unit, own):
    assert in_own_unit("value", key, value, unit) == pytest.approx(own, rel=1e-9)


@pytest.mark.parametrize(
    ("key", "value", "unit", "says"),
    [
        ("room_c", math.nan, "°C", "out of range"),
        ("room_c", math.inf, "°F", "out of range"),
        ("room_c", 451.0, "°F", "out of range"),
        ("room_c", 20.0, "lx", "not a unit"),
        ("light_lx", -1.0, "lx", "out of range"),
        ("moon_c", 20.0, "°C", "not measured"),
    ],
)
def test_what_cannot_be_true_is_refused_in_one_sentence(key, value, unit, says):
    with pytest.raises(BadInput, match=says) as caught:
        in_own_unit("value", key, value, unit)
    assert "\n" not in str(caught.value)


def test_converting_alone_leaves_the_range_to_the_caller():
    assert value_in("value", quantity("what", "room_c"), 451.0, "°F") == pytest.approx(232.777778)


def test_short_names_are_of_one_quantity_each():
    assert short_names()["ev"] == "meter_ev"
    assert not set(short_names()) & set(quantities())
    assert set(short_names().values()) == set(quantities()), "each can be typed at the bench"


def test_each_law_of_the_bench_has_what_feeds_it():
    for law in (*AIR_LAWS, *LIGHT_LAWS):
        assert measured_for(law), law
    assert measured_for("") == tuple(key for key, each in quantities().items() if not each.law)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"basis": "hearsay"}, "basis 'hearsay' is not known"),
        ({"source": ""}, "it names no source; give source"),
        ({"low": 60.0}, "its range is empty; give low < high"),
        ({"stale_after_s": 0.0}, "its speed or its age is not above 0"),
        ({"rests": [99.0]}, "it rests on 99, which is out of its range; give a value in it"),
        ({"title": ""}, "title is ''; give words"),
        ({"short": "room"}, "short is 'room'; give a list"),
        ({"colour": "red"}, "it has the unknown colour"),
        ({"law": "moonlight"}, "law 'moonlight' is not known; use one of nothing, room temp"),
        ({"law": "humidity"}, "its law humidity takes %; keep it in %; give °C in also"),
    ],
)
def test_a_wrong_entry_is_refused_in_one_sentence(change, says):
    entry = {**trade.toml("readings")["reading"][0], **change}
    with pytest.raises(ArgentryError, match=r"^readings.toml, reading room_c: ") as caught:
        module._quantity(entry)
    assert says in str(caught.value)
