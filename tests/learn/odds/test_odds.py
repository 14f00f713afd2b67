from dataclasses import replace

import numpy as np
import pytest
from tests.learn.plates import ALL_OK, good, lost, making, studio

from argentry.errors import BadInput
from argentry.learn.odds.odds import _of_one_plate, all_stages_ok, fit, odds, share_ahead
from argentry.learn.stages.assumed import of_trade
from argentry.records.learned import Share
from argentry.records.plate import STAGES
from argentry.trade.conditions import StagePrior, conditions


@pytest.fixture(scope="module")
def damp():
    return fit(studio(90, slope=1.8))


def sane(told):
    assert 0.0 <= told.low <= told.probability <= told.high <= 1.0
    for stage in told.by_stage:
        assert 0.0 <= stage.share.low <= stage.share.probability <= stage.share.high <= 1.0
    assert told.reason.endswith(".")
    assert told.plates >= 0
    return told


def test_damp_days_have_worse_odds(damp):
    dry, wet = (sane(odds(damp, {"room_rh_pct": rh})) for rh in (40.0, 70.0))
    assert dry.model_used
    assert dry.probability > wet.probability + 0.3
    assert dry.plates == 90
    assert not dry.mostly_prior
    assert damp.running.model_wins
    assert damp.settled


def test_a_stage_behind_it_counts_no_more(damp):
    before = odds(damp, {"room_rh_pct": 70.0})
    after = sane(odds(damp, {"room_rh_pct": 70.0}, {"polish": "ok", "coat": "ok"}))
    assert after.probability > before.probability
    coat = next(stage for stage in after.by_stage if stage.stage == "coat")
    assert coat.done
    assert coat.share.probability == 1.0
    left = [s.share.probability for s in after.by_stage if not s.done]
    assert after.probability == pytest.approx(np.prod(left), abs=0.02)


def test_what_is_not_known_lies_between_and_is_named(damp):
    dry, wet = (odds(damp, {"room_rh_pct": rh}).probability for rh in (40.0, 70.0))
    unknown = odds(damp, {})
    assert wet < unknown.probability < dry
    coat = next(stage for stage in unknown.by_stage if stage.stage == "coat")
    assert "room_rh_pct" in coat.unknown
    told = next(s for s in odds(damp, {"room_rh_pct": 50.0}).by_stage if s.stage == "coat")
    assert "room_rh_pct" in told.known


def test_same_plates_same_figures(damp):
    again = fit(list(reversed(studio(90, slope=1.8))))
    assert odds(again, {"room_rh_pct": 50.0}) == odds(damp, {"room_rh_pct": 50.0})


def test_two_studios_with_opposite_causes():
    rest = {"cause": "rest of the buff", "centre": 10.0, "width": 3.0, "stage": "polish"}
    plain = {"cause": "room_rh_pct", "stage": "coat"}
    for cause in (rest, plain):
        fitted = fit(studio(120, slope=1.6, **cause))
        name = cause["cause"]
        centre, width = cause.get("centre", 55.0), cause.get("width", 10.0)
        low, high = (odds(fitted, {name: centre + k * width}) for k in (-1.0, 1.0))
        assert low.model.probability > high.model.probability + 0.2
        other = "room_rh_pct" if name != "room_rh_pct" else "water_us_cm"
        usual, odd = (odds(fitted, {other: v}).model.probability for v in (45.0, 65.0))
        assert abs(usual - odd) < 0.2


def test_no_plates():
    told = sane(odds(fit([]), {}))
    assert told.probability == 0.5
    base = told.base_rate
    # of the trade's six plates three are good: four studios in five between a quarter and three
    assert (base.low, base.high) == pytest.approx((0.25, 0.75), abs=0.01)
    # one plate may differ from the share of all
    assert 0.1 < told.low < base.low
    assert base.high < told.high < 0.9
    assert told.plates == 0
    assert told.mostly_prior
    assert not told.model_used
    assert 0.3 < told.model.probability < 0.6  # what the trade believes of a studio unseen


def test_without_plates_each_stage_that_is_sound_raises_the_odds():
    nothing = fit([])
    done: dict[str, str] = {}
    told = [odds(nothing, {}).probability]
    for stage in STAGES:
        done[stage] = "ok"
        told.append(sane(odds(nothing, {}, done)).probability)
    assert told == sorted(told)
    assert len(set(told)) == len(told)
    # half of all plates are good and the finish is one of five stages, not the worst
    assert 0.85 < told[-2] < 0.95
    assert told[-1] > 0.99


@pytest.mark.parametrize(
    ("plates", "low", "high"),
    [
        ([lost(n) for n in range(10)], 0.0, 0.25),
        ([good(n) for n in range(10)], 0.75, 1.0),
        ([good(n) if n % 2 else lost(n) for n in range(10)], 0.25, 0.75),
        ([making(n) for n in range(10)], 0.3, 0.6),
        ([good(1)] * 10, 0.3, 0.85),
        ([making(n, grade="lost") for n in range(10)], 0.0, 0.25),
    ],
    ids=[
        "all lost",
        "all fine",
        "half, no readings",
        "no makings",
        "one plate ten times",
        "grades only",
    ],
)
def test_few_plates(plates, low, high):
    told = sane(odds(fit(plates), {"room_rh_pct": 50.0}))
    assert low <= told.probability <= high


