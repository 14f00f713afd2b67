"""Plates and the work done on them."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import and_, bindparam, func, insert, or_, select, update

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.makings import (
    add_making,
    add_makings,
    makings,
)
from argentry.book.rows import AT_ONCE, add_rows, next_seq
from argentry.book.times import clean_text, from_us, to_us
from argentry.errors import BadInput, check_range
from argentry.records.ids import new_id
from argentry.records.plate import WITHDRAWN, Plate
from argentry.records.plate_record import RENAMED, WORKS, PlateWork

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import datetime, tzinfo

    from sqlalchemy import ColumnElement, Connection, Select

    from argentry.book.engine import Book

__all__ = [
    "add_making",
    "add_makings",
    "add_plate",
    "add_plates",
    "add_work",
    "makings",
    "names_and_sizes",
    "plate_by_label",
    "plates",
    "rename",
    "works",
]


DIGITS = "0123456789"  # numbers at the end of a label count as numbers
TAKEN_BACK = "{label} (import taken back {key})"  # of a plate whose label another one has now


def add_plate(book: Book, plate: Plate) -> bool:
    """Put a plate into the book.

    Returns
    -------
    bool
        False when the very same plate is there already.

    Raises
    ------
    BadInput
        If its id or label is taken by another plate, or a value is out of range.
    """
    return add_plates(book, [plate]) == 1


def add_plates(book: Book, new: Sequence[Plate]) -> int:
    """Put plates into the book, all or none, and return how many were not there already."""
    rows = [_row(plate) for plate in new]
    with writing(book) as connection:
        return put_plates(connection, rows)


def put_plates(connection: Connection, rows: Sequence[Mapping[str, Any]]) -> int:
    """Insert plate rows within a writing transaction; equal ones that are there are passed over."""
    table = tables.plate
    _free_labels(connection, rows)
    there: dict[str, dict[str, Any]] = {}
    for start in range(0, len(rows), AT_ONCE):
        part = rows[start : start + AT_ONCE]
        same = table.c.id.in_([row["id"] for row in part]) | table.c.label.in_(
            [row["label"] for row in part]
        )
        found = connection.execute(select(table).where(same)).mappings()
        there |= {one["id"]: {**one} for one in found}
    labels = {row["label"]: key for key, row in there.items()}
    fresh = []
    for row in rows:
        old = there.get(row["id"])
        if old is not None and all(old[name] == value for name, value in row.items()):
            continue
        if row["id"] in there or row["label"] in labels:
            raise BadInput(
                "plate {label}".format(label=row["label"]),
                "this label or id is in the book for another plate",
                "give the plate its own label",
            )
        there[row["id"]], labels[row["label"]] = dict(row), row["id"]
        fresh.append(dict(row))
    if fresh:
        connection.execute(insert(table), fresh)
    return len(fresh)


def _free_labels(connection: Connection, rows: Sequence[Mapping[str, Any]]) -> None:
    """Let plates have the labels of those that only an import brought which was taken back."""
    table = tables.plate
    ghosts = connection.execute(select(table.c.label, table.c.id).where(~stands())).all()
    wanted = {row["label"]: row["id"] for row in rows} if ghosts else {}
    for label, key in ghosts:
        if wanted.get(label, key) != key:
            gone = TAKEN_BACK.format(label=label, key=key[-6:])
            connection.execute(update(table).where(table.c.id == key).values(label=gone))


def plates(book: Book, ids: Collection[str] | None = None) -> list[Plate]:
    """Return all plates by label, or those with some ids.

    A plate polished back since counts one more time each.
    """
    with reading(book) as connection:
        if ids is None:
            return _plates(connection)
        wanted, found = sorted(ids), []
        for start in range(0, len(wanted), AT_ONCE):
            found += _plates(connection, "id", wanted[start : start + AT_ONCE])
    return sorted(found, key=lambda plate: label_order(plate.label))


def label_order(label: str) -> tuple[str, int, str]:
    """Return by what labels are put in order: V2 comes before V10."""
    return label.rstrip(DIGITS), len(label), label


@cache
def by_label() -> tuple[ColumnElement[Any], ...]:
    """Return the same for a question to the book."""
    label = tables.plate.c.label
    return func.rtrim(label, DIGITS), func.length(label), label


@cache
def stands() -> ColumnElement[bool]:
    """Return the condition on a plate that it is one: not only of an import that was taken back."""
    plate, made = tables.plate, tables.making
    back = select(made.c.plate).where(made.c.state == WITHDRAWN, made.c.run.is_(None))
    others = [
        select(one.c.plate).where(one.c.plate == plate.c.id)
        for one in (made, tables.plate_work, tables.photograph)
    ]
    others[0] = others[0].where(made.c.state != WITHDRAWN)
    return or_(plate.c.id.not_in(back), *(one.exists() for one in others))


def names_and_sizes(book: Book) -> list[tuple[str, str, str]]:
    """Return (id, label, size) of all plates by label: quick also for very many."""
    table = tables.plate
    query = select(table.c.id, table.c.label, table.c.size).where(stands()).order_by(*by_label())
    with reading(book) as connection:
        return [(row[0], row[1], row[2]) for row in connection.execute(query)]


def thinnest(book: Book, each_um: float, least_um: float) -> set[str]:
    """Return the ids of plates of which one more repolish might leave less than so much silver.

    Parameters
    ----------
    book : Book
        The book.
    each_um : float
        The most that one repolish takes. [µm]
    least_um : float
        [µm]
    """
    table, work = tables.plate, tables.plate_work
    backs = (
        select(func.count())
        .where(work.c.plate == table.c.id, work.c.kind == "polished_back")
        .scalar_subquery()
    )
    left = table.c.silver_um - (table.c.times_repolished + 1) * each_um
    with reading(book) as connection:
        # counted for each plate only where any was polished back: most never were
        some = table.c.id.in_(select(work.c.plate).where(work.c.kind == "polished_back"))
        thin = or_(left < least_um, and_(some, left - backs * each_um < least_um))
        query = select(table.c.id).where(thin)
        return set(connection.execute(query).scalars())


def plate_by_label(book: Book, label: str) -> Plate | None:
    """Return the plate of a label, or None."""
    with reading(book) as connection:
        found = _plates(connection, "label", [label])
    return found[0] if found else None


def add_work(book: Book, work: PlateWork) -> bool:
    """Add a piece of work to a plate's history; False when it is there already.

    Raises
    ------
    BadInput
        If there is no such plate or kind of work, or the id is taken.
    """
    table = tables.plate_work
    if work.kind not in WORKS:
        raise BadInput(
            "work",
            "{kind!r} is not a kind of work on a plate",
            "one of {works}",
            kind=work.kind,
            works=", ".join(WORKS),
        )
    row = {
        "id": clean_text("work id", work.id, 36),
        "plate": work.plate,
        "kind": work.kind,
        "at_us": to_us(work.at, "work"),
        "who": clean_text("who", work.who, 200),
        "remark": clean_text("remark", work.remark),
    }
    with writing(book) as connection:
        need_plate(connection, work.plate)
        found = connection.execute(select(table).where(table.c.id == work.id)).mappings().first()
        if found is not None:
            if {key: found[key] for key in row} != row:
                raise BadInput("work", "its id is taken by another", "make a new id")
            return False
        connection.execute(insert(table).values(seq=next_seq(connection, table), **row))
    return True


def rename(book: Book, plate: str, label: str, by: str, at: datetime) -> None:
    """Give a plate another label, and note it among the work done on it.

    Raises
    ------
    BadInput
        If there is no such plate, or the label is empty or another's.
    """
    table, work = tables.plate, tables.plate_work
    new = clean_text("plate", label, 100)
    if not new or not new.strip():
        raise BadInput("plate", "it has no label", "give what is scratched on its back")
    with writing(book) as connection:
        need_plate(connection, plate)
        if connection.execute(select(table.c.id).where(table.c.label == new)).first() is not None:
            raise BadInput(
                "plate {new}".format(new=new), "this label is in the book", "give it its own label"
            )
        old = connection.execute(select(table.c.label).where(table.c.id == plate)).scalar_one()
        connection.execute(update(table).where(table.c.id == plate).values(label=new))
        row = {"id": new_id(), "plate": plate, "kind": RENAMED, "at_us": to_us(at)}
        more = {"who": clean_text("who", by, 200), "remark": f"{old} → {new}"}
        add_rows(connection, work, [row | more])


def works(book: Book, *plates: str) -> list[PlateWork]:
    """Return the work done on some plates, or on all, in order of time."""
    with reading(book) as connection:
        return [
            PlateWork(row.id, row.plate, row.kind, from_us(row.at_us), row.who, row.remark)
            for row in connection.execute(_works(some=bool(plates)), {"plates": plates})
        ]


def days_polished_back(book: Book, plates: Sequence[str], zone: tzinfo) -> dict[str, list[date]]:
    """Return by id of a plate the days, by a zone's clock, on which it was polished back."""
    found: dict[str, list[date]] = {}
    for start in range(0, len(plates), AT_ONCE):
        for work in works(book, *plates[start : start + AT_ONCE]):
            if work.kind == "polished_back":
                found.setdefault(work.plate, []).append(work.at.astimezone(zone).date())
    return found


