"""What was learned of each condition, next to what was believed."""

import pytest
from tests.learn.plates import studio

from argentry.learn.stages.effects import effects
from argentry.learn.stages.odds import fit


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
