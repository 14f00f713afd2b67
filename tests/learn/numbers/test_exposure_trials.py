"""Which exposures teach most."""

from types import SimpleNamespace

import numpy as np
import pytest

from argentry import trade
from argentry.learn.numbers.exposure_belief import GradedExposure, believed, weigh
from argentry.learn.numbers.exposure_trials import (
    best_centre,
    candidates,
    expected_sd,
    expected_strip_sd,
    next_exposure,
    right_chances,
)
from argentry.learn.numbers.speed import found, learn_exposure


def known():
    told = [(-0.7, "under"), (-0.5, "under"), (0.0, "right"), (0.5, "over"), (0.7, "over")]
    return learn_exposure([GradedExposure((x,), (verdict,)) for x, verdict in told * 3])


def test_exposures_worth_considering_lie_in_sixths_of_a_stop_about_the_mean():
    about = candidates(SimpleNamespace(mean=1.1))
    assert about == pytest.approx(np.arange(7 - 15, 7 + 16) / 6.0)


def test_strips_come_first_and_pictures_when_the_speed_is_found():
    first = next_exposure(believed())
    assert first.explores
    assert len(first.steps) == trade.value("decide", "trial_strips")
    assert np.diff(first.steps) == pytest.approx(trade.value("decide", "trial_strip_step"))
    assert np.mean(first.steps) == pytest.approx(first.to)
    assert first.doubt_after < 0.6 * first.doubt
    belief = known()
    assert found(belief)
    picture = next_exposure(belief)
    assert not picture.explores
    assert picture.steps == ()
    assert picture.chance == pytest.approx(picture.chance_before)
    assert picture.plates == 15
    assert "known well enough" in picture.reason
    assert 0.0 < picture.chance_low < picture.chance < picture.chance_high < 1.0


def test_a_promised_plate_is_never_tried_upon():
    trial = next_exposure(believed(), commissioned=True)
    assert not trial.explores
    assert "promised" in trial.reason
    assert trial.to == best_centre(believed())
    assert trial.steps == ()


def test_expected_doubt_is_the_mean_over_what_may_be_seen():
    """Brute force: weigh each verdict's own posterior variance by its chance."""
    belief, stops = believed(), 0.5
    from argentry.learn.numbers.exposure_belief import grade_chances

    chances = (grade_chances(belief, np.array([stops]))[:, 0] * belief.weight).sum(axis=(1, 2, 3))
    verdicts = ("under", "right", "over", "solarised")
    left = sum(
        c * weigh(belief, GradedExposure((stops,), (v,))).sd ** 2
        for c, v in zip(chances, verdicts, strict=True)
    )
    assert expected_sd(belief, np.array([stops]))[0] == pytest.approx(np.sqrt(left), rel=1e-9)


def test_strips_teach_more_than_a_plate():
    belief = believed()
    strips = expected_strip_sd(belief, np.array([-1.5, -0.75, 0.0, 0.75, 1.5]))
    assert strips < 0.75 * expected_sd(belief, np.linspace(-1.5, 1.5, 19)).min()


def test_the_best_exposure_follows_the_speed():
    high = learn_exposure([GradedExposure((1.0,), ("right",))] * 8)
    assert best_centre(high) == pytest.approx(1.0, abs=0.35)
    assert right_chances(high, np.array([1.0]))[0] > right_chances(high, np.array([-0.5]))[0]
