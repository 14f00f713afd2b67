"""Dew point, wet bulb, pressure with height."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.room import air


@settings(deadline=None)
@given(st.floats(-20.0, 50.0), st.floats(1.0, 99.0))
def test_dew_point_is_below_the_air_and_rises_with_humidity(t, rh):
    dew = air.dew_point_c(t, rh)
    assert dew < t
    assert air.dew_point_c(t, rh + 1.0) > dew


@settings(deadline=None)
@given(st.floats(-20.0, 50.0))
def test_full_air_is_at_its_dew_point(t):
    assert air.dew_point_c(t, 100.0) == pytest.approx(t, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0.0, 45.0), st.floats(5.0, 100.0))
def test_vapour_at_the_dew_point_is_the_air_s_own(t, rh):
    dew = air.dew_point_c(t, rh)
    if dew >= -20:
        assert air.saturation_pressure_pa(dew) == pytest.approx(
            rh / 100 * float(air.saturation_pressure_pa(t))
        )


@pytest.mark.parametrize(
    ("colder", "at_20", "at_30"), [(1, 94, 94), (2, 88, 89), (3, 83, 84), (5, 73, 75), (10, 52, 55)]
)
def test_highest_humidity_without_fog(colder, at_20, at_30):
    for t, rh in ((20.0, at_20), (30.0, at_30)):
        assert air.dew_margin_k(t - colder, t, rh - 1) > 0 > air.dew_margin_k(t - colder, t, rh + 1)


def test_equal_thermometers_mean_full_air():
    assert air.relative_humidity_from_wet_bulb(20.0, 20.0) == pytest.approx(100.0)


@settings(deadline=None)
@given(st.floats(5.0, 45.0), st.floats(0.1, 4.0))
def test_a_wider_gap_between_thermometers_is_drier(t, gap):
    wide = air.relative_humidity_from_wet_bulb(t, t - gap - 0.1)
    assert wide < air.relative_humidity_from_wet_bulb(t, t - gap)


@pytest.mark.parametrize(
    ("t", "wet"), [(20.0, 21.0), (20.0, 2.0), (20.0, -1.0), (60.0, 20.0), (float("nan"), 10.0)]
)
def test_wet_bulb_refuses_nonsense(t, wet):
    with pytest.raises(BadInput):
        air.relative_humidity_from_wet_bulb(t, wet)


@pytest.mark.parametrize(("t", "rh"), [(20.0, 140.0), (20.0, 0.0), (-40.0, 50.0), (20.0, np.nan)])
def test_dew_point_refuses_nonsense(t, rh):
    with pytest.raises(BadInput):
        air.dew_point_c(t, rh)


def test_margin_refuses_a_plate_of_fire():
    with pytest.raises(BadInput):
        air.dew_margin_k(500.0, 20.0, 50.0)


@pytest.mark.parametrize("z", [-1000.0, 9000.0, float("nan")])
def test_elevation_is_checked(z):
    with pytest.raises(BadInput):
        air.pressure_at_elevation_pa(z)


def test_a_wick_that_tells_of_less_than_a_hundredth_is_dry():
    """At 40 °C the last tenth of a degree of the wet bulb is two thirds of one per cent."""
    wet = np.arange(20.0, 10.0, -0.01)
    vapour = air.saturation_pressure_pa(wet) - 6.6e-4 * (1.0 + 1.15e-3 * wet) * 101_325.0 * (
        40.0 - wet
    )
    humidity = 100.0 * vapour / air.saturation_pressure_pa(40.0)
    air.relative_humidity_from_wet_bulb(40.0, wet[humidity > 1.001].min())
    with pytest.raises(BadInput):
        air.relative_humidity_from_wet_bulb(40.0, wet[humidity < 0.999].max())
