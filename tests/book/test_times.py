"""Times, days and JSON as the book's tables hold them."""

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from argentry.book.times import LONGEST_JSON, clean_text, day_begins, from_us, to_json, to_us
from argentry.errors import BadInput


def test_a_time_is_whole_microseconds_since_1970_and_comes_back():
    assert to_us(datetime(1970, 1, 1, tzinfo=UTC)) == 0
    at = datetime(2026, 6, 21, 12, 0, 0, 123456, tzinfo=timezone(timedelta(hours=2)))
    assert to_us(at) == 1782036000123456
    assert from_us(to_us(at)) == at
    assert from_us(-1) == datetime(1969, 12, 31, 23, 59, 59, 999999, tzinfo=UTC)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadInput, match="has no time zone"):
        to_us(datetime.fromisoformat("2026-06-21"), "begun")


def test_equal_content_is_equal_text():
    assert to_json("body", {"b": 1, "a": ["é", None]}) == '{"a":["é",null],"b":1}'
    assert to_json("body", {"a": 1, "b": 2}) == to_json("body", {"b": 2, "a": 1})


@pytest.mark.parametrize(
    "value", [{"a": float("nan")}, {"a": float("inf")}, {"a": object()}, {"a": "\ud800"}]
)
def test_what_is_not_json_is_refused(value):
    with pytest.raises(BadInput, match="cannot be kept as JSON"):
        to_json("body", value)


def test_a_body_may_be_long_but_not_too_long_and_holds_no_zero():
    frame = len('{"a":""}')
    assert len(to_json("body", {"a": "x" * (LONGEST_JSON - frame)})) == LONGEST_JSON
    for bad in ("x" * (LONGEST_JSON - frame + 1), "zero \0"):
        with pytest.raises(BadInput, match="too long or holds a zero"):
            to_json("body", {"a": bad})


def test_text_is_kept_as_it_is_when_a_table_can_hold_it():
    assert clean_text("words", None) is None
    assert clean_text("words", "scratch\r\nat the left") == "scratch at the left"
    assert clean_text("words", "x" * 2000) == "x" * 2000
    assert clean_text("words", "abc", 3) == "abc"
    for bad, longest in (
        ("x" * 2001, 2000),
        ("abcd", 3),
        ("a\0", 9),
        ("a\nb", 100),
        ("\x1b[2J", 2000),
        ("\u202eP1", 100),
        ("\x9b2J", 2000),
        ("\udfff", 9),
        (7, 9),
    ):
        with pytest.raises(BadInput):
            clean_text("words", bad, longest)


@pytest.mark.parametrize(
    ("day", "first", "hours"),
    [
        (date(2026, 6, 21), datetime(2026, 6, 20, 22, tzinfo=UTC), 24),
        (date(2026, 3, 29), datetime(2026, 3, 28, 23, tzinfo=UTC), 23),  # clocks go forward
        (date(2026, 10, 25), datetime(2026, 10, 24, 22, tzinfo=UTC), 25),
    ],
)
def test_a_day_begins_at_its_midnight_by_the_clocks_there(day, first, hours):
    zone = ZoneInfo("Europe/Madrid")
    begins = day_begins(day, zone)
    assert (begins, begins.tzinfo) == (first, UTC)
    assert day_begins(day + timedelta(days=1), zone) - begins == timedelta(hours=hours)
