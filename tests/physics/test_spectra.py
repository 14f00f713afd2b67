"""Bands behind glass of which a spectrum is known: integrated, and alike the laws they replace."""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights import lamp
from argentry.physics.lights.bands import (
    daylight_share,
    development_band,
    exposure_band,
    filter_passes,
    lens_share,
    luminous_band,
)
from argentry.physics.lights.filter import leak_density
from argentry.physics.lights.sky import Atmosphere, clear_sky

NM = np.arange(300.0, 1001.0, 1.0)
HIGH = np.array([60.0])


def curve(values, at=NM):
    return tuple(at.tolist()), tuple(np.broadcast_to(values, at.shape).tolist())


def red_light(band):
    return float(clear_sky(HIGH, np.ones(1), band, Atmosphere()).beam_normal_w_m2[0])


def test_a_filter_by_its_spectrum_gives_the_light_of_its_edge():
    by_edge = development_band(600.0, 0.85)
    by_curve = development_band(curve(filter_passes(NM, 600.0, 0.85)))
    assert red_light(by_curve) == pytest.approx(red_light(by_edge), rel=1e-6)
    # and half of it in a filter twice as dense: an edge alone could not tell
    half = development_band(curve(0.5 * filter_passes(NM, 600.0, 0.85)))
    assert red_light(half) == pytest.approx(0.5 * red_light(by_edge), rel=1e-6)


def test_a_filter_that_passes_a_slice_only_is_integrated():
    # 20 nm alone and half a step on either side, of the 100 nm from 600 to 700
    sliced = development_band(curve(((NM >= 620) & (NM <= 640)) * 1.0))
    whole = development_band(600.0, 1.0)
    assert red_light(sliced) / red_light(whole) == pytest.approx(21.0 / 100.0, rel=0.06)


def test_a_lens_by_its_spectrum_has_the_transmission_of_its_glass():
    start, full = (trade.value("light", f"lens_cut_{end}") for end in ("start", "full"))
    ramp = np.clip((NM - start) / (full - start), 0.0, 1.0)
    assert lens_share(curve(0.7 * ramp)) == pytest.approx(0.7, rel=1e-3)
    # glass that stops at 420 nm keeps little of what the plate sees; quartz passes more than clear
    assert lens_share(curve((NM > 420) * 1.0)) < 0.25
    assert lens_share(curve(1.0)) > 1.2


def test_a_pane_takes_from_each_band_what_it_takes_there():
    stops_violet = curve((NM > 440) * 0.9)
    assert daylight_share(exposure_band(), stops_violet) < 0.02
    assert daylight_share(luminous_band(), stops_violet) == pytest.approx(0.9, abs=0.01)
    assert daylight_share(development_band(600.0), stops_violet) == pytest.approx(0.9)


def test_a_leak_is_integrated_over_the_plates_own_band():
    flat = leak_density(curve(1e-4))
    assert not flat.at_least
    # behind the filter lies no other glass: what the clear lens would keep below 400 nm counts too
    assert 3.8 < flat.density < 4.0
    # a hole of 10 nm where the plate sees best: 1 % there, 1e-6 elsewhere
    hole = leak_density(curve(np.where(abs(NM - 420.0) <= 5.0, 1e-2, 1e-6)))
    assert 2.5 < hole.density < 3.3
    # the same hole in the green harms nothing
    assert leak_density(curve(np.where(abs(NM - 520.0) <= 5.0, 1e-2, 1e-6))).density > 5.5


def test_zeros_tell_a_leak_only_as_far_as_the_file_shows():
    red = np.where(NM > 600, 0.9, 0.0)
    red[NM == 500.0] = 1e-3
    found = leak_density(curve(red))
    assert found.at_least
    assert 2.8 < found.density < 3.0


def test_where_nothing_is_known_no_leak_is_told():
    at = np.arange(500.0, 801.0)
    assert leak_density(curve((at > 600) * 0.9, at)) is None
    diode = lamp.lamp_spectrum("red led", NM)
    assert leak_density(curve(1e-4), curve(diode)).density > 3.0 or diode[120] == 0.0
    assert leak_density(curve(1e-4), curve((NM > 600) * 1.0)) is None


@pytest.mark.parametrize("kind", ["halogen", "red led"])
def test_a_lamp_by_its_own_spectrum_gives_the_light_of_its_kind(kind):
    band = development_band(600.0)
    asked = (kind, band.wavelength_nm, band.weight)
    usual = lamp.lamp_share(*asked)
    at = np.arange(380.0, 781.0)  # the heat rays are not in the file, nor is its unit known
    assert lamp.lamp_share(*asked, curve(37.0 * lamp.lamp_spectrum(kind, at), at)) == pytest.approx(
        usual, rel=2e-3
    )


def test_a_diode_of_another_colour_gives_less_behind_a_deep_filter():
    band = development_band(620.0)
    asked = ("red led", band.wavelength_nm, band.weight)
    at = np.arange(380.0, 781.0)
    amber = curve(lamp.diode_spectrum(at, 600.0, 18.0), at)
    assert lamp.lamp_share(*asked, amber) < 0.2 * lamp.lamp_share(*asked)
