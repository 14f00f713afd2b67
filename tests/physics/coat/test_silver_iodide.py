"""The tables of optical constants are what their builder writes."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from argentry import trade
from argentry.physics.coat.silver_iodide import silver_iodide_index

BUILDER = Path(__file__).resolve().parents[3] / "builders" / "film_tables.py"


@pytest.fixture(scope="module")
def builder():
    spec = importlib.util.spec_from_file_location("film_tables", BUILDER)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_iodide_table_is_the_model(builder):
    at = np.array([345.0, 372.0, 405.0, 420.0, 433.0, 436.0, 460.0, 546.0, 650.0, 880.0])
    model = builder.silver_iodide(at)
    assert np.abs(silver_iodide_index(at) - model).max() < 3e-5  # rounding of the table


def test_the_continuum_obeys_its_integral(builder):
    # An oscillator of finite strength: far below the gap the real part is the moment sum.
    energy = np.linspace(2.85, 400, 400_000)
    imaginary = builder.tauc_lorentz_imaginary(energy, **builder.TAUC_LORENTZ)
    at = 1.5
    want = 2 / np.pi * np.trapezoid(energy * imaginary / (energy**2 - at**2), energy)
    assert builder.tauc_lorentz(np.array([at]))[0].real == pytest.approx(want, abs=1e-4)


def test_the_silver_table_is_the_papers_energies(builder):
    columns = trade.table("silver_johnson_christy").columns
    energy = builder.HC_EV_NM / columns["wavelength_nm"]
    assert np.abs(energy - np.round(energy, 2)).max() < 1e-4
    assert (np.diff(columns["k"]) > 0).all()
