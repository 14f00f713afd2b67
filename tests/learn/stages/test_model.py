import numpy as np
import pytest
from tests.learn.plates import studio

from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.model import StageModel, middle_and_doubt, model_of, slopes_of
from argentry.learn.stages.table import stage_tables
from argentry.learn.stages.unknowns import (
    Prior,
    Unknowns,
    rows_of,
    seen_moments,
    session_root,
)
from argentry.trade.conditions import stage_priors


def small(seed=0, plates=40, levels=4, sessions=6, missing=0.3):
    random = np.random.default_rng(seed)
    x = random.normal(size=(plates, 6))
    x[random.random(x.shape) < missing] = np.nan
    unknowns = Unknowns(
        np.arange(2), np.arange(2, 4), np.arange(4, 6), np.array([1.0, -1.0]), np.array([0.5, 0.9]),
        gaps=levels - 2, sessions=sessions,
    )  # fmt: skip
    session = np.sort(random.integers(0, sessions, plates)) if sessions else np.zeros(plates, int)
    luck = 0.5 * session_root(np.arange(sessions))[session] if sessions else np.zeros((plates, 0))
    level = random.integers(0, levels, plates)
    vague = (random.random(plates) < 0.2) & (level < levels - 1)
    low, high = np.where(vague, 0, level), np.where(vague, levels - 2, level)
    prior = Prior(0.1 * random.normal(size=unknowns.size), np.full(unknowns.size, 0.7))
    rows = rows_of(unknowns, x, *seen_moments(x), luck)
    return StageModel(unknowns, prior, rows, low, high, random.uniform(0.2, 1.0, plates))


@pytest.mark.parametrize("levels", [2, 3, 5])
@pytest.mark.parametrize("sessions", [0, 6])
def test_slope_by_differences(levels, sessions):
    model = small(levels=levels, sessions=sessions)
    points = 0.4 * np.random.default_rng(1).normal(size=(3, model.unknowns.size))
    value, slope = model.value_and_slope(points)
    assert model.value(points) == pytest.approx(value)
    for k in range(model.unknowns.size):
        step = np.zeros(model.unknowns.size)
        step[k] = 1e-5
        there, back = model.value(points + step), model.value(points - step)
        assert slope[:, k] == pytest.approx((there - back) / 2e-5, abs=2e-6)


def test_slopes_of_eta_by_differences():
    model = small()
    point = 0.4 * np.random.default_rng(2).normal(size=model.unknowns.size)
    by_eta, by_doubt = slopes_of(model.unknowns, model.rows, point)
    for k in range(point.size):
        step = np.zeros(point.size)
        step[k] = 1e-5
        ends = np.stack([point + step, point - step])
        eta, doubt = middle_and_doubt(model.unknowns, model.rows, ends)
        assert by_eta[:, k] == pytest.approx((eta[0] - eta[1]) / 2e-5, abs=1e-6)
        assert by_doubt[:, k] == pytest.approx((doubt[0] - doubt[1]) / 2e-5, abs=1e-6)


def test_curvature_is_the_hessian_where_eta_is_straight():
    model = small(missing=0.0, levels=2)
    point = model.prior.mean.copy()
    straight = np.r_[0:1, model.unknowns.parts["free"], model.unknowns.parts["session"]]
    bend = model.curvature(point)
    for k in straight:
        step = np.zeros(point.size)
        step[k] = 1e-5
        there = model.value_and_slope((point + step)[None])[1][0]
        back = model.value_and_slope((point - step)[None])[1][0]
        assert bend[straight, k] == pytest.approx((back - there)[straight] / 2e-5, abs=1e-4)


def test_curvature_is_positive_definite_anywhere():
    model = small(levels=3)
    for seed in range(5):
        point = np.random.default_rng(seed).normal(size=model.unknowns.size)
        assert np.linalg.eigvalsh(model.curvature(point))[0] > 0.0


def test_missing_linear_condition_is_integrated_out_exactly():
    # by hand: the mean of Phi(b0 + b x) over x normal, by Gauss and Hermite
    none = np.array([], dtype=np.int64)
    unknowns = Unknowns(np.array([0]), none, none, np.zeros(0), np.zeros(0), 0, 0)
    rows = rows_of(
        unknowns, np.array([[np.nan]]), np.array([0.3]), np.array([1.7]), np.zeros((1, 0))
    )
    eta, doubt = middle_and_doubt(unknowns, rows, np.array([[0.4, 0.9]]))
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    spread = normal_cdf(0.4 + 0.9 * (0.3 + np.sqrt(1.7) * nodes))
    exact = (weights * spread).sum() / weights.sum()
    assert normal_cdf(eta / np.sqrt(1 + doubt))[0, 0] == pytest.approx(exact, abs=1e-9)


def test_missing_window_has_the_right_moments():
    none = np.array([], dtype=np.int64)
    unknowns = Unknowns(none, none, np.array([0]), np.zeros(0), np.array([0.6]), 0, 0)
    rows = rows_of(
        unknowns, np.array([[np.nan]]), np.array([0.3]), np.array([0.8]), np.zeros((1, 0))
    )
    eta, doubt = middle_and_doubt(unknowns, rows, np.array([[1.0, np.log(0.5), -0.4]]))
    nodes, weights = np.polynomial.hermite_e.hermegauss(20)
    fall = -0.5 * ((0.3 + np.sqrt(0.8) * nodes + 0.4) ** 2 - 0.6)
    mean = (weights * fall).sum() / weights.sum()
    assert eta[0, 0] == pytest.approx(1.0 + mean)
    assert doubt[0, 0] == pytest.approx((weights * (fall - mean) ** 2).sum() / weights.sum())


def test_a_cut_is_learned_only_from_plates_that_show_it():
    plates = studio(30)
    table = stage_tables(plates)["coat"]
    model, _, present = model_of(table, stage_priors()["coat"], 0.3)
    assert model.unknowns.gaps == 1
    assert present.size == model.unknowns.sessions == 10
    ungraded = [type(p)(**{**vars(p), "grade": None}) for p in plates]
    plain, _, none = model_of(stage_tables(ungraded)["coat"], stage_priors()["coat"], 0.0)
    assert plain.unknowns.gaps == plain.unknowns.sessions == none.size == 0
    assert plain.low.max() == 1
