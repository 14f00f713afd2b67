"""What a fault looks like, and how looks speak for one cause against another."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm
from tests.learn.plates import lost

from argentry import trade
from argentry.learn.causes.appearance import (
    Looks,
    blame,
    findings,
    link_table,
    log_seen,
    looks_follow,
    looks_of,
    origin_stage,
    stage_causes,
    stage_looks,
    usual_looks,
)
from argentry.trade.defects import defects

COAT = stage_causes("coat")


def test_where_a_defect_is_put_down_to():
    assert origin_stage("scratches", "polish") == "polish"
    step = next(iter(defects().values()))
    assert origin_stage("anything", "somewhere else") == ""
    one = next(d for d in defects().values() if len(d.stages) == 1)
    assert origin_stage(one.key, "") == one.stages[0]
    many = next(d for d in defects().values() if len(d.stages) > 1)
    assert origin_stage(many.key, "") == ""
    assert step.stages


def test_links_are_the_trades_word_and_nothing_where_it_says_nothing():
    names = looks_of("coat")
    table = link_table(COAT, (*names, "never heard of"))
    assert table.shape == (len(COAT), len(names) + 1)
    for i, cause in enumerate(COAT):
        assert table[i].tolist() == [cause.links.get(name, 0.0) for name in names] + [0.0]
    assert list(names) == sorted(set(names))
    assert link_table((), names).shape == (0, len(names))


def test_only_looks_of_the_stage_are_findings_and_silence_is_not_looking():
    names = looks_of("coat")
    plate = lost(1, defects=((names[1], "coat"), (names[2], "polish")))
    seen = findings(plate, "coat", names)
    assert seen[:3].tolist() == [0.0, 1.0, 0.0]
    assert np.isnan(findings(lost(1), "coat", names)).all()
    assert np.isnan(findings(plate, "polish", [names[1]])).all()


@pytest.fixture(scope="module")
def blues():
    """Twenty faults that all look as one cause makes them look."""
    cause = max(COAT, key=lambda c: max(c.links.values()))
    look = max(cause.links, key=cause.links.get)
    faults = [lost(n, defects=((look, "coat"),)) for n in range(20)]
    return cause, stage_looks("coat", faults, np.ones(20))


def test_looks_that_all_plates_share_raise_the_cause_that_makes_them(blues):
    cause, looks = blues
    assert looks.causes == (*(c.key for c in COAT), "")
    at = looks.causes.index(cause.key)
    none = stage_looks("coat", [], np.zeros(0))
    assert looks.shares.sum() == pytest.approx(1.0)
    assert none.shares.sum() == pytest.approx(1.0)
    assert looks.shares[at] > none.shares[at]
    assert looks.likelihood.shape == (20, len(COAT) + 1)
    assert looks.likelihood.max() == 1.0


def test_without_faults_the_shares_are_the_priors_with_a_part_for_chance():
    from argentry import trade

    chance = trade.value("causes", "chance_share")
    prior = np.array([c.prior for c in COAT])
    none = stage_looks("coat", [], np.zeros(0))
    assert none.shares[-1] == pytest.approx(chance)
    assert none.shares[:-1] == pytest.approx((1.0 - chance) * prior / prior.sum())


def test_a_plate_of_small_weight_moves_the_shares_little(blues):
    cause, looks = blues
    at = looks.causes.index(cause.key)
    look = max(cause.links, key=cause.links.get)
    faults = [lost(n, defects=((look, "coat"),)) for n in range(20)]
    slight = stage_looks("coat", faults, np.full(20, 0.01))
    none = stage_looks("coat", [], np.zeros(0))
    assert none.shares[at] < slight.shares[at] < looks.shares[at]


def blamed(effects, x, likelihood=((1.0, 1.0),), causes=(), base=-1.0):
    weighed = SimpleNamespace(base=np.array([base] * len(effects)), effect=np.array(effects))
    sides = [SimpleNamespace(causes=causes)] * np.shape(effects)[1]
    looks = Looks(("damp_air", ""), np.array(likelihood), np.array([0.5, 0.5]))
    faulty = np.zeros(len(x), dtype=bool)
    faulty[-len(likelihood) :] = True
    return blame(weighed, np.array(x), faulty, sides, looks)


X = [[value] for value in (-1.0, -0.5, 0.0, 0.5, 1.0, 2.0)]


def test_a_suspect_is_blamed_for_what_would_go_on_the_best_days():
    more, shares = blamed([[0.0], [0.8]], X)
    assert more == pytest.approx(np.zeros((2, 1)))  # alike looks say nothing
    assert shares.shape == (2, 1, 3)
    assert shares.sum(axis=2) == pytest.approx(np.ones((2, 1)))
    assert shares[0, 0, 0] == 0.0
    best = np.quantile([row[0] for row in X], 0.2)
    now, then = (norm.cdf(-1.0 + 0.8 * value) for value in (2.0, best))
    assert shares[1, 0, 0] == pytest.approx(1.0 - then / now)
    assert shares[1, 0, 1] == shares[1, 0, 2] == pytest.approx(then / now / 2)


def test_a_condition_that_helps_is_best_where_it_is_high():
    _, shares = blamed([[-0.8]], [[-v[0]] for v in X])
    _, same = blamed([[0.8]], X)
    assert shares == pytest.approx(same)
    _, none = blamed([[0.8]], X[::-1])  # the fault fell on a good day
    assert none[0, 0, 0] == 0.0


def test_something_is_always_left_to_chance():
    _, shares = blamed([[1.2, 1.2]], [[row[0]] * 2 for row in X], base=-3.0)
    assert shares[0, 0, :2].sum() == pytest.approx(0.95)


def test_looks_speak_for_the_suspect_whose_cause_makes_them():
    for_it, shares = blamed([[0.8]], X, [(1.0, 0.1)], ("damp_air",))
    against, fewer = blamed([[0.8]], X, [(0.1, 1.0)], ("damp_air",))
    assert for_it[0, 0] > 0.0 > against[0, 0]
    proof, _ = blamed([[0.8]], X, [(1.0, 1e-9)], ("damp_air",))
    assert proof[0, 0] < np.log(trade.value("causes", "look_most"))
    assert shares[0, 0, 0] > fewer[0, 0, 0]
    unknown, _ = blamed([[0.8]], X, [(1.0, 0.1)], ())
    assert unknown[0, 0] == pytest.approx(0.0)  # nobody knows how it looks


def test_without_faults_nobody_is_blamed():
    weighed = SimpleNamespace(base=np.zeros(2), effect=np.zeros((2, 1)))
    looks = Looks(("damp_air", ""), np.zeros((0, 2)), np.array([0.5, 0.5]))
    more, shares = blame(weighed, np.zeros((3, 1)), np.zeros(3, dtype=bool), [None], looks)
    assert (more.shape, shares.shape) == ((2, 0), (2, 0, 3))


def test_whether_looks_follow_the_table_is_told_by_the_plates():
    rng = np.random.default_rng(5)
    names = looks_of("coat")
    table = link_table(COAT, names)
    likely = [row for row in table if row.max() >= 0.7]

    def faults(draw):
        return [
            lost(n, defects=tuple((d, "coat") for d, yes in zip(names, draw(), strict=True) if yes))
            for n in range(80)
        ]

    by_table = faults(lambda: rng.random(len(names)) < likely[rng.integers(len(likely))])
    odd = rng.permutation(len(names))[:3]
    unlike = faults(lambda: np.isin(np.arange(len(names)), odd) & (rng.random(len(names)) < 0.9))
    true, false = (stage_looks("coat", some, np.ones(80)) for some in (by_table, unlike))
    assert true.follow > 2.0
    assert false.follow < -2.0
    first = trade.value("causes", "looks_follow")
    assert looks_follow([]) == pytest.approx(first)
    assert looks_follow([false]) < 0.3 < first < looks_follow([true]) <= 0.95
    assert looks_follow([false] * 9) == 0.2  # never quite given up
    assert stage_looks("coat", [lost(1)], np.ones(1)).follow == 0.0  # nobody looked


def test_a_look_is_as_usual_as_other_plates_and_four_assumed_ones_say():
    leak, usually = (trade.value("causes", key) for key in ("leak", "link_usually"))
    before = (usual_looks(np.zeros(2), 0.0))[0]  # no other plate
    told = usual_looks(np.array([3.0, 0.0]), 6.0)
    assert told[0] == pytest.approx((3.0 + 4.0 * before) / 10.0)
    assert told[1] == pytest.approx(max(leak, 4.0 * before / 10.0))
    assert usual_looks(np.array([1000.0]), 1000.0)[0] == usually
    assert usual_looks(np.zeros(2), 1e6)[0] == leak


def test_looks_come_each_on_its_own():
    seen, chance = np.array([[1.0, 0.0], [1.0, 1.0]]), np.array([0.2, 0.4])
    assert np.exp(log_seen(seen, chance)) == pytest.approx([0.2 * 0.6, 0.2 * 0.4])
