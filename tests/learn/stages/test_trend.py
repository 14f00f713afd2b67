from __future__ import annotations

from datetime import date, timedelta

import pytest

from argentry.learn.stages.trend import good_trend
from argentry.records.plate import Making


def plates(grades):
    start = date(2025, 1, 4)
    return [
        Making(f"o{i:03d}", f"p{i}", None, str(i), 1, start + timedelta(days=i), grade=grade)
        for i, grade in enumerate(grades)
    ]


def test_an_empty_log_has_no_trend():
    assert good_trend([]) == ()


def test_each_point_counts_the_last_dozen():
    points = good_trend(plates(["good"] * 12 + ["lost"] * 12))
    assert [p.plates for p in points[:3]] == [1, 2, 3]
    assert points[11].share == pytest.approx(13 / 14)  # Beta(1 + 12, 1): its mean
    assert points[-1].share == pytest.approx(1 / 14)
    for point in points:
        assert 0.0 < point.low < point.share < point.high < 1.0


def test_plates_nobody_has_judged_are_left_out_and_order_is_by_day():
    grades = ["good", None, "lost"]
    points = good_trend(list(reversed(plates(grades))))
    assert [p.good for p in points] == [True, False]


def test_the_range_of_a_beta():
    # Beta(2, 1) has the distribution x^2: its tenth and ninetieth percentile by hand
    point = good_trend(plates(["fine"]))[0]
    assert point.low == pytest.approx(0.1**0.5)
    assert point.high == pytest.approx(0.9**0.5)
