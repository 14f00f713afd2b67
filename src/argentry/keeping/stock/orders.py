"""What the coming days need against what is there, and what must be ordered by when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import ceil, expm1, inf, sqrt
from typing import TYPE_CHECKING

from argentry import trade
from argentry.errors import check_range
from argentry.keeping.book import by_folder
from argentry.keeping.moments import today_of
from argentry.keeping.stock.use import Use, uses_of
from argentry.keeping.studio import load_studio
from argentry.records.units import Units
from argentry.trade.materials import each_plate, shared
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.keeping.stock.lots import Stock
    from argentry.records.studio import Studio
    from argentry.trade.materials import Material

WEEK_DAYS, MONTH_DAYS, YEAR_DAYS = 7, 30, 365
MOST_PLATES = 1000
PIECE = "piece"  # of which no part is bought


@dataclass(frozen=True)
class Needed:
    """One material: what the coming days need of it, against what is there.

    Attributes
    ----------
    material : str
        Its key.
    title : str
        In words.
    unit : str
        Unit of the amounts.
    there : float
        What is there, by purity, without lots whose last day is over, and less what plates are
        known to use up since the last weighing beyond what was booked. [unit]
    each, each_low, each_high : float
        What one plate uses up, with its 80 % range: the trade's data, taught by weighings. [unit]
    weighed_plates : int
        Plates behind those weighings; 0 while nothing was weighed.
    tomorrow, tomorrow_most : float
        What the plates of tomorrow need, and at the most. [unit]
    month, month_most : float
        What the plates of thirty days need, and at the most. [unit]
    days_left : float or None
        How long it lasts at this pace; null while no plates are made. [days]
    lacks_tomorrow, lacks_month : bool
        True when what is there is less than the middle of what is needed.
    will_not_last_week : bool
        True when it is used up within seven days at this pace, or too little for tomorrow.
    lead_days : float
        From ordering to having it. [days]
    reorder_at : float or None
        When no more than this is there, it is ordered: what is used up until an order comes, with
        the doubt of the use, of the pace and of the lead time; null when no plates are made. [unit]
    order_by : date or None
        Day on which that is reached at this pace; null when no plates are made, or it is not
        within a year.
    order_now : bool
        True when that day has come.
    order : float
        What to order, so that it lasts as long as the trade's data says. [unit]
    price : float or None
        What that costs by the newest lot with a price, in the studio's currency.
    supplier : str
        Who sold the newest lot.
    lots : tuple of str
        Names of the lots it is counted from.
    pure : bool
        True when one of them is less than pure: what is there is less than they weigh.
    """

    material: str
    title: str
    unit: str
    there: float
    each: float
    each_low: float
    each_high: float
    weighed_plates: int
    tomorrow: float
    tomorrow_most: float
    month: float
    month_most: float
    days_left: float | None
    lacks_tomorrow: bool
    lacks_month: bool
    will_not_last_week: bool
    lead_days: float
    reorder_at: float | None
    order_by: date | None
    order_now: bool
    order: float
    price: float | None
    supplier: str
    lots: tuple[str, ...]
    pure: bool


@dataclass(frozen=True)
class Needs:
    """What the coming days need, material by material.

    Attributes
    ----------
    size : str
        Plate size.
    tomorrow_plates : int
        Plates of tomorrow that it is computed for.
    supposed : bool
        True while no day's work is in the book and none was said: those plates are a batch to begin
        with.
    month_plates : float
        Plates of thirty days, by the pace of the last weeks. [1]
    pace_days : int
        Days behind that pace. [days]
    currency : str
        Of the prices.
    materials : tuple of Needed
        Those of which a lot is or was there, what runs out first at the head.
    never_stocked : tuple of str
        Materials that plates use up and that were never noted.
    """

    size: str
    tomorrow_plates: int
    supposed: bool
    month_plates: float
    pace_days: int
    currency: str
    materials: tuple[Needed, ...]
    never_stocked: tuple[str, ...]

    @property
    def to_order(self) -> tuple[Needed, ...]:
        """What must be ordered now."""
        return tuple(one for one in self.materials if one.order_now)


def needs_of(
    book: Book,
    folder: Path | None,
    *,
    plates: int | None = None,
    month_plates: float | None = None,
    now: datetime | None = None,
) -> Needs:
    """Return what tomorrow and the next thirty days need against what is there.

    Parameters
    ----------
    book, folder
        The open book; its studio's folder.
    plates : int, optional
        Plates of tomorrow; left out: as many as a usual day makes.
    month_plates : float, optional
        Plates of thirty days; left out: by the pace of the last weeks, and at least tomorrow's.
    now : datetime, optional
        None: now.
    """
    from argentry.keeping.stock.lots import stock_of

    if plates is not None:
        check_range("--plates", plates, 0, MOST_PLATES, "plates")
    if month_plates is not None:
        check_range("--month-plates", month_plates, 0.0, float(MOST_PLATES), "plates")
    studio = None if folder is None else load_studio(folder)
    stock = stock_of(book, folder, all_of_them=True, studio=studio)
    return needs_from(
        book, studio, stock, plates=plates, month_plates=month_plates, today=today_of(folder, now)
    )


stock_needs = by_folder(needs_of)


def needs_from(
    book: Book,
    studio: Studio | None,
    stock: Stock,
    *,
    plates: int | None = None,
    month_plates: float | None = None,
    today: date,
) -> Needs:
    """Return the same from all the lots, as `stock_of` gives them."""
    from argentry.book.makings import count_between, newest_sessions

    pace_days = int(trade.value("stock", "pace_days"))
    wanted = stock.ahead if plates is None else plates
    supposed = plates is None and not newest_sessions(book, 1)
    if month_plates is None:
        made = count_between(book, today - timedelta(days=pace_days - 1), today)
        month_plates = made * MONTH_DAYS / pace_days
        if not supposed:  # tomorrow is one of the thirty days, also after weeks without a plate
            month_plates = max(month_plates, float(wanted))
    lots: dict[str, list[LotNow]] = {}
    for lot in stock.lots:
        if lot.key:
            lots.setdefault(lot.key, []).append(lot)
    area = plate_size(stock.size).area_cm2
    each = each_plate(area, stock.ahead)
    there = [(one, lots[one.key]) for one in each if one.key in lots]
    found = [
        _needed(one, use, of_it, wanted, month_plates, stock.ahead, today)
        for (one, of_it), use in zip(there, uses_of(book, there, today), strict=True)
    ]
    found.sort(key=lambda one: inf if one.days_left is None else one.days_left)
    return Needs(
        size=stock.size,
        tomorrow_plates=wanted,
        supposed=supposed,
        month_plates=month_plates,
        pace_days=pace_days,
        currency=(Units() if studio is None else studio.units).currency,
        materials=tuple(found),
        never_stocked=tuple(one.name for one in each if one.key not in lots),
    )


def _needed(
    each: Material,
    use: Use,
    lots: Sequence[LotNow],
    plates: int,
    month: float,
    usual_day: int,
    today: date,
) -> Needed:
    counted = [lot for lot in lots if lot.plates_left is not None]
    if plates and each.key in shared():  # a tray is filled for one plate as for a usual day's
        plates = usual_day
    there = sum(lot.left * lot.each for lot in counted if not lot.expired)
    there = max(there - use.unseen, 0.0)
    pace = month / MONTH_DAYS
    per_day = use.middle * pace
    leads = [lot.lead_days for lot in lots if lot.lead_days is not None]
    lead = leads[-1] if leads else trade.value("stock", "lead_days")
    days_left = there / per_day if per_day else None
    least = use.middle * _plates_until(pace, usual_day, lead, use.share) if per_day else None
    order_by, order = None, 0.0
    if least is not None:
        spare = max((there - least) / per_day, 0.0)
        if spare <= YEAR_DAYS:  # the pace of a month says nothing of later years
            order_by = today + timedelta(days=int(spare))
        order = max(per_day * trade.value("stock", "order_for") + least - there, 0.0)
        if each.unit == PIECE:
            order = float(ceil(order))
    now = order > 0.0 and least is not None and there <= least
    lacks = there < use.middle * plates * (1.0 - 1e-9)
    soon = days_left is not None and days_left < WEEK_DAYS
    priced = [lot for lot in counted if lot.price is not None]
    return Needed(
        material=each.key,
        title=each.name,
        unit=each.unit,
        there=there,
        each=use.middle,
        each_low=use.low,
        each_high=use.high,
        weighed_plates=use.plates,
        tomorrow=use.middle * plates,
        tomorrow_most=use.high * plates,
        month=use.middle * month,
        month_most=use.high * month,
        days_left=days_left,
        lacks_tomorrow=lacks,
        lacks_month=there < use.middle * month * (1.0 - 1e-9),
        will_not_last_week=soon or lacks,
        lead_days=lead,
        reorder_at=least,
        order_by=order_by,
        order_now=now,
        order=order,
        price=_price(priced[-1], order) if priced and order else None,
        supplier=lots[-1].supplier,
        lots=tuple(lot.name for lot in counted if lot.left > 0.0),
        pure=any((lot.purity or 1.0) < 1.0 for lot in counted if lot.left > 0.0),
    )


def _plates_until(pace: float, usual_day: int, lead: float, use_share: float) -> float:
    """Return for how many plates something is kept while an order is on its way.

    Plates come by days of so many; the pace itself is known from a few weeks; an order may come
    late; and what a plate uses up is known within its range.
    """
    days = lead + trade.value("stock", "order_spare")
    made = pace * days
    spread = usual_day * made * (1.0 + days / trade.value("stock", "pace_days"))
    spread += (pace * lead * trade.value("stock", "lead_doubt")) ** 2
    spread += made**2 * expm1(use_share**2)
    return max(made + trade.value("stock", "order_doubt") * sqrt(spread), float(usual_day))


def _price(lot: LotNow, order: float) -> float:
    """Return what an amount of a material costs by what a lot cost."""
    assert lot.price is not None
    return lot.price * order / (lot.amount * lot.each)
