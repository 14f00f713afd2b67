"""Put the clear rows of a table of plates into the book: all of them or none, and no row twice."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.makings import put_makings
from argentry.book.plates import put_plates
from argentry.exchange.plates.cells import TableProblem

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from typing import Any

    from sqlalchemy import Connection

    from argentry.book.engine import Book
    from argentry.exchange.plates.table import PlateRow, PlateTable
    from argentry.records.plate import Plate

BY = "imported"
AT_ONCE = 500  # rows between two words of progress


@dataclass(frozen=True)
class Compared:
    """A table beside what the book holds.

    Attributes
    ----------
    fresh : tuple of PlateRow
        Rows the book has not.
    known : int
        Rows that were imported before, unchanged.
    problems : tuple of TableProblem
        Rows whose plate is in the book with other values.
    """

    fresh: tuple[PlateRow, ...]
    known: int
    problems: tuple[TableProblem, ...]


def compare(book: Book, table: PlateTable) -> Compared:
    """Return which rows of a table are new to the book.

    A row is known again by all that it says, so that the same file, or a longer one that begins
    with the same rows, may be imported any number of times. Grades given later in the book stay.
    """
    with reading(book) as connection:
        return _compare(connection, table)


def import_plates(
    book: Book,
    table: PlateTable,
    *,
    at: datetime,
    progress: Callable[[int, int], None] | None = None,
) -> Compared:
    """Put the clear rows of a table into the book that it has not yet; all of them or none.

    Parameters
    ----------
    book : Book
        The book.
    table : PlateTable
        Its rows with a problem stay out.
    at : datetime
        Now, UTC: when the judgements of the table came into the book.
    progress : callable, optional
        Told rows stored and rows in all.

    Returns
    -------
    Compared
        What was new, what was known, and the rows whose plate the book holds with other values:
        they stay out too.

    Raises
    ------
    ArgentryError
        If the book cannot take it; nothing was stored.
    """
    with writing(book) as connection:
        found = _compare(connection, table)
        put_plates(connection, [_plate_row(row.plate) for row in found.fresh])
        for start in range(0, len(found.fresh), AT_ONCE):
            part = found.fresh[start : start + AT_ONCE]
            put_makings(connection, [row.making for row in part], by=BY, at=at)
            if progress:
                progress(start + len(part), len(found.fresh))
    return found


def _compare(connection: Connection, table: PlateTable) -> Compared:
    made = tables.making
    ids = set(connection.execute(select(made.c.id)).scalars())
    places = {
        tuple(row) for row in connection.execute(select(made.c.plate, made.c.session, made.c.place))
    }
    there = {row["label"]: dict(row) for row in connection.execute(select(tables.plate)).mappings()}
    fresh, problems = [], []
    for row in table.rows:
        if row.making.id in ids:
            continue
        have = there.get(row.plate.label)
        # another making of a plate that came with an earlier copy of this table is welcome
        place = (row.making.plate, row.making.session, row.making.order)
        if have is not None and (have != _plate_row(row.plate) or place in places):
            problems.append(
                TableProblem(
                    row.row,
                    table.fields["plate"],
                    "plate {plate!r} is in the book already with other values".format(
                        plate=row.plate.label
                    ),
                    "take the row out, or give the plate a number of its own",
                )
            )
        else:
            fresh.append(row)
    known = len(table.rows) - len(fresh) - len(problems)
    return Compared(tuple(fresh), known, tuple(problems))


def _plate_row(plate: Plate) -> dict[str, Any]:
    made_on = None if plate.made_on is None else plate.made_on.isoformat()
    return {**asdict(plate), "made_on": made_on}
