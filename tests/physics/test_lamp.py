"""Lamps over a development frame."""

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.physics import lamp
from argentry.physics.sky import development_band

BAND = development_band(590.0)
KINDS = tuple(trade.toml("development")["lamp"])


def light(power_w, distance_m, kind):
    return lamp.lamp_light_w_m2(power_w, distance_m, kind, BAND.wavelength_nm, BAND.weight)


@pytest.mark.parametrize("kind", KINDS)
def test_light_follows_power_and_the_square_of_distance(kind):
    assert light(400.0, 0.6, kind) == pytest.approx(0.5 * light(200.0, 0.3, kind))
    assert light(200.0, 0.3, kind) < lamp.lamp_total_w_m2(200.0, 0.3, kind)


def test_a_reflector_sends_four_times_what_a_bare_bulb_does():
    assert light(200.0, 0.3, "halogen") == pytest.approx(4 * light(200.0, 0.3, "bare halogen"))


def test_a_halogen_lamp_is_mostly_heat_and_a_red_diode_mostly_light():
    halogen, diode = (light(20.0, 0.5, k) / lamp.lamp_total_w_m2(20.0, 0.5, k) for k in KINDS[::2])
    assert 0.03 < halogen < 0.06
    assert 0.8 < diode < 0.95


def test_the_makers_lamp_notes_come_to_sun_like_doses():
    # three and five and a half hours a foot below 200 W, as kept in development.toml
    hours = np.array([3.0, 5.5])
    kilojoules = light(200.0, 0.3048, "halogen") * hours * 3.6
    fact = trade.facts("development")["dose"]
    assert np.all(kilojoules > fact.low)
    assert np.all(kilojoules < fact.high)


def test_a_diode_spectrum_sums_to_one():
    wavelength = np.arange(500.0, 760.0)
    assert np.trapezoid(lamp.diode_spectrum(wavelength, 630.0, 18.0)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("power", "distance", "kind"),
    [
        (-1.0, 0.3, "halogen"),
        (200.0, 0.0, "halogen"),
        (200.0, 0.3, "candle"),
        (9e9, 1.0, "red led"),
    ],
)
def test_impossible_lamps_are_refused(power, distance, kind):
    with pytest.raises(BadInput):
        light(power, distance, kind)
