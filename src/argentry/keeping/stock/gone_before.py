"""What was gone from a lot when it was noted: over which days it was used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from argentry.records.material import Lot, LotFacts


def gone_in(
    lots: Sequence[Lot],
    facts: Mapping[str, LotFacts],
    gone: Mapping[str, tuple[float, date]],
    made: Sequence[date],
    first: date,
    last: date,
) -> dict[str, float]:
    """Return what of it was used in some days, by lot. [unit].

    Nobody wrote down when: it went from the day the lot was opened (else received) until it was
    noted, evenly over the plates made in that time, or over its days when none was.

    Parameters
    ----------
    lots, facts
        The lots, and what is noted of each, by id.
    gone : Mapping of str to (float, date)
        By lot: what was gone, and the day on which that was noted.
    made : sequence of date
        The day of every making in the book.
    first, last : date
        The days that are asked about.
    """
    out = {}
    for lot in lots:
        if lot.id not in gone:
            continue
        amount, noted = gone[lot.id]
        opened = facts[lot.id].opened_on if lot.id in facts else None
        begun = min(opened or lot.received_on, noted)
        there = [day for day in made if begun <= day <= noted]
        if there:
            share = sum(first <= day <= last for day in there) / len(there)
        else:
            both = (min(last, noted) - max(first, begun)).days + 1
            share = max(both, 0) / ((noted - begun).days + 1)
        out[lot.id] = amount * share
    return out
