"""Baths and lots of stock: what was mixed or bought, and what has gone through or out of it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, union_all, update

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.materials.from_runs import MIXED, take_for_bath
from argentry.book.materials.notes import put_notes
from argentry.book.materials.through_baths import CLEARING
from argentry.book.rows import add_rows
from argentry.book.times import clean_text, from_us, to_us
from argentry.errors import BadInput, check_range
from argentry.records.plate import BATH, BY_HAND, KIND, UNDONE, Bath, Lot, MaterialNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection, Table

    from argentry.book.engine import Book

DAY_US = 86_400_000_000
WEIGHT = "plate_g"
OF_MATERIALS = (CLEARING, WEIGHT)  # readings that decide how long a bath or a plate lasts
BEFORE = "used before"  # remark of what was gone when a lot was noted
MOST = 1e9  # of any unit: beyond this a number was mistyped


def add_bath(
    book: Book, bath: Bath, kind: str = "", takes: tuple[str, float] | None = None
) -> None:
    """Put a freshly mixed bath into the book; what went through it is added by `use_bath`.

    Parameters
    ----------
    book : Book
        The book.
    bath : Bath
        The bath.
    kind : str
        Of its recipe: from then on the bench puts the plates of its step through it. Empty: it does
        not.
    takes : tuple of (str, float), optional
        Key of a material and how much of it: taken from the lots that are opened, see
        `argentry.book.materials.from_runs.take_for_bath`.

    Raises
    ------
    BadInput
        If its id is taken or its volume is out of range.
    """
    where = f"bath {bath.name[:40]}"
    check_range(f"{where} volume", bath.volume_ml, 0.0, 1e6, "mL", open_low=True)
    row = {
        "id": clean_text(where, bath.id, 100),
        "name": clean_text(where, bath.name, 200),
        "recipe": clean_text(f"{where} recipe", bath.recipe),
        "mixed_us": to_us(bath.mixed_at, where),
        "volume_ml": float(bath.volume_ml),
        "discarded_us": None if bath.discarded_at is None else to_us(bath.discarded_at, where),
    }
    with writing(book) as connection:
        _free(connection, tables.bath, bath.id, where)
        connection.execute(insert(tables.bath).values(**row))
        if bath.plates_through or bath.area_cm2_through:
            use = _bath_use(bath.id, bath.plates_through, bath.area_cm2_through, "", bath.mixed_at)
            add_rows(connection, tables.bath_use, [use])
        if kind:
            note = MaterialNote(BATH, bath.id, KIND, kind, bath.mixed_at)
            put_notes(connection, [note])
        if takes:
            take_for_bath(connection, bath.name, *takes, bath.volume_ml, bath.mixed_at)


def use_bath(
    book: Book,
    bath: str,
    plates: int,
    area_cm2: float,
    by: str = "",
    at: datetime | None = None,
    named: Sequence[str] = (),
) -> None:
    """Note that plates went through a bath; negative numbers put a mistake right.

    Parameters
    ----------
    book : Book
        The book.
    bath : str
        Its id.
    plates : int
        How many.
    area_cm2 : float
        Their area, all together. [cm2]
    by : str
        Who.
    at : datetime, optional
        When, UTC; now when left out.
    named : sequence of str
        Ids of those of them that the book knows: the bench does not book them once more.

    Raises
    ------
    BadInput
        If there is no such bath, or less than nothing would have gone through it.
    """
    moment = at or datetime.now(UTC)
    row = _bath_use(bath, plates, area_cm2, by, moment)
    with writing(book) as connection:
        _need(connection, tables.bath, bath)
        use = tables.bath_use
        sums = select(func.sum(use.c.plates), func.sum(use.c.area_cm2)).where(use.c.bath == bath)
        before = connection.execute(sums).one()
        if (before[0] or 0) + plates < 0 or (before[1] or 0.0) + area_cm2 < -1e-6:
            own_name = select(tables.bath.c.name).where(tables.bath.c.id == bath)
            raise BadInput(
                "bath {bath}".format(bath=connection.execute(own_name).scalar_one()),
                "less than nothing would remain",
                "take back no more than was used",
            )
        add_rows(connection, use, [row])
        put_notes(connection, [MaterialNote(BATH, bath, BY_HAND, of, moment, by) for of in named])


def discard_bath(book: Book, bath: str, at: datetime | None = None) -> None:
    """Note that a bath was disposed of (as your local code says).

    Raises
    ------
    BadInput
        If there is no such bath or it was discarded before.
    """
    table = tables.bath
    when = to_us(at or datetime.now(UTC))
    with writing(book) as connection:
        _need(connection, table, bath)
        change = update(table).where(table.c.id == bath, table.c.discarded_us.is_(None))
        if connection.execute(change.values(discarded_us=when)).rowcount != 1:
            raise BadInput(
                "bath {bath}".format(bath=bath), "it was discarded before", "name another"
            )


def baths(book: Book, *, all_of_them: bool = True) -> list[Bath]:
    """Return the baths, oldest first, with what went through them; or only those still kept."""
    table, use = tables.bath, tables.bath_use
    query = select(table).order_by(table.c.mixed_us, table.c.id)
    if not all_of_them:
        query = query.where(table.c.discarded_us.is_(None))
    sums = select(use.c.bath, func.sum(use.c.plates), func.sum(use.c.area_cm2))
    with reading(book) as connection:
        through = {
            of: (count, area) for of, count, area in connection.execute(sums.group_by(use.c.bath))
        }
        rows = connection.execute(query).all()
    return [
        Bath(
            id=row.id,
            name=row.name,
            recipe=row.recipe,
            mixed_at=from_us(row.mixed_us),
            volume_ml=row.volume_ml,
            plates_through=int(through.get(row.id, (0, 0.0))[0]),
            area_cm2_through=float(through.get(row.id, (0, 0.0))[1]),
            discarded_at=None if row.discarded_us is None else from_us(row.discarded_us),
        )
        for row in rows
    ]


def materials_mark(book: Book, until: datetime) -> tuple[int, ...]:
    """Return numbers that are others whenever a bath, a lot, a plate's silver or a note is.

    Of uses, works, notes and readings of them those until a moment count; of baths and lots all.
    """
    logs = (tables.bath_use, tables.lot_use, tables.material_note, tables.plate_work)
    asked = [
        select(one.c.seq).where(one.c.at_us <= to_us(until)).order_by(one.c.seq.desc()).limit(1)
        for one in logs
    ]
    counted = select(func.count())
    told = tables.reading
    read = counted.where(told.c.what.in_(OF_MATERIALS), told.c.at_us <= to_us(until))
    gone = counted.where(tables.bath.c.discarded_us.is_not(None))
    asked += [counted.select_from(tables.bath), counted.select_from(tables.lot), gone, read]
    with reading(book) as connection:
        found = connection.execute(select(*(one.scalar_subquery() for one in asked))).one()
    return tuple(int(n or 0) for n in found)


def bath_uses(book: Book, first: date, last: date) -> dict[str, tuple[int, float]]:
    """Return the plates and their area that went through each bath on some days. [-, cm2]."""
    use = tables.bath_use
    begin = to_us(datetime(first.year, first.month, first.day, tzinfo=UTC))
    end = to_us(datetime(last.year, last.month, last.day, tzinfo=UTC)) + DAY_US
    sums = select(use.c.bath, func.sum(use.c.plates), func.sum(use.c.area_cm2))
    query = sums.where(use.c.at_us >= begin, use.c.at_us < end).group_by(use.c.bath)
    with reading(book) as connection:
        return {of: (int(count), float(area)) for of, count, area in connection.execute(query)}


def lot_uses(book: Book, first: date, last: date) -> dict[str, float]:
    """Return what was taken from each lot on some days, corrections with it. [unit]."""
    use = tables.lot_use
    begin = to_us(datetime(first.year, first.month, first.day, tzinfo=UTC))
    end = to_us(datetime(last.year, last.month, last.day, tzinfo=UTC)) + DAY_US
    query = select(use.c.lot, func.sum(use.c.amount)).where(use.c.at_us >= begin, use.c.at_us < end)
    with reading(book) as connection:
        return dict(connection.execute(query.group_by(use.c.lot)).all())


def used_until(
    book: Book, groups: Sequence[Sequence[str]], remark: str
) -> list[tuple[dict[str, float], date] | None]:
    """Return what was taken from each group of lots until one of it was last noted with a remark.

    A row that was taken back, `UNDONE`, is none.

    Returns
    -------
    list of (dict, date) or None
        By lot [unit], and the day of that note; None where there is none. One for each group.
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
        else ({lot: sums[lot] for lot in own if lot in sums}, from_us(found[1]).date())
        for own, found in zip(groups, until, strict=True)
    ]


