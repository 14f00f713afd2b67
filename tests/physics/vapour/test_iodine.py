"""Iodine vapour: pressure, concentration, diffusion, and the mass bound in a coat."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.vapour import iodine


@settings(deadline=None)
@given(st.floats(240.0, 386.0), st.floats(0.01, 0.8))
def test_pressure_rises_with_temperature(t, step):
    assert iodine.sublimation_pressure_pa(t + step) > iodine.sublimation_pressure_pa(t)


@pytest.mark.parametrize("t", [200.0, 390.0, float("nan"), float("inf"), -5.0])
def test_pressure_is_refused_outside_the_solid(t):
    with pytest.raises(BadInput, match="temperature of solid iodine"):
        iodine.sublimation_pressure_pa([293.0, t])


def test_shapes_are_kept():
    assert iodine.sublimation_pressure_pa(293.15).shape == ()
    assert iodine.diffusivity_m2_s(np.full((2, 1), 293.0), np.full(3, 1e5)).shape == (2, 3)


@settings(deadline=None)
@given(st.floats(250.0, 340.0), st.floats(5e4, 1.1e5))
def test_diffusion_grows_as_the_pressure_falls(t, p):
    assert iodine.diffusivity_m2_s(t, p / 2) == pytest.approx(2 * iodine.diffusivity_m2_s(t, p))


@pytest.mark.parametrize(("t", "p"), [(0.0, 1e5), (293.0, 0.0), (293.0, float("nan"))])
def test_diffusion_refuses_what_is_no_air(t, p):
    with pytest.raises(BadInput):
        iodine.diffusivity_m2_s(t, p)


def test_one_pressure_below_zero_among_others_is_refused():
    with pytest.raises(BadInput, match="air in the box"):
        iodine.diffusivity_m2_s(298.0, np.array([101_325.0, -1.0]))


def test_parts_per_million_are_the_share_of_the_pressure():
    warm = np.array([283.15, 300.15])
    share = iodine.sublimation_pressure_pa(warm) / 90000.0
    assert iodine.saturated_ppm(warm, 90000.0) == pytest.approx(1e6 * share, rel=1e-9)


def test_saturated_air_at_20_c():
    assert iodine.saturated_ppm(293.15) == pytest.approx(266, abs=1)
    grams = iodine.saturated_concentration_mol_m3(293.15) * 253.809
    assert grams == pytest.approx(2.805, abs=0.005)


@settings(deadline=None)
@given(st.floats(0, 500), st.floats(0, 2000))
def test_iodine_bound_is_half_a_molecule_for_each_silver_iodide(nm, cm2):
    moles_agi = nm * 1e-7 * cm2 * 5.68 / 234.773
    assert iodine.iodine_mg(nm, cm2) == pytest.approx(1e3 * moles_agi / 2 * 253.809, abs=1e-12)


@pytest.mark.parametrize(("nm", "cm2"), [(-1.0, 10.0), (10.0, -1.0), (float("nan"), 1.0)])
def test_iodine_bound_refuses_nonsense(nm, cm2):
    with pytest.raises(BadInput):
        iodine.iodine_mg(nm, cm2)


def test_two_litres_of_box_air():
    assert iodine.headspace_loss_mg(2.0, 20.0) == pytest.approx(5.61, abs=0.01)
    held = 2e-3 * float(iodine.saturated_concentration_mol_m3(293.15)) * 253.80894e3
    assert iodine.headspace_loss_mg(2.0, 20.0) == pytest.approx(held, rel=1e-5)
    with pytest.raises(BadInput):
        iodine.headspace_loss_mg(-1.0, 20.0)
