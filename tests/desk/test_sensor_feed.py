from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from argentry import trade
from argentry.book.engine import close_book, open_book
from argentry.book.log import append
from argentry.desk.sensor_feed import feeds, runs_to_feed, tells_something_new
from argentry.desk.sensors import Measurement, Sensors, receive
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.trade.readings import quantities

NOW = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)
BOX = Measurement("box_c", 18.0, "°C", "box")


def later(**span):
    return NOW + timedelta(**span)


@pytest.fixture
def sensors(tmp_path):
    book = open_book(tmp_path)
    yield Sensors(book)
    close_book(book)


def open_run(book, at=NOW):
    run = new_id()
    body = {"title": "Monday", "plates": [], "steps": [], "place": {}, "constants": {}}
    append(book, [Event(new_id(), run, "run_opened", at, body=body)])
    return run


def close_run(book, run, at):
    append(book, [Event(new_id(), run, "run_closed", at)])


def test_every_quantity_named_is_one_that_is_measured():
    data = trade.toml("sensors")
    assert set(data["worth"]) <= set(quantities())
    assert set(data["rests"]) <= set(quantities())


@pytest.mark.parametrize(
    ("what", "value", "seconds", "last", "new"),
    [
        ("box_c", 18.0, 0, None, True),
        ("box_c", 18.1, 60, 18.0, False),
        ("box_c", 18.5, 60, 18.0, True),
        ("box_c", 25.0, 5, 18.0, False),  # too soon
        ("box_c", 18.0, 1800, 18.0, True),  # the same, before it grows stale
        ("light_lx", 50_500, 60, 50_000, False),
        ("light_lx", 60_000, 60, 50_000, True),
        ("light_lx", 0, 60, 0, False),
        ("light_lx", 0, 150, 0, True),
        ("water_us_cm", 3.0, 0, None, False),  # changes nothing on the bench
    ],
)
def test_what_tells_something_new(what, value, seconds, last, new):
    before = None if last is None else (last, NOW)
    assert tells_something_new(what, value, later(seconds=seconds), before) is new


def test_open_runs_are_fed_and_closed_ones_are_not(sensors):
    closed, running = open_run(sensors.book), open_run(sensors.book, later(seconds=1))
    close_run(sensors.book, closed, later(seconds=2))
    got = receive(sensors, BOX, later(seconds=60))
    assert runs_to_feed(sensors, got, later(seconds=60)) == [running]


def test_the_same_value_is_fed_once(sensors):
    run = open_run(sensors.book)
    fed = [
        runs_to_feed(sensors, receive(sensors, BOX, later(seconds=30 * i)), later(seconds=30 * i))
        for i in range(5)
    ]
    assert fed == [[run], [], [], [], []]


def test_a_reading_of_one_run_feeds_that_one(sensors):
    mine, _ = open_run(sensors.book), open_run(sensors.book)
    got = receive(sensors, replace(BOX, run=mine), later(seconds=60))
    assert runs_to_feed(sensors, got, later(seconds=60)) == [mine]


def test_a_run_that_nobody_closed_is_not_fed_for_ever(sensors):
    open_run(sensors.book)
    got = receive(sensors, BOX, later(days=3))
    assert runs_to_feed(sensors, got, later(days=3)) == []


def test_doubted_repeated_and_old_readings_feed_nothing(sensors):
    open_run(sensors.book)
    wild = receive(sensors, replace(BOX, value=99.0), NOW)
    assert runs_to_feed(sensors, wild, NOW) == []
    old = receive(sensors, replace(BOX, at=later(hours=-2)), NOW)
    assert runs_to_feed(sensors, old, NOW) == []
    stamped = replace(BOX, id=new_id())
    receive(sensors, stamped, NOW)
    assert runs_to_feed(sensors, receive(sensors, stamped, NOW), NOW) == []


def test_the_event_says_whose_reading_it_is(sensors):
    got = receive(sensors, replace(BOX, age_s=30.0), NOW)
    event = feeds(got, NOW)
    assert event["kind"] == "reading_taken"
    assert event["age_s"] == 30.0
    assert event["body"]["value"] == 18.0
    assert event["body"]["reading"] == got.reading.id
