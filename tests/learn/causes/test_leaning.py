"""Exposures wrong to one side: how sure that is, by how many, and what it takes of the blame."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import beta, binom
from tests.learn.plates import lost

from argentry import trade
from argentry.learn.causes.appearance import stage_causes
from argentry.learn.causes.leaning import lean_chance, leaning, moved

SHORT, LONG = "too_little_light", "too_much_light"


def judged(**counts):
    makings = [lost(n, "exposure") for n in range(sum(counts.values()))]
    words = [word for word, count in counts.items() for _ in range(count)]
    return [replace(one, verdict=word) for one, word in zip(makings, words, strict=True)]


def lean(**counts):
    return leaning(stage_causes("exposure"), judged(**counts), np.random.default_rng(1))


@pytest.mark.parametrize(("toward", "away"), [(0, 0), (7, 1), (1, 7), (20, 14), (29, 1)])
def test_how_sure_a_side_is_by_bayes_theorem_integrated_by_scipy(toward, away):
    """Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, sec. 2.4: a binomial's share."""
    before = trade.value("causes", "lean_inclusion")
    half = trade.value("causes", "even_plates") / 2.0

    def seen(density, low, high):
        return quad(lambda s: density(s) * binom.pmf(toward, toward + away, s), low, high)[0]

    side = before * seen(lambda _: 2.0, 0.5, 1.0)
    other = before * seen(lambda _: 2.0, 0.0, 0.5)
    even = (1.0 - 2.0 * before) * seen(beta(half, half).pdf, 0.0, 1.0)
    told = lean_chance(np.array([toward]), np.array([away]))
    assert told == pytest.approx([side / (side + other + even)], rel=1e-6)


def test_only_exposures_have_an_opposite_side_and_each_verdict_counts_for_its_own():
    for stage in ("polish", "coat", "development", "finish"):
        assert leaning(stage_causes(stage), judged(under=9), np.random.default_rng(1)) == {}
    assert lean(right=9) == {}
    unripe = [replace(one, stages={"exposure": "ok", "development": "fault"})
              for one in judged(under=9)]  # fmt: skip
    assert leaning(stage_causes("exposure"), unripe, np.random.default_rng(1)) == {}
    nothing_booked = [replace(one, stages={}) for one in judged(under=9)]
    assert leaning(stage_causes("exposure"), nothing_booked, np.random.default_rng(1))
    found = lean(under=20, blank=2, over=1, solarised=1, right=30)
    assert set(found) == {SHORT, LONG}
    short, long = found[SHORT], found[LONG]
    assert (short.toward, short.away, long.toward, long.away) == (22, 2, 2, 22)
    assert short.excess == pytest.approx(20 / 23)
    assert long.excess == 0.0
    assert short.chance[0] > 0.7 > 0.05 > long.chance[0]


def test_the_range_is_that_of_as_many_verdicts():
    """A studio of 12 to 3 is in doubt and says so; one of 60 to 1 is not."""
    doubtful, sure = lean(under=12, over=3)[SHORT].chance, lean(under=60, over=1)[SHORT].chance
    assert np.quantile(doubtful[1:], 0.9) - np.quantile(doubtful[1:], 0.1) > 0.4
    assert np.quantile(sure[1:], 0.1) > 0.99


def test_what_leans_takes_its_share_of_what_no_condition_explains():
    faults = judged(under=2, over=1)
    causes = stage_causes("exposure")
    width = 2 + len(causes) + 1
    shares = np.full((1, 3, width), 0.4 / (width - 2))
    shares[..., :2] = 0.3
    found = lean(under=29, over=1)
    out = moved(shares, 2, faults, [(one, found.get(one.key)) for one in causes])
    assert out.sum(axis=2) == pytest.approx(1.0)
    assert out[..., :2] == pytest.approx(0.3)
    at = 2 + [one.key for one in causes].index(SHORT)
    part = found[SHORT].chance[0] * found[SHORT].excess
    assert out[0, :2, at] == pytest.approx((1 - part) * 0.4 / (width - 2) + part * 0.4)
    assert out[0, 2] == pytest.approx(shares[0, 2], abs=1e-3)  # judged too long
    assert shares[0, 0, at] == pytest.approx(0.4 / (width - 2))  # what was given is left as it is
