"""What ends of developments say of the ripe dose, where an eye called them."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from argentry.learn.numbers.called_ends import FARTHEST, STEP, Evidence, late_by_eye

VALUES = np.linspace(-1.0, 1.0, 41)


@pytest.mark.parametrize(("off", "limit"), [(0.2, 0.3), (-0.5, -0.1), (0.9, 0.1)])
def test_how_late_an_end_was_called_is_what_its_two_causes_leave(off, limit):
    """SciPy's quadrature over all that the eye may have been late by."""
    own, eye = 0.2, 0.15

    def both(late):
        return norm.pdf(late, scale=eye) * norm.pdf(off - late, scale=own)

    right = quad(both, -3.0, limit)[0] / quad(both, -3.0, 3.0)[0]
    found = late_by_eye(off, np.array(own), np.array(eye), np.array([limit]))
    assert found == pytest.approx(right, rel=1e-6)


def of(doses, ends, **how):
    evidence = Evidence(0.5, **how)
    for dose, end in zip(doses, ends, strict=True):
        evidence.add(np.array([dose]), end)
    return evidence.at(VALUES)


def test_ends_may_come_in_any_order_and_together():
    doses, ends = [0.1, 0.31, -0.22, 0.4], ["ripe", "ripe", "unripe", "too long"]
    one_by_one = of(doses, ends)
    assert of(doses[::-1], ends[::-1]) == pytest.approx(one_by_one)
    together = Evidence(0.5)
    together.add(np.array(doses[:2]), "ripe")
    together.add(np.array([-0.22]), "unripe")
    together.add(np.array([0.4]), "too long")
    assert together.at(VALUES) == pytest.approx(one_by_one)


def test_in_rough_steps_little_changes():
    doses, ends = [0.1, 0.31, -0.22, 0.4], ["ripe", "ripe", "unripe", "too long"]
    fine, rough = of(doses, ends), of(doses, ends, rough=True)
    assert rough - rough[20] == pytest.approx(fine - fine[20], abs=0.2)


def test_without_ends_every_value_is_as_likely():
    assert np.ptp(Evidence(0.5).at(VALUES)) < 1e-9


def test_unripe_ends_speak_for_more_and_late_ones_for_less():
    unripe, late = of([0.0], ["unripe"]), of([0.0], ["too long"])
    assert np.all(np.diff(unripe)[:25] > 0.0)
    assert np.all(np.diff(late)[-25:] < 0.0)
    assert unripe[-1] - unripe[0] > 5.0
    assert late[0] - late[-1] > 2.0, "now and then other light fogs a plate"
    ripe = of([0.25], ["ripe"])
    assert VALUES[ripe.argmax()] == pytest.approx(0.25, abs=0.05)


def test_an_end_too_far_off_for_belief_tells_nothing():
    far = 1.5 * FARTHEST * STEP
    for end in ("ripe", "unripe", "too long"):
        assert np.ptp(of([far], [end])) < 1e-6


def test_a_dose_told_by_pictures_is_normal_about_itself():
    """Closed form with a doubt that leaves no other in view."""
    evidence = Evidence(0.5)
    evidence.add_pictures(np.array([0.2]), np.array([5.0]))
    found = evidence.at(VALUES)
    right = norm.logpdf(VALUES, 0.2, np.hypot(5.0, 0.25))
    assert found - found[20] == pytest.approx(right - right[20], abs=1e-4)
