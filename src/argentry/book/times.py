"""Times, days and JSON as the book's tables hold them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Mapping

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


def clean_text(where: str, text: str | None, longest: int = 2000) -> str | None:
    """Return `text` when a table can hold it: no zero character, no half letters, not too long.

    Raises
    ------
    BadInput
        If not.
    """
    if text is None:
        return None
    if not isinstance(text, str):
        raise BadInput(where, "{text!r} is not text", "give words", text=text)
    try:
        text.encode()
        bad = "\0" in text
    except UnicodeEncodeError:
        bad = True
    if bad:
        raise BadInput(where, "it holds a character that is not valid text", "give plain text")
    if len(text) > longest:
        raise BadInput(
            where,
            "it has {text_count} letters",
            "give at most {longest}",
            text_count=len(text),
            longest=longest,
        )
    return text
