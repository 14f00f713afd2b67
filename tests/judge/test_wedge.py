"""Step wedges read from pictures of a camera, a plate and a grey scale of their own."""

import io

import numpy as np
import pytest
from benchmarks.seeing.wedge import seen_of
from benchmarks.seeing.wedge_scene import GREYS, wedge_scene
from PIL import Image

from argentry.judge import grey_scale, wedge
from argentry.judge.wedge_curve import fitted_curve

SMALL = (900, 600)


@pytest.fixture(scope="module")
def turned():
    content, truth = wedge_scene(3, turning=True, size=SMALL)
    return content, truth, seen_of(content, truth)


def test_a_wedge_tells_speed_gradient_latitude_peak_and_turn(turned):
    _, truth, seen = turned
    curve = seen.curve
    assert curve.turns
    assert curve.speed_point.value == pytest.approx(truth.speed_point, abs=0.08)
    assert curve.steepest.value == pytest.approx(truth.steepest, rel=0.12)
    assert curve.latitude.value == pytest.approx(truth.latitude, abs=0.15)
    assert curve.peak.value == pytest.approx(truth.peak, abs=0.08)
    assert 10**curve.veil.value == pytest.approx(truth.veil, rel=0.15)
    assert np.abs(np.array(seen.density) - truth.density).max() < 0.06
    assert seen.log_exposure == pytest.approx(truth.x)
    assert 0.0 < curve.speed_point.sd < 0.1


def test_steps_are_judged_as_middle_tones_in_order(turned):
    _, truth, seen = turned
    told = dict(zip(seen.log_exposure, seen.verdicts, strict=True))
    order = list(dict.fromkeys(seen.verdicts))
    assert order == ["under", "right", "over", "solarised"]
    low, high = seen.right
    assert low < truth.middle < high
    assert all((low < at <= high) == (verdict == "right") for at, verdict in told.items())
    assert all(at > truth.peak - 0.08 for at, verdict in told.items() if verdict == "solarised")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"ends": None}, wedge.NO_ENDS),
        ({"grey": None}, grey_scale.NO_SCALE),
        ({"ends": (10.0, 300.0, 5000.0, 300.0)}, grey_scale.BEYOND),
        ({"grey": (450.0, 20.0, 460.0, 20.0)}, grey_scale.NOT_EVEN),
    ],
)
def test_what_is_missing_is_said_and_nothing_is_made_up(turned, change, why):
    content, truth, _ = turned
    known = {"ends": truth.ends, "grey": truth.grey, **change}
    look = wedge.WedgeLook(truth.steps, truth.increment, truth.first, densities=GREYS, **known)
    seen = wedge.see_wedge(np.asarray(Image.open(io.BytesIO(content))), look)
    assert (seen.why, seen.curve, seen.verdicts) == (why, None, ())


def test_steps_that_do_not_differ_and_a_blown_picture_tell_nothing():
    content, truth = wedge_scene(4, size=SMALL)
    flat = np.array(Image.open(io.BytesIO(content)))
    flat[: flat.shape[0] * 7 // 10] = 60
    look = wedge.WedgeLook(truth.steps, truth.increment, 0.0, truth.ends, truth.grey, GREYS)
    assert wedge.see_wedge(flat, look).why == wedge.NO_RISE
    flat[: flat.shape[0] * 7 // 10] = 255
    assert wedge.see_wedge(flat, look).why == wedge.STEPS_CLIPPED
    flat[:] = 255
    assert wedge.see_wedge(flat, look).why == grey_scale.SCALE_CLIPPED


def test_a_straight_line_with_corners_is_found_as_it_was_drawn():
    x = np.arange(-2.0, 1.01, 0.15)
    s = -1.7 + 1.2 * np.clip(x + 1.0, 0.0, 0.75)
    curve = fitted_curve(x, s, np.full(x.size, 0.005))
    assert not curve.turns
    assert np.isnan(curve.peak.value)
    assert curve.steepest.value == pytest.approx(1.2, rel=0.06)
    assert curve.rise.value == pytest.approx(0.9, abs=0.03)
    assert curve.speed_point.value == pytest.approx(-1.0 + 0.1 / 1.2, abs=0.03)
    assert curve.latitude.value == pytest.approx(0.81 / 1.2 - 0.1 / 1.2, abs=0.04)
    assert (np.diff(curve.s) > -1e-9).all()  # without a turn it never falls


def test_noise_is_not_called_a_turn():
    rng = np.random.default_rng(5)
    x = np.arange(-2.0, 1.01, 0.3)
    told = 0
    for _ in range(3):
        s = -1.7 + 1.2 * np.clip(x + 1.0, 0.0, 0.75) + rng.normal(0, 0.012, x.size)
        told += fitted_curve(x, s, np.full(x.size, 0.012)).turns
    assert told == 0


def test_a_wedge_without_lights_gets_no_verdict():
    x = np.arange(-2.0, 0.01, 0.3)
    s = -1.7 + 1.2 * np.maximum(x + 0.7, 0.0)  # still rising at its last step
    curve = fitted_curve(x, s, np.full(x.size, 0.012))
    assert wedge.verdicts(x, curve) == ()
    assert wedge.right_between(curve) is None
