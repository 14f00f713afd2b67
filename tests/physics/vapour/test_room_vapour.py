"""Vapours in a room, airing, and water that dries."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.vapour.iodine import (
    diffusivity_m2_s,
    headspace_loss_mg,
    saturated_concentration_mol_m3,
)
from argentry.physics.vapour.room_vapour import (
    drying_minutes,
    mg_m3,
    minutes_to_air,
    open_tray_mg_s,
    ppm_of,
    room_mg_m3,
    silica_gel_g,
    sulfur_dioxide_mg,
    water_g_m3,
)


@given(st.floats(0.01, 1e4), st.floats(17.0, 400.0), st.floats(0.0, 40.0))
def test_ppm_and_back(ppm, mass, celsius):
    assert ppm_of(mg_m3(ppm, mass, celsius), mass, celsius) == pytest.approx(ppm)


def test_ppm_by_the_gas_law_at_height_and_in_cold():
    assert mg_m3(1.0, 24.465) == pytest.approx(1.0, rel=1e-3)  # 24.465 L/mol at 25 °C
    assert mg_m3(1.0, 24.465, 25.0, 80_000.0) == pytest.approx(0.7895, rel=1e-3)
    assert mg_m3(1.0, 24.055, 20.0) == pytest.approx(1.0, rel=1e-3)


def test_open_tray_goes_with_area_and_against_the_still_air():
    once = float(open_tray_mg_s(100.0, 20.0, 10.0))
    assert open_tray_mg_s(200.0, 20.0, 5.0) == pytest.approx(4.0 * once)
    assert open_tray_mg_s(100.0, 20.0) == pytest.approx(once)
    assert open_tray_mg_s(100.0, 30.0) > 2.0 * once


@given(st.floats(0.0, 10.0), st.floats(5.0, 100.0), st.floats(0.1, 20.0), st.floats(0.0, 50.0))
def test_a_room_in_two_halves_is_the_room_at_once(source, volume, changes, before):
    whole = room_mg_m3(source, 1200.0, volume, changes, before)
    half = room_mg_m3(source, 600.0, volume, changes, before)
    assert room_mg_m3(source, 600.0, volume, changes, half) == pytest.approx(float(whole))
    steady = source * 3600.0 / (changes * volume)
    assert room_mg_m3(source, 1e7, volume, changes, before) == pytest.approx(steady, abs=1e-9)
    assert room_mg_m3(source, 0.0, volume, changes, before) == pytest.approx(before)


def test_a_short_puff_is_mass_over_volume():
    vented = float(headspace_loss_mg(2.0, 20.0))
    assert room_mg_m3(vented, 1.0, 15.0, 0.5) == pytest.approx(vented / 15.0, rel=1e-3)


@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0), st.floats(0.1, 30.0))
def test_airing_ends_at_the_limit(now, limit, changes):
    minutes = float(minutes_to_air(now, limit, changes))
    if now <= limit:
        assert minutes == 0.0
    else:
        assert room_mg_m3(0.0, minutes * 60.0, 30.0, changes, now) == pytest.approx(limit)


def test_sulfur_dioxide_by_moles():
    assert sulfur_dioxide_mg(248.18) == pytest.approx(64.06e3, rel=1e-4)


def test_water_in_air_goes_with_humidity():
    assert water_g_m3(20.0, 50.0) == pytest.approx(0.5 * float(water_g_m3(20.0, 100.0)))


def test_drying_takes_heat_and_a_dry_room():
    usual = float(drying_minutes(20.0, 50.0, 50.0, 4.0))
    assert drying_minutes(20.0, 50.0) == pytest.approx(usual)
    assert drying_minutes(20.0, 50.0, 100.0, 4.0) == pytest.approx(2.0 * usual)
    assert drying_minutes(20.0, 50.0, 50.0, 8.0) == pytest.approx(0.5 * usual)
    times = drying_minutes(20.0, np.array([10.0, 50.0, 80.0, 98.0]))
    assert (np.diff(times) > 0.0).all()
    assert drying_minutes(30.0, 50.0) < usual


def test_silica_gel_holds_the_air_and_the_wood():
    dry = float(silica_gel_g(10.0, 20.0, 50.0, 0, 0.0))
    assert dry == pytest.approx(10.0 * float(water_g_m3(20.0, 50.0)) * 1e-3 / 0.2)
    assert silica_gel_g(10.0, 20.0, 50.0, 4, 0.0) == pytest.approx(5.0 * dry)
    assert silica_gel_g(10.0, 20.0, 50.0) == pytest.approx(dry + 10.0 * 0.5 / 0.2)


@pytest.mark.parametrize(
    "call",
    [
        lambda: mg_m3(-1.0, 100.0),
        lambda: open_tray_mg_s(-1.0, 20.0),
        lambda: room_mg_m3(1.0, 60.0, 0.0, 1.0),
        lambda: room_mg_m3(1.0, 60.0, 10.0, 0.0),
        lambda: minutes_to_air(np.nan, 1.0, 1.0),
        lambda: minutes_to_air(1.0, 0.0, 1.0),
        lambda: sulfur_dioxide_mg(-1.0),
        lambda: water_g_m3(20.0, 101.0),
        lambda: drying_minutes(20.0, 99.0),
        lambda: drying_minutes(60.0, 50.0),
        lambda: silica_gel_g(-1.0, 20.0, 50.0),
    ],
)
def test_bad_input(call):
    with pytest.raises(BadInput):
        call()


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (lambda x: mg_m3(x, 100.0), 0.0, 1e6),
        (lambda x: ppm_of(x, 100.0), 0.0, 1e9),
        (lambda x: open_tray_mg_s(x, 20.0), 0.0, 1e5),
        (lambda x: open_tray_mg_s(100.0, 20.0, x), 0.1, 1000.0),
        (lambda x: room_mg_m3(x, 60.0, 30.0, 1.0), 0.0, 1e9),
        (lambda x: room_mg_m3(1.0, x, 30.0, 1.0), 0.0, 1e9),
        (lambda x: room_mg_m3(1.0, 60.0, x, 1.0), 0.1, 1e5),
        (lambda x: room_mg_m3(1.0, 60.0, 30.0, x), 1e-3, 1e3),
        (lambda x: room_mg_m3(1.0, 60.0, 30.0, 1.0, x), 0.0, 1e9),
        (lambda x: minutes_to_air(1.0, 0.1, x), 1e-3, 1e3),
        (sulfur_dioxide_mg, 0.0, 1e5),
        (lambda x: water_g_m3(20.0, x), 0.0, 100.0),
        (lambda x: drying_minutes(20.0, x), 1.0, 98.0),
        (lambda x: drying_minutes(x, 50.0), 0.0, 45.0),
        (lambda x: drying_minutes(20.0, 50.0, x), 0.1, 1e4),
        (lambda x: drying_minutes(20.0, 50.0, 50.0, x), 0.5, 200.0),
        (lambda x: silica_gel_g(x, 20.0, 50.0), 0.0, 1e4),
        (lambda x: silica_gel_g(1.0, 20.0, 50.0, x), 0.0, 1e4),
        (lambda x: silica_gel_g(1.0, 20.0, 50.0, 1, x), 0.0, 50.0),
    ],
)
def test_ranges_hold_to_their_ends(call, low, high):
    for end in (low, high):
        call(end)
    for beyond in (low - 1e-3 * (high - low), high * 1.001):
        with pytest.raises(BadInput, match="out of range"):
            call(beyond)


def test_open_crystals_in_milligrams_a_second():
    """Fick: 8.5e-6 m2/s, 26.9 Pa over crystals at 20 °C (both published), 100 cm2, 1 cm of air."""
    moles = 8.5e-6 * 26.9 / (8.314 * 293.15) * 1e-2 / 1e-2
    told = float(open_tray_mg_s(100.0, 20.0, 10.0))
    assert told == pytest.approx(moles * 253.8e3, rel=0.1)
    ours = diffusivity_m2_s(293.15) * saturated_concentration_mol_m3(293.15) * 253.80894e3
    assert told == pytest.approx(float(ours), rel=1e-5)
