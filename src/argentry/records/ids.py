"""Ids made where a thing happens: UUID version 7, in order of time, safe to send twice."""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from uuid import UUID

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass
class _Last:
    """The last id handed out, so that ids of one process never go backwards."""

    milliseconds: int = -1
    count: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


_last = _Last()


def make_id(milliseconds: int, random_bits: int) -> str:
    """Return the UUID version 7 of a time and 74 random bits.

    Parameters
    ----------
    milliseconds : int
        Since 1970-01-01 UTC, 0 to 2**48 - 1. [ms]
    random_bits : int
        0 to 2**74 - 1: 12 bits after the version, then 62 after the variant.

    Returns
    -------
    str
        36 characters, lower case.

    References
    ----------
    RFC 9562 (2024), section 5.7.

    Examples
    --------
    >>> make_id(0x017F22E279B0, (0xCC3 << 62) | 0x18C4DC0C0C07398F)
    '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'
    """
    high, low = random_bits >> 62, random_bits & ((1 << 62) - 1)
    return str(UUID(int=(milliseconds << 80) | (7 << 76) | (high << 64) | (2 << 62) | low))


def new_id() -> str:
    """Return a fresh id: later ids of one process always sort after earlier ones.

    Returns
    -------
    str
        UUID version 7, lower case.

    Notes
    -----
    When the clock stands still or is set back, the 12 bits after the version count up within the
    last millisecond seen, and the millisecond is carried on when they are used up (RFC 9562,
    section 6.2, method 1).
    """
    with _last.lock:
        now = time.time_ns() // 1_000_000
        if now > _last.milliseconds:
            _last.milliseconds, _last.count = now, secrets.randbits(11)
        else:
            _last.count += 1
            if _last.count >= 1 << 12:
                _last.milliseconds, _last.count = _last.milliseconds + 1, 0
        return make_id(_last.milliseconds, (_last.count << 62) | secrets.randbits(62))


def is_id(text: object) -> bool:
    """Return True when `text` is a UUID version 7 as `new_id` writes it."""
    if not isinstance(text, str) or len(text) != 36:
        return False
    try:
        read = UUID(text)
    except ValueError:
        return False
    return str(read) == text and read.version == 7


def id_time(text: str) -> datetime:
    """Return the time an id was made, to the millisecond.

    Parameters
    ----------
    text : str
        A UUID version 7.

    Returns
    -------
    datetime
        UTC.

    Examples
    --------
    >>> id_time('017f22e2-79b0-7cc3-98c4-dc0c0c07398f').isoformat()
    '2022-02-22T19:22:22+00:00'
    """
    return EPOCH + timedelta(milliseconds=UUID(text).int >> 80)
