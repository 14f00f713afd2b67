"""Reflectance and absorption of coats against an independent transfer-matrix library.

Source: the package tmm 0.2.0 (S. J. Byrnes, "Multilayer optical calculations", arXiv:1603.02720).
"""

import numpy as np
import pytest
import tmm

from argentry import trade
from argentry.physics.coat import film, thin_film
from argentry.physics.coat.interlayer import Interlayer
from argentry.physics.coat.silver_iodide import mixed_index, silver_index, silver_iodide_index

WAVELENGTH = np.array([360.0, 405.0, 420.0, 436.0, 480.0, 546.0, 589.3, 650.0, 780.0])
THICKNESS = np.arange(0.0, 251.0, 10.0)


def stack(wavelength, thickness, layer):
    iodide, silver = silver_iodide_index(wavelength), silver_index(wavelength)
    mixed = mixed_index(silver, iodide, layer.silver)
    index = [1.0, complex(iodide), complex(mixed), complex(silver)]
    grown = layer.nm * (1 - np.exp(-thickness / layer.growth_nm))
    return index, [np.inf, thickness, grown, np.inf]


def by_library(thickness, wavelength, angle, layer):
    index, depth = stack(wavelength, thickness, layer)
    turn = np.radians(angle)
    return np.mean([tmm.coh_tmm(p, index, depth, turn, wavelength)["R"] for p in "sp"])


@pytest.mark.parametrize("angle", [0.0, 45.0, 75.0])
@pytest.mark.parametrize("layer", [(12.0, 0.5, 15.0), (30.0, 0.2, 3.0), (0.0, 0.5, 9.0)])
def test_reflectance_from_0_to_250_nm(angle, layer):
    layer = Interlayer(*layer)
    want = [[by_library(d, w, angle, layer) for w in WAVELENGTH] for d in THICKNESS]
    got = film.reflectance(WAVELENGTH, THICKNESS, angle_deg=angle, layer=layer)
    assert np.abs(got - want).max() < 1e-12  # 1e-6 is asked for


@pytest.mark.parametrize("angle", [0.0, 60.0])
@pytest.mark.parametrize("thickness", [1.0, 25.0, 60.0, 110.0, 250.0])
def test_share_of_each_layer(angle, thickness):
    shares = film.layer_shares(WAVELENGTH, thickness, angle_deg=angle)
    want = np.zeros((WAVELENGTH.size, 4))
    for i, wavelength in enumerate(WAVELENGTH):
        index, depth = stack(wavelength, thickness, Interlayer(12.0, 0.5, 15.0))
        for plane in "sp":
            solved = tmm.coh_tmm(plane, index, depth, np.radians(angle), wavelength)
            want[i] += np.array(tmm.absorp_in_each_layer(solved)) / 2
    got = np.stack(
        [shares.reflected[0], shares.film[0], shares.interlayer[0], shares.silver[0]], axis=1
    )
    assert np.abs(got - want).max() < 1e-12


def test_what_the_film_absorbs_of_actinic_light():
    # Photons of D65 from 360 to 500 nm, by the library's own absorption in each layer.
    low, high = 360.0, 500.0
    wavelength = np.arange(low, high + 1, 5.0)
    light = trade.table("illuminant_d65").columns
    photons = wavelength * np.interp(wavelength, light["wavelength_nm"], light["relative_power"])
    photons[[0, -1]] /= 2
    for thickness in (5.0, 25.0, 60.0, 110.0):
        taken = []
        for w in wavelength:
            index, depth = stack(w, thickness, Interlayer(12.0, 0.5, 15.0))
            taken.append(tmm.absorp_in_each_layer(tmm.coh_tmm("s", index, depth, 0.0, w))[1])
        want = np.dot(taken, photons) / photons.sum()
        assert float(film.coat_share(thickness)) == pytest.approx(want, abs=1e-9)


def test_the_librarys_own_absorbing_stack():
    # The four-media stack of tmm's own tests: 1 | 2+4i, 2 nm | 3+0.3i, 3 nm | 1+0.1i at 0.1 rad,
    # 100 nm; its two reflectances as printed there.
    index = [np.array([n], dtype=complex) for n in (1, 2 + 4j, 3 + 0.3j, 1 + 0.1j)]
    prepared = thin_film.stack(index, np.array([100.0]), np.degrees(0.1))
    depth = np.array([2.0]), np.array([3.0])
    s, p = (thin_film.reflected(prepared, *depth, plane=i)[0, 0] for i in (0, 1))
    assert s == pytest.approx(0.372732088391, abs=1e-10)
    assert p == pytest.approx(0.37016110373, abs=1e-10)
