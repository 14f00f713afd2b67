"""What a plate uses up of a material: by the trade's data, taught by what was weighed."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING

from argentry.physics.stops import Z80
from argentry.records.material import WEIGHED
from argentry.trade.facts import value
from argentry.trade.materials import shared

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from argentry.book.engine import Book
    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.trade.materials import Material


@dataclass(frozen=True)
class Use:
    """What one plate uses up.

    Attributes
    ----------
    middle, low, high : float
        With its 80 % range. [unit of the material]
    share : float
        Standard deviation of its logarithm. [1]
    plates : int
        Plates behind the weighings; 0: by the trade's data alone.
    unseen : float
        What was used up since the last weighing beyond what was booked, which goes by the trade's
        data. [unit of the material]
    """

    middle: float
    low: float
    high: float
    share: float
    plates: int
    unseen: float


def uses_of(
    book: Book, wanted: Sequence[tuple[Material, Sequence[LotNow]]], last: date
) -> list[Use]:
    """Return what a plate uses up of each material.

    All that was taken from its lots until one of them was weighed last is what the plates made
    until then used up; it is weighted against the trade's range by how many plates those were.

    Parameters
    ----------
    book : Book
        The book.
    wanted : sequence of (Material, sequence of LotNow)
        Each by the trade's data, for a plate of the usual size, with all the lots there were of it.
    last : date
        Today.
    """
    from argentry.book.lots import used_until
    from argentry.book.makings import counts_between
    from argentry.keeping.moments import zone_of_book

    zone = zone_of_book(book.folder)
    weighed = used_until(book, [[lot.id for lot in lots] for _, lots in wanted], WEIGHED, zone)
    spans = [
        (min(lot.opened_on or lot.received_on for lot in lots if lot.id in found[0]), found[1])
        for (_, lots), found in zip(wanted, weighed, strict=True)
        if found is not None
    ]
    counted = iter(counts_between(book, [(first, min(day, last)) for first, day in spans]))
    return [
        _use(each, lots, {}, 0) if found is None else _use(each, lots, found[0], next(counted))
        for (each, lots), found in zip(wanted, weighed, strict=True)
    ]


def _use(each: Material, lots: Sequence[LotNow], gone: Mapping[str, float], plates: int) -> Use:
    """Return the use by what was gone at the last weighing, after so many plates."""
    centre, width = log(each.amount), log(each.high / each.low) / (2.0 * Z80)
    amount = sum(gone.get(lot.id, 0.0) * lot.each for lot in lots)
    by_trade = gone and each.key not in shared()  # a tray is booked as it was mixed
    since = sum((lot.used - gone.get(lot.id, 0.0)) * lot.each for lot in lots) if by_trade else 0.0
    if plates and amount > 0.0:
        told = value("stock", "use_scatter") / plates**0.5
        weight = width**2 / (width**2 + told**2)
        centre += weight * (log(amount / plates) - centre)
        width *= (1.0 - weight) ** 0.5
    else:
        plates = 0
    middle = exp(centre)
    ends = (middle * exp(-Z80 * width), middle * exp(Z80 * width))
    unseen = max(since * (middle / each.amount - 1.0), 0.0)
    return Use(middle, *ends, width, plates, unseen)
