"""What would have been predicted for each plate, against exact integration over a grid."""

import numpy as np
import pytest
from scipy.stats import norm
from tests.learn.plates import good, lost, making, studio

from argentry.learn.stages.model import middle_and_doubt
from argentry.learn.stages.running_score import _moments_before, _row_terms, predict_in_order
from argentry.learn.stages.table import stage_tables
from argentry.learn.stages.unknowns import DRIFT_MEMORY, Unknowns, rows_of, seen_moments
from argentry.trade.conditions import drifts, stage_priors, strengths

STAGE = "exposure"


def passed(makings, session):
    table = stage_tables(makings)[STAGE]
    assert not table.seen.size
    return predict_in_order(table, stage_priors()[STAGE], np.array(session))


def exact(came, session):
    """Return P(ok) of each plate and the mean drift, by summing over base and sessions' luck."""
    prior = stage_priors()[STAGE].probit
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    weights = weights / weights.sum()
    sizes, vote = list(drifts()), np.array(list(drifts().values()))
    grid = np.meshgrid(nodes, nodes, nodes, indexing="ij")
    mass = np.prod(np.meshgrid(weights, weights, weights, indexing="ij"), axis=0)
    names = sorted(set(session))
    stay = DRIFT_MEMORY ** (names[-1] - names[0])
    luck = {names[0]: grid[1], names[-1]: stay * grid[1] + np.sqrt(1.0 - stay**2) * grid[2]}
    if len(names) == 1:
        luck = {names[0]: grid[1]}
    told, each = [], np.array([mass] * len(sizes)) * (vote / vote.sum())[:, None, None, None]
    for ok, now in zip(came, session, strict=True):
        chance = np.array(
            [norm.cdf(prior[0] + prior[1] * grid[0] + size * luck[now]) for size in sizes]
        )
        told.append((each * chance).sum() / each.sum())
        each = each * (chance if ok else 1.0 - chance)
    share = each.sum(axis=(1, 2, 3)) / each.sum()
    return np.array(told), float(share @ np.array(sizes))


@pytest.mark.parametrize("session", [[0, 0, 0, 0], [0, 0, 1, 1], [0, 0, 4, 4]])
@pytest.mark.parametrize("came", [[1, 1, 1, 1], [0, 0, 0, 1], [0, 0, 1, 0]])
def test_sessions_drift_as_exact_integration_says(came, session):
    makings = [
        (good if ok else lambda n, **k: lost(n, STAGE, **k))(n, session=f"s{s}")
        for n, (ok, s) in enumerate(zip(came, session, strict=True))
    ]
    got = passed(makings, session)
    told, drift = exact(came, session)
    assert got.probability == pytest.approx(told, abs=4e-3)
    assert got.drift == pytest.approx(drift, abs=4e-3)


def test_what_was_lost_in_a_session_fades_with_the_sessions_between():
    makings = [lost(n, STAGE, session=f"s{n}") for n in range(7)]
    same, next_, later = (passed(makings, [0] * 6 + [s]).probability[-1] for s in (0, 1, 9))
    assert same < next_ < later


def test_without_plates_the_prior_is_told():
    assert (
        predict_in_order(stage_tables([])[STAGE], stage_priors()[STAGE], np.array([], int)).drift
        > 0
    )
    first = passed([good(1), good(2)], [0, 0]).probability[0]
    middle, doubt = stage_priors()[STAGE].probit
    vote = drifts()
    by_hand = sum(
        weight * norm.cdf(middle / np.sqrt(1 + doubt**2 + size**2)) for size, weight in vote.items()
    ) / sum(vote.values())
    assert first == pytest.approx(by_hand, abs=1e-9)


def test_a_plate_that_did_not_reach_the_stage_teaches_it_nothing():
    some = [good(1), making(2, stages={"polish": "ok"}), good(3)]
    got = passed(some, [0, 0, 0]).probability
    assert got[1] == got[2]
    assert got[1] > got[0]


def test_a_plate_shared_out_weighs_as_much_as_its_shares():
    # a plate lost by nobody knows what: for one stage partly a fault, partly ok
    vague = [making(n, grade="lost") for n in range(12)]
    certain = [lost(n, STAGE) for n in range(12)]
    fine = [good(n) for n in range(12)]
    low, middle, high = (passed(p, [0] * 12).probability[-1] for p in (certain, vague, fine))
    assert low < middle < high


def test_what_the_plates_speak_for_lies_among_what_was_thought_of():
    table = stage_tables(studio(60, slope=2.5))["coat"]
    at = np.arange(60) // 3
    got = predict_in_order(table, stage_priors()["coat"], at)
    assert min(strengths()) <= got.strength <= max(strengths())
    assert min(drifts()) <= got.drift <= max(drifts())
    flat = predict_in_order(stage_tables(studio(60, slope=0.0))["coat"], stage_priors()["coat"], at)
    assert got.strength > flat.strength


def test_moments_before_a_plate_are_those_of_the_plates_before_it():
    random = np.random.default_rng(3)
    x = random.normal(size=(12, 3))
    x[random.random(x.shape) < 0.3] = np.nan
    for row, (mean, variance) in enumerate(_moments_before(x)):
        want = seen_moments(x[:row]) if row else (np.zeros(3), seen_moments(x[:0])[1])
        np.testing.assert_allclose(mean, want[0], atol=1e-12)
        np.testing.assert_allclose(variance, want[1], atol=1e-12)


@pytest.mark.parametrize("missing", [2, 3], ids=["one way", "window"])
def test_one_plates_terms_are_those_of_the_full_model_and_their_slope_is_the_derivative(missing):
    random = np.random.default_rng(5)
    unknowns = Unknowns(
        np.array([0]), np.array([1, 2]), np.array([3]), np.array([1.0, -1.0]), np.array([0.7]), 0, 0
    )
    x = np.array([0.4, -1.1, 0.3, 0.8])
    x[missing] = np.nan
    seen, variance = random.normal(size=4), random.uniform(0.5, 2.0, 4)
    mean = 0.5 * random.normal(size=(3, unknowns.size + 1))
    drift = np.array([0.0, 0.2, 0.5])
    eta, doubt, slope = _row_terms(unknowns, mean, x, seen, variance, drift)
    rows = rows_of(unknowns, x[None], seen, variance, np.zeros((1, 0)))
    plain, spread = middle_and_doubt(unknowns, rows, mean[:, :-1])
    np.testing.assert_allclose(eta, plain[:, 0] + drift * mean[:, -1])
    np.testing.assert_allclose(doubt, spread[:, 0])
    for k in range(mean.shape[1]):
        step = np.zeros(mean.shape[1])
        step[k] = 1e-6
        there = _row_terms(unknowns, mean + step, x, seen, variance, drift)[0]
        back = _row_terms(unknowns, mean - step, x, seen, variance, drift)[0]
        np.testing.assert_allclose(slope[:, k], (there - back) / 2e-6, atol=1e-6)


def test_a_long_log_stays_finite():
    makings = [good(n) if n % 2 else lost(n, STAGE) for n in range(900)]
    got = passed(makings, np.arange(900) // 3)
    assert 0.4 < got.probability[-1] < 0.6
    assert 0.0 < got.drift < 1.0
    assert 0.0 < got.strength < 10.0
