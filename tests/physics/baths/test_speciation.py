"""Silver in a fixing bath: balances close, from thin to thick, empty to full."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.baths import speciation as module
from argentry.physics.baths.speciation import complexes, silver_held, speciation

TOTAL = st.one_of(st.just(0.0), st.floats(1e-12, 2.0))
KSP = 10.0 ** trade.value("baths", "log_ksp_iodide")


@given(TOTAL, TOTAL, TOTAL, st.sampled_from(["in_bath", "log_beta"]))
def test_every_balance_closes_and_every_constant_holds(silver, hypo, iodide, constants):
    found = speciation(silver, hypo, iodide, constants)
    holds, ln_beta = complexes(constants)
    free = np.array([found.silver, found.thiosulfate, found.iodide])
    for total, one, count in zip((silver, hypo, iodide), free, holds.T, strict=True):
        assert one + count @ found.complexes == pytest.approx(total, rel=2e-6, abs=1e-29)
    assert np.log(found.complexes) == pytest.approx(ln_beta + holds @ np.log(free), abs=1e-9)
    assert found.saturation == pytest.approx(free[0] * free[2] / KSP)


def test_shapes_are_kept():
    found = speciation(np.full((2, 1), 1e-3), np.array([0.2, 0.4, 0.6]), 1e-3)
    assert found.silver.shape == found.saturation.shape == (2, 3)
    assert found.complexes.shape == (len(complexes()[0]), 2, 3)
    single = speciation(1e-3, 0.4, 1e-3)
    assert found.silver[1, 1] == pytest.approx(float(single.silver))


def test_constants_in_thin_solution_have_one_complex_more():
    assert len(complexes("log_beta")[0]) == len(complexes()[0]) + 1


@given(st.floats(0.01, 2.0), st.sampled_from(["in_bath", "log_beta"]))
def test_what_a_bath_holds_is_just_saturated(hypo, constants):
    held = float(silver_held(hypo, constants))
    assert speciation(held, hypo, held, constants).saturation == pytest.approx(1.0, rel=1e-3)
    assert speciation(held * 0.8, hypo, held * 0.8, constants).saturation < 1.0


def test_it_grows_with_the_hypo():
    strengths = np.array([0.1, 0.2, 0.4, 0.8])
    assert (np.diff(silver_held(strengths)) > 0.0).all()
    assert silver_held(strengths.reshape(2, 2)).shape == (2, 2)


def test_a_balance_that_is_not_found_is_said(monkeypatch):
    monkeypatch.setattr(module, "ROUNDS", 1)
    with pytest.raises(BadInput, match="balance was not found"):
        speciation(0.5, 0.5, 0.5)


@pytest.mark.parametrize("given", [(-1.0, 0.4, 0.1), (0.1, 11.0, 0.1), (0.1, 0.4, float("nan"))])
def test_bad_input(given):
    with pytest.raises(BadInput, match="mol/L"):
        speciation(*given)


def test_a_start_near_the_balance_makes_few_rounds(monkeypatch):
    """27 rounds for 400 baths from empty to full; from nowhere near it takes 47 and more."""
    monkeypatch.setattr(module, "ROUNDS", 27)
    rng = np.random.default_rng(4)
    totals = 10.0 ** rng.uniform(-12.0, 1.0, (3, 400)) * (rng.random((3, 400)) > 0.1)
    found = speciation(*totals, "log_beta")
    held = found.thiosulfate + complexes("log_beta")[0][:, 1] @ found.complexes
    assert held == pytest.approx(np.maximum(totals[1], module.LEAST), rel=1e-5)


def test_what_is_not_there_counts_as_1e_30_mol_in_a_litre():
    found = speciation(0.0, 0.4, 0.0)
    silver, _, iodide = complexes()[0].T @ found.complexes
    assert found.silver + silver == pytest.approx(1e-30, rel=1e-5, abs=0.0)
    assert found.iodide + iodide == pytest.approx(1e-30, rel=1e-5, abs=0.0)
    assert silver_held(0.0) < 1e-7  # pure water: the root of the solubility product
