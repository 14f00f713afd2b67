from __future__ import annotations

import asyncio
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.web.limits import (
    DEEPEST,
    LARGEST_INTEGER,
    Refused,
    announced_length,
    bounded,
    read_body,
    replay,
    strict_json,
)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"{'a': 1}",
        b'{"a": NaN}',
        b'{"a": Infinity}',
        b'{"a": -Infinity}',
        b'{"a": 1e400}',
        b'{"a": 9007199254740993}',
        b'{"a": ' + b"9" * 5000 + b"}",
        b'{"a": 0.' + b"1" * 500 + b"}",
        b'{"a": 1, "a": 2}',
        b'{"a": "\\u0000"}',
        b'{"a": "\\ud800"}',
        b'{"\\udc00": 1}',
        b'"\xff"',
        b"\xef\xbb\xbf{}",
        b"[" * (DEEPEST + 2) + b"]" * (DEEPEST + 2),
        b"[" * 200_000,
        b"{} {}",
    ],
)
def test_json_that_is_none_or_too_much_is_refused_in_one_sentence(body):
    with pytest.raises(Refused) as refusal:
        strict_json(body)
    assert refusal.value.status == 400
    assert "\n" not in refusal.value.sentence
    assert len(refusal.value.sentence) < 200


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc"), inner, max_size=3),
    max_leaves=8,
)


@settings(deadline=None)
@given(plain)
def test_ordinary_json_is_read_as_the_standard_library_reads_it(value):
    text = json.dumps(value)
    assert strict_json(text.encode()) == json.loads(text)


def test_a_length_is_looked_at_before_the_body_is_read():
    announced_length({b"content-length": b"10"}, 10)
    with pytest.raises(Refused) as refusal:
        announced_length({b"content-length": b"11"}, 10)
    assert refusal.value.status == 413
    with pytest.raises(Refused) as refusal:
        announced_length({b"content-length": b"-1"}, 10)
    assert refusal.value.status == 400


def _receive(*parts, then="http.disconnect"):
    messages = [{"type": "http.request", "body": part, "more_body": True} for part in parts]
    messages[-1]["more_body"] = then is None

    async def receive():
        return messages.pop(0) if messages else {"type": "http.disconnect"}

    return receive


def test_a_body_without_a_length_is_counted_as_it_comes():
    assert asyncio.run(read_body(_receive(b"abc", b"de"), 5, 1.0)) == b"abcde"
    with pytest.raises(Refused) as refusal:
        asyncio.run(read_body(_receive(b"abc", b"def"), 5, 1.0))
    assert refusal.value.status == 413


def test_a_sender_that_goes_away_or_never_ends():
    with pytest.raises(Refused) as refusal:
        asyncio.run(read_body(_receive(b"abc", then=None), 5, 1.0))
    assert refusal.value.status == 400

    async def never():
        await asyncio.Event().wait()

    with pytest.raises(Refused) as refusal:
        asyncio.run(read_body(never, 5, 0.01))
    assert refusal.value.status == 408


def test_what_was_read_is_handed_on_once():
    async def go():
        receive = replay(b"abc", _receive(b""))
        return [await receive(), await receive()]

    first, second = asyncio.run(go())
    assert (first["body"], first["more_body"]) == (b"abc", False)
    assert second["body"] == b""


def test_a_body_that_is_taken_as_it_comes_is_bounded_in_length_and_time():
    async def all_of(receive, most, seconds):
        next_part = bounded(receive, most, seconds)
        return [(await next_part())["body"] for _ in range(2)]

    assert asyncio.run(all_of(_receive(b"abc", b"de"), 5, 5.0)) == [b"abc", b"de"]
    with pytest.raises(Refused) as refusal:
        asyncio.run(all_of(_receive(b"abc", b"def"), 5, 5.0))
    assert refusal.value.status == 413

    async def never():
        await asyncio.sleep(60)

    with pytest.raises(Refused) as refusal:
        asyncio.run(all_of(never, 5, 0.01))
    assert refusal.value.status == 408
