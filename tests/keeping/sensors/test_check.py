from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.keeping.sensors.check import Seen, clock_doubt, judge, stale_words
from argentry.trade.readings import quantities

START = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)
ROOM = quantities()["room_c"]
LIGHT = quantities()["light_lx"]


def say(rows, quantity=ROOM, seen=None):
    """Return the doubts ("" when believed) about (seconds, value) rows of one sensor."""
    seen, doubts = seen or Seen(), []
    for seconds, value in rows:
        doubt, seen = judge(quantity, seen, value, START + timedelta(seconds=seconds))
        doubts.append(doubt.kind if doubt else "")
    return doubts


def test_a_quiet_room_is_believed():
    assert say([(60 * i, 20.0 + 0.05 * (i % 3)) for i in range(200)]) == [""] * 200


def test_what_cannot_be_true_is_doubted_and_leaves_no_trace():
    # -127 °C and 85 °C are what a common one-wire thermometer says when it is off its wire
    # or was read too early (common practice)
    assert say([(0, 20.0), (10, -127.0), (20, 85.0), (30, 20.1)]) == ["", "range", "range", ""]


def test_the_last_digit_between_two_quick_readings_is_no_leap():
    assert say([(0, 20.0), (1, 20.5), (2, 20.0)]) == ["", "", ""]


def test_a_spike_is_doubted_and_the_next_quiet_value_believed():
    assert say([(0, 20.0), (30, 31.0), (60, 20.1)]) == ["", "jump", ""]


def test_a_leap_that_holds_for_a_minute_is_the_new_truth():
    rows = [(0, 20.0), (20, 31.0), (40, 31.1), (60, 31.0), (80, 31.0), (100, 31.2)]
    assert say(rows) == ["", "jump", "jump", "jump", "", ""]


def test_leaping_to_and_fro_is_never_believed():
    rows = [(0, 20.0)] + [(10 * i, 40.0 if i % 2 else 5.0) for i in range(1, 12)]
    assert set(say(rows)[1:]) == {"jump"}


def test_after_a_long_silence_everything_in_range_may_be():
    assert say([(0, 20.0), (1800, 35.0)]) == ["", ""]


def test_light_may_do_what_it_likes():
    assert say([(0, 100_000.0), (1, 900.0), (2, 100_000.0)], LIGHT) == ["", "", ""]


def test_the_same_to_the_last_digit_for_six_hours_is_stuck():
    doubts = say([(600 * i, 21.37) for i in range(60)])
    assert doubts[:36] == [""] * 36
    assert set(doubts[36:]) == {"stuck"}


def test_a_stuck_sensor_that_moves_again_is_believed():
    assert say([*((600 * i, 21.37) for i in range(40)), (600 * 40, 21.5)])[-1] == ""


def test_whole_degrees_may_rest_through_a_night_not_through_a_day():
    doubts = say([(1800 * i, 21.0) for i in range(60)])
    assert doubts[:48] == [""] * 48
    assert set(doubts[48:]) == {"stuck"}


def test_few_readings_are_not_called_stuck():
    assert say([(3600 * i, 21.37) for i in range(10)]) == [""] * 10


def test_the_dark_may_stay_dark():
    assert set(say([(600 * i, 0.0) for i in range(200)], LIGHT)) == {""}


def test_a_reading_that_comes_late_is_judged_by_its_range_alone():
    seen = Seen(value=20.0, at=START + timedelta(hours=1))
    assert judge(ROOM, seen, 35.0, START) == (None, seen)
    assert judge(ROOM, seen, 135.0, START)[0].kind == "range"


@pytest.mark.parametrize(
    ("away", "kind"),
    [
        (timedelta(seconds=0), None),
        (timedelta(seconds=100), None),
        (timedelta(hours=1), "clock"),  # an hour ahead: summer time taken for UTC
        (timedelta(hours=-1), None),  # late, not wrong: it will be stale instead
        (timedelta(days=-3), "clock"),
        (START.replace(year=1970) - START, "clock"),  # a controller whose clock was never set
    ],
)
def test_a_wrong_clock_is_marked(away, kind):
    doubt = clock_doubt(START + away, START)
    assert (doubt.kind if doubt else None) == kind


def test_old_values_are_stale_each_in_its_time():
    late = START + timedelta(minutes=10)
    assert stale_words(ROOM, START, late) == ""
    assert "10 min" in stale_words(LIGHT, START, late)


values = st.floats(-200, 200, allow_nan=False)
rows = st.lists(st.tuples(st.integers(1, 5000), values), max_size=40)


@given(rows)
def test_believed_values_lie_in_range_and_within_reach_or_have_held(steps):
    seen, at = Seen(), START
    for seconds, value in steps:
        at += timedelta(seconds=seconds)
        doubt, after = judge(ROOM, seen, value, at)
        if doubt is None:
            assert ROOM.low <= value <= ROOM.high
            if seen.value is not None:
                minutes = max((at - seen.at).total_seconds() / 60, 1)
                reach = abs(value - seen.value) <= ROOM.longest_jump_per_minute * minutes
                held = seen.leapt_first is not None and (at - seen.leapt_first) >= timedelta(
                    seconds=60
                )
                assert reach or held
        elif doubt.kind == "range":
            assert after == seen
        seen = after


@given(rows, st.integers(-5000, 0))
def test_a_late_reading_changes_nothing_for_those_that_follow(steps, late):
    seen, at = Seen(), START
    for seconds, value in steps:
        at += timedelta(seconds=seconds)
        _, seen = judge(ROOM, seen, value, at)
    if seen.at is None:
        return
    _, after = judge(ROOM, replace(seen), 20.0, seen.at + timedelta(seconds=late))
    assert after == seen
