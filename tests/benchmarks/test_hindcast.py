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
    """No further off than odds that are right may be by chance; 300 days: the benchmark."""
    known, _ = told
    found = hindcast.off(known.odds[hindcast.KNOWN], known.came)
    chance = hindcast.off_by_chance(known, 0.995)
    assert found[0] < chance[0] < 0.1
    assert found[1] < chance[1]


def test_four_days_in_five_lie_in_their_range(told):
    assert 0.72 < told[1] < 0.92


def test_a_known_size_beats_one_for_all_and_both_beat_the_climate(told):
    score = {way: hindcast.brier(odds, told[0].came) for way, odds in told[0].odds.items()}
    assert score[hindcast.KNOWN] < score[hindcast.FIXED_WAY] < score[hindcast.CLIMATE]


def test_odds_that_are_wrong_are_found(told):
    known, _ = told
    odds = known.odds[hindcast.KNOWN]
    chance = hindcast.off_by_chance(known)
    assert hindcast.off(0.5 + 0.5 * odds, known.came)[0] > 1.5 * chance[0]
    assert hindcast.brier(1.0 - odds, known.came) > 2.0 * hindcast.brier(odds, known.came)


def test_the_odds_of_an_hour_are_those_that_the_sheet_prints():
    from argentry.day.tables import end_tables, hours
    from argentry.plan.tasks import blocks_of

    studio, truth = hindcast.studio_there(), hindcast.year_as_it_was()
    day = hindcast.spread_over(DAYS)[40]
    made = hindcast.forecast_of(truth, studio, day, 1.0, 0.5)
    planned = hindcast.setting(studio, day, made)
    blocks = blocks_of(planned.tasks)
    rows = hours(planned.clock, planned.lit, blocks, end_tables(planned.lit, 1))
    printed = [odds for row in rows for odds in (row.exposure_suffices, row.development_suffices)]
    assert hindcast.outcomes(planned).mean(axis=0) == pytest.approx(printed)
