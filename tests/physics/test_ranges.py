"""The range checks: what is refused, and that the sentence names the element that is wrong."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.coat import film, silver_iodide
from argentry.physics.ranges import checked, within
from argentry.physics.room import air
from argentry.physics.room.warming import time_constant_s, warm_seconds
from argentry.physics.vapour import iodine


@given(st.lists(st.floats(-2.0, 3.0), min_size=1, max_size=6))
def test_all_or_nothing(values):
    if all(0.0 <= value <= 1.0 for value in values):
        np.testing.assert_array_equal(within("share", values, 0.0, 1.0, "1"), values)
        return
    bad = next(value for value in values if not 0.0 <= value <= 1.0)
    with pytest.raises(BadInput) as raised:
        within("share", values, 0.0, 1.0, "1")
    assert raised.value.what == f"{bad:g} is out of range"


def test_the_ends_belong_to_the_range_and_the_shape_is_kept():
    assert within("gap", [[2.0], [3.0]], 2.0, 3.0, "mm").shape == (2, 1)
    assert within("gap", 2.0, 2.0, 3.0, "mm").shape == ()
    for end, beyond in ((3.0, 3.5), (2.0, 1.5)):  # an end in front hides nothing behind it
        with pytest.raises(BadInput, match=f"{beyond} mm is out of range"):
            within("gap", [end, beyond], 2.0, 3.0, "mm")


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_what_is_no_number_is_refused(bad):
    with pytest.raises(BadInput, match="out of range; give a number from 0 to 1 K"):
        within("step", [0.5, bad], 0.0, 1.0, "K")


def test_a_fact_brings_its_range_and_unit():
    fact = trade.facts("air")["pressure"]
    assert float(checked("air pressure", fact.high, "air", "pressure")) == fact.high
    with pytest.raises(BadInput, match=f"from {fact.low:g} to {fact.high:g} {fact.unit}"):
        checked("air pressure", fact.high + 1.0, "air", "pressure")


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: time_constant_s([1.0, 1e9]), "1e+09 mm"),
        (lambda: warm_seconds(1.0, [10.0, 10.0], [15.0, 25.0], 20.0), "to 25 °C"),
        (lambda: air.dew_point_c([20.0, 99.0], 50.0), "99 °C"),
        (lambda: air.relative_humidity_from_wet_bulb([20.0, 20.0], [18.0, 21.0]), "21 °C"),
        (lambda: air.relative_humidity_from_wet_bulb([20.0, 30.0], [15.0, 5.0]), "at 30 °C"),
        (lambda: iodine.sublimation_pressure_pa([293.15, 473.15]), "200 °C"),
        (lambda: silver_iodide.silver_index([500.0, 1200.0]), "1200 nm"),
        (lambda: film.relative_coat_speed([45.0, 251.0]), "251 nm"),
    ],
)
def test_the_sentence_names_the_first_bad_element(call, named):
    with pytest.raises(BadInput) as raised:
        call()
    assert named in raised.value.what
