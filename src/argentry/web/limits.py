"""Limits on requests: length and time of a body, and what JSON may hold."""

from __future__ import annotations

import asyncio
import json
import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from starlette.types import Message, Receive

DEEPEST = 16  # levels of JSON; an event's body needs four
LARGEST_INTEGER = 2**53  # above it, browsers and the two databases disagree
TOO_LONG = "The body is too long. Send at most {most} bytes."
LATE = "The body did not arrive within {seconds:g} s. Send it again."
LONGEST_DIGITS = 400  # a longer number is not a measurement


class Refused(Exception):  # noqa: N818 - reads as what it is
    """A request that is not answered, with its HTTP status and one sentence.

    Parameters
    ----------
    status : int
        HTTP status.
    sentence : str
        What is wrong and what would be right.
    """

    def __init__(self, status: int, sentence: str) -> None:
        self.status, self.sentence = status, " ".join(sentence.split())
        super().__init__(self.sentence)


def announced_length(headers: dict[bytes, bytes], most: int) -> None:
    """Refuse a body whose announced length is above `most` bytes, before any of it is read.

    Raises
    ------
    Refused
        413 when it is too long, 400 when the length is not a number.
    """
    text = headers.get(b"content-length")
    if text is None:
        return
    if not text.isdigit():
        raise Refused(400, "The Content-Length is not a number. Send the length of the body.")
    if int(text[:20]) > most:
        raise Refused(413, TOO_LONG.format(most=most))


async def read_body(receive: Receive, most: int, seconds: float) -> bytes:
    """Return a whole body of at most `most` bytes that arrives within `seconds`.

    Raises
    ------
    Refused
        413 when it is longer, 408 when it takes longer, 400 when the sender goes away.
    """
    parts: list[bytes] = []
    length = 0
    try:
        async with asyncio.timeout(seconds):
            while True:
                message = await receive()
                if message["type"] != "http.request":
                    raise Refused(400, "The connection closed before the whole body arrived.")
                part = message.get("body", b"")
                length += len(part)
                if length > most:
                    raise Refused(413, TOO_LONG.format(most=most))
                parts.append(part)
                if not message.get("more_body", False):
                    return b"".join(parts)
    except TimeoutError:
        raise Refused(408, LATE.format(seconds=seconds)) from None


def bounded(receive: Receive, most: int, seconds: float) -> Receive:
    """Return a `receive` that hands a body on as it comes, within the limits of `read_body`."""
    ends = asyncio.get_running_loop().time() + seconds
    length = 0

    async def next_part() -> Message:
        nonlocal length
        try:
            async with asyncio.timeout_at(ends):
                message = await receive()
        except TimeoutError:
            raise Refused(408, LATE.format(seconds=seconds)) from None
        length += len(message.get("body", b""))
        if length > most:
            raise Refused(413, TOO_LONG.format(most=most))
        return message

    return next_part


def replay(body: bytes, receive: Receive) -> Receive:
    """Return a `receive` that hands out `body` once and then what comes after it."""
    sent = False

    async def again() -> Message:
        nonlocal sent
        if not sent:
            sent = True
            return {"type": "http.request", "body": body, "more_body": False}
        return await receive()

    return again


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is not a number of JSON")


def _integer(digits: str) -> int | float:
    if len(digits) > LONGEST_DIGITS:
        raise ValueError("a number is too long")
    value = int(digits)
    if abs(value) > LARGEST_INTEGER:
        raise ValueError(f"the integer {digits[:24]} is beyond 2^53")
    return value


def _real(digits: str) -> float:
    if len(digits) > LONGEST_DIGITS:
        raise ValueError("a number is too long")
    value = float(digits)
    if not math.isfinite(value):
        raise ValueError(f"the number {digits[:24]} is too large")
    return value


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise ValueError("an object holds the same key twice")
    return made


def _walk(value: Any, depth: int) -> None:
    if depth > DEEPEST:
        raise ValueError(f"it is nested deeper than {DEEPEST} levels")
    if isinstance(value, str):
        if "\x00" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
            raise ValueError("a text holds an invalid character (NUL or half of a surrogate pair)")
    elif isinstance(value, dict):
        for key, inner in value.items():
            _walk(key, depth)
            _walk(inner, depth + 1)
    elif isinstance(value, list):
        for inner in value:
            _walk(inner, depth + 1)


def strict_json(body: bytes) -> Any:
    """Return the JSON value of a body: finite numbers, no key twice, real text, not too deep.

    Raises
    ------
    Refused
        400 with the reason.
    """
    try:
        value = json.loads(
            body.decode("utf-8"),
            parse_constant=_no_constant,
            parse_int=_integer,
            parse_float=_real,
            object_pairs_hook=_pairs,
        )
        _walk(value, 0)
    except json.JSONDecodeError as error:
        raise Refused(
            400,
            "The body is not valid JSON ({msg}, line {lineno}). Send valid JSON.".format(
                msg=error.msg, lineno=error.lineno
            ),
        ) from None
    except UnicodeDecodeError:
        raise Refused(400, "The body is not UTF-8 text. Send JSON in UTF-8.") from None
    except RecursionError:
        raise Refused(
            400,
            "The JSON is nested too deeply. Use at most {deepest} levels.".format(deepest=DEEPEST),
        ) from None
    except ValueError as error:
        raise Refused(
            400, "The JSON cannot be used: {error}. Correct it.".format(error=error)
        ) from None
    return value
