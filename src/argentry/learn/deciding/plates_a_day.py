"""How many plates a maker usually makes in a day."""

from __future__ import annotations

from collections import Counter
from math import ceil
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from argentry.records.plate import Making


def plates_a_day(makings: Iterable[Making]) -> int | None:
    """Return the usual number of plates of a session: the median, rounded up; None without one."""
    return usual_of(one.session for one in makings)


def usual_of(sessions: Iterable[str]) -> int | None:
    """Return the same from the session of each making."""
    counts = Counter(sessions)
    return ceil(median(counts.values())) if counts else None
