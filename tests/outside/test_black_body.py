"""A halogen lamp's light against published black-body figures.

Sources
-------
- Black-body radiation functions, share of radiation below a wavelength-temperature product
  (printed in heat-transfer texts, e.g. Incropera et al., table 12.1; recalled): 0.019718 at
  1600 um K, 0.066728 at 2000 um K, 0.273232 at 3000 um K.
- Wien's displacement constant 2897.77 um K (CODATA).
"""

import numpy as np
import pytest

from argentry.physics.lights.lamp import black_body_spectrum


@pytest.mark.parametrize(
    ("product_um_k", "share"), [(1600.0, 0.019718), (2000.0, 0.066728), (3000.0, 0.273232)]
)
def test_share_below_a_wavelength(product_um_k, share):
    wavelength = np.linspace(50.0, product_um_k / 3000.0 * 1000.0, 20_001)
    found = np.trapezoid(black_body_spectrum(wavelength, 3000.0), wavelength)
    assert found == pytest.approx(share, abs=5e-6)  # printed with older constants


def test_wien_displacement():
    wavelength = np.arange(900.0, 1030.0, 0.01)
    peak = wavelength[np.argmax(black_body_spectrum(wavelength, 3000.0))]
    assert peak * 3000.0 / 1000.0 == pytest.approx(2897.77, abs=0.05)
