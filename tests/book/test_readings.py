"""Readings: added once, the latest believed one, series; never changed; on both stores."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from tests.stores import count_readings

from argentry.book import readings
from argentry.book.care.doctor import check
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import Reading

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def taken(value, minutes=0.0, what="box_c", **more):
    at = NOON + timedelta(minutes=minutes)
    return Reading(new_id(), what, value, "°C", at, "thermometer 1", **more)


def test_a_reading_comes_back_as_it_was(book):
    whole = taken(14.3, run="r", plate="p", doubt="jumped")
    (stored,) = readings.add_readings(book, [whole])
    assert (stored.seq, stored.at, stored.duplicate) == (1, whole.at, False)
    assert readings.series(book, "box_c", NOON, NOON) == [whole]
    assert count_readings(book) == 1
    assert readings.add_readings(book, []) == []


def test_the_latest_is_by_time_and_passes_over_doubt(book):
    given = [taken(14.0, 0), taken(15.0, 10), taken(99.0, 20, doubt="out of range"), taken(13.0, 5)]
    readings.add_readings(book, given)
    assert readings.latest(book, "box_c") == given[1]
    assert readings.latest(book, "box_c", trusted=False) == given[2]
    assert readings.latest(book, "box_c", since=NOON + timedelta(minutes=11)) is None
    assert readings.latest(book, "box_c", since=NOON + timedelta(minutes=10)) == given[1]
    assert readings.latest(book, "room_c") is None
    assert readings.latest(book, "box_c", until=given[1].at) == given[1]
    assert readings.latest(book, "box_c", until=NOON - timedelta(days=1)) is None


def test_a_series_is_in_order_of_time_and_of_its_quantity_only(book):
    given = [taken(3.0, 20), taken(1.0, 0), taken(2.0, 10, doubt="stuck"), taken(9.0, 10, "room_c")]
    readings.add_readings(book, given)
    end = NOON + timedelta(minutes=20)
    assert [item.value for item in readings.series(book, "box_c", NOON, end)] == [1.0, 2.0, 3.0]
    trusted = readings.series(book, "box_c", NOON, end, trusted=True)
    assert [item.value for item in trusted] == [1.0, 3.0]
    assert readings.series(book, "box_c", end + timedelta(1), end + timedelta(2)) == []


def test_sending_again_stores_nothing_twice(book):
    first = taken(14.0)
    (one,) = readings.add_readings(book, [first])
    later = replace(first, at=first.at + timedelta(seconds=9), doubt="late")
    assert readings.add_readings(book, [later]) == [replace(one, duplicate=True)]
    assert readings.latest(book, "box_c") == first
    with pytest.raises(BadInput, match="already with another value"):
        readings.add_readings(book, [taken(1.0), replace(first, value=14.1)])
    assert count_readings(book) == 1


@pytest.mark.parametrize(
    "bad",
    [
        {"value": float("nan")},
        {"value": float("inf")},
        {"value": True},
        {"value": "14"},
        {"id": "x"},
        {"what": ""},
        {"unit": "x" * 51},
        {"source": "\0"},
        {"at": datetime(2026, 6, 21)},  # noqa: DTZ001 - the point of the case
    ],
)
def test_a_bad_reading_is_refused_with_all_that_came_with_it(book, bad):
    with pytest.raises(BadInput):
        readings.add_readings(book, [taken(1.0), replace(taken(2.0), **bad)])
    assert count_readings(book) == 0


@pytest.mark.parametrize("sql", ["UPDATE reading SET value = 1.0", "DELETE FROM reading"])
def test_the_store_refuses_to_change_readings(book, sql):
    readings.add_readings(book, [taken(14.0)])
    with (
        pytest.raises(DBAPIError, match="readings are never changed"),
        book.engine.begin() as connection,
    ):
        connection.execute(text(sql))
    assert readings.latest(book, "box_c").value == 14.0
    assert check(book) == []
