"""Exposures set by the light a maker saw, and by what was calculated (Berkson 1950)."""

from dataclasses import replace

import numpy as np
import pytest

from argentry import trade
from argentry.learn.numbers import light_seen
from argentry.learn.numbers.exposure_belief import GradedExposure, believed
from argentry.learn.numbers.light_seen import as_meant, as_meant_twice
from argentry.learn.numbers.speed import _learned, learn_exposure, speed_numbers

DOUBTS = {"sun": 0.25, "overcast": 0.95}
HALF, NOISE, MEANT = 0.5, 0.3, 0.6


def made(*, sees_light, count=160, seed=4, meant=MEANT):
    """Return plates and the light they truly had; a third of them under cloud. [stops]"""
    rng = np.random.default_rng(seed)
    plates, true = [], []
    for number in range(count):
        group = "sun" if number % 3 else "overcast"
        error = rng.normal(0.0, DOUBTS[group])
        given = rng.normal(0.0, meant)  # by the eye, or by what was calculated
        had, calculated = (given, given + error) if sees_light else (given + error, given)
        shown = had + rng.normal(0.0, NOISE)
        verdict = "under" if shown < -HALF else "right" if shown < HALF else "over"
        plates.append(
            GradedExposure((calculated,), (verdict,), DOUBTS[group], str(number), group=group)
        )
        true.append(had)
    return plates, np.array(true)


def off(plates, true):
    return float(np.sqrt(np.mean((np.array([one.stops[0] for one in plates]) - true) ** 2)))


def test_what_a_maker_saw_stands_nearer_to_the_light_that_his_plates_had():
    plates, true = made(sees_light=True, count=480)
    likely = as_meant(plates)
    assert off(likely, true) < 0.8 * off(plates, true)
    cloudy = [one.light_sd for one in likely if one.group == "overcast"]
    # the light meant is known to 0.6 stops, the calculation to 0.95: both together to 0.51,
    # and some of it may have been by the calculation
    assert np.mean(cloudy) == pytest.approx(0.55, abs=0.15)


def test_latitude_and_scatter_are_not_widened_by_light_the_maker_saw_better():
    """Taken for Berkson's kind, these plates gave a half latitude of 0.72 (measured)."""
    halves, noises = [], []
    for seed in range(3):
        belief = learn_exposure(made(sees_light=True, seed=seed)[0])
        _, half, noise = speed_numbers(belief, 3e-4)
        halves.append(half.value)
        noises.append(noise.value)
    assert np.mean(halves) == pytest.approx(HALF, rel=0.15)
    assert np.mean(noises) == pytest.approx(NOISE, rel=0.25)


def test_exposures_by_the_calculation_stay_as_they_are():
    plates, true = made(sees_light=False, meant=0.4)
    likely = as_meant(plates)
    moved = np.array([a.stops[0] - b.stops[0] for a, b in zip(likely, plates, strict=True)])
    assert np.abs(moved).max() < 0.2
    assert off(likely, true) == pytest.approx(off(plates, true), rel=0.05)
    cloudy = [one.light_sd for one in likely if one.group == "overcast"]
    assert np.mean(cloudy) == pytest.approx(0.95, rel=0.08)


def test_another_bottle_is_not_taken_for_light_that_was_seen():
    """Ten plates after the bottle were drawn .2 stop towards those before it."""
    plates, _ = made(sees_light=True, count=60, meant=0.3)
    after, _ = made(sees_light=True, count=10, seed=5, meant=0.3)
    moved = [replace(one, stops=(one.stops[0] + 0.8,), opened="no 2") for one in after]
    likely = as_meant([replace(one, opened="no 1") for one in plates] + moved)[60:]
    alone = as_meant(moved)
    for group in DOUBTS:
        given, alike = (
            np.mean([one.stops[0] for one in some if one.group == group])
            for some in (likely, alone)
        )
        assert given == pytest.approx(alike, abs=0.12)


def test_how_much_a_maker_saw_is_one_doubt_of_all_his_plates():
    """It moves the latitude of all plates alike, so the latitude is known no better than that."""
    plates, _ = made(sees_light=False, count=24)
    few, many = as_meant_twice(plates)
    drawn = [
        np.std([one.stops[0] for one in some]) for some in (plates, few, as_meant(plates), many)
    ]
    assert drawn == sorted(drawn, reverse=True)
    single, less, more = (
        _latitude(_learned(some, believed())) for some in (as_meant(plates), few, many)
    )
    whole = _latitude(learn_exposure(plates))
    assert less[0] > single[0] > more[0]
    within = 0.5 * (less[1] ** 2 + more[1] ** 2)
    assert whole[1] ** 2 == pytest.approx(within + (0.5 * (less[0] - more[0])) ** 2, rel=1e-6)
    known = [replace(one, light_sd=0.0) for one in plates]
    assert as_meant_twice(known) == (tuple(known),)


def _latitude(belief):
    """Return the mean and the standard deviation of the logarithm of the half latitude."""
    weight, at = belief.marginal(1), np.log(belief.half)
    mean = float(weight @ at)
    return mean, float(np.sqrt(weight @ (at - mean) ** 2))


def test_what_makers_mean_to_give_is_not_rounded_into_light_that_was_seen():
    """Nine spreads of it, half as large again each, took a quarter of the light for seen."""
    plates, _ = made(sees_light=False, count=480, seed=0, meant=0.46)
    likely = as_meant(plates)
    moved = np.array([a.stops[0] - b.stops[0] for a, b in zip(likely, plates, strict=True)])
    assert np.sqrt(np.mean(moved**2)) < 0.03


def test_strips_and_light_that_is_known_are_left_alone():
    strips = GradedExposure((-1.0, 0.0, 1.0), ("under", "right", "over"), 0.4)
    known = GradedExposure((2.0,), ("over",))
    assert as_meant([strips, known]) == (strips, known)
    assert as_meant([]) == ()
    near, first = as_meant([GradedExposure((0.0,), ("right",), 0.3, group="sun"), strips])
    assert first is strips
    assert near.stops == (0.0,)


def test_how_likely_exposures_are_is_the_restricted_likelihood_of_a_mixed_model():
    """Of Patterson and Thompson, Biometrika 58 (1971) 545, written out with whole matrices."""
    rng = np.random.default_rng(3)
    kind = np.repeat([0, 1, 2, 3], [2, 7, 4, 1])
    bottle = np.array([0, 0, 1, 1])
    given, doubt = rng.normal(0.0, 1.0, kind.size), rng.uniform(0.05, 0.6, kind.size)
    off = trade.value("decide", "group_offset_sd") ** 2
    for seen, meant in ((0.0, 0.2), (0.5, 0.7), (1.0, 2.0)):
        of_all = np.diag(meant**2 + seen * doubt) + off * (kind[:, None] == kind)
        of_bottle = (bottle[kind][:, None] == np.arange(2)).astype(float)
        sure = np.linalg.inv(of_all)
        cross = of_bottle.T @ sure @ of_bottle
        middle = np.linalg.solve(cross, of_bottle.T @ sure @ given)
        left = given - of_bottle @ middle
        logs = np.linalg.slogdet(of_all)[1] + np.linalg.slogdet(cross)[1]
        score, *_ = light_seen._under(given, doubt, kind, bottle, seen, meant)
        assert score == pytest.approx(-0.5 * (logs + left @ sure @ left))
