"""What checks tell here, by what their answers caught."""

import pytest
from tests.learn.plates import good, lost

from argentry.desk.learning.check_answers import checks_here
from argentry.desk.learning.odds import judged
from argentry.desk.learning.standing import Standing
from argentry.learn.deciding.stage_work import trade_check
from argentry.records.plate import STAGES
from argentry.trade.decide import known_checks

BREATH = next(c for c in known_checks() if c.key == "breath")


def answered(plates, answer):
    return {one.id: {"polish": answer} for one in plates}


def test_a_check_without_answers_is_the_trades_word():
    told, trades = checks_here([good(1)], {})["breath"], trade_check(BREATH)
    assert told.sound == pytest.approx(trades.sound)
    assert told.fault == pytest.approx(trades.fault)


def test_a_check_that_cried_wolf_tells_less():
    fine = [good(n) for n in range(20)]
    told = checks_here(fine, answered(fine, "wrong"))["breath"]
    trades = checks_here([], {})["breath"]
    assert told.sound[2] > trades.sound[2] + 0.3, "bad to look at, and good all the same"
    assert told.fault == pytest.approx(trades.fault)


def test_a_check_that_missed_faults_tells_less_and_its_own_word_proves_none():
    bad = [lost(n, "polish") for n in range(20)]
    missed = checks_here(bad, answered(bad, "right"))["breath"]
    trades = checks_here([], {})["breath"]
    assert missed.fault[0] > trades.fault[0] + 0.3
    own = checks_here(bad, answered(bad, "wrong"))["breath"]
    assert own.fault == pytest.approx(trades.fault), "the fault was booked by the check itself"


def test_a_finished_plate_is_worth_no_advice():
    standing = Standing({}, {}, {}, STAGES[-1], 300.0, None, None, False, (), ())
    told = judged(standing, 89.1)
    assert (told.advice, told.options, told.needed) == ("continue", (), None)
    assert (told.worth, told.worth_low, told.worth_high, told.price_per_hour) == (0.0,) * 4
    assert (told.minutes_left, told.sureness) == (0.0, 1.0)
    assert "nothing is left to decide" in told.words
