"""Dew point and wet bulb against the psychrolib library and worked examples.

Sources: psychrolib 2.5 (ASHRAE Handbook of Fundamentals 2017, chapter 1); a worked dew point
example (22 °C, 78 %: 17.98 °C); ASHRAE chart example 40 °C dry, 20 °C wet (recalled); University of
Arizona AZMET dew point formulas; steam tables (saturation at 25 °C 3.169 kPa).
"""

import math

import pytest

from argentry.physics.room import air

psychrolib = pytest.importorskip("psychrolib")


@pytest.fixture(autouse=True)
def _si_units():
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("rh", [20.0, 40.0, 60.0, 80.0, 95.0])
@pytest.mark.parametrize("t", [5.0, 12.0, 20.0, 25.0, 30.0, 40.0])
def test_dew_point(t, rh):
    ours = air.dew_point_c(t, rh)
    theirs = psychrolib.GetTDewPointFromRelHum(t, rh / 100)
    if theirs >= 0:  # below freezing theirs is over ice
        assert ours == pytest.approx(theirs, abs=0.03)


@pytest.mark.parametrize("t", [1.0, 10.0, 20.0, 30.0, 45.0])
def test_saturation_pressure(t):
    assert air.saturation_pressure_pa(t) == pytest.approx(psychrolib.GetSatVapPres(t), rel=0.004)


def test_saturation_pressure_of_steam_tables():
    assert air.saturation_pressure_pa(25.0) == pytest.approx(3169.0, rel=0.004)


@pytest.mark.parametrize("pressure", [101325.0, 80000.0])
@pytest.mark.parametrize(("dry", "wet"), [(20, 14), (25, 18), (30, 22), (16.1, 12), (35, 28)])
def test_wet_bulb(dry, wet, pressure):
    """A whirled thermometer is not quite the adiabatic wet bulb: one point of humidity apart."""
    ours = air.relative_humidity_from_wet_bulb(dry, wet, pressure)
    theirs = 100 * psychrolib.GetRelHumFromTWetBulb(dry, wet, pressure)
    assert ours == pytest.approx(theirs, abs=1.0)


def test_worked_dew_point():
    assert air.dew_point_c(22.0, 78.0) == pytest.approx(17.98, abs=0.05)


def test_ashrae_chart_example():
    """40 °C dry and 20 °C wet: 14 % and a dew point of 7 °C, as read from the chart."""
    humidity = air.relative_humidity_from_wet_bulb(40.0, 20.0)
    assert humidity == pytest.approx(14.0, abs=1.2)
    assert air.dew_point_c(40.0, humidity) == pytest.approx(7.0, abs=1.0)


@pytest.mark.parametrize(("t", "wet"), [(20.0, 15.0), (30.0, 20.0)])
def test_azmet_formulas(t, wet):
    """E = Ew - 0.00066 (1 + 0.00115 W)(T - W) P, with 6.108 exp(17.27 T/(237.3 + T)) twice."""
    es, ew = (6.108 * math.exp(17.27 * x / (237.3 + x)) for x in (t, wet))
    theirs = 100 * (ew - 0.00066 * (1 + 0.00115 * wet) * (t - wet) * 1013.25) / es
    assert air.relative_humidity_from_wet_bulb(t, wet) == pytest.approx(theirs, abs=0.2)


@pytest.mark.parametrize(
    ("t_f", "gap_f", "rh"), [(61, 4, 79), (61, 5, 73), (70, 4, 81), (70, 5, 77)]
)
def test_a_wet_bulb_gap_in_the_old_makers_degrees(t_f, gap_f, rh):
    """Humidities of a Sprung-type psychrometer table at 1013 hPa, Fahrenheit readings."""
    t, wet = (t_f - 32) / 1.8, (t_f - gap_f - 32) / 1.8
    assert air.relative_humidity_from_wet_bulb(t, wet) == pytest.approx(rh, abs=1.0)
