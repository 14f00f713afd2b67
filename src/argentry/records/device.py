"""A tablet or a sensor that was let in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

# scope: what it may do
SCOPES = {"bench": "open and run the bench", "readings": "send readings, nothing else"}


@dataclass(frozen=True)
class Device:
    """One device.

    Attributes
    ----------
    id : str
        UUID version 7.
    name : str
        What the maker calls it.
    scope : str
        A key of `SCOPES`.
    created_at : datetime
        When it was paired, UTC.
    seen_at : datetime or None
        When it was last seen, to ten minutes, UTC.
    revoked_at : datetime or None
        When it was shut out, UTC.
    """

    id: str
    name: str
    scope: str
    created_at: datetime
    seen_at: datetime | None = None
    revoked_at: datetime | None = None
