import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.feed.readings import read_payload, topic_filter, what_of_topic


def test_a_full_payload():
    payload = {
        "value": 70.5,
        "unit": "°F",
        "at": "2026-06-21T13:20:00+02:00",
        "id": "0190a1b2-c3d4-7e5f-8a9b-0c1d2e3f4a5b",
        "sensor": "shelf",
        "token": "secret",
        "battery": 88,
    }
    measured, token = read_payload(json.dumps(payload).encode(), "room_c", "broker")
    assert measured.value == 70.5
    assert measured.unit == "°F"
    assert measured.at == datetime(2026, 6, 21, 11, 20, tzinfo=UTC)
    assert measured.id == payload["id"]
    assert measured.source == "shelf"
    assert token == "secret"


def test_a_bare_number():
    measured, token = read_payload(b" 21.4\n", "room_c", "broker")
    assert (measured.value, measured.unit, measured.source, measured.at, token) == (
        21.4,
        "",
        "broker",
        None,
        None,
    )


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"warm",
        b"\xff\xfe",
        b"[21.4]",
        b"null",
        b"true",
        b"NaN",
        b"{}",
        b'{"value": NaN}',
        b'{"value": Infinity}',
        b'{"value": -Infinity}',
        b'{"value": true}',
        b'{"value": "21.4"}',
        b'{"value": null}',
        b'{"value": [1]}',
        b'{"value": 1' + b"0" * 400 + b"}",
        b'{"value": 1, "unit": 3}',
        b'{"value": 1, "unit": "' + b"x" * 50 + b'"}',
        b'{"value": 1, "at": "yesterday"}',
        b'{"value": 1, "at": "2026-06-21T13:20:00"}',
        b'{"value": 1, "at": "0001-01-01T00:00:00+14:00"}',
        b'{"value": 1, "at": 1781000000}',
        b'{"value": 1, "id": "7"}',
        b'{"value": 1, "age_s": 3600}',
        b'{"value": 1, "sensor": "a\\nb"}',
        b'{"value": 1, "sensor": {"a": 1}}',
        b'{"value": 1, "token": 12345}',
        b'{"value": 1, "note": "' + b"x" * 3000 + b'"}',
        b"[" * 1500,
    ],
)
def test_payloads_refused_in_one_sentence(payload):
    with pytest.raises(BadInput) as caught:
        read_payload(payload, "room_c", "broker")
    assert "\n" not in str(caught.value)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(payload):
    try:
        measured, _ = read_payload(payload, "room_c", "broker")
    except BadInput:
        return
    assert isinstance(measured.value, float)


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=10),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(["value", "unit", "at", "id", "sensor", "token", "plate"]), inner
            )
        ),
        max_leaves=8,
    )
)
def test_any_json_is_read_or_refused(body):
    try:
        measured, _ = read_payload(json.dumps(body).encode(), "room_c", "broker")
    except BadInput:
        return
    assert isinstance(measured.value, float)


def test_topics():
    assert topic_filter("orraga") == "argentry/orraga/readings/+"
    assert what_of_topic("argentry/orraga/readings/room_c", "orraga") == "room_c"


@pytest.mark.parametrize(
    "topic",
    [
        "argentry/elsewhere/readings/room_c",
        "argentry/orraga/readings/",
        "argentry/orraga/readings/room_c/set",
        "argentry/orraga/commands/room_c",
        "room_c",
        "",
    ],
)
def test_other_topics_hold_no_reading(topic):
    with pytest.raises(BadInput, match="does not name a reading"):
        what_of_topic(topic, "orraga")
