"""What is read under the filter at the bench: in the sun and under a lamp."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.needs.light_fixture import STUDIO, utc

from argentry.needs.light_lengths import light_length
from argentry.records.instruments import Lamp
from argentry.records.run import RunReading
from argentry.sky.clear_day import against_clear, clear_day

NOON, NIGHT = utc(6, 21, 12), utc(12, 21, 22)
LAMPLIT = replace(STUDIO.frames[0], lamp=Lamp(50.0, 0.3, "red led"))
LAMP_STUDIO = replace(STUDIO, frames=(LAMPLIT,))


def read(studio, what, value, unit, at):
    one = RunReading(what, value, unit, "hand", at, None, "develop")
    return against_clear(studio, studio.frames[0], one)


def length(studio, at, found=(), law="development"):
    return light_length(studio, law, at, at, constants={}, found=found).length


def test_a_reading_under_a_lamp_decides_its_hours_at_the_bench():
    """Under a lamp no reading counted: the bench went by watts."""
    by_watts = length(LAMP_STUDIO, NIGHT)
    found = [read(LAMP_STUDIO, "filter_w_m2", 20.0, "W/m2", NIGHT)]
    by_reading = length(LAMP_STUDIO, NIGHT, found)
    assert by_reading.seconds == pytest.approx(600.0 * 1000.0 / 20.0, rel=0.02)
    assert by_reading.why.startswith("light reading 20.0 W/m2")
    assert by_reading.high / by_reading.low < by_watts.high / by_watts.low, "it is known better"
    again = [*found, read(LAMP_STUDIO, "filter_w_m2", 40.0, "W/m2", NIGHT + timedelta(hours=1))]
    assert length(LAMP_STUDIO, NIGHT, again).seconds == pytest.approx(
        by_reading.seconds / 2, rel=0.05
    )


def test_lux_under_a_lamp_mean_what_its_kind_makes_of_them():
    watts = length(LAMP_STUDIO, NIGHT, [read(LAMP_STUDIO, "filter_w_m2", 5.0, "W/m2", NIGHT)])
    lux = length(LAMP_STUDIO, NIGHT, [read(LAMP_STUDIO, "filter_lx", 900.0, "lx", NIGHT)])
    assert lux.seconds == pytest.approx(watts.seconds, rel=0.25)


def test_it_says_nothing_of_the_sky():
    found = [read(LAMP_STUDIO, "filter_w_m2", 0.5, "W/m2", NOON)]
    with_it, without = (length(LAMP_STUDIO, NOON, f, "exposure") for f in (found, ()))
    assert with_it == without


def test_in_the_sun_it_is_a_share_of_the_clear_light():
    day = clear_day(STUDIO, STUDIO.frames[0], NOON)
    clear = day.development_w_m2[int(day.index(NOON))]
    half = read(STUDIO, "filter_w_m2", clear / 2.0, "W/m2", NOON)
    assert half.development == pytest.approx(0.5)
    assert half.under_filter is None
    lux = read(STUDIO, "filter_lx", 1000.0, "lx", NOON)
    assert 0.0 < lux.development < 1.0
    assert length(STUDIO, NOON, [half]).seconds > length(STUDIO, NOON).seconds
