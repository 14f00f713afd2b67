"""The tables of optical constants are what their builder writes."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from argentry import trade
from argentry.physics.coat.silver_iodide import mixed_index, silver_iodide_index

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


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_clear_media_mix_to_a_clear_one_between_them(share):
    # Bruggeman's condition of 1935: what spheres of both kinds stray from the mixture cancels
    glass, air = 1.5, 1.0
    index = complex(mixed_index([glass], [air], share)[0])
    assert index.imag == 0.0
    assert air < index.real < glass
    e = index.real**2
    strays = [(one**2 - e) / (one**2 + 2.0 * e) for one in (glass, air)]
    assert share * strays[0] + (1.0 - share) * strays[1] == pytest.approx(0.0, abs=1e-12)
    if share == 0.5:  # by hand: e = (1.625 + sqrt(1.625^2 + 18)) / 4
        assert e == pytest.approx(1.54204, abs=1e-4)