@cache
def _works(*, some: bool) -> Select[Any]:
    table = tables.plate_work
    query = select(table).order_by(table.c.at_us, table.c.seq)
    return query.where(table.c.plate.in_(bindparam("plates", expanding=True))) if some else query


def need_plate(connection: Connection, plate: str) -> None:
    """Refuse a plate the book does not hold."""
    table = tables.plate
    if connection.execute(select(table.c.id).where(table.c.id == plate)).first() is None:
        raise BadInput("plate", "{plate!r} is not in the book", "add the plate first", plate=plate)


@cache
def _of_plates(by: str | None) -> tuple[Select[Any], Select[Any]]:
    """Return the questions for plates and for how often they were polished back since."""
    table, work = tables.plate, tables.plate_work
    counted = select(work.c.plate, func.count()).where(work.c.kind == "polished_back")
    query = select(table).order_by(*by_label())
    if by is not None:
        which = table.c[by].in_(bindparam("values", expanding=True))
        counted = counted.where(work.c.plate.in_(select(table.c.id).where(which)))
        query = query.where(which)
    if by != "id":  # nobody asks for one of a taken-back import by its label
        query = query.where(stands())
    return query, counted.group_by(work.c.plate)


def _plates(
    connection: Connection, by: str | None = None, values: Sequence[str] = ()
) -> list[Plate]:
    """Return all plates by label, or those with some values in one column."""
    query, counted = _of_plates(by)
    again: dict[str, int] = dict(connection.execute(counted, {"values": values}).all())
    return [
        Plate(
            id=row.id,
            label=row.label,
            size=row.size,
            made_on=None if row.made_on is None else date.fromisoformat(row.made_on),
            silver_um=row.silver_um,
            silver_source=row.silver_source,
            times_repolished=row.times_repolished + again.get(row.id, 0),
            remark=row.remark,
        )
        for row in connection.execute(query, {"values": values})
    ]


def _row(plate: Plate) -> dict[str, Any]:
    where = f"plate {plate.label[:40]}"
    if not plate.label.strip() or not plate.id:
        raise BadInput(where, "it has no label", "give what is scratched on its back")
    if plate.silver_um is not None:
        check_range(f"{where} silver", plate.silver_um, 0.0, 5000.0, "µm", open_low=True)
    check_range("{where} times repolished".format(where=where), plate.times_repolished, 0, 1000, "")
    return {
        "id": clean_text(f"{where} id", plate.id, 100),
        "label": clean_text(where, plate.label, 100),
        "size": clean_text(f"{where} size", plate.size, 100),
        "made_on": None if plate.made_on is None else plate.made_on.isoformat(),
        "silver_um": None if plate.silver_um is None else float(plate.silver_um),
        "silver_source": clean_text(f"{where} source", plate.silver_source, 200),
        "times_repolished": int(plate.times_repolished),
        "remark": clean_text(f"{where} remark", plate.remark),
    }
