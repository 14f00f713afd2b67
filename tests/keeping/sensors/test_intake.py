import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from tests.stores import count_readings

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.readings import add_readings, series
from argentry.errors import BadInput
from argentry.keeping.sensors.intake import Measurement, Sensors, current, receive, usable
from argentry.records.ids import is_id, new_id

NOW = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)
ROOM = Measurement("room_c", 20.0, "°C", "shelf")


@pytest.fixture
def book(tmp_path):
    opened = open_book(tmp_path)
    yield opened
    close_book(opened)


@pytest.fixture
def sensors(book):
    return Sensors(book)


def later(**span):
    return NOW + timedelta(**span)


def test_a_reading_is_kept_in_the_quantity_s_own_unit(sensors, book):
    got = receive(sensors, replace(ROOM, value=68.0, unit="°F"), NOW)
    assert (got.reading.value, got.reading.unit, got.reading.at) == (20.0, "°C", NOW)
    assert got.reading.doubt == ""
    assert is_id(got.reading.id)
    assert not got.duplicate
    assert series(book, "room_c", NOW, NOW) == [got.reading]
    assert usable(book, "room_c", NOW) == got.reading


def test_a_wild_value_is_kept_marked_and_not_used(sensors, book):
    good = receive(sensors, ROOM, NOW).reading
    wild = receive(sensors, replace(ROOM, value=-127.0), later(seconds=10)).reading
    assert "is not possible" in wild.doubt
    assert usable(book, "room_c", later(seconds=20)) == good
    shown = current(book, later(seconds=20))["room_c"]
    assert (shown.value, shown.usable, shown.doubt) == (20.0, True, "")
    assert "is not possible" in shown.newest_doubt


def test_a_stale_value_is_not_used_and_says_so(sensors, book):
    receive(sensors, ROOM, NOW)
    assert usable(book, "room_c", later(hours=2)) is None
    shown = current(book, later(hours=2))["room_c"]
    assert not shown.usable
    assert "2 h old" in shown.doubt
    assert shown.age_s == 7200.0


def test_only_doubted_readings_leave_nothing_to_use(sensors, book):
    receive(sensors, replace(ROOM, value=900.0), NOW)
    assert usable(book, "room_c", NOW) is None
    assert not current(book, NOW)["room_c"].usable


def test_nothing_measured_shows_nothing(book):
    assert current(book, NOW) == {}


@pytest.mark.parametrize(
    "given",
    [
        replace(ROOM, id=new_id()),
        replace(ROOM, id="3f2b8e0e-6d0c-4c1a-9a77-2f6f0f0f3d11"),  # another version of UUID
        replace(ROOM, at=NOW - timedelta(seconds=5)),
    ],
)
def test_sending_again_keeps_one(sensors, book, given):
    first = receive(sensors, given, NOW)
    again = receive(sensors, given, later(minutes=3))
    assert again.duplicate
    assert again.reading == first.reading
    assert count_readings(book) == 1


def test_sending_a_doubted_one_again_answers_the_same_doubt(sensors):
    receive(sensors, ROOM, NOW)
    leap = replace(ROOM, value=33.0, id=new_id())
    first = receive(sensors, leap, later(seconds=20))
    receive(sensors, ROOM, later(seconds=40))
    again = receive(sensors, leap, later(seconds=60))
    assert "went from 20 to 33" in first.reading.doubt
    assert again.reading == first.reading


def test_two_readings_of_now_with_one_value_are_two(sensors, book):
    receive(sensors, ROOM, NOW)
    receive(sensors, ROOM, later(seconds=10))
    assert count_readings(book) == 2


def test_an_id_for_something_else_is_refused(sensors):
    mine = replace(ROOM, id=new_id())
    receive(sensors, mine, NOW)
    with pytest.raises(BadInput, match="already"):
        receive(sensors, replace(mine, value=23.0), NOW)


