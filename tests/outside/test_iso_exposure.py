"""Exposure arithmetic against published formulas and worked figures.

Sources
-------
- ISO 2720:1974, photographic exposure meters: N^2/t = E S/C = L S/K, with C = 250 (flat receptor)
  and K = 12.5; the usual table of light by exposure value that follows from them.
- Close-up factor (1 + m)^2: any optics text; 1:2 takes 2.25 times, life size 4 times.
- ISO 3:1973, preferred numbers, series R 10.
- Two makers' published daylight notes (f/1.7 for 10 s; f/5.6 for 120 s; full sun, EV 15).
- Cyclopedia of Photography, "Daguerreotype": a reversing mirror adds a third.
"""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.picture import exposure
from argentry.physics.stops import third_stop

# EV at ISO 100 -> illuminance [lx], from the widely printed table (2.5 x 2^EV)
LUX_BY_EV = {0: 2.5, 5: 80, 10: 2560, 12: 10240, 15: 81920}


@pytest.mark.parametrize(("ev", "lux"), LUX_BY_EV.items())
def test_iso_2720_incident_light_by_exposure_value(ev, lux):
    # f/1 at ISO 100 for 2^-EV seconds
    lux_seconds = exposure.incident_lux_seconds(1.0, 1.0) / 100.0
    assert lux_seconds * 2.0**ev == pytest.approx(lux)


def test_iso_2720_sunny_scene_at_iso_100():
    # f/16 for 1/125 s at ISO 100 is EV 15 within a twentieth of a stop
    lux = exposure.incident_lux_seconds(1.0, 16.0) / 100.0 * 125.0
    assert np.log2(lux / 2.5) == pytest.approx(15.0, abs=0.05)


def test_iso_2720_middle_tone_of_the_two_constants():
    # E S/C = L S/K with L = rho E/pi gives rho = pi K/C = 0.157
    rho = np.pi * trade.value("light", "reflected_constant")
    rho /= trade.value("light", "incident_constant")
    assert rho == pytest.approx(0.157, abs=0.0005)
    assert trade.facts("exposure")["reference_tone"].low == pytest.approx(rho, abs=0.001)


@pytest.mark.parametrize(
    ("f_number", "seconds", "speed"), [(1.7, 10.0, 8.82e-4), (5.6, 120.0, 7.98e-4)]
)
def test_makers_daylight_notes_as_effective_speed(f_number, seconds, speed):
    found = exposure.effective_speed_iso(f_number, seconds, 15.0)
    assert found == pytest.approx(speed, rel=2e-3)
    assert trade.value("exposure", "plate_speed") < found  # those plates were the faster kind
    assert found < trade.facts("exposure")["plate_speed"].high


@pytest.mark.parametrize(("scale", "factor"), [(0.125, 1.266), (0.5, 2.25), (1.0, 4.0)])
def test_close_up_factor(scale, factor):
    assert exposure.bellows_factor(scale) == pytest.approx(factor, abs=5e-4)


def test_thin_lens_life_size_at_twice_the_focal_length():
    assert exposure.magnification(210.0, 0.42) == pytest.approx(1.0)


def test_iso_3_series_r10_is_the_scale_of_third_stops():
    r10 = [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0]
    assert [third_stop(v) for v in r10] == r10
    steps = np.diff(np.log2(r10))
    assert steps == pytest.approx(np.full(10, 1 / 3), abs=0.04)


def test_reversing_mirror_adds_a_third():
    plain, mirrored = (
        exposure.exposure_dose_j_m2(plate_speed_iso=3e-4, f_number=8.0, mirror=m)
        for m in (False, True)
    )
    assert mirrored / plain == pytest.approx(4 / 3, rel=1e-3)
