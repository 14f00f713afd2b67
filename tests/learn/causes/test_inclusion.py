from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from argentry.learn.causes.inclusion import (
    Suspects,
    bootstrap_weights,
    log_cdf_and_ratio,
    set_members,
    weigh,
)


def plates(rng, n, effects, *, base=-0.5, doubt=0.0, sessions=3):
    x = rng.normal(size=(n, len(effects)))
    eta = base + x @ np.array(effects)
    fault = (eta + rng.normal(size=n) > 0).astype(float)
    return made(x, fault, np.arange(n) // sessions, doubt=doubt)


def made(x, fault, session, *, doubt=0.0, inclusion=0.1, mean=0.4, sd=0.4):
    p = x.shape[1]
    return Suspects(
        x=x,
        doubt=np.full_like(x, doubt),
        fault=fault,
        weight=np.ones(len(fault)),
        session=np.asarray(session, dtype=np.intp),
        groups=tuple((j,) for j in range(p)),
        mean=np.full(p, mean),
        sd=np.full(p, sd),
        inclusion=np.full(p, inclusion),
        gain=np.zeros(p),
    )


def inclusion_of(data, **how):
    weighed = weigh(data, **how)
    return weighed.weights() @ weighed.members


def test_sets_hold_each_alone_and_the_kept_together():
    sets = set_members(4, 3, np.array([0, 2, 3]))
    assert sets.shape == (1 + 4 + 3 + 1, 4)
    assert len({tuple(row) for row in sets}) == len(sets)
    assert set_members(0, 3).shape == (1, 0)


def test_the_true_cause_is_found_and_the_others_left():
    data = plates(np.random.default_rng(1), 150, [0.9, 0.0, 0.0, 0.0])
    got = inclusion_of(data)
    assert got[0] > 0.95
    assert got[1:].max() < 0.3


def test_a_fellow_traveller_is_not_blamed():
    rng = np.random.default_rng(3)
    data = plates(rng, 250, [0.9, 0.0])
    data.x[:, 1] = 0.7 * data.x[:, 0] + 0.7 * rng.normal(size=250)
    one_at_a_time = abs(np.corrcoef(data.x[:, 1], data.fault)[0, 1]) * np.sqrt(250)
    got = inclusion_of(data)
    assert one_at_a_time > 3  # alone it would be called certain
    assert got[0] > 0.9
    assert got[1] < 0.4


def test_no_plates_leave_the_prior():
    data = made(np.zeros((0, 3)), np.zeros(0), [])
    # sets of up to three of three: nothing is cut off
    assert inclusion_of(data) == pytest.approx([0.1] * 3, rel=1e-6)


def test_no_suspects_give_the_empty_set():
    data = made(np.zeros((5, 0)), np.array([0, 1, 0, 0, 1.0]), [0, 0, 1, 1, 2])
    assert weigh(data).weights() == pytest.approx([1.0])


@pytest.mark.parametrize("fault", [0.0, 1.0])
def test_all_alike_stay_near_the_prior(fault):
    rng = np.random.default_rng(4)
    data = made(rng.normal(size=(20, 3)), np.full(20, fault), np.arange(20) // 2)
    assert np.all(np.isfinite(inclusion_of(data)))
    assert inclusion_of(data).max() < 0.25


def test_evidence_against_integration():
    # outside: SciPy's quadrature over the intercept and the effect, each session of its own with
    # next to no luck of its own
    rng = np.random.default_rng(5)
    data = plates(rng, 25, [0.8], sessions=1)
    weighed = weigh(data, session_sd=1e-3, base_mean=-0.5, base_sd=0.7)

    def log_normal(x, mean, sd):  # the library's own takes longer than all else here
        return -0.5 * ((x - mean) / sd) ** 2 - np.log(sd * np.sqrt(2.0 * np.pi))

    def joint(effect, base, *, inside):
        eta = base + (effect if inside else 0.0) * data.x[:, 0]
        like = special.log_ndtr(np.where(data.fault > 0, eta, -eta)).sum()
        prior = log_normal(base, -0.5, 0.7)
        return np.exp(like + prior + (log_normal(effect, 0.4, 0.4) if inside else 0.0))

    empty, _ = integrate.quad(lambda b: joint(0.0, b, inside=False), -4, 4)
    full, _ = integrate.dblquad(lambda e, b: joint(e, b, inside=True), -4, 4, -2, 3, epsabs=1e-12)
    assert weighed.log_evidence == pytest.approx(np.log([empty, full]), abs=0.05)


def test_a_doubtful_reading_counts_less():
    rng = np.random.default_rng(6)
    sure = plates(rng, 80, [1.0])
    vague = made(sure.x, sure.fault, sure.session, doubt=2.0)
    assert inclusion_of(vague)[0] < inclusion_of(sure)[0]


def test_plates_of_one_session_are_no_new_evidence():
    rng = np.random.default_rng(7)
    by_session = rng.normal(size=(12, 1))
    fault = (by_session[:, 0] > 0.3).astype(float)
    apart = made(np.repeat(by_session, 4, axis=0), np.repeat(fault, 4), np.arange(48))
    together = made(apart.x, apart.fault, np.arange(48) // 4)
    gain_apart = np.diff(weigh(apart).log_evidence)[0]
    gain_together = np.diff(weigh(together, session_sd=1.0).log_evidence)[0]
    assert gain_together < gain_apart


def test_by_session_adds_up_to_the_fit():
    data = plates(np.random.default_rng(8), 30, [0.5, 0.0])
    weighed = weigh(data)
    assert weighed.by_session.shape == (4, 10)
    assert np.all(weighed.by_session.sum(axis=1) < 0)


def test_many_suspects_are_screened_not_lost():
    rng = np.random.default_rng(9)
    data = plates(rng, 120, [0.0] * 11 + [1.0])
    weighed = weigh(data, keep=4)
    beside = 3 * 8  # each of the eight others in the three likeliest sets that have room
    assert len(np.unique(weighed.members, axis=0)) == 1 + 12 + 6 + 4 + beside
    assert len(weighed.members) == 1 + 12 + 6 + 4 + beside
    assert (weighed.weights() @ weighed.members)[11] > 0.9


def test_a_suspect_is_not_cleared_by_what_two_others_explain():
    """As by every set of up to three: alone it is crushed by a pair that explains much."""
    for seed in (10, 12):
        data = plates(np.random.default_rng(seed), 160, [1.2, 1.2, *[0.0] * 9, 0.35])
        told, found = (
            float((w.weights() @ w.members)[-1])
            for w in (weigh(data, keep=12), weigh(data, keep=4))
        )
        assert found == pytest.approx(told, rel=0.02)


def test_bootstrap_weights_leave_the_total():
    weight = bootstrap_weights(7, 30, np.random.default_rng(0))
    assert weight.shape == (30, 7)
    assert weight.sum(axis=1) == pytest.approx(np.zeros(30), abs=1e-12)
    assert bootstrap_weights(0, 5, np.random.default_rng(0)).shape == (5, 0)


def test_logarithms_hold_far_out():
    log_cdf, ratio = log_cdf_and_ratio(np.array([-40.0, 0.0, 40.0]))
    assert log_cdf == pytest.approx([-804.608442, np.log(0.5), 0.0], rel=1e-6)
    assert ratio[0] == pytest.approx(40.025, rel=1e-4)


def test_a_suspect_that_is_certain_and_one_that_cannot_be_are_still_weighed():
    data = plates(np.random.default_rng(1), 60, [0.5])
    for inclusion, least, most in ((1.0, 0.999, 1.0), (0.0, 0.0, 0.001)):
        got = inclusion_of(replace(data, inclusion=np.array([inclusion])))
        assert least <= got[0] <= most


def test_a_plate_that_may_have_failed_counts_as_its_shares_of_two():
    rng = np.random.default_rng(8)
    x, share, session = rng.normal(size=(6, 2)), rng.uniform(0.1, 0.9, 6), np.arange(6) // 2
    one = weigh(made(x, share, session))
    twice = made(np.tile(x, (2, 1)), np.repeat([1.0, 0.0], 6), np.tile(session, 2))
    two = weigh(replace(twice, weight=np.append(share, 1.0 - share)))
    assert one.log_evidence == pytest.approx(two.log_evidence, abs=1e-6)


@pytest.mark.parametrize(("doubt", "seed", "near"), [(1.0, 0, 0.6), (1.0, 1, 0.4), (5.0, 1, 1.8)])
def test_a_fit_of_doubtful_readings_climbs_towards_the_summit(doubt, seed, near):
    """Whole steps overshoot here: SciPy's search says how high the log posterior goes.

    What a slope adds to the doubt of a reading is not in the gradient, so that the fit ends near
    the summit and not on it.
    """
    data = plates(np.random.default_rng(seed), 40, [4.0], base=-2.0, sessions=1, doubt=doubt)
    data = replace(data, mean=np.full(1, 1.0), sd=np.full(1, 3.0))
    weighed = weigh(data, session_sd=1e-3, base_mean=-0.5, base_sd=0.7)

    def below(point):
        effect, base = point
        eta = (base + effect * data.x[:, 0]) / np.sqrt(1.0 + data.doubt[:, 0] * effect**2)
        like = special.log_ndtr(np.where(data.fault > 0, eta, -eta)).sum()
        prior = stats.norm.logpdf(effect, 1.0, 3.0) + stats.norm.logpdf(base, -0.5, 0.7)
        return -float(like + prior)

    summit = optimize.minimize(below, (1.5, -1.2), method="Nelder-Mead").fun
    ended = below((weighed.effect[1, 0], weighed.base[1]))
    assert summit - 1e-3 < ended < summit + near
    assert ended < below((1.0, -0.5)) - 0.1, "no lower than it began"


@pytest.mark.parametrize("seed", [2, 5])
def test_a_fit_with_luck_of_sessions_ends_on_the_summit(seed):
    """Effect, base and luck of each session at once: SciPy's BFGS on the log posterior."""
    rng = np.random.default_rng(seed)
    session = np.repeat(np.arange(6), 8)
    x = rng.normal(size=(48, 1)) + rng.normal(size=6)[session, None]  # what differs by session
    luck = rng.normal(size=6)[session] * 2.0
    fault = (x[:, 0] + luck + rng.normal(size=48) > 0.0).astype(float)
    data = replace(made(x, fault, session), mean=np.full(1, 0.0), sd=np.full(1, 3.0))
    weighed = weigh(data, session_sd=2.0, base_mean=-0.5, base_sd=2.0)

    def below(point):
        effect, base, luck = point[0], point[1], point[2:]
        eta = base + effect * x[:, 0] + luck[session]
        like = special.log_ndtr(np.where(fault > 0, eta, -eta)).sum()
        prior = stats.norm.logpdf(effect, 0.0, 3.0) + stats.norm.logpdf(base, -0.5, 2.0)
        return -float(like + prior + stats.norm.logpdf(luck, 0.0, 2.0).sum())

    summit = optimize.minimize(below, np.zeros(8), method="BFGS").x
    got = (weighed.effect[1, 0], weighed.base[1])
    np.testing.assert_allclose(got, summit[:2], atol=0.01)
