"""The start-up series against closed forms of the diffusion literature.

Sources: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975; R. M. Barrer, Trans. Faraday Soc. 35
(1939) 628 (time lag); H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959,
appendix IV (roots). All recalled.
"""

import numpy as np
import pytest

from argentry.physics.vapour import diffusion


def test_time_lag_of_an_empty_sheet():
    """Barrer's time lag: at long times the amount runs parallel to steady, L^2 / 6 D late."""
    late = diffusion.taken(10.0, 0.0, rested=False)
    assert late == pytest.approx(10.0 - 1.0 / 6.0, rel=1e-12)
    assert diffusion.time_to_take(9.0, 0.0, rested=False) == pytest.approx(9.0 + 1.0 / 6.0)


def test_lead_of_a_full_sheet():
    """Crank, section 4.3, for a sheet full at the start: it leads by a third of its hold."""
    assert diffusion.taken(10.0, 0.0, rested=True) == pytest.approx(10.0 + 1.0 / 3.0, rel=1e-12)


def test_half_space_at_the_start():
    """Crank, section 2.2: what an absorbing wall takes from a half space is 2 c sqrt(D t / pi)."""
    t = np.array([1e-6, 1e-4, 1e-2])
    assert diffusion.taken(t, 0.0, rested=True) == pytest.approx(2 * np.sqrt(t / np.pi), rel=1e-12)


@pytest.mark.parametrize("time", [0.03, 0.1, 0.5, 2.0])
def test_permeation_series_of_an_empty_sheet(time):
    """Crank, equation 4.24a for one face at c, the other at 0, nothing inside at the start:
    Q/(L c) = t - 1/6 - 2/pi^2 sum (-1)^n / n^2 exp(-n^2 pi^2 t).
    """
    n = np.arange(1, 200)
    fading = ((-1.0) ** n / n**2 * np.exp(-((n * np.pi) ** 2) * time)).sum()
    expected = time - 1 / 6 - 2 / np.pi**2 * fading
    assert diffusion.taken(time, 0.0, rested=False) == pytest.approx(expected, abs=1e-12)


def test_permeation_is_steady_from_a_time_of_0_45():
    """Crank, section 4.3.3: the steady state is practically reached at D t / L^2 = 0.45."""
    steps = np.diff(diffusion.taken([0.45, 0.451], 0.0, rested=False)) / 0.001
    assert steps == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize(
    ("c", "roots"),
    [
        (0.01, [1.5771, 4.7145, 7.8552]),
        (1.0, [2.0288, 4.9132, 7.9787]),
        (10.0, [2.8628, 5.7606, 8.7083]),
        (100.0, [3.1105, 6.2211, 9.3317]),
    ],
)
def test_roots_with_surface_resistance(c, roots):
    """Carslaw and Jaeger, appendix IV, table II: roots of a cot a + C = 0, here C = 1/hindrance."""
    found = diffusion._modes(np.asarray(1.0 / c))[0][:3]
    assert found == pytest.approx(roots, abs=2e-4)
