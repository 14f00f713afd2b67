"""The layer between iodide and silver, from a plate fumed in steps."""

import numpy as np
import pytest
from tests.physics.coat.test_coat_colour import plate

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.coat import colour
from argentry.physics.coat.coat_colour import coat_lab
from argentry.physics.coat.interlayer import Interlayer, interlayer
from argentry.physics.coat.interlayer_fit import fit_interlayer

DAYLIGHT = colour.light("D65")

STEPS = np.array([6.0, 12, 18, 25, 32, 40, 48, 60, 80, 105])


def test_a_clean_stepped_plate_gives_back_its_layer():
    lab = coat_lab(STEPS, DAYLIGHT, layer=interlayer(8.0, 0.62))
    fit = fit_interlayer(STEPS, lab, DAYLIGHT)
    assert fit.interlayer_nm == pytest.approx(8.0, abs=1e-3)
    assert fit.interlayer_silver == pytest.approx(0.62, abs=1e-4)
    assert fit.rms < 1e-4
    assert (fit.nm_per_unit, fit.nm_per_unit_sd, fit.steps) == (1.0, 0.0, 10)


def test_steps_in_seconds_give_the_growth_too():
    lab = coat_lab(STEPS, DAYLIGHT, layer=interlayer(15.0, 0.4))
    fit = fit_interlayer(STEPS / 0.3, lab, DAYLIGHT, in_nm=False)
    assert fit.interlayer_nm == pytest.approx(15.0, abs=1e-2)
    assert fit.nm_per_unit == pytest.approx(0.3, abs=1e-4)


THIN = np.array([4.0, 8, 12, 16, 20, 25, 30, 36])


@pytest.mark.parametrize(
    "form",
    [
        lambda d: 12 * (1 - np.exp(-d / 8)),
        lambda d: 12 * (1 - np.exp(-d / 30)),
        lambda d: 12 * d / (d + 10),
        lambda d: 12 * np.minimum(1, d / 20),
    ],
    ids=["fast", "slow", "saturating", "ramp"],
)
@pytest.mark.parametrize("steps", [THIN, STEPS], ids=["thin", "wide"])
def test_a_layer_that_grows_in_another_way_is_found_without_bias(form, steps):
    rng = np.random.default_rng(3)
    true = form(steps)
    clean = np.minimum(plate(steps, true), [98.0, 128.0, 128.0])
    fits = [
        fit_interlayer(steps, clean + rng.normal(0, 0.6, clean.shape), DAYLIGHT) for _ in range(6)
    ]
    silver = np.median([one.interlayer_silver for one in fits])
    layers = [interlayer(one.interlayer_nm, None, one.interlayer_growth_nm) for one in fits]
    off = np.median([layer.under(steps) for layer in layers], axis=0) - true
    assert silver == pytest.approx(0.5, abs=0.05)
    assert abs(off.mean()) < 0.5
    assert np.abs(off).max() < 2.0


def test_the_told_spread_is_the_real_spread():
    rng = np.random.default_rng(11)
    clean = coat_lab(STEPS, DAYLIGHT)
    fits = [
        fit_interlayer(STEPS, clean + rng.normal(0, 1.5, clean.shape), DAYLIGHT) for _ in range(24)
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


def test_each_spread_is_that_of_its_own_parameter():
    """Linear least squares about the fit: cov = s^2 (J'J)^-1, J by central differences."""
    lab = coat_lab(STEPS, DAYLIGHT, layer=interlayer(12.0, 0.5, 15.0))
    lab = lab + np.random.default_rng(5).normal(0.0, 0.5, lab.shape)
    fit = fit_interlayer(STEPS, lab, DAYLIGHT)
    facts = trade.facts("film")
    pull = facts["lab_noise"].value / facts["interlayer_growth_nm_spread"].value

    def left(p):
        model = coat_lab(STEPS, DAYLIGHT, layer=Interlayer(p[0], p[1], np.exp(p[2])))
        more = pull * (p[2] - np.log(facts["interlayer_growth_nm"].value))
        return np.append((model - lab).ravel(), more)

    best = np.array([fit.interlayer_nm, fit.interlayer_silver, np.log(fit.interlayer_growth_nm)])
    step = np.array([1e-3, 1e-5, 1e-3])
    slope = [(left(best + s) - left(best - s)) / (2 * s.sum()) for s in np.diag(step)]
    slope = np.stack(slope, axis=1)
    rest = left(best)
    cover = np.linalg.inv(slope.T @ slope) * (rest @ rest) / (rest.size - 3)
    nm, silver, log_growth = np.sqrt(np.diag(cover))
    assert fit.rms == pytest.approx(np.sqrt(np.mean(rest[:-1] ** 2)), rel=0.01)
    assert fit.interlayer_nm_sd == pytest.approx(nm, rel=0.01)
    assert fit.interlayer_silver_sd == pytest.approx(silver, rel=0.01)
    assert fit.interlayer_growth_nm_sd == pytest.approx(
        fit.interlayer_growth_nm * log_growth, rel=0.01
    )


def test_a_step_that_was_never_fumed_is_a_step():
    steps = np.append(0.0, STEPS)
    lab = coat_lab(steps, DAYLIGHT, layer=interlayer(8.0, 0.62))
    assert fit_interlayer(steps, lab, DAYLIGHT).interlayer_nm == pytest.approx(8.0, abs=1e-3)


def test_of_two_hollows_the_deeper_is_taken():
    """Of five steps far from any model, two layers fit from near starts, one better."""
    rng = np.random.default_rng(9)
    layer = interlayer(*rng.uniform([3.0, 0.2], [28.0, 0.8]))
    steps = np.sort(rng.uniform(5.0, 120.0, rng.integers(4, 6)))
    lab = coat_lab(steps, DAYLIGHT, layer=layer)
    lab = lab + rng.normal(0.0, rng.choice([0.5, 3.0, 6.0]), lab.shape)
    fit = fit_interlayer(0.7 * steps, lab, DAYLIGHT, in_nm=False)
    other = coat_lab(1.33 * 0.7 * steps, DAYLIGHT, layer=Interlayer(25.24, 0.11, np.exp(2.79)))
    assert fit.rms < 0.98 * np.sqrt(np.mean((other - lab) ** 2))
