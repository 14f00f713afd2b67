"""The unknowns of a stage, what is believed of them, and plates in the form they need."""

import numpy as np
import pytest

from argentry.learn.stages.unknowns import (
    prior_of,
    session_places,
    session_root,
    unknowns_of,
)
from argentry.trade.conditions import conditions, stage_priors


def test_priors_are_those_of_the_trade():
    coat = [c for c in conditions() if c.stage == "coat"]
    unknowns = unknowns_of(coat, gaps=1, sessions=2)
    prior = prior_of(unknowns, coat, stage_priors()["coat"])
    damp = unknowns.parts["one_way"].start
    effects = np.exp(prior.mean[damp] + np.array([-1.2815516, 0, 1.2815516]) * prior.sd[damp])
    found = next(c for c in coat if c.key == "room_rh_pct")
    assert effects[1] == pytest.approx(found.effect_middle)
    assert effects[2] / effects[0] == pytest.approx(found.effect_high / found.effect_low)
    assert unknowns.sign[0] == -1.0


def test_drift_remembers():
    root = session_root(np.array([0, 1, 4]))
    assert root @ root.T == pytest.approx(
        np.array([[1, 0.85, 0.85**4], [0.85, 1, 0.85**3], [0.85**4, 0.85**3, 1]]), abs=1e-6
    )


def test_old_sessions_share_their_drift_and_late_ones_keep_it():
    few, place = session_places(np.array([0, 0, 3, 7]))
    assert few.tolist() == [0.0, 3.0, 7.0]
    assert place.tolist() == [0, 0, 1, 2]
    session = np.repeat(np.arange(100), 2)
    places, place = session_places(session)
    assert places.size == 40
    assert places[-20:].tolist() == list(range(80, 100))
    assert np.all(np.diff(places) > 0.0)
    assert np.abs(places[place] - session).max() <= 2.0
    assert np.array_equal(place[-40:], np.repeat(np.arange(20, 40), 2))
