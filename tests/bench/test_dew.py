"""How warm a plate must be before iodine.

Dew points by psychrometric tables, from memory: 6.7 °C at 10 °C and 80 %, 9.3 °C at 20 °C and 50 %.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from argentry.bench.dew import AIR, COLD, HUMIDITY, NEEDED, dew_rule, dew_words, with_air
from argentry.records.run import RunReading, RunState

NOW = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)
P1, P2 = "plate one", "plate two"


def state(*read, now=NOW):
    readings = tuple(
        RunReading(what, value, "", "hand", now - timedelta(seconds=age), plate, None)
        for what, value, age, plate in read
    )
    return RunState("r", "", "open", now, readings=readings)


def air(warm=10.0, humidity=80.0, age=60.0):
    return ("room_c", warm, age, None), ("room_rh_pct", humidity, age, None)


def test_only_the_step_after_which_the_back_is_read_says_it():
    assert dew_rule().steps == ("warm",)
    assert dew_words(state(*air()), P1, "warm") == NEEDED.format(dew=7, least=10, at="11:59")
    assert dew_words(state(*air(20.0, 50.0)), P1, "warm") == NEEDED.format(
        dew=9, least=13, at="11:59"
    )
    assert dew_words(state(*air()), P1, "buff") == ""


def test_without_both_or_with_old_readings_nothing_is_said():
    warm, humidity = air()
    assert dew_words(state(warm), P1, "warm") == ""
    assert dew_words(state(humidity), P1, "warm") == ""
    old = max(dew_rule().stale_s.values()) + 1.0
    assert dew_words(state(*air(age=old)), P1, "warm") == ""


@pytest.mark.parametrize(
    ("back", "words"),
    [
        (("plate_c", 8.0, 5.0, P1), COLD.format(back=8, dew=7, least=10)),
        (("plate_c", 8.0, 5.0, None), COLD.format(back=8, dew=7, least=10)),
        (("plate_c", 8.0, 5.0, P2), NEEDED.format(dew=7, least=10, at="11:59")),
        (("plate_c", 27.0, 5.0, P1), NEEDED.format(dew=7, least=10, at="11:59")),
    ],
)
def test_a_back_that_was_read_too_cold_is_told(back, words):
    assert dew_words(state(*air(), back), P1, "warm") == words


def test_air_read_outside_the_run_counts_with_its_time_and_the_newer_one_decides():
    """A hygrometer of an hour ago said nothing at the bench, whose own readings alone counted."""
    hour = timedelta(hours=1)
    sensor = [
        RunReading(AIR, 10.0, "", "hygrometer", NOW - hour),
        RunReading(HUMIDITY, 80.0, "", "hygrometer", NOW - hour),
    ]
    told = NEEDED.format(dew=7, least=10, at="11:00")
    assert dew_words(with_air(state(), sensor), P1, "warm") == told
    newer = with_air(state(*air(20.0, 50.0)), sensor)
    assert dew_words(newer, P1, "warm") == NEEDED.format(dew=9, least=13, at="11:59")
    half = state(("room_c", 20.0, 60.0, None))  # the older of the two is the time that is said
    assert "read at 11:00:" in dew_words(with_air(half, sensor), P1, "warm")
