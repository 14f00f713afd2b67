"""Baths: what was mixed, and what has gone through it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, update

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.materials.from_runs import MIXED, lacking_for_bath, take_for_bath
from argentry.book.materials.notes import put_notes
from argentry.book.materials.through_baths import CLEARING
from argentry.book.rows import add_rows, free_id, known_id
from argentry.book.times import clean_text, days_us, from_us, to_us
from argentry.errors import BadInput, check_range
from argentry.records.material import BATH, BY_HAND, KIND, Bath, MaterialNote

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import tzinfo

    from sqlalchemy import ColumnElement

    from argentry.book.engine import Book

WEIGHT = "plate_g"
OF_MATERIALS = (CLEARING, WEIGHT)  # readings that decide how long a bath or a plate lasts
MOST = 1e9  # of any unit: beyond this a number was mistyped


def add_bath(
    book: Book,
    bath: Bath,
    kind: str = "",
    takes: tuple[str, float] | None = None,
    zone: tzinfo = UTC,
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
    zone : tzinfo
        The studio's: lots are opened on a day of it.

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
        free_id(connection, tables.bath, bath.id, where)
        connection.execute(insert(tables.bath).values(**row))
        if bath.plates_through or bath.area_cm2_through:
            use = _bath_use(bath.id, bath.plates_through, bath.area_cm2_through, "", bath.mixed_at)
            add_rows(connection, tables.bath_use, [use])
        if kind:
            note = MaterialNote(BATH, bath.id, KIND, kind, bath.mixed_at)
            put_notes(connection, [note])
        if takes:
            day = bath.mixed_at.astimezone(zone).date()
            take_for_bath(connection, bath.name, *takes, bath.volume_ml, bath.mixed_at, day)


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
        known_id(connection, tables.bath, bath)
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
        known_id(connection, table, bath)
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
            area_cm2_through=max(float(through.get(row.id, (0, 0.0))[1]), 0.0),  # sums of digits
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


def bath_uses(
    book: Book, first: date, last: date, zone: tzinfo = UTC
) -> dict[str, tuple[int, float]]:
    """Return plates and area that went through each bath on some days of a zone. [-, cm2]."""
    at = tables.bath_use.c.at_us
    begin, end = days_us(first, last, zone)
    return _through(book, at >= begin, at < end)


def area_through(book: Book, since: datetime | None) -> dict[str, float]:
    """Return the area that went through each bath since a moment; None: ever. [cm2]."""
    when = () if since is None else (tables.bath_use.c.at_us > to_us(since),)
    return {of: area for of, (_, area) in _through(book, *when).items()}


def _through(book: Book, *when: ColumnElement[bool]) -> dict[str, tuple[int, float]]:
    """Return plates and area that went through each bath at such times. [-, cm2]."""
    use = tables.bath_use
    sums = select(use.c.bath, func.sum(use.c.plates), func.sum(use.c.area_cm2))
    with reading(book) as connection:
        found = connection.execute(sums.where(*when).group_by(use.c.bath))
        return {of: (int(count), float(area)) for of, count, area in found}


def taken_for(book: Book, bath: Bath) -> list[tuple[str, float, str]]:
    """Return what a bath took when it was noted: names of lots, amounts and their units."""
    lot, use = tables.lot, tables.lot_use
    query = select(lot.c.name, use.c.amount, lot.c.unit).join_from(use, lot, use.c.lot == lot.c.id)
    own = (use.c.remark == MIXED.format(bath=bath.name), use.c.at_us == to_us(bath.mixed_at))
    with reading(book) as connection:
        found = connection.execute(query.where(*own).order_by(use.c.seq))
        return [(name, float(amount), unit) for name, amount, unit in found]


def lacking_for(
    book: Book, bath: Bath, takes: tuple[str, float], zone: tzinfo = UTC
) -> tuple[str, float, str] | None:
    """Return what no opened lot held for a bath when it was noted: a lot's name, amount, unit."""
    lot, day = tables.lot, bath.mixed_at.astimezone(zone).date()
    with reading(book) as connection:
        found = lacking_for_bath(connection, bath.name, *takes, bath.volume_ml, bath.mixed_at, day)
        if found is None:
            return None
        of = connection.execute(select(lot.c.name, lot.c.unit).where(lot.c.id == found[0])).one()
        return of.name, found[1], of.unit


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