def test_few_plates_are_mostly_prior():
    assert odds(fit([good(n) for n in range(5)]), {}).mostly_prior


def test_a_plate_or_two_do_not_show_that_conditions_predict_better(damp):
    few = fit([good(1), good(2)])
    assert few.running.model_wins
    assert odds(few, {}).reason.startswith("From the conditions, mostly as the trade knows them")
    assert damp.running.model_wins
    assert odds(damp, {}).reason.startswith("From the conditions, which so far predict")


def test_a_condition_that_never_varies_teaches_nothing():
    plates = [replace(p, conditions={"room_rh_pct": 55.0, "own": 3.0}) for p in studio(40)]
    fitted = fit(plates)
    assert "own" not in fitted.stages["coat"].table.names
    sane(odds(fitted, {"room_rh_pct": 55.0}))


def test_a_seen_fault_is_told_apart():
    plates = [lost(n, "polish") for n in range(10)] + [good(n + 10) for n in range(10)]
    told = sane(odds(fit(plates), {}, {"polish": "fault"}))
    assert told.probability < 0.1
    assert not told.model_used
    assert "bad" in told.reason


def test_last_session_is_remembered():
    plates = [good(n) for n in range(30)] + [lost(n, "exposure") for n in range(30, 42)]
    fitted = fit(plates)
    same, next_, early = (odds(fitted, {}, session=s).model.probability for s in ("14", None, "1"))
    assert same < early
    assert same < next_ < early


@pytest.mark.parametrize("done", [{"buffing": "ok"}, {"polish": "fine"}])
def test_bad_stage_is_one_sentence(damp, done):
    with pytest.raises(BadInput, match="stages done"):
        odds(damp, {}, done)


def test_believed_conditions_may_be_edited():
    plates = studio(12)
    strong = [
        replace(c, effect_low=1.0, effect_middle=2.0, effect_high=4.0)
        if c.key == "room_rh_pct"
        else c
        for c in conditions()
    ]
    usual, edited = (
        fit(plates, assumed=a) for a in (None, replace(of_trade(), conditions=tuple(strong)))
    )
    gap = [
        odds(f, {"room_rh_pct": 45.0}).model.probability
        - odds(f, {"room_rh_pct": 65.0}).model.probability
        for f in (usual, edited)
    ]
    assert gap[1] > gap[0]


def test_stages_nobody_reached():
    fitted = fit([lost(n, "polish") for n in range(8)])
    told = sane(odds(fitted, {}))
    assert {s.stage: s.share.plates for s in told.by_stage}["finish"] == 0
    assert tuple(fitted.stages) == STAGES


def test_a_plate_is_predicted_without_itself():
    # the first figure owes nothing to the plates: it is the same whatever came
    first = fit([good(0)]).running
    other = fit([lost(0)]).running
    assert np.exp(first.log_score) + np.exp(other.log_score) == pytest.approx(1.0, abs=0.01)
    assert first.base_log_score == pytest.approx(np.log(0.5))


def test_ungraded_plates_are_not_scored():
    plates = [*studio(10), making(90, stages={"polish": "ok"}), making(91, stages=ALL_OK)]
    assert fit(plates).running.plates == 11


def test_ten_plates_are_no_longer_few():
    def told(count):
        fitted = fit([(good if n % 2 else lost)(n) for n in range(count)])
        worse = replace(fitted.running, log_score=-9.0, model_wins=False)
        return odds(replace(fitted, running=worse), {})

    nine, ten = told(9), told(10)
    assert not nine.model_used
    assert not ten.model_used
    assert (nine.mostly_prior, ten.mostly_prior) == (True, False)


def test_what_lies_ahead_is_shared_by_the_logs_of_what_stages_spoil():
    """Chances multiply, so that shares of 0.5 and 0.25 spoil as one to two."""
    assumed = {
        stage: StagePrior(stage, ok, ok, ok, "", "")
        for stage, ok in (("coat", 0.5), ("finish", 0.25))
    }
    ahead = {(): 1.0, ("coat",): 2 / 3, ("finish",): 1 / 3, ("coat", "finish"): 0.0}
    for passed, share in ahead.items():
        assert share_ahead(assumed, passed) == pytest.approx(share)


def test_draws_of_stages_meet_draw_by_draw_and_few_are_spread_over_many():
    many, few = np.array([0.9, 0.8, 0.7, 0.6]), np.array([0.5, 1.0])
    assert all_stages_ok({"a": many, "b": few}) == pytest.approx([0.45, 0.4, 0.7, 0.6])


def test_what_is_in_doubt_of_all_plates_alike_is_counted_once():
    base = Share(0.6, 0.5, 0.7, 30)
    alike = 0.6 + 0.1 * np.sin(np.arange(400.0))
    told = _of_one_plate(base, alike, alike)
    assert (told.low, told.high) == (pytest.approx(0.5), pytest.approx(0.7))
    apart = _of_one_plate(base, alike, np.full(400, 0.6))
    assert apart.low < 0.48
    assert apart.high > 0.72
