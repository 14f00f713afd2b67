"""Some plates with their last making, for a page: no more rows are read than are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select

from argentry.book.engine import reading
from argentry.book.plates import by_label, stands
from argentry.book.tables import defect, grade, making, plate
from argentry.records.plate import WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection, Select

    from argentry.book.engine import Book


@dataclass(frozen=True)
class PlateLine:
    """One plate as a list shows it.

    Attributes
    ----------
    label, size : str
        Of the plate.
    making, day, grade : str or None
        Its last making: id, day (ISO 8601) and grade.
    defects : tuple of str
        Defect keys of that making.
    state : str or None
        Of that making: ``"going"``, ``"finished"`` or ``"given_up"``.
    """

    label: str
    size: str
    making: str | None = None
    day: str | None = None
    grade: str | None = None
    defects: tuple[str, ...] = ()
    state: str | None = None


def last_made(book: Book, limit: int) -> list[PlateLine]:
    """Return the makings made last with their plates, the last first."""
    order = (making.c.day.desc(), making.c.session.desc(), making.c.place.desc())
    return _made(book, _makings().order_by(*order).limit(limit))


def made_in(book: Book, run: str) -> list[PlateLine]:
    """Return the makings of a run with their plates, in the run's order."""
    return _made(book, _makings().where(making.c.run == run).order_by(making.c.place))


def _makings() -> Select[Any]:
    of_plate = plate.c.id, plate.c.label, plate.c.size
    of_making = making.c.id.label("of"), making.c.day, making.c.state
    return select(*of_plate, *of_making).join_from(making, plate).where(making.c.state != WITHDRAWN)


def _made(book: Book, query: Select[Any]) -> list[PlateLine]:
    with reading(book) as connection:
        rows = connection.execute(query).all()
        last = {row.of: (row.of, row.day, row.state) for row in rows}
        return _lines(connection, rows, last, "of")


def plate_page(book: Book, find: str, start: int, limit: int) -> tuple[list[PlateLine], int]:
    """Return plates by label, and how many there are.

    Parameters
    ----------
    book : Book
        The book.
    find : str
        Part of a label; empty for all.
    start, limit : int
        Rows passed over, and at most so many.
    """
    wanted = plate.c.label.icontains(find, autoescape=True)
    query = select(plate.c.id, plate.c.label, plate.c.size).where(stands())
    total = select(func.count()).select_from(plate).where(stands())
    if find:
        query, total = query.where(wanted), total.where(wanted)
    with reading(book) as connection:
        rows = connection.execute(query.order_by(*by_label()).offset(start).limit(limit)).all()
        last: dict[str, tuple[str, str, str]] = {}
        ids = [row.id for row in rows]
        order = (making.c.day, making.c.session, making.c.place)
        made = select(making.c.plate, making.c.id, making.c.day, making.c.state)
        made = made.where(making.c.state != WITHDRAWN)
        for row in connection.execute(made.where(making.c.plate.in_(ids)).order_by(*order)):
            last[row.plate] = (row.id, row.day, row.state)
        count = connection.execute(total).scalar() or 0
        return _lines(connection, rows, last, "id"), count


def _lines(
    connection: Connection,
    rows: Sequence[Any],
    last: dict[str, tuple[str, str, str]],
    key: str,
) -> list[PlateLine]:
    ids = [of for of, *_ in last.values()]
    said = select(grade.c.making, grade.c.grade).where(grade.c.making.in_(ids))
    # the last row of a making comes last and stays
    grades = {row.making: row.grade for row in connection.execute(said.order_by(grade.c.seq))}
    defects: dict[str, dict[tuple[str, str], None]] = {}
    seen = select(defect).where(defect.c.making.in_(ids)).order_by(defect.c.seq)
    for row in connection.execute(seen):
        have = defects.setdefault(row.making, {})
        if row.withdrawn:
            have.pop((row.defect, row.step), None)
        else:
            have[row.defect, row.step] = None
    found = []
    for row in rows:
        of, day, state = last.get(getattr(row, key), (None, None, None))
        names = dict.fromkeys(name for name, _ in defects.get(of or "", {}))
        told = grades.get(of or ""), tuple(names)
        found.append(PlateLine(row.label, row.size, of, day, *told, state))
    return found


def labels_of(book: Book, ids: Sequence[str]) -> dict[str, str]:
    """Return the labels of plates by their ids."""
    query = select(plate.c.id, plate.c.label).where(plate.c.id.in_(ids))
    with reading(book) as connection:
        return {row.id: row.label for row in connection.execute(query)}
