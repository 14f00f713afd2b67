"""The unknowns of a stage, what is believed of them, and plates in the form they need."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.learn.stages.unknowns import (
    USUAL_VARIANCE,
    prior_of,
    seen_moments,
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


FORMS = ("free", "switch", "more is worse", "more is better", "window")


def of_forms():
    """One condition of each form, all of the coat."""
    first = conditions()[0]
    return [
        replace(
            first, key=form, form=form, effect_low=0.2, effect_middle=0.4, effect_high=0.8,
            optimum_sd=0.5,
        )
        for form in FORMS
    ]  # fmt: skip


def test_each_unknown_has_its_place():
    unknowns = unknowns_of(of_forms(), gaps=1, sessions=3)
    assert unknowns.free.tolist() == [0, 1]
    assert unknowns.one_way.tolist() == [2, 3]
    assert unknowns.window.tolist() == [4]
    assert unknowns.sign.tolist() == [-1.0, 1.0]
    assert unknowns.usual == pytest.approx([USUAL_VARIANCE + 0.25])
    places = {name: (part.start, part.stop) for name, part in unknowns.parts.items()}
    assert places == {
        "base": (0, 1), "gaps": (1, 2), "free": (2, 4), "one_way": (4, 6), "curve": (6, 7),
        "best": (7, 8), "session": (8, 11),
    }  # fmt: skip
    assert unknowns.size == 11


def test_priors_by_form():
    given = of_forms()
    unknowns = unknowns_of(given, gaps=1, sessions=2)
    stage = stage_priors()["coat"]
    prior = prior_of(unknowns, given, stage, strength=1.5)
    part = unknowns.parts
    assert (prior.mean[0], prior.sd[0]) == stage.probit
    assert (prior.mean[1], prior.sd[1]) == (pytest.approx(np.log(0.7)), 0.5)
    z = 1.2815515655446004
    assert prior.mean[part["free"]] == pytest.approx([0.6, 0.6])
    assert prior.sd[part["free"]] == pytest.approx([1.5 * 0.6 / (2 * z)] * 2)
    for name in ("one_way", "curve"):
        assert prior.mean[part[name]] == pytest.approx(np.log(0.6))
        assert prior.sd[part[name]] == pytest.approx(np.log(4.0) / (2 * z))
    assert (prior.mean[part["best"]], prior.sd[part["best"]]) == ([0.0], [0.5])
    assert prior.mean[part["session"]].tolist() == [0.0, 0.0]
    assert prior.sd[part["session"]].tolist() == [1.0, 1.0]


def test_moments_seen_begin_at_four_plates_of_the_centre():
    mean, variance = seen_moments(np.zeros((0, 2)))
    assert mean.tolist() == [0.0, 0.0]
    assert variance.tolist() == [USUAL_VARIANCE] * 2
    x = np.array([[1.0, np.nan], [3.0, 2.0]])
    mean, variance = seen_moments(x)
    assert mean == pytest.approx([4 / 6, 2 / 5])
    by_hand = [
        ((1 - 4 / 6) ** 2 + (3 - 4 / 6) ** 2 + 4 * USUAL_VARIANCE) / 6,
        ((2 - 0.4) ** 2 + 4 * USUAL_VARIANCE) / 5,
    ]
    assert variance == pytest.approx(by_hand)
