"""The layer between iodide and silver, from a plate fumed in steps."""

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.physics import colour
from argentry.physics.coat_colour import coat_lab
from argentry.physics.interlayer_fit import fit_interlayer

DAYLIGHT = colour.light("D65")


STEPS = np.array([6.0, 12, 18, 25, 32, 40, 48, 60, 80, 105])


def test_a_clean_stepped_plate_gives_back_its_layer():
    lab = coat_lab(STEPS, DAYLIGHT, interlayer_nm=8.0, interlayer_silver=0.62)
    fit = fit_interlayer(STEPS, lab, DAYLIGHT)
    assert fit.interlayer_nm == pytest.approx(8.0, abs=1e-3)
    assert fit.interlayer_silver == pytest.approx(0.62, abs=1e-4)
    assert fit.rms < 1e-4


def test_steps_in_seconds_give_the_growth_too():
    lab = coat_lab(STEPS, DAYLIGHT, interlayer_nm=15.0, interlayer_silver=0.4)
    fit = fit_interlayer(STEPS / 0.3, lab, DAYLIGHT, in_nm=False)
    assert fit.interlayer_nm == pytest.approx(15.0, abs=1e-2)
    assert fit.nm_per_unit == pytest.approx(0.3, abs=1e-4)


def test_the_told_spread_is_the_real_spread():
    rng = np.random.default_rng(11)
    clean = coat_lab(STEPS, DAYLIGHT)
    fits = [
        fit_interlayer(STEPS, clean + rng.normal(0, 1.5, clean.shape), DAYLIGHT) for _ in range(40)
    ]
    real = np.std([one.interlayer_nm for one in fits])
    told = np.median([one.interlayer_nm_sd for one in fits])
    assert told == pytest.approx(real, rel=0.35)


@pytest.mark.parametrize(
    ("steps", "lab"),
    [
        ([10, 20, 30], np.full((3, 3), 50.0)),
        ([10, 20, 30, 260], np.full((4, 3), 50.0)),
        ([10, 20, 30, -1], np.full((4, 3), 50.0)),
        ([0, 0, 0, 0], np.full((4, 3), 50.0)),
        ([10, 20, 30, 40], np.full((4, 3), 200.0)),
    ],
)
def test_a_plate_that_cannot_be_is_refused(steps, lab):
    with pytest.raises(BadInput):
        fit_interlayer(steps, lab, DAYLIGHT)
