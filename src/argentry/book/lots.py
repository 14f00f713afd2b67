"""Lots of stock: what was bought, and what was taken out of it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import func, insert, select, union_all

from argentry.book import tables
from argentry.book.baths import MOST
from argentry.book.engine import reading, writing
from argentry.book.materials.notes import put_notes
from argentry.book.rows import add_rows, free_id, known_id
from argentry.book.times import clean_text, days_us, from_us, to_us
from argentry.errors import BadInput, check_range
from argentry.records.material import RUN, UNDONE, Lot, MaterialNote
from argentry.records.plate import WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import tzinfo

    from sqlalchemy import Connection

    from argentry.book.engine import Book


BEFORE = "used before"  # remark of what was gone when a lot was noted


def lot_uses(book: Book, first: date, last: date, zone: tzinfo = UTC) -> dict[str, float]:
    """Return what was taken from each lot on some days of a zone, corrections with it. [unit].

    What was gone when the lot was noted, `gone_before`, is not of these days and left out. What a
    run took after midnight is of the day on which the plate that it was for was begun.
    """
    use = tables.lot_use
    begin, end = days_us(first, last, zone)
    query = select(use.c.lot, func.sum(use.c.amount)).where(
        use.c.at_us >= begin, use.c.at_us < end, use.c.remark != BEFORE
    )
    with reading(book) as connection:
        sums = dict(connection.execute(query.group_by(use.c.lot)).all())
        for lot, amount, at_us, day in _after_midnight(connection, begin, zone):
            change = int(first <= day <= last) - int(begin <= at_us < end)
            if change:
                sums[lot] = sums.get(lot, 0.0) + change * amount
    return sums


def _after_midnight(
    connection: Connection, begin_us: int, zone: tzinfo
) -> list[tuple[str, float, int, date]]:
    """Return what runs took after the first day on which a plate of theirs was begun, with its day.

    A row is of the plate whose step ended then: its day is that on which the plate was begun. One
    of no known plate is of the last such day.
    """
    use, making = tables.lot_use, tables.making
    head = RUN.format(run="")
    since = (use.c.remark.startswith(head), use.c.at_us >= begin_us)
    rows = connection.execute(
        select(use.c.lot, use.c.amount, use.c.at_us, use.c.remark).where(*since)
    )
    took = [(lot, float(amount), at_us, remark[len(head) :]) for lot, amount, at_us, remark in rows]
    runs = select(func.substr(use.c.remark, len(head) + 1)).where(*since)
    begun: dict[str, dict[str, date]] = {}
    plates = select(making.c.run, making.c.plate, making.c.day).where(making.c.run.in_(runs))
    for run, plate, day in connection.execute(plates.where(making.c.state != WITHDRAWN)):
        begun.setdefault(run, {})[plate] = date.fromisoformat(day)
    several = [run for run, days in begun.items() if len({*days.values()}) > 1]
    ended = _ended(connection, several)
    found = []
    for lot, amount, at_us, run in took:
        days = begun.get(run)
        if days and at_us >= days_us(min(days.values()), min(days.values()), zone)[1]:
            plate = ended.get((run, at_us), "")
            found.append((lot, amount, at_us, days.get(plate, max(days.values()))))
    return found


def _ended(connection: Connection, runs: Sequence[str]) -> dict[tuple[str, int], str]:
    """Return the plate whose step ended at each time of some runs."""
    event = tables.event
    query = select(event.c.run, event.c.at_us, event.c.plate).where(
        event.c.run.in_(runs), event.c.kind == "step_ended"
    )
    return {(run, at_us): plate for run, at_us, plate in connection.execute(query)} if runs else {}


def gone_before(book: Book, zone: tzinfo = UTC) -> dict[str, tuple[float, date]]:
    """Return what was gone of each lot when it was noted [unit], and the day of that by a zone."""
    use = tables.lot_use
    query = select(use.c.lot, use.c.amount, use.c.at_us).where(use.c.remark == BEFORE)
    with reading(book) as connection:
        return {
            lot: (float(amount), from_us(at_us).astimezone(zone).date())
            for lot, amount, at_us in connection.execute(query)
        }


def used_until(
    book: Book, groups: Sequence[Sequence[str]], remark: str, zone: tzinfo = UTC
) -> list[tuple[dict[str, float], date] | None]:
    """Return what was taken from each group of lots until one of it was last noted with a remark.

    A row that was taken back, `UNDONE`, is none.

    Returns
    -------
    list of (dict, date) or None
        By lot [unit], and the day of that note by `zone`; None where there is none. One for each
        group.
    """
    use = tables.lot_use
    rows_of = (use.c.lot, use.c.seq, use.c.at_us, use.c.amount, use.c.remark)
    noted = select(*rows_of).where(use.c.remark.in_((remark, UNDONE))).order_by(use.c.seq)
    taken = select(use.c.lot, func.sum(use.c.amount)).group_by(use.c.lot)
    with reading(book) as connection:
        stand: dict[str, list[tuple[int, int, float]]] = {}
        for lot, seq, at_us, amount, said in connection.execute(noted):
            own = stand.setdefault(lot, [])
            if said == remark:
                own.append((seq, at_us, amount))
            elif own and own[-1][2] == -amount:
                own.pop()
        last = {lot: own[-1][:2] for lot, own in stand.items() if own}
        until = [max((last[lot] for lot in own if lot in last), default=None) for own in groups]
        asked = [
            taken.where(use.c.lot.in_(own), use.c.seq <= found[0])
            for own, found in zip(groups, until, strict=True)
            if found is not None
        ]
        rows = connection.execute(union_all(*asked)).all() if asked else ()
        sums: dict[str, float] = dict(map(tuple, rows))
    return [
        None
        if found is None
        else (
            {lot: sums[lot] for lot in own if lot in sums},
            from_us(found[1]).astimezone(zone).date(),
        )
        for own, found in zip(groups, until, strict=True)
    ]


def last_use(book: Book, lot: str) -> tuple[float, datetime, str] | None:
    """Return what was taken from a lot last, when, and the remark; None for an untouched one."""
    use = tables.lot_use
    query = select(use.c.amount, use.c.at_us, use.c.remark).where(use.c.lot == lot)
    with reading(book) as connection:
        row = connection.execute(query.order_by(use.c.seq.desc()).limit(1)).first()
    return None if row is None else (float(row[0]), from_us(row[1]), row[2])


def add_lots(
    book: Book,
    new: Sequence[Lot],
    notes: Sequence[MaterialNote] = (),
    *,
    seen: int | None = None,
) -> bool:
    """Put lots of stock into the book with what is noted of them, all or none.

    Parameters
    ----------
    book : Book
        The book.
    new : sequence of Lot
        The lots.
    notes : sequence of MaterialNote
        Of them.
    seen : int, optional
        How many lots there were when it was looked whether these are new.

    Returns
    -------
    bool
        False, and nothing is noted, where there are others by now: look again.

    Raises
    ------
    BadInput
        If an id is taken or an amount is out of range.
    """
    rows = [lot_row(lot) for lot in new]
    now = to_us(datetime.now(UTC))
    with writing(book) as connection:
        if seen is not None:
            there = connection.execute(select(func.count()).select_from(tables.lot)).scalar()
            if there != seen:
                return False
        for lot, row in zip(new, rows, strict=True):
            free_id(connection, tables.lot, lot.id, f"lot {lot.name[:40]}")
            connection.execute(insert(tables.lot).values(**row))
        begun = [
            {"lot": lot.id, "amount": float(lot.used), "at_us": now, "who": "", "remark": BEFORE}
            for lot in new
            if lot.used
        ]
        add_rows(connection, tables.lot_use, begun)
        put_notes(connection, notes)
    return True


def lot_row(lot: Lot) -> dict[str, str | float | None]:
    """Return the row of a lot.

    Raises
    ------
    BadInput
        If an amount is out of range, or a text too long or not to be shown.
    """
    where = f"lot {lot.name[:40]}"
    check_range(where, lot.amount, 0.0, MOST, lot.unit, open_low=True)
    check_range(f"{where} used", lot.used, 0.0, lot.amount, lot.unit)
    return {
        "id": clean_text(where, lot.id, 100),
        "name": clean_text(where, lot.name, 200),
        "amount": float(lot.amount),
        "unit": clean_text(f"{where} unit", lot.unit, 50),
        "supplier": clean_text(f"{where} supplier", lot.supplier, 200),
        "received_on": lot.received_on.isoformat(),
    }


def use_lot(
    book: Book,
    lot: str,
    amount: float,
    by: str = "",
    at: datetime | None = None,
    remark: str = "",
) -> float:
    """Take from a lot and return what is left [unit]; a negative amount puts a mistake right.

    Raises
    ------
    BadInput
        If there is no such lot or it does not hold so much.
    """
    check_range(f"lot {lot}", amount, -MOST, MOST, "")
    row = {
        "lot": lot,
        "amount": float(amount),
        "at_us": to_us(at or datetime.now(UTC)),
        "who": clean_text("by", by, 200),
        "remark": clean_text("remark", remark),
    }
    table, use = tables.lot, tables.lot_use
    with writing(book) as connection:
        known_id(connection, table, lot)
        held = connection.execute(select(table).where(table.c.id == lot)).one()
        whole, unit, where = float(held.amount), held.unit, f"lot {held.name[:40]}"
        gone = select(func.sum(use.c.amount)).where(use.c.lot == lot)
        used = float(connection.execute(gone).scalar() or 0.0)
        left = whole - used - amount
        if left < -1e-9 * whole:
            right = "{whole:g} {unit} are left".format(whole=max(whole - used, 0.0), unit=unit)
            raise BadInput(
                where, "{amount:g} {unit} cannot be taken".format(amount=amount, unit=unit), right
            )
        if left > whole * (1 + 1e-9):
            right = "only {used:g} {unit} were taken".format(used=used, unit=unit)
            raise BadInput(
                where,
                "{amount:g} {unit} cannot be put back".format(amount=-amount, unit=unit),
                right,
            )
        add_rows(connection, use, [row])
    return max(left, 0.0)


def lots(book: Book) -> list[Lot]:
    """Return the lots in the order they came in, with what has gone."""
    table, use = tables.lot, tables.lot_use
    sums = select(use.c.lot, func.sum(use.c.amount)).group_by(use.c.lot)
    with reading(book) as connection:
        used = dict(connection.execute(sums).all())
        rows = connection.execute(select(table).order_by(table.c.received_on, table.c.id)).all()
    return [
        Lot(
            id=row.id,
            name=row.name,
            amount=row.amount,
            unit=row.unit,
            supplier=row.supplier,
            received_on=date.fromisoformat(row.received_on),
            used=float(used.get(row.id, 0.0)),
        )
        for row in rows
    ]
