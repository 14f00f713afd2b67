from __future__ import annotations

import math
import re
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.out.wording import (
    clock,
    clock_range,
    count_range,
    deadline,
    later,
    length,
    length_range,
    minutes_between,
    ranged,
)
from argentry.records.day import Range

MADRID = ZoneInfo("Europe/Madrid")


def test_minutes_between_counts_real_minutes_over_a_change_of_the_clocks():
    before = datetime(2026, 3, 29, 1, 30, tzinfo=MADRID)
    after = datetime(2026, 3, 29, 3, 30, tzinfo=MADRID)
    assert minutes_between(before, after) == 60.0
    assert later(before, 60.0) == after
    assert clock(later(before, 60.0)) == "03:30"


@given(st.floats(0, 5000), st.integers(1767225600, 1798761600))  # the seconds of 2026
def test_later_and_minutes_between_undo_each_other(minutes, second):
    when = datetime.fromtimestamp(second, tz=ZoneInfo("America/Denver"))
    assert minutes_between(when, later(when, minutes)) == pytest.approx(minutes, abs=1e-4)


def test_clock_rounds_to_the_nearest_minute():
    assert clock(datetime(2026, 6, 1, 13, 19, 40, tzinfo=MADRID)) == "13:20"
    assert clock(datetime(2026, 6, 1, 13, 19, 20, tzinfo=MADRID)) == "13:19"
    assert clock(None) == "–"


def test_a_deadline_is_rounded_to_the_safe_side():
    assert deadline(datetime(2026, 6, 1, 13, 19, 59, tzinfo=MADRID)) == "13:19"


def test_clock_range_is_one_time_when_both_are_the_same():
    one = datetime(2026, 6, 1, 8, 0, tzinfo=MADRID)
    assert clock_range(one, one) == "08:00"
    assert clock_range(one, later(one, 35)) == "08:00–08:35"
    assert clock_range(one, None) == "08:00–never"
    assert clock_range(None, None) == "never"


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0.75, "45 s"), (7.4, "7 min"), (99.0, "99 min"), (125.0, "2 h 05"), (math.inf, "–")],
)
def test_length(minutes, words):
    assert length(minutes) == words


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (Range(4, 6, 11), ("6 min", "4–11")),
        (Range(85, 120, 190), ("120 min", "85–190")),
        (Range(1.0, 1.25, 1.6), ("75 s", "60–95")),
        (Range(1.5, 3, 10), ("3 min", "1.5–10")),
        (Range(20, 20, 20), ("20 min", "")),
        (Range(72, 145, math.inf), ("145 min", "72–∞")),
        (Range(math.inf, math.inf, math.inf), ("–", "")),
    ],
)
def test_length_range_keeps_one_unit(span, words):
    assert length_range(span) == words


def test_count_range():
    assert count_range(Range(2, 3, 3)) == "3 (2–3)"
    assert count_range(Range(3, 3, 3)) == "3"


@pytest.mark.parametrize(
    ("numbers", "unit", "words"),
    [
        ((1.2151, 1.1934, 1.2372), "1", "1.215 (1.193–1.237)"),
        ((2.1e-4, 8.63e-5, 5.11e-4), "ISO", "0.00021 (0.00009–0.00051) ISO"),
        ((714.6, 683.4, 746.9), "kJ/m2", "715 (683–747) kJ/m²"),
        ((-0.0079, -0.356, 0.339), "stops", "-0.01 (-0.36 to 0.34) stops"),
        ((-0.2, -1.1, -0.03), "", "-0.20 (-1.10 to -0.03)"),
        ((-0.001, -0.5, 0.5), "", "0.0 (-0.5 to 0.5)"),
        ((25000.0, 12000.0, 54000.0), "lx", "25000 (12000–54000) lx"),
        ((3.0, 3.0, 3.0), "", "3.00 (3.00–3.00)"),
    ],
)
def test_a_number_with_its_range_is_told_as_exactly_as_the_range_is_worth(numbers, unit, words):
    assert ranged(*numbers, unit) == words


@given(
    st.tuples(*[st.floats(1e-6, 1e6)] * 3)
    .map(sorted)
    .filter(lambda t: 1.001 < t[2] / t[0] < 1000.0)
)
def test_no_end_of_a_range_is_told_as_nothing(three):
    low, middle, high = three
    told = ranged(middle, low, high)
    middle_shown, low_shown, high_shown = (float(one) for one in re.findall(r"[\d.]+", told))
    assert "e" not in told
    assert 0.0 < low_shown <= middle_shown <= high_shown
    assert abs(low_shown - low) <= 0.051 * (high - low)
