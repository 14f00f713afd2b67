"""Gates: the programme against closed forms and brute force, and the advice drawn from it."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.learn.deciding.checkpoints import _ways, advise
from argentry.learn.deciding.stage_work import usual_work
from argentry.records.decision import ADVICE
from argentry.records.plate import STAGES


def usual():
    return usual_work(89.1)


def test_a_hopeless_plate_is_given_up_while_time_is_dear():
    odds = {"polish": 0.05, "coat": 0.05}
    kept = tuple(replace(stage, redo_minutes=None) for stage in usual())
    advice = advise(kept, odds, "coat", 540, checked=("coat_photograph",))
    assert advice.advice == "stop"
    assert advice.probability < advice.needed
    assert "give this plate up" in advice.rule


def test_a_poor_polish_is_done_again():
    advice = advise(usual(), {"polish": 0.2}, "polish", 540, checked=("breath",))
    assert advice.advice == "redo"
    worth = {option.what: option.worth for option in advice.options}
    assert worth["redo"] > worth["continue"] + 0.01
    slow = tuple(replace(s, minutes=75.0) if s.key == "polish" else s for s in usual())
    dear = advise(slow, {"polish": 0.2}, "polish", 500, checked=("breath",))
    assert dear.advice == "redo"
    assert dear.worth > 0.01


def test_each_option_says_how_long_it_takes_and_what_it_is():
    polish, coat = usual()[:2]
    check = next(c for c in polish.checks if c.key == "breath")
    advice = advise(usual(), {"polish": 0.6}, "polish", 540)
    assert {o.what: o.minutes for o in advice.options if o.key in ("", "breath")} == {
        "continue": coat.minutes, "redo": polish.redo_minutes, "check": check.minutes, "stop": 0.0,
    }  # fmt: skip
    assert {o.words for o in advice.options} >= {
        "continue to the coat", "redo the polish", "give this plate up",
        f"{check.title}, then decide",
    }  # fmt: skip


def test_when_no_other_plate_can_be_finished_time_costs_nothing():
    to_come = np.ceil(usual()[4].minutes)
    advice = advise(usual(), {"polish": 0.1, "coat": 0.1}, "development", to_come + 5)
    assert advice.price_per_hour == 0.0
    assert advice.advice == "continue"
    assert advice.needed == 0.0
    assert "no other plate can be finished today" in advice.rule


def test_the_last_minute_before_the_next_plate_is_not_spent_on_a_redo():
    """Steps take longer at times: a plate that would have to begin on the minute is half lost."""
    odds = {"polish": 0.75}
    whole = sum(np.ceil(s.minutes) for s in usual())
    left = sum(np.ceil(s.minutes) for s in usual()[1:]) + whole + np.ceil(usual()[0].redo_minutes)
    exact = tuple(replace(s, scatter=0.0) for s in usual())
    for minutes, by_the_minute, advised in (
        (left, "redo", "continue"),
        (left + 60, "redo", "redo"),
    ):
        told = [
            advise(w, odds, "polish", minutes, checked=("breath",)).advice for w in (exact, usual())
        ]
        assert told == [by_the_minute, advised]


def test_a_plate_that_cannot_be_finished_is_said_so():
    advice = advise(usual(), {}, "polish", 60)
    assert (advice.advice, advice.needed) == ("stop", None)
    assert "cannot be finished" in advice.rule


def test_a_doubtful_polish_is_looked_at_first():
    advice = advise(usual(), {"polish": 0.6}, "polish", 540)
    assert advice.advice == "check"
    assert advice.key == "breath"
    gone = advise(usual(), {"polish": 0.6}, "polish", 540, checked=("breath",))
    assert gone.advice != "check"
    assert gone.options[0].worth <= advice.options[0].worth + 1e-9


@pytest.mark.parametrize("overlap", [False, True])
def test_ranges_hold_their_middle_and_the_record_is_plain(overlap):
    rng = np.random.default_rng(2)
    odds = {s: rng.beta(8, 4, 200) for s in STAGES}
    for done, left in product((None, *STAGES[:4]), (120, 300, 540)):
        advice = advise(usual(), odds, done, left, overlap=overlap, plates=12)
        assert advice.advice in ADVICE
        assert advice.low <= advice.worth <= advice.high
        assert advice.probability_low <= advice.probability <= advice.probability_high
        for option in advice.options:
            assert option.low <= option.worth <= option.high
        assert all(type(v) in {str, float, int, tuple, type(None)} for v in vars(advice).values())


def test_more_certain_odds_narrow_the_range():
    rng = np.random.default_rng(3)
    wide = advise(usual(), {"coat": rng.beta(2, 1, 400)}, "polish", 400)
    tight = advise(usual(), {"coat": rng.beta(200, 100, 400)}, "polish", 400)
    assert wide.probability == pytest.approx(tight.probability, abs=0.03)
    assert tight.probability_high - tight.probability_low < (
        0.3 * (wide.probability_high - wide.probability_low)
    )


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"odds": {"polish": 1.2}}, "odds of polish"),
        ({"odds": {"polish": np.nan}}, "odds of polish"),
        ({"odds": {"glaze": 0.5}}, "'glaze' is not a stage"),
        ({"done": "finish"}, "leaves nothing to decide"),
        ({"minutes_left": np.nan}, "minutes left today"),
        ({"minutes_left": 3000.0}, "minutes left today"),
    ],
)
def test_bad_input(change, match):
    given = {"usual": usual(), "odds": {}, "done": None, "minutes_left": 300.0} | change
    with pytest.raises(BadInput, match=match):
        advise(**given)


def test_other_plates_are_not_worked_on_meanwhile_unless_said():
    given = (usual(), {"polish": 0.6}, "polish", 540)
    alone, side_by_side = (advise(*given, overlap=overlap) for overlap in (False, True))
    assert advise(*given) == alone
    assert alone.price_per_hour != side_by_side.price_per_hour


@pytest.mark.parametrize("left", [400, 480, 560, 660, 720, 900])
def test_a_usual_plate_is_begun_at_any_hour_that_holds_one(left):
    usual = usual_work(89.1, {"polish": 0.85, "coat": 0.89, "exposure": 0.78, "finish": 0.85})
    found = advise(usual, {stage.key: stage.ok for stage in usual}, None, left)
    assert found.advice == "continue"
    worse = advise(usual, {"polish": 0.3}, None, left)
    assert worse.advice == "stop"


def test_what_takes_all_that_is_left_of_the_day_can_still_be_done():
    polish = usual()[0]
    check = replace(next(c for c in polish.checks if c.key == "breath"), minutes=20.0)
    last = (replace(polish, redo_minutes=20.0, checks=(check,)),)
    assert _ways(last, 0, 20, ()) == ["continue", "check breath", "redo", "stop"]
    assert _ways(last, 0, 20, ("breath",)) == ["continue", "redo", "stop"]
    assert _ways(last, 0, 19, ()) == ["continue", "stop"]
