"""Units of readings against the constants of SciPy (CODATA and NIST SP 811 values)."""

import pytest
from scipy import constants

from argentry.trade.readings import in_own_unit

INCH_OF_MERCURY_PA = 3386.389  # NIST SP 811 (2008), appendix B.8: inch of mercury, conventional


@pytest.mark.parametrize("fahrenheit", [-4.0, 32.0, 68.0, 100.4])
def test_fahrenheit_and_kelvin(fahrenheit):
    celsius = constants.convert_temperature(fahrenheit, "Fahrenheit", "Celsius")
    kelvin = constants.convert_temperature(fahrenheit, "Fahrenheit", "Kelvin")
    for value, unit in ((fahrenheit, "°F"), (kelvin, "K")):
        read = in_own_unit("value", "outside_c", value, unit)
        assert read == pytest.approx(celsius, abs=1e-7), unit


@pytest.mark.parametrize(
    ("unit", "pascal"),
    [
        ("Pa", 1.0),
        ("kPa", 1e3),
        ("mbar", constants.bar / 1000),
        ("mmHg", constants.mmHg),
        ("inHg", INCH_OF_MERCURY_PA),
    ],
)
def test_pressures(unit, pascal):
    sent = constants.atm / pascal
    read = in_own_unit("value", "pressure_hpa", sent, unit)
    assert read == pytest.approx(1013.25, rel=1e-6)


def test_foot_candle():
    # a lumen on a square foot
    assert in_own_unit("value", "light_lx", 1.0, "fc") == pytest.approx(
        1 / constants.foot**2, rel=1e-6
    )


def test_microwatt_on_a_square_centimetre():
    own = 1e-6 / constants.centi**2
    assert in_own_unit("value", "uv_w_m2", 1.0, "uW/cm2") == pytest.approx(own, rel=1e-9)
