"""Readings in EV against ISO 2720:1974 (C = 250 lx s, ISO 100)."""

import pytest

from argentry.physics.lights.meter import ev_to_lux


def test_exposure_value_15_at_iso_100():
    # N^2/t = 2^15: E = 250 x 32768 / 100.
    assert ev_to_lux(15.0) == pytest.approx(81_920.0)


def test_f16_at_one_over_iso_is_bright_sun():
    # f/16 at 1/100 s, ISO 100 (common practice for full sun): EV 14.64, 64 000 lx.
    assert ev_to_lux(14.644) == pytest.approx(64_000.0, rel=1e-3)
