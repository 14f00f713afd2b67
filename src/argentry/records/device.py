"""A tablet or a sensor that was let in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

# scope: what it may do
SCOPES = {"bench": "open and run the bench", "readings": "send readings, nothing else"}


@dataclass(frozen=True)
class Device:
    """One device; nothing in it lets anybody in.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What the maker calls it.
    scope : str
        bench: it may run the bench; readings: it may send readings and nothing else.
    created : datetime
        When it was let in, UTC.
    seen : datetime or None
        When it was last seen, to ten minutes, UTC; null when it never was.
    revoked : datetime or None
        When it was shut out, UTC; null while it is let in.
    """

    id: str
    name: str
    scope: str
    created: datetime
    seen: datetime | None = None
    revoked: datetime | None = None
