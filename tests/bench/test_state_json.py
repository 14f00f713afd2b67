"""A run's state as JSON values: moments as text, seconds to the millisecond."""

from datetime import UTC, datetime, timedelta, timezone

from argentry.bench.state_json import _field as field
from argentry.bench.state_json import event_dict, iso
from argentry.records.event import Event

NOON = datetime(2026, 6, 21, 12, 0, 0, 5, tzinfo=UTC)


def test_moments_are_told_in_utc_so_that_their_text_is_in_order():
    assert iso(NOON.astimezone(timezone(timedelta(hours=2)))) == "2026-06-21T12:00:00.000005Z"


def test_seconds_are_told_to_the_millisecond_and_nothing_else_is_rounded():
    assert [field("left_s", value) for value in (1.23456, 1, -0.0004)] == [1.235, 1.0, 0.0]
    assert field("left_s", None) is None
    assert field("value", 1.23456) == 1.23456
    assert field("at", [NOON, {"a": (NOON,)}]) == [iso(NOON), {"a": [iso(NOON)]}]


def test_an_event_is_told_with_all_its_fields():
    told = event_dict(Event("i", "r", "remark_made", NOON, body={"words": "dry"}, seq=3))
    assert told == {
        "id": "i", "run": "r", "kind": "remark_made", "at": iso(NOON), "plate": None, "step": None,
        "body": {"words": "dry"}, "device": "", "version": 1, "seq": 3,
    }  # fmt: skip
