"""Films and faces of glass with figures any optics textbook gives.

Sources: E. Hecht, Optics (glass faces, Brewster's angle, MgF2 on glass "about 1.3 %");
M. Born & E. Wolf, Principles of Optics, section 1.6 (quarter- and half-wave films). Page numbers
recalled, so left out; every value also follows from the short formula beside it.
"""

import numpy as np
import pytest

from argentry.physics.coat import thin_film
from argentry.physics.coat.film import reflectance

WAVELENGTH = np.array([550.0])


def on_glass(film_index, thickness, glass=1.52, angle=0.0, plane=None):
    index = [np.array([n], dtype=complex) for n in (1.0, film_index, glass, glass)]
    prepared = thin_film.stack(index, WAVELENGTH, angle)
    return thin_film.reflected(prepared, np.array([thickness]), np.zeros(1), plane=plane)[0, 0]


@pytest.mark.parametrize(("glass", "want"), [(1.5, 0.0400), (1.52, 0.042580)])
def test_bare_glass(glass, want):  # ((n - 1)/(n + 1))^2
    assert on_glass(glass, 0.0, glass) == pytest.approx(want, abs=5e-7)


@pytest.mark.parametrize(
    ("film_index", "want"), [(1.38, 0.0126008), (2.35, 0.323005), (np.sqrt(1.52), 0.0)]
)
def test_quarter_wave_film_on_glass(film_index, want):  # ((n_f^2 - n_g)/(n_f^2 + n_g))^2
    assert on_glass(film_index, 550 / (4 * film_index)) == pytest.approx(want, abs=5e-7)


def test_half_wave_film_is_not_seen():
    assert on_glass(2.35, 550 / (2 * 2.35)) == pytest.approx(0.042580, abs=5e-7)


def test_brewsters_angle():
    angle = 56.3099325  # atan(1.5)
    assert on_glass(1.5, 0.0, 1.5, angle, plane=1) == pytest.approx(0.0, abs=1e-12)
    assert on_glass(1.5, 0.0, 1.5, angle, plane=0) == pytest.approx(0.147929, abs=1e-6)


def test_at_45_degrees_the_parallel_plane_is_the_square_of_the_other():
    s, p = (on_glass(1.5, 0.0, 1.5, 45.0, plane=i) for i in (0, 1))
    assert s == pytest.approx(0.0920134, abs=1e-7)
    assert p == pytest.approx(s**2, abs=1e-12)


def test_opaque_silver_of_the_handbook_points():
    # |(1 - n)/(1 + n)|^2 at the photon energy 2.26 eV (548.60 nm) of Johnson & Christy's table,
    # n = 0.06 + 3.586i
    got = reflectance([548.60], [0.0])[0, 0]
    n = 0.06 + 3.586j
    assert got == pytest.approx(abs((1 - n) / (1 + n)) ** 2, abs=1e-6)
