from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pytest

from argentry.learn.causes.drift_charts import (
    cusum,
    good_bad_run_length,
    good_bad_steps,
    run_length,
    self_starting,
    studio_charts,
    two_sided,
)
from argentry.records.plate import Making


def making(number, *, session=None, good=True, **conditions):
    return Making(
        id=f"{number:04d}",
        plate=f"P{number}",
        run=None,
        session=str(number if session is None else session),
        order=1,
        day=dt.date(2024, 1, 1) + dt.timedelta(days=number),
        conditions=conditions,
        grade="good" if good else "lost",
    )


def chart(charts, quantity):
    return next(c for c in charts if c.quantity == quantity)


def test_sums_by_hand():
    above, below = cusum([1.0, 0.0, 2.0, -3.0], 0.5)
    assert above == pytest.approx([0.5, 0.0, 1.5, 0.0])
    assert below == pytest.approx([0.0, 0.0, 0.0, 2.5])


def test_run_lengths_against_simulation():
    rng = np.random.default_rng(1)
    lengths = []
    for _ in range(400):
        total, count = 0.0, 0
        while total <= 4.0:
            total, count = max(0.0, total + rng.normal(0.75) - 0.5), count + 1
        lengths.append(count)
    wanted = run_length(0.5, 4.0, 0.75)
    assert np.mean(lengths) == pytest.approx(wanted, abs=4 * np.std(lengths) / 20)
    assert two_sided(10.0, 10.0) == pytest.approx(5.0)


def test_self_starting_values_are_normal_when_nothing_drifts():
    rng = np.random.default_rng(2)
    z = np.concatenate([self_starting(50 + 7 * rng.normal(size=40))[2:] for _ in range(60)])
    assert z.mean() == pytest.approx(0, abs=0.1)
    assert z.std() == pytest.approx(1, abs=0.08)


def test_self_starting_does_not_care_for_units():
    values = np.array([3.0, 4.0, 2.5, 3.5, 6.0])
    assert self_starting(values) == pytest.approx(self_starting(1000 * values - 7))


def test_nothing_varies():
    assert np.all(self_starting([5.0] * 10) == 0)
    assert self_starting([]).size == 0


def test_good_bad_steps_balance_their_likelihoods():
    # a step is a log likelihood ratio: its exponential has mean 1 where nothing changed
    for good in (0.2, 0.5, 0.8):
        won, lost = good_bad_steps([True, False], [good, good], 2.3)
        assert good * np.exp(won) + (1 - good) * np.exp(lost) == pytest.approx(1)
        assert won < 0 < lost


def test_a_failure_of_a_sure_plate_weighs_more():
    sure, doubtful = good_bad_steps([False, False], [0.9, 0.2], 2.3)
    assert sure > doubtful


def test_good_bad_run_lengths_against_simulation():
    rng = np.random.default_rng(3)
    won, lost = good_bad_steps([True, False], [0.5, 0.5], 2.3)
    lengths = []
    for _ in range(400):
        total, count = 0.0, 0
        while total < 2.0:
            total = max(0.0, total + (won if rng.random() < 0.5 else lost))
            count += 1
        lengths.append(count)
    assert good_bad_run_length(0.5, 2.3, 2.0) == pytest.approx(np.mean(lengths), rel=0.15)


def test_a_drift_of_the_water_is_told_with_its_day():
    rng = np.random.default_rng(4)
    water = np.concatenate([4 * np.exp(0.1 * rng.normal(size=20)), np.full(8, 9.0)])
    charts = studio_charts([making(i, water_us_cm=float(w)) for i, w in enumerate(water)])
    told = chart(charts, "water_us_cm")
    assert told.toward == "above"
    assert told.alarm is not None
    assert told.alarm >= 20
    assert abs((told.since - dt.date(2024, 1, 21)).days) <= 3
    assert told.values[0] == pytest.approx(water[0], rel=1e-6)
    assert told.unit == "µS/cm"
    assert told.false_alarm_every > 100


def test_a_drift_that_is_over_is_told_as_such():
    rng = np.random.default_rng(4)
    usual = 4 * np.exp(0.1 * rng.normal(size=60))
    usual[20:26] = 9.0
    charts = studio_charts([making(i, water_us_cm=float(w)) for i, w in enumerate(usual)])
    told = chart(charts, "water_us_cm")
    assert (told.alarm, told.since, told.toward) == (None, None, "")
    words = re.fullmatch(r"Was higher from (\S+) to (\S+); not now\.", told.words)
    first, last = (dt.date.fromisoformat(day) for day in words.groups())
    assert abs((first - told.days[20]).days) <= 3
    assert last == told.days[25]


def test_plates_of_one_session_are_one_point():
    plates = [making(i, session=i // 4, room_rh_pct=50.0 + i % 4) for i in range(20)]
    told = chart(studio_charts(plates), "room_rh_pct")
    assert len(told.values) == 5
    assert told.values[0] == pytest.approx(51.5)
    assert not told.enough
    assert told.words.startswith("Not enough to tell")


def test_worse_plates_are_told():
    plates = [making(i, good=i % 4 != 0) for i in range(30)]
    plates += [making(30 + i, good=i % 4 == 0) for i in range(14)]
    told = chart(studio_charts(plates), "failures")
    assert told.toward == "above"
    assert told.since >= dt.date(2024, 1, 29)
    assert chart(studio_charts(plates[:30]), "failures").alarm is None


def test_no_plates_give_no_charts():
    assert studio_charts([]) == ()
