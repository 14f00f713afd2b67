"""The fit of a log: what each stage's chance is made of, and how the model scored."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from tests.learn.plates import good, lost, making, studio

from argentry.learn.odds.fitting import fit
from argentry.learn.stages.assumed import of_trade
from argentry.learn.stages.scores import base_rates, brier_score, log_score
from argentry.learn.stages.unknowns import DRIFT_MEMORY
from argentry.records.plate import STAGES


@pytest.fixture(scope="module")
def damp():
    return fit(studio(45, slope=1.8))


def test_the_drift_of_sessions_is_that_of_their_distance(damp):
    coat = damp.stages["coat"]
    last = coat.places.size - 1
    assert coat.drift > 0.0
    terms, left = {}, {}
    for session in (0, last - 1, last, last + 1, last + 4):
        terms[session], left[session] = coat.luck_of(session)
        # all told, every session drifts alike
        whole = terms[session] @ terms[session] + left[session]
        assert whole == pytest.approx(coat.drift**2, rel=1e-6)
    for one in (0, last - 1, last):
        assert left[one] == pytest.approx(0.0, abs=1e-12)
    for one, other in ((last, last + 1), (last, last + 4), (last - 1, last)):
        shared = terms[one] @ terms[other]
        assert shared == pytest.approx(coat.drift**2 * DRIFT_MEMORY ** (other - one), rel=1e-6)


def test_without_drift_kept_all_of_it_is_doubt(damp):
    bare = replace(damp.stages["coat"], places=np.zeros(0), drift=0.3)
    terms, left = bare.luck_of(2)
    assert terms.size == 0
    assert left == pytest.approx(0.09)


def test_the_chance_of_a_plate_by_hand(damp):
    coat = damp.stages["coat"]
    unknowns, names = coat.model.unknowns, coat.table.names
    assert [names[i] for i in coat.table.seen] == ["room_rh_pct"]
    x = np.full(len(names), np.nan)
    x[coat.table.seen] = 0.7
    point = coat.draws.points[:3].copy()
    session = int(coat.places[-1]) + 2
    terms, left = coat.luck_of(session)
    part = unknowns.parts
    effect = unknowns.sign * np.exp(point[:, part["one_way"]])
    eta = point[:, 0] + effect[:, 0] * 0.7 + point[:, part["session"]] @ terms
    by_hand = norm.cdf(eta / np.sqrt(1.0 + left))
    np.testing.assert_allclose(coat.probability(x, session, point), by_hand)
    x[:] = np.nan  # not known: its mean, and its doubt in the root
    mean, variance = coat.moments
    eta = point[:, 0] + effect[:, 0] * mean[0] + point[:, part["session"]] @ terms
    by_hand = norm.cdf(eta / np.sqrt(1.0 + left + effect[:, 0] ** 2 * variance[0]))
    np.testing.assert_allclose(coat.probability(x, session, point), by_hand)


def test_the_running_score_is_of_the_other_sessions_against_their_share(damp):
    session = np.arange(45) // 3
    came = np.array([one.grade == "good" for one in studio(45, slope=1.8)])
    running, quoted = damp.running, base_rates(came, session, *of_trade().good)
    assert damp.shares == pytest.approx(quoted)
    assert running.plates == 45
    assert running.log_score == pytest.approx(log_score(damp.by_others, came))
    assert running.base_log_score == pytest.approx(log_score(quoted, came))
    assert running.brier == pytest.approx(brier_score(damp.by_others, came))
    assert running.base_brier == pytest.approx(brier_score(quoted, came))
    assert running.model_wins == (running.log_score > running.base_log_score)


def test_sessions_stand_in_order_of_time_and_the_stages_in_that_of_the_work():
    makings = [lost(7, "coat"), good(0), making(3)]
    fitted = fit(makings)
    assert fitted.sessions == ("1", "2", "3")
    assert [one.plate for one in fitted.makings] == ["P000", "P003", "P007"]
    assert fitted.came == (True, None, False)
    assert tuple(fitted.stages) == STAGES
    assert fitted.settled
    last = fitted.stages[STAGES[-1]]
    stuck = replace(last, draws=replace(last.draws, rhat=9.0))
    assert not replace(fitted, stages={**fitted.stages, STAGES[-1]: stuck}).settled


def test_the_seed_moves_the_draws_and_little_else():
    makings = studio(18)
    one, same, other = (fit(makings, seed=s).stages["coat"].draws.points for s in (5, 5, 6))
    np.testing.assert_array_equal(one, same)
    assert not np.array_equal(one, other)
    assert one.mean(axis=0)[0] == pytest.approx(other.mean(axis=0)[0], abs=0.2)


def test_where_nothing_is_booked_a_part_of_the_draws_is_of_the_whole_plate(damp):
    """The parts of the stages multiply to what the plate read as one stage says."""
    assert (damp.whole, damp.unbooked) == (None, 0.0)
    plates = [
        replace(one, stages={} if one.grade == "lost" else one.stages, defects=())
        for one in studio(45, slope=1.8)
    ]
    loose = fit(plates)
    assert loose.unbooked == 1.0
    known = {"room_rh_pct": 68.0}
    wet = loose.chances(known, 99)
    alone = {key: stage.chances(known, 99) for key, stage in loose.stages.items()}
    more = loose.whole.chances(known)
    assert {one.size for one in wet.values()} == {alone["coat"].size + more.size}
    whole = np.prod([draws[-more.size :] for draws in wet.values()], axis=0)
    np.testing.assert_allclose(whole, more)
    for key, draws in alone.items():
        np.testing.assert_array_equal(wet[key][: draws.size], draws)
    odds = [np.prod(list(loose.chances({"room_rh_pct": x}, 99).values()), axis=0).mean()
            for x in (42.0, 68.0)]  # fmt: skip
    by_stage = [np.prod([one.chances({"room_rh_pct": x}, 99) for one in loose.stages.values()],
                        axis=0).mean() for x in (42.0, 68.0)]  # fmt: skip
    assert odds[0] - odds[1] > by_stage[0] - by_stage[1] > 0.1
