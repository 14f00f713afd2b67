"""Air mass in the sky table against Kasten and Young.

Source: F. Kasten and A. T. Young, "Revised optical air mass tables and approximation formula",
Applied Optics 28 (1989) 4735: their formula, and its values at 60, 80 and 85 degrees.
"""

import numpy as np
import pytest

from argentry import trade


def kasten_young(zenith_deg):
    return 1.0 / (np.cos(np.radians(zenith_deg)) + 0.50572 * (96.07995 - zenith_deg) ** -1.6364)


@pytest.mark.parametrize(("zenith", "mass"), [(60, 1.9943), (80, 5.586), (85, 10.306)])
def test_their_table(zenith, mass):
    assert kasten_young(float(zenith)) == pytest.approx(mass, rel=5e-4)


def test_haze_at_500_nm_dims_the_beam_by_their_air_mass():
    table = trade.arrays("sky_bands")
    at_500 = int(np.flatnonzero(table["wavelength_nm"] == 500.0)[0])
    ours = -table["beam_ln_per_aod"][:, at_500]
    assert ours == pytest.approx(kasten_young(90.0 - table["elevation_deg"]), rel=1e-3)