def test_a_stamp_ahead_is_marked_and_kept_as_of_now(sensors, book):
    got = receive(sensors, replace(ROOM, at=later(hours=1)), NOW).reading
    assert got.at == NOW
    assert "ahead" in got.doubt
    assert usable(book, "room_c", NOW) is None


def test_a_stamp_a_little_ahead_is_now(sensors):
    got = receive(sensors, replace(ROOM, at=later(seconds=30)), NOW).reading
    assert (got.at, got.doubt) == (NOW, "")


def test_a_clock_never_set_is_marked(sensors):
    got = receive(sensors, replace(ROOM, at=datetime(1970, 1, 1, tzinfo=UTC)), NOW).reading
    assert "1970" in got.doubt


@pytest.mark.parametrize("age_s", [0.0, 90.0, 2592000.0])
def test_an_age_puts_a_reading_back(sensors, age_s):
    got = receive(sensors, replace(ROOM, age_s=age_s), NOW).reading
    assert got.at == NOW - timedelta(seconds=age_s)


@pytest.mark.parametrize(
    "given",
    [
        replace(ROOM, value=math.nan),
        replace(ROOM, value=math.inf),
        replace(ROOM, what="moon_c"),
        replace(ROOM, unit="lx"),
        replace(ROOM, age_s=-1.0),
        replace(ROOM, age_s=math.nan),
        replace(ROOM, age_s=2592000.1),
    ],
)
def test_what_is_not_well_formed_is_refused_and_not_kept(sensors, book, given):
    with pytest.raises(BadInput):
        receive(sensors, given, NOW)
    assert count_readings(book) == 0


def test_sensors_are_judged_each_by_itself(sensors):
    receive(sensors, ROOM, NOW)
    other = receive(sensors, replace(ROOM, value=31.0, source="window"), later(seconds=10))
    assert other.reading.doubt == ""


def test_a_new_start_remembers_the_last_day(sensors, book):
    for minute in range(0, 420, 10):
        receive(sensors, replace(ROOM, value=21.37), later(minutes=minute))
    again = Sensors(book)
    stuck = receive(again, replace(ROOM, value=21.37), later(minutes=420)).reading
    assert "it has sent exactly" in stuck.doubt
    leap = receive(Sensors(book), replace(ROOM, value=40.0), later(minutes=420, seconds=20))
    assert "went from" in leap.reading.doubt


def test_a_late_logger_does_not_upset_the_living_sensor(sensors, book):
    receive(sensors, ROOM, NOW)
    old = receive(sensors, replace(ROOM, value=35.0, at=NOW - timedelta(hours=3)), NOW).reading
    assert old.doubt == ""
    assert usable(book, "room_c", NOW).value == 20.0
    assert receive(sensors, ROOM, later(seconds=5)).reading.doubt == ""


def test_many_invented_names_do_not_fill_the_memory(sensors, monkeypatch):
    monkeypatch.setattr("argentry.keeping.sensors.intake.MOST_REMEMBERED", 5)
    for number in range(20):
        receive(sensors, replace(ROOM, source=f"sensor {number}"), NOW)
    assert len(sensors.seen) == 5


def test_readings_of_persons_are_there_for_use_too(book):
    from argentry.records.plate import Reading

    kept = Reading(new_id(), "box_c", 14.0, "°C", NOW, "by hand")
    add_readings(book, [kept])
    assert usable(book, "box_c", later(minutes=5)) == kept


def test_what_a_wrong_clock_stamped_ahead_never_rules(sensors, book):
    """A server whose clock was a year ahead left readings; the clock was put right since."""
    receive(sensors, replace(ROOM, value=31.0), later(days=365))
    assert usable(book, "room_c", NOW) is None
    assert "room_c" not in current(book, NOW)
    good = receive(Sensors(book), ROOM, NOW).reading
    assert usable(book, "room_c", later(minutes=1)) == good
    assert current(book, later(minutes=1))["room_c"].value == 20.0