def taken_for(book: Book, bath: Bath) -> list[tuple[str, float, str]]:
    """Return what a bath took when it was noted: names of lots, amounts and their units."""
    lot, use = tables.lot, tables.lot_use
    query = select(lot.c.name, use.c.amount, lot.c.unit).join_from(use, lot, use.c.lot == lot.c.id)
    own = (use.c.remark == MIXED.format(bath=bath.name), use.c.at_us == to_us(bath.mixed_at))
    with reading(book) as connection:
        found = connection.execute(query.where(*own).order_by(use.c.seq))
        return [(name, float(amount), unit) for name, amount, unit in found]


def last_use(book: Book, lot: str) -> tuple[float, datetime, str] | None:
    """Return what was taken from a lot last, when, and the remark; None for an untouched one."""
    use = tables.lot_use
    query = select(use.c.amount, use.c.at_us, use.c.remark).where(use.c.lot == lot)
    with reading(book) as connection:
        row = connection.execute(query.order_by(use.c.seq.desc()).limit(1)).first()
    return None if row is None else (float(row[0]), from_us(row[1]), row[2])


def add_lots(book: Book, new: Sequence[Lot], notes: Sequence[MaterialNote] = ()) -> None:
    """Put lots of stock into the book with what is noted of them, all or none.

    Raises
    ------
    BadInput
        If an id is taken or an amount is out of range.
    """
    rows = [_lot_row(lot) for lot in new]
    now = to_us(datetime.now(UTC))
    with writing(book) as connection:
        for lot, row in zip(new, rows, strict=True):
            _free(connection, tables.lot, lot.id, f"lot {lot.name[:40]}")
            connection.execute(insert(tables.lot).values(**row))
        begun = [
            {"lot": lot.id, "amount": float(lot.used), "at_us": now, "who": "", "remark": BEFORE}
            for lot in new
            if lot.used
        ]
        add_rows(connection, tables.lot_use, begun)
        put_notes(connection, notes)


