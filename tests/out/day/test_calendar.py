"""The calendar is read back by the library's own parser; clock changes of 2026 are recalled.

Last Sundays of March and October, 01:00 UTC (Directive 2000/84/EC); second Sunday of March and
first Sunday of November, 02:00 local (15 U.S.C. 260a). The zone rules come from the IANA data.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from icalendar import Calendar

from argentry.out.day.blocks import blocks
from argentry.out.day.calendar import to_ics
from argentry.out.wording import clock
from argentry.records.day import Appointment

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


def test_a_wait_is_done_at_the_minute_at_which_its_event_ends(make_plan):
    """An event until 10:02 read "Done about 10:01": the plan's minutes are whole ones."""
    plan = make_plan(1)
    steps = [
        replace(step, minutes=replace(step.minutes, middle=step.minutes.middle - 0.6))
        for step in plan.steps
    ]
    told = [
        (one["DTEND"].dt, str(one["DESCRIPTION"]))
        for one in events(to_ics(replace(plan, steps=tuple(steps)), STAMP))
        if "(no hands)" in one["SUMMARY"]
    ]
    assert told
    for end, words in told:
        assert f"Done about {clock(end)}, " in words


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


def by_uid(data):
    return {str(event["uid"]): event for event in events(data)}


def test_what_a_new_plan_no_longer_holds_is_cancelled_in_the_file_it_stands_in_for(make_plan):
    later = STAMP + timedelta(hours=1)
    first = to_ics(make_plan(3), STAMP)
    second = to_ics(make_plan(2, begin="08:30"), later, before=first)
    old, new = by_uid(first), by_uid(second)
    assert old.keys() <= new.keys()
    off = {uid for uid, one in new.items() if one.get("status") == "CANCELLED"}
    assert off == {uid for uid in old if "-plate-3-" in uid}
    for uid in off:  # RFC 5546, 2.1.4: a cancellation is a revision
        assert int(new[uid]["sequence"]) == int(old[uid]["sequence"]) + 1
        assert new[uid]["dtstart"].dt == old[uid]["dtstart"].dt
        assert new[uid]["dtstamp"].dt == later
    moved = [uid for uid in old.keys() - off if old[uid]["dtstart"].dt != new[uid]["dtstart"].dt]
    assert moved
    assert all(int(new[uid]["sequence"]) == 1 for uid in moved)

    third = by_uid(to_ics(make_plan(3), later + timedelta(hours=1), before=second))
    assert not [one for one in third.values() if one.get("status")]
    assert all(int(third[uid]["sequence"]) == 2 for uid in off)
    again = by_uid(to_ics(make_plan(2, begin="08:30"), later, before=second))
    assert {uid: int(one["sequence"]) for uid, one in again.items()} == {
        uid: int(one["sequence"]) for uid, one in new.items()
    }


@pytest.mark.parametrize("before", [b"", b"\xff\x00", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"])
def test_a_file_that_is_no_calendar_of_this_day_changes_nothing(make_plan, before):
    assert to_ics(make_plan(1), STAMP, before=before) == to_ics(make_plan(1), STAMP)


def test_events_of_another_day_or_studio_are_left_alone(make_plan):
    other = to_ics(make_plan(3, date=(2026, 6, 15)), STAMP)
    assert to_ics(make_plan(1), STAMP, before=other) == to_ics(make_plan(1), STAMP)


def test_a_sitter_stands_in_the_title_of_the_exposure(make_plan):
    plan = make_plan(2)
    [pose] = [step for step in plan.steps if step.step == "expose" and step.plate == 2]
    sitter = Appointment(pose.start, "Inés; la Rubia", 2, pose.start, pose.end)
    read = events(to_ics(replace(plan, appointments=(sitter,)), STAMP))
    named = [str(one["summary"]) for one in read if "Inés; la Rubia" in str(one["summary"])]
    assert len(named) == 1
    assert named[0].startswith("Plate 2: expose")


def test_the_file_is_a_snapshot_that_needs_no_organizer(make_plan):
    """RFC 5546, 3.2.1: a published event must name an organizer; without METHOD it is none."""
    assert b"METHOD" not in to_ics(make_plan(1), STAMP)


def test_lines_are_folded_and_ended_as_the_standard_asks(make_plan):
    """RFC 5545, 3.1: at most 75 octets without the break, CRLF, never within a letter."""
    data = to_ics(make_plan(3, place="Ñandú " * 30), STAMP)
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert all(line.decode("utf-8") is not None for line in lines)
