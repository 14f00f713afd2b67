from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pytest

from argentry.learn.causes import drift_charts
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


def test_each_value_is_placed_by_the_law_of_students_t():
    from scipy.stats import norm, t

    x = np.array([3.0, 4.0, 2.5, 3.9, 30.0])
    z = self_starting(x)
    assert z[:2].tolist() == [0.0, 0.0]
    for i in (2, 3):
        spread = x[:i].std(ddof=1) * np.sqrt((i + 1) / i)
        assert z[i] == pytest.approx(norm.ppf(t.cdf((x[i] - x[:i].mean()) / spread, i - 1)))
    assert self_starting([1.0, 1.0, 1.0, 2.0])[3] == 0.0
    far = self_starting([1.0, 1.1, 0.9, 1.05, 0.95, 1e9])[5]
    assert far < 4.76  # no value is rarer than one in a million


BEFORE = 12  # calm sessions before 1 January, enough to judge by


def made(above, below, limit=4.0, before=BEFORE):
    sums = [np.array([0.0] * before + list(line), float) for line in (above, below)]
    days = [dt.date(2024, 1, 1) + dt.timedelta(days=n - before) for n in range(sums[0].size)]
    return drift_charts._made(
        ("water", "the water", "µS/cm"), tuple(days), np.arange(float(len(days))),
        (sums[0], sums[1]), limit, 300.0,
    )  # fmt: skip


CALM = [0.0] * 8


def test_a_standing_drift_is_told_from_where_its_sum_left_zero():
    told = made([0, 0, 1, 0, 2, 3, 4.5, 6], CALM)
    assert (told.toward, told.alarm, told.since) == ("above", BEFORE + 6, dt.date(2024, 1, 5))
    assert told.words == "Has drifted higher since 2024-01-05."
    below = made(CALM, [0, 1, 3, 5, 6, 7, 8, 9])
    assert (below.toward, below.alarm, below.since) == ("below", BEFORE + 3, dt.date(2024, 1, 2))
    assert "lower" in below.words
    line = list(range(1, 21))
    from_the_start = made(line, [0.0] * 20, before=0)
    assert (from_the_start.alarm, from_the_start.since) == (4, dt.date(2024, 1, 1))


def test_a_sum_at_its_limit_is_no_drift_yet():
    told = made([0, 0, 0, 0, 1, 2, 3, 4], CALM)
    assert (told.toward, told.alarm, told.since) == ("", None, None)
    assert told.words == "No drift."
    assert (told.quantity, told.title, told.unit, told.limit) == ("water", "the water", "µS/cm", 4)
    assert told.false_alarm_every == 300.0
    assert told.enough


def test_few_sessions_tell_nothing_however_high_the_sum():
    from argentry import trade

    least = int(trade.value("causes", "chart_sessions"))
    rising = list(np.arange(least) * 3.0)
    assert made(rising, [0.0] * least, before=0).enough
    few = made(rising[:-1], [0.0] * (least - 1), before=0)
    assert (few.enough, few.alarm, few.since) == (False, None, None)
    assert str(least - 1) in few.words


def test_the_last_drift_that_is_over_is_told_to_its_height():
    told = made([0, 2, 5, 6, 3, 0, 0, 0], [0, 0, 0, 0, 0, 5, 1, 0])
    assert told.words == "Was lower from 2024-01-06 to 2024-01-06; not now."
    told = made([0, 2, 5, 6, 5, 0, 0, 0], CALM)
    assert told.words == "Was higher from 2024-01-02 to 2024-01-04; not now."


def test_good_and_bad_add_up_against_what_was_usual_before():
    from argentry import trade

    good = [True, True, False, True, False, False, False]
    told = chart(studio_charts([making(i, good=g) for i, g in enumerate(good)]), "failures")
    ratio, total, want = trade.value("causes", "worse_odds"), 0.0, []
    for n, came in enumerate(good):
        fail = 1.0 - (sum(good[:n]) + 1) / (n + 2)
        step = -np.log(1 + (ratio - 1) * fail) + (0.0 if came else np.log(ratio))
        total = max(0.0, total + step)
        want.append(total)
    assert told.above == pytest.approx(want)
    assert set(told.below) == {0.0}
    assert told.values == (0.0, 0.0, 1.0, 0.0, 1.0, 1.0, 1.0)
    assert told.limit == trade.value("causes", "worse_limit")
    assert told.false_alarm_every == pytest.approx(
        good_bad_run_length(3 / 7, ratio, told.limit), rel=1e-9
    )


def test_run_lengths_of_all_good_or_all_bad_are_those_of_nearly_all():
    assert good_bad_run_length(1.0, 2.3, 2.0) == good_bad_run_length(0.99, 2.3, 2.0)
    assert good_bad_run_length(0.0, 2.3, 2.0) == good_bad_run_length(0.01, 2.3, 2.0)
