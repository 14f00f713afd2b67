"""Simulated days: their draws, and what is counted of them."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan import spread
from argentry.plan.day import _shop
from argentry.plan.rules import best_rule
from argentry.plan.shop import Rule
from argentry.plan.spread import Spread, draw_doses, draw_minutes, simulate
from argentry.plan.tasks import Task, blocks_of


def test_drawn_minutes_have_the_median_and_the_spread_of_their_step():
    task = Task("buff", "fixed", 16.0, 0.25, True)
    got = draw_minutes(blocks_of((task,)), 2, 4000, 1)
    assert got.shape == (4000, 2, 1)
    logs = np.log(got)
    assert np.exp(np.median(logs)) == pytest.approx(16.0, rel=0.02)
    assert logs.std() == pytest.approx(0.25, rel=0.05)
    assert abs(np.corrcoef(got[:, 0, 0], got[:, 1, 0])[0, 1]) < 0.05


def test_a_block_is_the_sum_of_its_steps_and_light_is_not_drawn(plain):
    blocks = plain.shop().blocks
    got = draw_minutes(blocks, 1, 3, 1)
    np.testing.assert_allclose(got, [[[10.0, 0.0, 2.0, 0.0, 8.0, 6.0, 5.0]]] * 3)


def test_a_plate_has_the_same_luck_in_every_frame(light):
    kind = light.frames[0]
    other = replace(kind, dose=2.0 * kind.dose, dose_log_sd=2.0 * kind.dose_log_sd)
    one, two = draw_doses(replace(light, frames=(kind, other)), 3, 500, 4)
    luck = np.log(one / kind.dose) / kind.dose_log_sd
    np.testing.assert_allclose(np.log(two / other.dose) / other.dose_log_sd, luck)
    assert luck.std() == pytest.approx(1.0, abs=0.05)
    assert luck.mean() == pytest.approx(0.0, abs=0.08)


def test_the_weathers_are_taken_in_turn_and_what_went_wrong_is_counted(build_day, monkeypatch):
    day = build_day(plates=2, weathers=3)
    shop = _shop(day, blocks_of(day.tasks), 2)
    seen = []

    class Run:
        starts = ends = np.zeros((2, len(shop.blocks)))
        sound = np.array([True, False])

        def __init__(self, number):
            # on days 1 and 4 a limit is overrun, on day 2 a plate lies ripe, on day 3 neither
            self.late = np.array([0.0, 1.0 if number in (1, 4) else 0.0])
            self.lay_ripe = np.array([0.0, 1.0 if number == 2 else 0.0])

    def run_day(_shop, _rule, minutes, exposures, ripe):
        seen.append((minutes, exposures, ripe))
        return Run(len(seen))

    monkeypatch.setattr(spread.dispatch, "run_day", run_day)
    rule = Rule(np.zeros((2, len(shop.blocks))), 2, np.zeros(2))
    got = simulate(shop, rule, day.light, days=5, seed=9)
    assert got.late_days == pytest.approx(2 / 5)
    assert got.ripe_days == pytest.approx(1 / 5)
    assert got.finished.tolist() == [1] * 5
    assert seen[0][1] is seen[3][1]
    assert seen[0][1] is not seen[1][1]
    np.testing.assert_array_equal([one[0] for one in seen], draw_minutes(shop.blocks, 2, 5, 9))
    doses = draw_doses(day.light, 2, 5, 10)[0]
    for number, (_, _, ripe) in enumerate(seen):
        for plate in range(2):
            table = ripe[plate][0]
            frame = day.light.frames[0].days[number % 3]
            start = 60
            done = int(np.ceil(table[start]))
            grown = frame[[done - 1, done]] - frame[start]
            assert grown[0] <= doses[number, plate] <= grown[1]


def test_plates_finished_are_counted_by_day():
    sound = np.array([[True, True], [False, True], [False, False]])
    none = np.zeros((3, 2, 1))
    assert Spread(none, none, sound, 0.0, 0.0).finished.tolist() == [2, 1, 0]


def test_a_sure_day_is_every_day(build_day):
    day = build_day(plates=1, log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    shop = _shop(day, blocks_of(day.tasks), 1)
    rule, _ = best_rule(shop, 5, 1)
    got = simulate(shop, rule, day.light, days=4, seed=1)
    assert (got.starts == got.starts[0]).all()
    assert got.sound.all()
    assert (got.late_days, got.ripe_days) == (0.0, 0.0)
