"""The calendar is read back by the library's own parser; clock changes of 2026 are recalled.

Last Sundays of March and October, 01:00 UTC (Directive 2000/84/EC); second Sunday of March and
first Sunday of November, 02:00 local (15 U.S.C. 260a). The zone rules come from the IANA data.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from icalendar import Calendar

from argentry.out.day.blocks import blocks
from argentry.out.day.calendar import to_ics

STAMP = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)

CHANGES = [
    ("Europe/Madrid", (2026, 3, 29)),
    ("Europe/Madrid", (2026, 10, 25)),
    ("America/Denver", (2026, 3, 8)),
    ("America/Denver", (2026, 11, 1)),
]


def events(data: bytes):
    return Calendar.from_ical(data).walk("VEVENT")


def expected(plan):
    spans = []
    for block in blocks(plan):
        if block.hands:
            spans.append((block.hands[0].start, block.end))
        if block.wait is not None:
            spans.append((block.wait.start, block.wait.end))
    return sorted((low.timestamp(), high.timestamp()) for low, high in spans)


@pytest.mark.parametrize(("zone", "date"), CHANGES)
@pytest.mark.parametrize("begin", ["00:30", "07:30"])
def test_times_read_back_are_the_planned_ones_across_a_change(make_plan, zone, date, begin):
    plan = make_plan(2, zone=zone, date=date, begin=begin, end="20:30")
    read = sorted(
        (event["dtstart"].dt.timestamp(), event["dtend"].dt.timestamp())
        for event in events(to_ics(plan, STAMP))
    )
    assert read == expected(plan)


@pytest.mark.parametrize(("zone", "date"), CHANGES)
def test_the_zone_and_its_rules_are_inside(make_plan, zone, date):
    data = to_ics(make_plan(1, zone=zone, date=date), STAMP)
    zones = Calendar.from_ical(data).walk("VTIMEZONE")
    assert [str(one["tzid"]) for one in zones] == [zone]
    assert f"DTSTART;TZID={zone}:".encode() in data
    one = zones[0].to_tz()
    noon = datetime(*date, 12, 0, tzinfo=UTC)
    assert (
        noon.replace(tzinfo=one).utcoffset()
        == make_plan(1, zone=zone, date=date).begin.replace(hour=12).utcoffset()
    )


def test_the_second_of_two_equal_wall_clock_times_is_written_in_utc(make_plan):
    plan = make_plan(1, date=(2026, 10, 25), begin="00:30", end="20:30")
    folded = [step for step in plan.steps if step.start.fold]
    assert folded, "the plan must run through the repeated hour"
    starts = {event["dtstart"].dt.timestamp(): event for event in events(to_ics(plan, STAMP))}
    for block in blocks(plan):
        if block.start.fold:
            event = starts[block.start.timestamp()]
            assert event["dtstart"].to_ical().endswith(b"Z")


def test_one_event_for_each_piece_of_work_and_each_waiting_plate(make_plan):
    plan = make_plan(3)
    read = events(to_ics(plan, STAMP))
    titles = [str(event["summary"]) for event in read]
    assert titles.count("Plate 2: develop (no hands)") == 1
    assert any(title.startswith("Plate 1: scour to ") for title in titles)
    waiting = [event for event in read if "no hands" in str(event["summary"])]
    assert len(waiting) == 3
    assert all(str(event["transp"]) == "TRANSPARENT" for event in waiting)


def test_reminders_come_before_the_latest_safe_start(make_plan):
    plan = make_plan(2)
    by_start = {event["dtstart"].dt.timestamp(): event for event in events(to_ics(plan, STAMP))}
    for block in blocks(plan):
        if not block.hands:
            continue
        event = by_start[block.start.timestamp()]
        offsets = [alarm["trigger"].dt for alarm in event.walk("VALARM")]
        assert min(offsets) == timedelta(minutes=-5)
        latest = timedelta(minutes=block.float_minutes)
        assert all(offset < latest for offset in offsets)
        told = str(event["description"])
        assert f"latest {block.begin_by}" in told or f"Begin {block.begin_by}." in told


def test_identities_are_stable_and_single(make_plan):
    first = [str(event["uid"]) for event in events(to_ics(make_plan(3), STAMP))]
    again = [str(event["uid"]) for event in events(to_ics(make_plan(3, begin="08:00")))]
    assert first == again
    assert len(set(first)) == len(first)
    other = {str(e["uid"]) for e in events(to_ics(make_plan(3, date=(2026, 6, 15)), STAMP))}
    assert not other & set(first)


def test_the_same_plan_and_stamp_give_the_same_file(make_plan):
    assert to_ics(make_plan(2), STAMP) == to_ics(make_plan(2), STAMP)


def test_words_with_commas_and_line_breaks_survive(make_plan):
    place = "Hill; north, by the mill"
    read = events(to_ics(make_plan(1, place=place), STAMP))
    assert {str(event["location"]) for event in read} == {place}
    assert all("Caution: " in str(e["description"]) for e in read if "develop" in str(e["summary"]))


def test_an_empty_day_is_a_calendar_without_events(make_plan):
    assert events(to_ics(make_plan(1, steps=(), plates_placed=0), STAMP)) == []
