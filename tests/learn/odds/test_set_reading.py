"""The stage read by small sets of conditions, and ranges that hold one plate's chance."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from tests.learn.faults import damp_studio, make

from argentry import trade
from argentry.learn.causes.plate_causes import studio_past, why_plate
from argentry.learn.causes.studio_causes import stage_views, why_studio
from argentry.learn.deciding.recent_settings import chance_of
from argentry.learn.odds.fitting import fit
from argentry.learn.odds.set_reading import DRAWS, misfit_of, set_reading, shown


@pytest.fixture(scope="module")
def damp():
    return fit(damp_studio(60))


def test_luck_that_is_drawn_leaves_the_mean_and_widens_the_range():
    luck = np.random.default_rng(1).standard_normal(200_000)
    eta = np.full(luck.size, 0.7)
    for variance, misfit in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.8), (0.5, 0.8)):
        got = shown(eta, np.full(luck.size, variance), misfit, luck)
        assert got.mean() == pytest.approx(norm.cdf(0.7 / np.sqrt(1.0 + variance)), abs=0.002)
        low, high = np.quantile(got, [0.1, 0.9])
        grow = 1.0 + misfit**2
        spread = np.sqrt(variance * grow + misfit**2)
        middle = 0.7 * np.sqrt(grow)
        assert high == pytest.approx(norm.cdf(middle + 1.2816 * spread), abs=0.005)
        assert low == pytest.approx(norm.cdf(middle - 1.2816 * spread), abs=0.005)


def test_luck_may_be_averaged(damp):
    eta, variance = np.array([0.7, -0.2]), np.array([0.5, 0.1])
    averaged = norm.cdf(eta / np.sqrt(1.0 + variance))
    np.testing.assert_allclose(shown(eta, variance, 0.8, None), averaged)
    coat = damp.stages["coat"]
    one, many = (coat.chances({"room_rh_pct": 50.0}, 30, averaged=a) for a in (False, True))
    assert many.mean() == pytest.approx(one.mean(), abs=0.03)
    assert many.std() < one.std()


def test_sessions_differ_by_as_much_as_was_learned_and_the_middle_stays(damp):
    coat = damp.stages["coat"]
    assert coat.sets.session == coat.drift**2
    most = trade.value("causes", "session_sd") ** 2
    known = {"room_rh_pct": 50.0}
    quiet, some, more = (
        replace(coat.sets, session=of, misfit=0.0).chances(known) for of in (0.0, most, 9.0)
    )
    assert quiet.std() < 0.8 * some.std()
    assert quiet.mean() == pytest.approx(some.mean(), abs=0.01)
    np.testing.assert_array_equal(some, more)


def test_the_whole_plate_scatters_by_its_stages():
    plates = [replace(one, stages={}, defects=()) for one in damp_studio(40)]
    learned = fit(plates)
    drift = {key: one.drift for key, one in learned.stages.items()}
    assert 0.0 < learned.whole.session < max(drift.values()) ** 2


def test_misfit_is_in_proportion_to_what_conditions_tell_and_falls_as_plates_come():
    share, worth = (trade.value("causes", key) for key in ("misfit_share", "misfit_plates"))
    assert misfit_of(np.array([0.3, 0.3, 0.3]), np.ones(3)) == 0.0
    apart = np.array([-1.0, 1.0])
    assert misfit_of(apart, np.zeros(2)) == pytest.approx(share)
    assert misfit_of(apart, np.full(2, worth / 2.0)) == pytest.approx(share / np.sqrt(2.0))
    assert misfit_of(apart, np.full(2, 1.5 * worth)) == pytest.approx(share / 2.0)
    assert misfit_of(np.zeros(0), np.zeros(0)) == 0.0


def test_a_cliff_is_read_by_its_set(damp):
    coat = damp.stages["coat"].sets
    dry, wet = (coat.chances({"room_rh_pct": damp}).mean() for damp in (42.0, 68.0))
    unknown = coat.chances({}).mean()
    assert dry > 0.9
    assert wet < 0.35
    assert wet < unknown < dry
    other = coat.chances({"room_rh_pct": 50.0, "buff_minutes": 8.0}).mean()
    assert other == pytest.approx(coat.chances({"room_rh_pct": 50.0}).mean(), abs=0.05)


def test_odds_are_half_of_the_chain_and_half_of_the_sets(damp):
    coat = damp.stages["coat"]
    known = {"room_rh_pct": 66.0}
    both = coat.chances(known, 30)
    assert both.size == 2 * DRAWS
    np.testing.assert_array_equal(both[DRAWS:], coat.sets.chances(known))
    x = np.full(len(coat.table.conditions), np.nan)
    x[coat.table.names.index("room_rh_pct")] = 1.1  # (66 - 55) / 10
    chain = coat.probability(x, 30)
    assert both[:DRAWS].mean() == pytest.approx(chain.mean(), abs=0.03)
    assert both[:DRAWS].std() > chain.std()


def test_a_change_is_judged_by_the_reading_that_names_the_cause(damp):
    rows = why_studio(damp.makings, charts=False, views=damp.views).causes
    assert damp.named == {row.stage for row in rows if row.named} == {"coat"}
    known = {"room_rh_pct": 66.0}
    told = chance_of(damp)("coat", known)
    alone = damp.stages["coat"].sets.chances(known, averaged=True)
    np.testing.assert_array_equal(told, np.tile(alone, 2))
    finish = chance_of(damp)("finish", {})
    assert finish[:DRAWS] != pytest.approx(finish[DRAWS:])  # nothing named there: half and half


def test_a_plate_to_come_stands_after_the_last_step_in_time():
    rng = np.random.default_rng(8)
    plates = [
        make(i, {"water_us_cm": 4.0}, fault="finish" if rng.random() < (i > 45) * 0.7 else "")
        for i in range(90)
    ]
    view = stage_views(plates)["finish"]
    late = set_reading(view, 1).chances({}).mean()
    assert late < 0.5 < np.mean([p.grade == "good" for p in plates])


def test_without_plates_the_sets_say_what_the_trade_believes():
    reading = set_reading(stage_views([])["finish"], 1)
    assert reading.chances({}).mean() == pytest.approx(0.93, abs=0.03)
    assert reading.chances({"water_us_cm": 40.0}) == pytest.approx(reading.chances({}))


def test_odds_and_causes_are_read_from_one_state(damp):
    plates = damp_studio(60)
    one = why_studio(plates, charts=False, views=damp.views)
    assert one == why_studio(plates, charts=False)
    past = studio_past(plates, damp.views)
    lost = next(o for o in plates if o.grade == "lost")
    assert why_plate(plates, lost.id, past=past) == why_plate(plates, lost.id)
