"""How still a sitter must be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.picture import stillness


def test_poses_from_standing_to_things_move_less_and_less():
    motions = [stillness.head_motion_mm(pose, 120.0) for pose in stillness.poses()]
    assert motions == sorted(motions, reverse=True)
    assert motions[-1] == 0.0


def test_standing_free_for_minutes_cannot_be_sharp_and_a_head_rest_can():
    budget = stillness.stillness_budget_mm(1 / 12)
    assert stillness.head_motion_mm("standing", 240.0) > 5 * budget
    assert stillness.head_motion_mm("head-rest", 240.0) < budget


@given(st.floats(0.01, 1.0), st.floats(0.01, 20.0))
def test_the_budget_is_the_motion_that_fills_the_criterion(scale, motion):
    width = stillness.blur_width_mm(motion, scale)
    assert stillness.stillness_budget_mm(scale, width) == pytest.approx(motion)


def test_motion_grows_only_beyond_the_reference_minute():
    short, minute, long = (stillness.head_motion_mm("seated", s) for s in (10.0, 60.0, 960.0))
    assert short == minute
    assert long == pytest.approx(2 * minute)


def test_contrast_is_the_transform_of_the_blur():
    # against a direct sum over many positions of the subject
    rng = np.random.default_rng(1)
    positions = rng.normal(0.0, 0.1, 200_000)
    measured = abs(np.exp(2j * np.pi * 3.0 * positions).mean())
    assert stillness.contrast(3.0, 0.1) == pytest.approx(measured, abs=0.01)


def test_unknown_words_and_impossible_scales_are_refused():
    with pytest.raises(BadInput, match="head-rest"):
        stillness.head_motion_mm("juggling", 10.0)
    with pytest.raises(BadInput, match="criterion"):
        stillness.finest_width_mm("owl")
    with pytest.raises(BadInput, match="magnification"):
        stillness.stillness_budget_mm(0.0)
    with pytest.raises(BadInput, match="time"):
        stillness.head_motion_mm("seated", float("nan"))


def test_times_above_the_longest_exposure_are_refused():
    longest = stillness.longest_exposure_s()
    assert longest == 60.0 * trade.value("exposure", "longest_exposure")
    assert stillness.head_motion_mm("seated", longest) > stillness.head_motion_mm("seated", 60.0)
    with pytest.raises(BadInput, match="exposure time"):
        stillness.head_motion_mm("seated", longest + 1.0)
