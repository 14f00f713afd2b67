"""Times, days and JSON as the book's tables hold them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from argentry.errors import UNSAFE, BadInput, unsafe_sign

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
LONGEST_JSON = (
    1_000_000  # characters; a run of many plates with its steps is some tens of thousands
)


def to_us(at: datetime, where: str = "time") -> int:
    """Return a time as whole microseconds since 1970 UTC.

    Raises
    ------
    BadInput
        If the time has no offset from UTC.
    """
    if at.tzinfo is None:
        raise BadInput(where, "{at} has no time zone", "give it with its offset", at=at.isoformat())
    return (at - EPOCH) // MICROSECOND


def from_us(microseconds: int) -> datetime:
    """Return the UTC time of whole microseconds since 1970."""
    return EPOCH + microseconds * MICROSECOND


def days_us(first: date, last: date, zone: tzinfo = UTC) -> tuple[int, int]:
    """Return the begin of a day and the end of another by a zone, as the tables hold times."""
    return to_us(day_begins(first, zone)), to_us(day_begins(last + timedelta(days=1), zone))


def day_begins(day: date, zone: tzinfo) -> datetime:
    """Return the first moment of a day by the clocks of a zone, as UTC."""
    return datetime.combine(day, time(), zone).astimezone(UTC)


def zone_of_place(place: Mapping[str, Any]) -> tzinfo:
    """Return the zone of the place where a run was opened; UTC where it says none."""
    try:
        return ZoneInfo(str(place.get("time_zone") or "UTC"))
    except (KeyError, ValueError, OSError):  # no such zone
        return UTC


def to_json(where: str, value: Mapping[str, Any]) -> str:
    """Return canonical JSON: keys sorted, no spaces, so that equal content is equal text.

    Raises
    ------
    BadInput
        If a value is not a JSON value (NaN and infinities are not), or the whole is too long.
    """
    try:
        text = json.dumps(
            value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )
        text.encode()
    except (TypeError, ValueError, RecursionError) as error:
        raise BadInput(
            where,
            "it cannot be kept as JSON ({error})",
            "give text, finite numbers, lists",
            error=error,
        ) from None
    if len(text) > LONGEST_JSON or "\\u0000" in text:
        raise BadInput(
            where,
            "it is too long or holds a zero character",
            "give at most {longest_json} letters",
            longest_json=LONGEST_JSON,
        )
    return text


ONE_LINE = 500  # letters; what may be longer is a remark
_LINES = re.compile(r"\s*[\r\n\t\v\f]\s*")


def harmless_line(text: str) -> str:
    """Return a text of foreign origin in one line, without control characters."""
    return " ".join("".join(one for one in text if unsafe_sign(one) is None).split())


def clean_text(where: str, text: str | None, longest: int = 2000) -> str | None:
    """Return `text` when a table can hold it and a terminal show it: no controls, not too long."""
    if text is None:
        return None
    if not isinstance(text, str):
        raise BadInput(where, "{text!r} is not text", "give words", text=text)
    if longest > ONE_LINE:  # a remark may have lines: they are kept as one
        text = _LINES.sub(" ", text)
    sign = unsafe_sign(text)
    if sign is not None:
        what, right = UNSAFE
        raise BadInput(where, what, right, sign=sign)
    if len(text) > longest:
        raise BadInput(
            where,
            "it has {text_count} letters",
            "give at most {longest}",
            text_count=len(text),
            longest=longest,
        )
    return text
