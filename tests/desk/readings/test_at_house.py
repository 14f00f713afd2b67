"""Readings at an open studio: which times can be, what is told of them, and when runs hear."""

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from argentry.desk.bench import run as bench
from argentry.desk.readings import at_house
from argentry.errors import BadInput
from argentry.keeping.sensors.intake import Measurement

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
HOUSE = SimpleNamespace(
    book="book", taught="taught", sensors="sensors", clock=SimpleNamespace(now=lambda: NOON)
)
GIVEN = {"what": "box_c", "value": 14, "unit": None, "at": None, "age_s": 3.0, "id": "i",
         "run": "r", "plate": "p"}  # fmt: skip


@pytest.fixture
def calls(monkeypatch):
    told = SimpleNamespace(taken=[], heard=[], doubt="", duplicate=False)

    def receive(sensors, measured, now):
        told.taken.append((sensors, measured, now))
        reading = SimpleNamespace(
            id="i", at=NOON, value=14.0, unit="°C", doubt=told.doubt, what=measured.what
        )
        return SimpleNamespace(reading=reading, seq=7, duplicate=told.duplicate)

    monkeypatch.setattr(at_house, "receive", receive)
    monkeypatch.setattr(bench, "refresh_open", lambda *given: told.heard.append(given))
    return told


@pytest.mark.parametrize(
    ("doubt", "duplicate", "heard"),
    [("", False, 1), ("", True, 0), ("jumped", False, 0), ("jumped", True, 0)],
)
def test_open_runs_hear_of_a_reading_that_is_new_and_believed(calls, doubt, duplicate, heard):
    calls.doubt, calls.duplicate = doubt, duplicate
    kept = at_house.add_reading(HOUSE, GIVEN, "thermometer 1")
    measured = Measurement(
        what="box_c", value=14.0, unit="", source="thermometer 1", at=None, age_s=3.0, id="i",
        run="r", plate="p",
    )  # fmt: skip
    assert calls.taken == [("sensors", measured, NOON)]
    assert calls.heard == [("book", "taught", HOUSE.clock, "box_c")] * heard
    assert (kept.seq, kept.at, kept.value) == (7, "2026-06-21T12:00:00.000000Z", 14.0)
    assert (kept.used, kept.doubt, kept.duplicate) == (not doubt, doubt, duplicate)


def test_a_clock_that_is_not_set_is_told(calls):
    for year in (2000, 2200):
        at_house.add_reading(HOUSE, GIVEN | {"at": datetime(year, 1, 1, tzinfo=UTC)}, "s")
    for year in (1999, 2201):
        with pytest.raises(BadInput, match=f"the year {year} is not possible"):
            at_house.add_reading(HOUSE, GIVEN | {"at": datetime(year, 1, 1, tzinfo=UTC)}, "s")
    assert len(calls.taken) == 2


def test_a_feed_is_taken_in_the_name_of_its_token(calls, monkeypatch):
    devices = {"right": SimpleNamespace(name="probe in the box")}
    monkeypatch.setattr(at_house, "device_of_token", lambda book, token: devices.get(token))
    after = []
    take = at_house.sensor_sink(HOUSE, lambda: after.append(len(calls.heard)))
    sent = Measurement(what="box_c", value=14.0, unit="", source="topic")
    take(sent, "right")
    take(sent, None)
    assert [one[1].source for one in calls.taken] == ["probe in the box", "topic"]
    assert after == [1, 2], "when the runs have heard of it"
    with pytest.raises(BadInput, match="no device has it"):
        take(sent, "wrong")
    assert len(after) == 2
