"""What a check tells, learned from counts."""

import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.deciding.check_quality import learned_check
from argentry.learn.deciding.stage_work import trade_check, usual_work
from argentry.trade.decide import known_checks

BREATH = known_checks()[0]
NONE = (0, 0, 0)


def test_without_counts_the_trades_word_stands():
    check, believed = learned_check(BREATH, NONE, NONE), trade_check(BREATH)
    assert check.sound == pytest.approx(believed.sound)
    assert check.fault == pytest.approx(believed.fault)


def test_counts_add_to_it_as_plates():
    worth = trade.value("decide", "check_plates")
    believed = trade_check(BREATH)
    check = learned_check(BREATH, (20, 0, 0), (0, 0, 5))
    assert check.sound[0] == pytest.approx((worth * believed.sound[0] + 20) / (worth + 20))
    assert check.fault[2] == pytest.approx((worth * believed.fault[2] + 5) / (worth + 5))
    assert sum(check.sound) == pytest.approx(1.0)


def test_it_goes_into_the_work():
    check = learned_check(BREATH, (50, 0, 0), (0, 0, 50))
    assert usual_work(89.1, checks={"breath": check})[0].checks == (check,)


@pytest.mark.parametrize("counts", [(1, 2), (1, 2, -1), (1, 2, float("nan"))])
def test_bad_counts(counts):
    with pytest.raises(BadInput, match="breath"):
        learned_check(BREATH, counts, NONE)
