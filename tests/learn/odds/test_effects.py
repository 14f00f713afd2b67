"""What was learned of each condition, next to what was believed."""

import numpy as np
import pytest
from tests.learn.plates import studio

from argentry.learn.odds.effects import _values, effects
from argentry.learn.odds.odds import fit
from argentry.trade.conditions import conditions, strengths, usual_strength


@pytest.fixture(scope="module")
def damp():
    return fit(studio(90, slope=1.8))


def test_effects_beside_what_was_believed(damp):
    told = {(e.stage, e.condition): e for e in effects(damp)}
    humid = told["coat", "room_rh_pct"]
    assert humid.plates == 90
    assert humid.low < humid.effect < humid.high < 0.0
    assert humid.effect < humid.believed < 0.0  # worse than the trade believed
    assert humid.high < -0.8  # the truth is -1.8
    coat = told["coat", "coat_nm"]
    assert coat.plates == 0
    assert coat.best_low < coat.best < coat.best_high
    assert coat.best == pytest.approx(25.0, abs=3.0)  # never measured: as believed
    assert coat.effect == pytest.approx(coat.believed, rel=0.6)
    assert told["coat", "fuming_seconds_20c"].best == pytest.approx(60.0, rel=0.25)


def test_effects_are_read_off_the_draws_with_their_sign(damp):
    told = {(e.stage, e.condition): e for e in effects(damp)}
    coat = damp.stages["coat"]
    u, points = coat.model.unknowns, coat.draws.points
    seen = [coat.table.names[i] for i in coat.table.seen]
    assert seen == ["room_rh_pct"]
    drawn = -np.exp(points[:, u.parts["one_way"].start])
    humid = told["coat", "room_rh_pct"]
    want = np.quantile(drawn, [0.1, 0.5, 0.9])
    assert (humid.low, humid.effect, humid.high) == pytest.approx(tuple(want))
    assert (humid.best, humid.best_low, humid.best_high) == (None, None, None)


def test_what_was_never_seen_is_told_as_believed_by_form(damp):
    for condition in conditions():
        told = next(
            (
                e
                for e in effects(damp)
                if (e.stage, e.condition) == (condition.stage, condition.key)
            ),
            None,
        )
        if told is None or condition.key == "room_rh_pct":
            continue
        low, middle, high = condition.effect_low, condition.effect_middle, condition.effect_high
        sign = {"window": -1.0, "free": 1.0, "switch": 1.0}.get(condition.form, condition.sign)
        sign *= usual_strength()
        assert told.believed == pytest.approx(sign * middle)
        assert (told.believed_low, told.believed_high) == pytest.approx(
            tuple(sorted((sign * low, sign * high)))
        )
        assert told.believed_low <= told.believed_high
        if condition.form == "window" and condition.scale == "plain":
            off = 1.2815515655 * condition.optimum_sd * condition.width
            assert (told.best_low, told.best, told.best_high) == pytest.approx(
                (condition.centre - off, condition.centre, condition.centre + off)
            )


def test_before_any_plate_conditions_matter_by_the_mean_of_the_factors():
    """A studio in which they matter hardly, somewhat or by the trade's word, by their shares."""
    by_hand = np.prod([factor**share for factor, share in strengths().items()])
    assert usual_strength() == pytest.approx(float(by_hand))
    assert min(strengths()) < usual_strength() < max(strengths())


def test_one_plate_does_not_halve_what_is_assumed_of_a_condition():
    """What was assumed and what is learned are told on one scale: they start out equal."""
    told = [one for one in effects(fit(studio(1, slope=0.0))) if one.plates]
    assert told
    for one in told:
        assert one.effect == pytest.approx(one.believed, rel=0.15)
        wide = one.believed_high - one.believed_low
        assert one.high - one.low == pytest.approx(wide, rel=0.25)


def test_a_best_value_is_told_on_the_scale_of_its_condition():
    for condition in conditions():
        centre, width = condition.centre, condition.width
        if condition.scale == "doublings":
            want = centre, centre / 2.0 ** (2.0 * width), centre * 2.0**width
        else:
            want = centre, centre - 2.0 * width, centre + width
        assert _values(condition, np.array([-2.0, 0.0, 1.0])) == pytest.approx(want), condition.key
