"""What a sensor sends, read strictly: a topic and a payload become one measurement."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from argentry.errors import BadInput
from argentry.keeping.sensors.intake import Measurement

LONGEST_PAYLOAD = 2048  # bytes; a reading needs about a tenth of it
LONGEST_NAME = 60
LONGEST_TOKEN = 200


def topic_filter(studio: str) -> str:
    """Return the topic filter a studio listens to: ``argentry/<studio>/readings/+``."""
    return f"argentry/{studio}/readings/+"


def what_of_topic(topic: str, studio: str) -> str:
    """Return the quantity a topic names.

    Raises
    ------
    BadInput
        If the topic is not ``argentry/<studio>/readings/<what>``.
    """
    head = f"argentry/{studio}/readings/"
    what = topic.removeprefix(head)
    if not topic.startswith(head) or not what or "/" in what:
        raise BadInput(
            "topic",
            "{topic!r} does not name a reading",
            "publish to {head}<quantity>",
            topic=topic[:80],
            head=head,
        )
    return what


def read_payload(payload: bytes, what: str, source: str) -> tuple[Measurement, str | None]:
    """Read one payload: a JSON object, or a bare number in the quantity's own unit.

    Parameters
    ----------
    payload : bytes
        UTF-8. Keys: ``value`` and, each optional, ``unit``, ``at``, ``id``, ``sensor``, ``token``,
        ``run``, ``plate``. ``age_s`` is refused; other keys (battery, signal...) are passed
        over.
    what : str
        Quantity, from the topic.
    source : str
        Who sends it, when the payload names no ``sensor``.

    Returns
    -------
    tuple of (Measurement, str or None)
        The measurement, not judged yet, and the device token sent with it.

    Raises
    ------
    BadInput
        If it is too long, no JSON, no finite number, or a field is of the wrong kind.
    """
    body = _body(payload)
    value = body.get("value")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadInput(
            "value",
            "{value!r} is not a number",
            "send a number such as 21.4",
            value=str(value)[:40],
        )
    try:
        number = float(value)
    except OverflowError:
        raise BadInput("value", "the number is too large", "send a number such as 21.4") from None
    if "age_s" in body:  # a broker may hold a message back: its age would be another
        raise BadInput("age_s", "a message by MQTT may wait on its way", 'send "at", or neither')
    identity = _text(body, "id", 36)
    return (
        Measurement(
            what=what,
            value=number,
            unit=_text(body, "unit", 20) or "",
            source=_text(body, "sensor", LONGEST_NAME) or source,
            at=read_stamp(_text(body, "at", 40)),
            id=None if identity is None else _identity(identity),
            run=_text(body, "run", 36),
            plate=_text(body, "plate", 36),
        ),
        _text(body, "token", LONGEST_TOKEN),
    )


def _body(payload: bytes) -> dict[str, Any]:
    if len(payload) > LONGEST_PAYLOAD:
        raise BadInput(
            "payload",
            "it is {payload_count} bytes long",
            "send at most {longest_payload}",
            payload_count=len(payload),
            longest_payload=LONGEST_PAYLOAD,
        )
    right = 'send {"value": 21.4, "unit": "°C"} as UTF-8'
    try:
        read = json.loads(payload.decode("utf-8"), parse_constant=_no_constant)
    except (UnicodeDecodeError, ValueError, RecursionError):
        raise BadInput("payload", "it is not JSON", right) from None
    if isinstance(read, int | float) and not isinstance(read, bool):
        return {"value": read}
    if not isinstance(read, dict):
        raise BadInput("payload", "it is not a JSON object", right)
    return read


def _no_constant(name: str) -> float:
    raise ValueError(name)  # NaN and Infinity are not JSON


def _text(body: dict[str, Any], key: str, longest: int) -> str | None:
    value = body.get(key)
    if value is None:
        return None
    if not isinstance(value, str) or len(value) > longest or not value.isprintable():
        raise BadInput(
            key,
            "{value!r} is not a short text",
            "send at most {longest} letters",
            value=str(value)[:40],
            longest=longest,
        )
    return value.strip() or None


def read_stamp(text: str | None) -> datetime | None:
    """Read an ISO 8601 time with its offset from UTC; None stays None.

    Raises
    ------
    BadInput
        If it is not a time, or carries no offset.

    Examples
    --------
    >>> read_stamp("2026-06-21T13:20:00+02:00").isoformat()
    '2026-06-21T11:20:00+00:00'
    """
    if text is None:
        return None
    right = "send ISO 8601 with its offset, such as 2026-06-21T11:20:00Z, or leave it out"
    try:
        stamp = datetime.fromisoformat(text)
        if stamp.tzinfo is None:
            raise BadInput("at", "{text!r} has no offset from UTC".format(text=text), right)
        return stamp.astimezone(UTC)
    except (ValueError, OverflowError):
        raise BadInput("at", "{text!r} is not a time".format(text=text), right) from None


def _identity(text: str) -> str:
    try:
        return str(UUID(text))
    except ValueError:
        raise BadInput(
            "id", "{text!r} is not a UUID", "send a UUID, or leave it out", text=text
        ) from None
