"""The light of a lamp under the filter: by watts or by a reading, and how well it is known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from argentry import trade
from argentry.needs.lamp import lamp_light, lamp_notes, lamp_sigma_stops
from argentry.records.instruments import Lamp


def test_a_reading_stands_in_place_of_watts_and_is_known_better():
    """A reading under the filter could not be given at all."""
    by_watts = Lamp(50.0, 0.05, "red led", 0.3, 0.2)
    lit_by_watts = lamp_light(by_watts, (600.0, 0.9), "quarter")
    read = Lamp(kind="red led", reading_w_m2=lit_by_watts.development_w_m2)
    lit_by_reading = lamp_light(read, (600.0, 0.9), "quarter")
    assert lit_by_reading.development_w_m2 == pytest.approx(lit_by_watts.development_w_m2)
    assert lit_by_reading.heat_w_m2 == pytest.approx(lit_by_watts.heat_w_m2)
    assert lamp_sigma_stops(read) < 0.5 * lamp_sigma_stops(by_watts)
    both = replace(read, power_w=5.0, distance_m=3.0)
    assert lamp_light(both, (600.0, 0.9), "quarter") == lit_by_reading


def test_lux_become_development_light_by_the_lamp_spectrum():
    # One wavelength alone: V(630) = 0.265, so 683 lm/W x 0.265 = 181 lm/W; the diode spreads
    red = lamp_light(Lamp(kind="red led", reading_lux=181.0), (590.0, 0.9), "quarter")
    assert red.development_w_m2 == pytest.approx(1.0, rel=0.1)
    # a halogen lamp gives more of its red where the eye sees little
    halogen = lamp_light(Lamp(kind="halogen", reading_lux=181.0), (590.0, 0.9), "quarter")
    assert halogen.development_w_m2 > 1.2 * red.development_w_m2
    # sent through a denser filter the same lux means the same light
    dense = lamp_light(Lamp(kind="halogen", reading_lux=181.0), (590.0, 0.3), "quarter")
    assert dense.development_w_m2 == pytest.approx(halogen.development_w_m2)
    assert dense.heat_w_m2 == pytest.approx(3.0 * halogen.heat_w_m2)


def test_each_kind_of_lamp_has_its_own_doubt():
    for kind in trade.toml("development")["lamp"]:
        assert 0.3 < lamp_sigma_stops(Lamp(100.0, 0.3, kind)) < 1.3
    assert lamp_sigma_stops(Lamp(reading_lux=1.0)) > lamp_sigma_stops(Lamp(reading_w_m2=1.0))


def test_uneven_light_and_a_guessed_size_are_told():
    close = Lamp(200.0, 0.05, "bare halogen")
    told = " ".join(lamp_notes(close, lamp_light(close, (590.0, 0.9), "quarter")))
    assert "corners of the plate get 21 % of the light" in told
    panel = Lamp(50.0, 0.05, "red led")
    told = " ".join(lamp_notes(panel, lamp_light(panel, (590.0, 0.9), "quarter")))
    assert "assumed (0.3 m)" in told
    sized = replace(panel, width_m=0.3, height_m=0.2)
    assert "assumed" not in " ".join(lamp_notes(sized, lamp_light(sized, (590.0, 0.9), "quarter")))
    read = Lamp(reading_w_m2=9.0)
    assert lamp_notes(read, lamp_light(read, (590.0, 0.9), "quarter")) == ()
