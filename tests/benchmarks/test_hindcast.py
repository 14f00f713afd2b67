"""The skies behind the odds held against a real year of hours, forecasts of it missing by a size.

The year: NREL's typical year of Greensboro, as pvlib ships it (TMY3; Wilcox and Marion 2008).
Scores: Brier, Monthly Weather Review 78 (1950) 1. The whole of it, printed odds over 300 days, is
``python -m benchmarks hindcast``.
"""

import pytest

from argentry import trade
from benchmarks import hindcast

DAYS = 90


@pytest.fixture(scope="module")
def told():
    studio = hindcast.studio_there()
    truth, part = hindcast.year_as_it_was(), trade.value("cloud", "forecast_day_part")
    dates = hindcast.spread_over(DAYS)
    return hindcast.light_odds(truth, studio, dates, part, hindcast.WAYS)


def test_odds_come_true_as_often_as_they_say(told):
    known, _ = told
    mean, worst = hindcast.off(known.odds[hindcast.KNOWN], known.came)
    assert mean < 0.05
    assert worst < 0.12  # some 70 events of 90 days in a group: 6 points are chance


def test_four_days_in_five_lie_in_their_range(told):
    assert 0.72 < told[1] < 0.92


def test_a_known_size_beats_one_for_all_and_both_beat_the_climate(told):
    score = {way: hindcast.brier(odds, told[0].came) for way, odds in told[0].odds.items()}
    assert score[hindcast.KNOWN] < score[hindcast.FIXED_WAY] < score[hindcast.CLIMATE]


def test_odds_that_are_wrong_are_found(told):
    known, _ = told
    odds = known.odds[hindcast.KNOWN]
    assert hindcast.off(0.5 + 0.5 * odds, known.came)[0] > 0.1
    assert hindcast.brier(1.0 - odds, known.came) > 2.0 * hindcast.brier(odds, known.came)
