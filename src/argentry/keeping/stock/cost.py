"""What plates cost, from what was really taken from the lots, and what failures cost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from argentry.book.engine import Book
from argentry.keeping.book import by_folder
from argentry.keeping.moments import days_asked, zone_in
from argentry.keeping.stock.cost_shares import (
    GLASS,
    GOLD,
    HOURS,
    OTHER,
    PART_OF,
    PARTS,
    SILVER,
    CostShare,
    Shares,
    came_to,
    took_of,
)
from argentry.keeping.stock.one_less import one_less
from argentry.keeping.studio import load_studio
from argentry.records.material import Lot, LotFacts
from argentry.records.plate import GRADES, Making, Plate
from argentry.records.studio import Studio
from argentry.records.units import Units

NOT_GRADED = "not graded"
BOOKED, ESTIMATED, BOTH = "booked", "estimated", "partly estimated"
YEAR_DAYS = 365
NOTE_ONE = (
    "One failure less in ten is counted as one good plate more in ten at the same total cost; its "
    "80 % range is what these plates leave open of how many come out good."
)
NO_HOUR = "Hours cost nothing here until [prices] hour in studio.toml says what one is worth."
SILVER_ESTIMATED = (
    "No lot of silvered plates has a price, so silver is estimated from the plates first used in "
    "these days, their silver and its price by the gram."
)
GOLD_ESTIMATED = (
    "No lot of gold has a price, so gold is estimated from the plates that were finished."
)

OTHER_ESTIMATED = (
    "No lot of glass or of another material has a price, so copper, glass, mat, tape and baths are "
    "estimated together for each plate first used in these days, by [prices] sundries_per_plate in "
    "studio.toml or the trade's starting value."
)

EARLIER = (
    "No lot of {part} with a price was there before {day}: for the plates before that day it is "
    "estimated."
)


@dataclass(frozen=True)
class CostPart:
    """One part of the cost.

    Attributes
    ----------
    part : str
        silver, gold, glass, other materials or hours.
    basis : str
        booked: from what was taken from lots with a price; estimated: from usual amounts; or both,
        the plates of before such a lot was there being estimated.
    total : float
        Over all plates. [currency]
    per_plate, per_good : float or None
        By the plate made, and by the good plate; null without one. [currency]
    """

    part: str
    basis: str
    total: float
    per_plate: float | None
    per_good: float | None


@dataclass(frozen=True)
class GradeCost:
    """What plates of one grade cost.

    Attributes
    ----------
    grade : str
        Lost, study, good, fine or not graded; given up for a fault counts as lost.
    plates : int
        How many.
    total : float
        All of it. [currency]
    per_plate : float
        [currency]
    """

    grade: str
    plates: int
    total: float
    per_plate: float


@dataclass(frozen=True)
class Cost:
    """What the plates of some days cost.

    Attributes
    ----------
    first, last : date
        The days.
    currency : str
        Of all sums.
    plates : int
        Makings within those days.
    good : int
        Those that came out good or fine.
    hours : float
        Hands on them, by the usual minutes of the stages that each reached. [h]
    parts : tuple of CostPart
        By silver, gold, glass, other materials, hours.
    total : float
        All of it. [currency]
    per_plate, per_good : float or None
        The same by making, and by good making. [currency]
    grades : tuple of GradeCost
        By grade; each making has its share by what it used up and how far it came.
    failures : float
        What plates cost that came out lost or as a study. [currency]
    one_less_saves_per_good, one_less_saves_per_good_low, one_less_saves_per_good_high : \
        float or None
        What a good plate would cost less with one failure less in ten, and its 80 % range.
        [currency]
    one_less_saves, one_less_saves_low, one_less_saves_high : float or None
        The same over the good plates there would have been. [currency]
    not_priced : tuple of str
        Lots that were used and have no price.
    notes : tuple of str
        What the figures rest on.
    """

    first: date
    last: date
    currency: str
    plates: int
    good: int
    hours: float
    parts: tuple[CostPart, ...]
    total: float
    per_plate: float | None
    per_good: float | None
    grades: tuple[GradeCost, ...]
    failures: float
    one_less_saves_per_good: float | None
    one_less_saves_per_good_low: float | None
    one_less_saves_per_good_high: float | None
    one_less_saves: float | None
    one_less_saves_low: float | None
    one_less_saves_high: float | None
    not_priced: tuple[str, ...]
    notes: tuple[str, ...]


def cost_of(
    book: Book,
    folder: Path | None,
    *,
    first: date | None = None,
    last: date | None = None,
    studio: Studio | None = None,
) -> Cost:
    """Return what plates cost; a studio's file that is read already is not read again.

    Parameters
    ----------
    book, folder
        The open book; its studio's folder.
    first, last : date, optional
        Days; left out: the year until today.
    studio : Studio, optional
        As read before.

    Raises
    ------
    BadInput
        If the days are the wrong way round.
    """
    from argentry.book.lots import gone_before, lot_uses, lots
    from argentry.book.makings import days_made, first_made, makings
    from argentry.book.materials.notes import lot_facts
    from argentry.book.plates import plates
    from argentry.keeping.stock.gone_before import gone_in

    if studio is None and folder is not None:
        studio = load_studio(folder)
    zone = zone_in(studio)
    today = datetime.now(zone).date()
    first, last = days_asked(first, last, today, lambda day: day - timedelta(days=YEAR_DAYS - 1))
    within = makings(book, days=(first, last))
    known = {plate.id: plate for plate in plates(book, {one.plate for one in within})}
    shares = Shares(within, known, took_of(book, within))
    of_lots, facts = lots(book), lot_facts(book)
    used = Counter(lot_uses(book, first, last, zone))
    if gone := gone_before(book, zone):
        used.update(gone_in(of_lots, facts, gone, days_made(book), first, last))
    booked, since, not_priced = _booked(of_lots, facts, used)
    fresh = first_made(book, first, last)
    new = [(known[key], day) for key, day in fresh.items() if key in known]
    told, notes = _totals(booked, since, shares, studio, new)
    parts, by_making = _parts(told), shares.shared(told)
    good = sum(one.grade in GRADES[2:] for one in within)
    total = sum(by_making) if within else sum(total for _, total in parts.values())
    saves = one_less(total, len(within), good)
    return Cost(
        first=first,
        last=last,
        currency=(Units() if studio is None else studio.units).currency,
        plates=len(within),
        good=good,
        hours=shares.hours,
        parts=tuple(
            CostPart(name, basis, one, _per(one, len(within)), _per(one, good))
            for name, (basis, one) in parts.items()
        ),
        total=total,
        per_plate=_per(total, len(within)),
        per_good=_per(total, good),
        grades=_grades(within, by_making),
        failures=sum(
            own for one, own in zip(within, by_making, strict=True) if came_to(one) in GRADES[:2]
        ),
        one_less_saves_per_good=saves.per_good,
        one_less_saves_per_good_low=saves.per_good_low,
        one_less_saves_per_good_high=saves.per_good_high,
        one_less_saves=saves.all_of_them,
        one_less_saves_low=saves.low,
        one_less_saves_high=saves.high,
        not_priced=not_priced,
        notes=(*notes, NOTE_ONE),
    )


cost = by_folder(cost_of)


def _per(total: float, count: int) -> float | None:
    return total / count if count else None


def _booked(
    lots: Sequence[Lot], facts: Mapping[str, LotFacts], used: Mapping[str, float]
) -> tuple[dict[str, float], dict[str, date], tuple[str, ...]]:
    """Return what was taken from lots with a price, by part, and since when there are such lots.

    Also the lots used without a price.
    """
    from argentry.trade.stock import is_plates, stuff_named

    out: dict[str, float] = {}
    since: dict[str, date] = {}
    not_priced = []
    for lot in lots:
        amount = used.get(lot.id, 0.0)
        price = facts[lot.id].price if lot.id in facts else None
        stuff = stuff_named(lot.name)
        part = (
            SILVER if is_plates(lot.name) else PART_OF.get(stuff.material if stuff else "", OTHER)
        )
        if price is None:
            if amount:
                not_priced.append(lot.name)
            continue
        out[part] = out.get(part, 0.0) + price * amount / lot.amount
        begun = facts[lot.id].opened_on or lot.received_on
        since[part] = min(begun, since.get(part, begun))
    return out, since, tuple(not_priced)


def _totals(
    booked: Mapping[str, float],
    since: Mapping[str, date],
    shares: Shares,
    studio: Studio | None,
    fresh: Sequence[tuple[Plate, date]],
) -> tuple[tuple[CostShare, ...], list[str]]:
    """Return what each part cost: as booked, and estimated for plates of before it was."""
    from argentry import trade
    from argentry.keeping.stock.prices import gold_mg, prices
    from argentry.trade.sizes import plate_size

    silver_price, gold_price, sundries = prices(studio)
    hour = None if studio is None else studio.prices.hour
    from_silver, from_gold = (since.get(part, date.max) for part in (SILVER, GOLD))
    from_other = min(since.get(part, date.max) for part in (GLASS, OTHER))
    dense, usual = trade.value("decide", "silver_density"), trade.value("decide", "silver_um")
    grams = sum(
        plate_size(one.size).area_cm2 * (one.silver_um or usual) * 1e-4 * dense
        for one, day in fresh
        if day < from_silver
    )
    made = zip(shares.areas, shares.gilded, shares.days, strict=True)
    mg = sum(gold_mg(area) for area, gilded, day in made if gilded and day < from_gold)
    others = sum(day < from_other for _, day in fresh)
    out = [
        CostShare(part, BOOKED, booked[part], since[part], date.max)
        for part in PARTS
        if part in booked
    ]
    notes = []
    for part, total, until, note in (
        (SILVER, grams * silver_price, from_silver, SILVER_ESTIMATED),
        (GOLD, 1e-3 * mg * gold_price, from_gold, GOLD_ESTIMATED),
        (OTHER, sundries * others, from_other, OTHER_ESTIMATED),
    ):
        if until == date.max or total > 0.0:
            out.append(CostShare(part, ESTIMATED, total, date.min, until))
            notes.append(note if until == date.max else EARLIER.format(part=part, day=until))
    if from_other == date.max:
        out.append(CostShare(GLASS, ESTIMATED, 0.0, date.min, date.max))
    out.append(CostShare(HOURS, ESTIMATED, shares.hours * (hour or 0.0), date.min, date.max))
    if hour is None:
        notes.append(NO_HOUR)
    return tuple(out), notes


def _parts(found: Sequence[CostShare]) -> dict[str, tuple[str, float]]:
    """Return basis and total of each part."""
    out = {}
    for part in PARTS:
        own = [one for one in found if one.part == part]
        basis = {one.basis for one in own} or {BOOKED}
        out[part] = (BOTH if len(basis) > 1 else basis.pop(), sum(one.total for one in own))
    return out


def _grades(within: Sequence[Making], own: Sequence[float]) -> tuple[GradeCost, ...]:
    out = []
    for grade in (*GRADES, None):
        mine = [cost for one, cost in zip(within, own, strict=True) if came_to(one) == grade]
        if mine:
            name = grade or NOT_GRADED
            out.append(GradeCost(name, len(mine), sum(mine), sum(mine) / len(mine)))
    return tuple(out)
