"""Advice replayed on plates whose end is known: where it knew it won, else it did not."""

import numpy as np
import pytest

from argentry.learn.deciding.replay import DAY, advice_gains
from argentry.learn.deciding.stage_work import usual_work
from argentry.records.plate import STAGES

PLATES = 60


def usual():
    return usual_work(89.1, dict(zip(STAGES, (0.6, 0.95, 0.95, 0.95, 0.95), strict=True)))


def replayed(told, bad):
    """Return gains where the polish is at fault on the plates that are bad, by what was told."""
    predicted = np.full((5, PLATES), 0.95)
    predicted[0] = told
    faults = np.zeros((5, PLATES))
    faults[0] = bad
    return advice_gains(usual(), predicted, faults, 1.0 - bad)


@pytest.fixture(scope="module")
def bad():
    return (np.arange(PLATES) % 5 < 2).astype(float)


def test_predictions_that_know_the_bad_plates_win(bad):
    gains = replayed(np.where(bad > 0, 0.05, 0.99), bad)
    assert set(gains) == {"polish", "coat", "exposure"}
    assert gains["polish"] > 1.0


def test_predictions_that_take_good_plates_for_bad_lose(bad):
    assert replayed(np.where(bad > 0, 0.99, 0.02), bad)["polish"] < -1.0


def test_plates_sure_to_be_good_are_left_alone():
    none = np.zeros(PLATES)
    gains = advice_gains(usual(), np.full((5, PLATES), 0.999), np.zeros((5, PLATES)), 1.0 - none)
    assert gains == {"polish": 0.0, "coat": 0.0, "exposure": 0.0}


def test_giving_up_a_plate_that_came_good_loses_it_less_its_hours():
    """One plate, sure to be spoilt by its prediction, which came good: stopped after the coat."""
    stages = usual_work(89.1)
    predicted = np.array([[0.02], [0.02], [0.9], [0.9], [0.9]])
    gain = advice_gains(stages, predicted, np.zeros((5, 1)), np.ones(1))["exposure"]
    spent = sum(stage.minutes for stage in stages)
    assert -1.0 < gain < -1.0 + spent / DAY * 2.0


def test_a_redo_is_no_better_than_the_plate_lets_expect(bad):
    """A cause that stays makes a stage done once more no sounder; then redoing does not win."""
    gains = [replayed(np.where(bad > 0, again, 0.95), bad)["polish"] for again in (0.1, 0.5)]
    best = replayed(np.where(bad > 0, 0.05, 0.99), bad)["polish"]
    assert max(gains) <= best + 1e-9
