"""Ends by the clock: how they are told from those an eye called, and how little they say."""

import numpy as np
import pytest
from scipy.stats import t

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.numbers.box_and_dose import development_dose
from argentry.learn.numbers.called_ends import (
    CLOSE,
    EYE_SHARES,
    FARTHEST,
    FORGIVEN,
    STEP,
    TIMES,
    _clock_chances,
    clock_chance,
)

ALIKE = np.array([120.0, 115, 120, 125, 110, 120, 115, 125, 120, 120])
EYE = ALIKE * np.exp([0.2, -0.3, 0.35, 0.0, -0.1, 0.25, -0.2, 0.4, -0.35, 0.1])


def test_minutes_that_are_much_the_same_tell_of_a_clock():
    before = trade.value("decide", "clock_share")
    assert clock_chance(np.array([])) == clock_chance(np.array([np.nan])) == before
    assert clock_chance(ALIKE) > 0.95
    assert clock_chance(np.append(ALIKE, np.nan)) == clock_chance(ALIKE)
    assert clock_chance(np.append(ALIKE, 40.0)) > 0.9  # the light went on one day
    assert clock_chance(EYE) < 0.01
    assert clock_chance(2.0 * ALIKE) == pytest.approx(clock_chance(ALIKE))
    assert before / 2.0 < clock_chance(ALIKE[:1]) < clock_chance(ALIKE[[0, 2]]) < 0.8
    assert clock_chance(np.full(400, 90.0)) == pytest.approx(1.0)
    assert clock_chance(np.tile(EYE, 300)) == pytest.approx(0.0)


@pytest.mark.parametrize("off", [-1.0, -0.25, 0.0, 0.3, 0.9])
def test_an_end_by_the_clock_is_spoilt_as_students_law_says(off):
    """SciPy's Student law of three degrees of freedom, made as wide over 80 % as the normal one."""
    kind, scatter, forgiven = 0, TIMES.size // 2, 3  # all the plate's own, the trade's scatter
    shape = (2 * FARTHEST + 1, EYE_SHARES.size, TIMES.size, FORGIVEN.size, CLOSE.size)
    row = FARTHEST + round(off / STEP)
    each = trade.value("decide", "end_point_log_sd")
    law = t(3, scale=each * 1.2816 / 1.638)
    limit, clear = FORGIVEN[forgiven] * each, 1.0 - trade.value("decide", "other_fog")
    short, over = law.cdf(-off - limit), law.cdf(off - limit)
    told = {}
    for end, row_of in _clock_chances().items():
        ends, early, late = np.split(row_of[row], [EYE_SHARES.size * TIMES.size,
            EYE_SHARES.size * TIMES.size + int(np.prod(shape[1:]))])  # fmt: skip
        assert not ends.any()  # where it lies tells nothing
        told[end] = [np.exp(side.reshape(shape[1:])[kind, scatter, forgiven])
                     for side in (early, late)]  # fmt: skip
    for at in range(CLOSE.size):
        assert told["unripe"][0][at] == pytest.approx(short, abs=0.02)
        assert told["ripe"][0][at] == pytest.approx(1.0 - short, abs=0.02)
        assert told["too long"][1][at] == pytest.approx(1.0 - clear * (1.0 - over), abs=0.02)
        assert told["ripe"][1][at] == pytest.approx(clear * (1.0 - over), abs=0.02)
    assert (told["unripe"][1] == 1.0).all()
    assert (told["too long"][0] == 1.0).all()


def test_a_clock_that_is_late_is_not_taken_for_the_ripe_dose():
    """Every plate after the same minutes, a quarter past ripe: good; none says where ripe is."""
    light = np.exp(np.tile([-0.2, -0.1, 0.0, 0.1, 0.2, 0.05], 6))
    doses = (1.25 * 600.0 * light).tolist()
    alike = np.resize(ALIKE, len(doses)).tolist()
    clock = development_dose(doses, ["ripe"] * 36, minutes=alike)
    eye = development_dose(doses, ["ripe"] * 36)
    assert clock.low < 600.0 < clock.high
    assert eye.low > 700.0
    assert np.log(clock.high / clock.low) > 4.0 * np.log(eye.high / eye.low)
    # what was spoilt still tells on which side ripe lies
    early = development_dose(doses, ["ripe"] * 30 + ["unripe"] * 6, minutes=alike)
    late = development_dose(doses, ["ripe"] * 30 + ["too long"] * 6, minutes=alike)
    assert early.value > clock.value > late.value


def test_minutes_that_lie_apart_change_nothing_and_those_of_three_plates_a_part():
    doses, ends = [500.0, 650.0, 580.0, 700.0, 450.0] * 2, ["ripe"] * 8 + ["unripe", "too long"]
    plain = development_dose(doses, ends)
    assert development_dose(doses, ends, minutes=EYE.tolist()).value == pytest.approx(
        plain.value, rel=2e-3
    )
    three = doses[:3], ends[:3]
    called, some = development_dose(*three), development_dose(*three, minutes=[120.0, 118.0, 121.0])
    wide = [np.log(one.high / one.low) for one in (called, some)]
    assert wide[0] < wide[1]
    assert some.high > called.high
    # a plate told by its pictures was not ended by a clock
    seen = development_dose(doses[:3], ends[:3], log_sds=[0.1] * 3, minutes=[120.0] * 3)
    assert seen == development_dose(doses[:3], ends[:3], log_sds=[0.1] * 3)
    with pytest.raises(BadInput, match="minutes and ends differ in number"):
        development_dose(doses, ends, minutes=[120.0])