def check_lot(lot: Lot) -> None:
    """Refuse a lot that the book would not take.

    Raises
    ------
    BadInput
        If an amount is out of range, or a text too long or not to be shown.
    """
    _lot_row(lot)


def _lot_row(lot: Lot) -> dict[str, Any]:
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
        _need(connection, table, lot)
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


def _bath_use(bath: str, plates: int, area_cm2: float, by: str, at: datetime) -> dict[str, Any]:
    check_range("bath {bath} plates".format(bath=bath), plates, -MOST, MOST, "plates")
    check_range("bath {bath} area".format(bath=bath), area_cm2, -MOST, MOST, "cm2")
    return {
        "bath": bath,
        "plates": int(plates),
        "area_cm2": float(area_cm2),
        "at_us": to_us(at),
        "who": clean_text("by", by, 200),
    }


def _free(connection: Connection, table: Table, key: str, where: str) -> None:
    if connection.execute(select(table.c.id).where(table.c.id == key)).first() is not None:
        raise BadInput(where, "its id is in the book already", "make a new one")


def _need(connection: Connection, table: Table, key: str) -> None:
    if connection.execute(select(table.c.id).where(table.c.id == key)).first() is None:
        raise BadInput(table.name, "{key!r} is not in the book", "name one that is", key=key)
