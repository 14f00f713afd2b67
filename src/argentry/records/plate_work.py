"""What was done to a plate before and between its runs: its polish history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

# plated again takes the plate back to its first silver; polished_back uses it again
RENAMED = "renamed"  # its label changed; the remark says from what to what
WORKS = ("plated", "polished", "polished_back", "recoated", RENAMED)


@dataclass(frozen=True)
class PlateWork:
    """One piece of work on a plate.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    plate : str
        Id of the plate.
    kind : str
        Plated, polished, polished_back, recoated or renamed.
    at : datetime
        When, UTC.
    who : str
        By whom.
    remark : str
        With what, how long, anything else.
    """

    id: str
    plate: str
    kind: str
    at: datetime
    who: str = ""
    remark: str = ""
