from __future__ import annotations

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.learn.causes.noisy_or import (
    fault_sets,
    leading,
    learn_links,
    log_findings,
    posterior,
    shares,
)


def test_sets_are_counted():
    assert fault_sets(25, 3).shape == (1 + 25 + comb(25, 2) + comb(25, 3), 25)
    assert fault_sets(2, 3).shape == (4, 2)


def test_the_look_names_the_cause_that_makes_it():
    found = posterior([0.1, 0.1], [[0.7, 0.0], [0.0, 0.7]], [0.01, 0.01], [1, 0])
    assert found.marginal[0] > 0.95 > 0.1 > found.marginal[1]


def test_one_cause_by_hand():
    # P(seen | cause) = 1 - 0.9 * 0.5 = 0.55, P(seen | none) = 0.1
    found = posterior([0.2], [[0.5]], [0.1], [1], failed=False)
    assert found.marginal[0] == pytest.approx(0.2 * 0.55 / (0.2 * 0.55 + 0.8 * 0.1), rel=1e-6)


def test_no_findings_leave_the_priors():
    found = posterior([0.1, 0.3], np.zeros((2, 0)), [], [], failed=False)
    assert found.marginal == pytest.approx([0.1, 0.3], abs=1e-6)


def test_no_causes_give_no_sets():
    found = posterior([], np.zeros((0, 2)), [0.1, 0.1], [1, 0])
    assert found.marginal.size == 0
    assert found.weights.size == 0


@given(st.lists(st.sampled_from([0.0, 1.0, float("nan")]), min_size=4, max_size=4))
def test_marginals_are_probabilities(seen):
    rng = np.random.default_rng(1)
    found = posterior([0.05, 0.2, 0.1], rng.uniform(0, 1, (3, 4)), [0.01] * 4, seen)
    assert found.weights.sum() == pytest.approx(1)
    assert np.all((found.marginal >= 0) & (found.marginal <= 1 + 1e-12))
    assert found.marginal.sum() >= 1 - 1e-12  # a failed plate has a cause


def test_a_look_explained_by_one_cause_clears_the_other():
    alone = posterior([0.1, 0.1], [[0.7], [0.7]], [0.01], [1]).marginal
    both = posterior([0.1, 0.1], [[0.7, 0.7], [0.7, 0.0]], [0.01, 0.01], [1, 1]).marginal
    assert both[1] < alone[1]


def test_shares_count_who_made_it():
    found = posterior([0.1, 0.1], [[0.7], [0.0]], [1e-6], [1])
    made = shares(found, np.array([[0.7], [0.0]]), np.array([1e-6]), np.array([1.0]))
    assert made[0, 0] == pytest.approx(1, abs=1e-3)
    assert made[1, 0] == pytest.approx(0, abs=1e-6)


def test_shares_by_hand_leave_out_what_came_of_itself():
    """Of a noisy or (Pearl 1988): there and fired, against seen; the leak made the rest."""
    given = [0.5]
    found = posterior([0.2], [given], [0.1], [1], failed=False)
    made = shares(found, np.array([given]), np.array([0.1]), np.array([1.0]))
    assert made[0, 0] == pytest.approx(0.2 * 0.5 / (0.2 * 0.55 + 0.8 * 0.1), rel=1e-6)


def test_links_are_learned_and_absent_ones_stay_absent():
    rng = np.random.default_rng(2)
    seen = np.stack([rng.random(60) < 0.95, rng.random(60) < 0.1], axis=1).astype(float)
    plus, minus = learn_links(
        [[0.3, 0.7], [0.0, 0.05]], [0.01, 0.01], [0.5, 0.01], seen, strength=5.0
    )
    link = plus[0] / (plus[0] + minus[0])
    assert link[0] > 0.8
    assert link[1] < 0.25
    assert plus[1, 0] == 0


def test_nothing_seen_leaves_the_trades_word():
    plus, minus = learn_links([[0.7]], [0.01], [0.1], np.zeros((0, 1)), strength=5.0)
    assert plus == pytest.approx(np.array([[3.5]]))
    assert minus == pytest.approx(np.array([[1.5]]))


def test_leading_keeps_their_order():
    assert list(leading(np.array([0.1, 0.9, 0.2, 0.8]), 2)) == [1, 3]


def test_the_evidence_is_the_logarithm_of_the_findings_probability():
    whole = [
        posterior([0.2, 0.3], [[0.5], [0.4]], [0.1], [seen], most=2, failed=False).evidence
        for seen in (0, 1)
    ]
    assert np.exp(whole).sum() == pytest.approx(1.0)
    by_hand = 0.9 * (0.8 + 0.2 * 0.5) * (0.7 + 0.3 * 0.6)  # no cause that is there makes it
    assert np.exp(whole[0]) == pytest.approx(by_hand, rel=1e-6)


def test_links_learned_from_one_plate_by_hand():
    # one cause, surely there, two looks; the first was seen, nobody looked for the second
    plus, minus = learn_links(
        [[0.5, 0.5]], [1e-9, 1e-9], [0.5], [[1, np.nan]], strength=4.0, rounds=1, most=1
    )
    assert plus == pytest.approx(np.array([[3.0, 2.0]]), abs=1e-6)
    assert minus == pytest.approx(np.array([[2.0, 2.0]]), abs=1e-6)
    plus, minus = learn_links(
        [[0.5, 0.0]], [1e-9, 1e-9], [0.5], [[0, 0]], strength=4.0, rounds=1, most=1
    )
    assert plus == pytest.approx(np.array([[2.0, 0.0]]), abs=1e-6)
    assert minus == pytest.approx(np.array([[3.0, 4.0]]), abs=1e-6)


def test_findings_of_a_set_by_hand():
    """One cause or none; a finding seen, one not seen, and one nobody looked for."""
    links, leaks = np.array([[0.5, 0.2, 0.9]]), np.array([0.1, 0.3, 0.4])
    told = log_findings(np.array([[0.0], [1.0]]), links, leaks, np.array([1.0, 0.0, np.nan]))
    none = 0.1 * 0.7
    one = (1.0 - 0.9 * 0.5) * (0.7 * 0.8)
    assert np.exp(told) == pytest.approx([none, one], rel=1e-6)
