"""Put the clear rows of a table of plates into the book: all of them or none, and no row twice."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import select, update

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.judgements import NOTHING, judge, judgements
from argentry.book.makings import put_makings
from argentry.book.plates import put_plates
from argentry.book.rows import those_there
from argentry.book.times import to_us
from argentry.exchange.plates.cells import TableProblem
from argentry.records.plate import IMPORTED, WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence
    from datetime import datetime
    from typing import Any

    from sqlalchemy import Connection

    from argentry.book.engine import Book
    from argentry.exchange.plates.table import PlateRow, PlateTable
    from argentry.records.plate import Plate

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
    instead : tuple of str
        Ids of the makings that this table stands for, where it is to stand for what was imported.
    """

    fresh: tuple[PlateRow, ...]
    known: int
    problems: tuple[TableProblem, ...]
    instead: tuple[str, ...] = ()


def compare(
    book: Book, table: PlateTable, *, instead: bool = False, of_list: bool = False
) -> Compared:
    """Return which rows of a table are new to the book.

    A row is known again by all that it says, so that the same file, or a longer one that begins
    with the same rows, may be imported any number of times. Grades given later in the book stay.
    `instead`, `of_list`: see `import_plates`.
    """
    with reading(book) as connection:
        return _compare(connection, table, instead=instead, of_list=of_list)


def import_plates(
    book: Book,
    table: PlateTable,
    *,
    at: datetime,
    instead: bool = False,
    of_list: bool = False,
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
    instead : bool
        True: what was imported of its plates before counts no more, and the table stands for it;
        a grade that was given in the book since goes over to the corrected row.
    of_list : bool
        True: the table is a list to mend, whose plates may have other makings in its notebook.
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
        found = _compare(connection, table, instead=instead, of_list=of_list)
        _set_states(connection, dict.fromkeys(found.instead, WITHDRAWN))
        if instead:
            _correct_plates(connection, [_plate_row(row.plate) for row in found.fresh])
        put_plates(connection, [_plate_row(row.plate) for row in found.fresh])
        states = {row.making.id: row.making.state for row in found.fresh}
        back = those_there(connection, tables.making, [*states])  # they were taken back before
        _set_states(connection, {key: states[key] for key in back})
        for start in range(0, len(found.fresh), AT_ONCE):
            part = found.fresh[start : start + AT_ONCE]
            put_makings(connection, [row.making for row in part], by=IMPORTED, at=at)
            if progress:
                progress(start + len(part), len(found.fresh))
        _take_over(connection, found, at)
    return found


def take_back(book: Book, table: PlateTable) -> int:
    """Take back what a table brought into the book, and return how many makings that were.

    They count for nothing from then on, and a plate without another making is none; the table may
    be imported again.
    """
    with writing(book) as connection:
        there = _live(connection)
        own = [row.making.id for row in table.rows if row.making.id in there]
        _set_states(connection, dict.fromkeys(own, WITHDRAWN))
    return len(own)


def _live(connection: Connection) -> dict[str, Any]:
    """Return the makings that count, by id: plate, session, place, run."""
    made = tables.making
    rows = connection.execute(
        select(made.c.id, made.c.plate, made.c.session, made.c.place, made.c.run).where(
            made.c.state != WITHDRAWN
        )
    )
    return {row.id: row for row in rows}


def _set_states(connection: Connection, states: Mapping[str, str]) -> None:
    """Set the states of makings that are there."""
    made = tables.making
    for key, state in states.items():
        query = update(made).where(made.c.id == key, made.c.state != state)
        connection.execute(query.values(state=state))


def _correct_plates(connection: Connection, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write what a table says of plates over what an earlier one said."""
    plate = tables.plate
    for row in rows:
        connection.execute(update(plate).where(plate.c.id == row["id"]).values(**row))


def _take_over(connection: Connection, found: Compared, at: datetime) -> None:
    """Give the rows that stand for others the grades that were given in the book since."""
    if not found.instead:
        return
    made, grade = tables.making, tables.grade
    since = select(grade.c.making).where(grade.c.making.in_(found.instead), grade.c.who != IMPORTED)
    judged = set(connection.execute(since).scalars())
    query = select(made.c.id, made.c.plate, made.c.place).where(made.c.id.in_(judged))
    for old in connection.execute(query).all():
        own = [row.making for row in found.fresh if row.making.plate == old.plate]
        own = [one for one in own if one.order == old.place] if len(own) > 1 else own
        for new in own[:1]:
            said = judgements(connection, [old.id, new.id])
            stamp = {"at_us": to_us(at), "who": IMPORTED}
            judge(connection, new.id, said.get(new.id, NOTHING), said[old.id], stamp)


def _compare(
    connection: Connection, table: PlateTable, *, instead: bool, of_list: bool
) -> Compared:
    live = _live(connection)
    plate = select(*(column for column in tables.plate.c if column.name != "sum"))
    there = {row["label"]: dict(row) for row in connection.execute(plate).mappings()}
    rows = table.rows
    if instead or of_list:
        imported = {row.plate for row in live.values() if row.run is None}
        rows = tuple(_of_the_book(row, there, imported) for row in rows)
    gone: set[str] = set()
    if instead:
        own = {row.making.plate for row in rows}
        said = {row.making.id for row in rows}
        gone = {
            row.id
            for row in live.values()
            if row.run is None and row.plate in own and row.id not in said
        }
    places = {(row.plate, row.session, row.place) for row in live.values() if row.id not in gone}
    fresh, problems = [], []
    for row in rows:
        if row.making.id in live:
            continue
        have = there.get(row.plate.label)
        # another making of a plate that came with an earlier copy of this table is welcome
        place = (row.making.plate, row.making.session, row.making.order)
        same = _plate_row(row.plate)
        other = have is not None and (have["id"] != same["id"] if instead else have != same)
        if other or place in places:
            problems.append(
                TableProblem(
                    row.row,
                    table.fields["plate"],
                    "plate {plate!r} is in the book already with other values".format(
                        plate=row.plate.label
                    ),
                    "take the row out, give the plate a number of its own, or let this table "
                    "stand for what was imported before",
                )
            )
        else:
            fresh.append(row)
    known = len(rows) - len(fresh) - len(problems)
    return Compared(tuple(fresh), known, tuple(problems), tuple(sorted(gone)))


def _of_the_book(
    row: PlateRow, there: Mapping[str, Mapping[str, Any]], imported: Collection[str]
) -> PlateRow:
    """Return a row with its plate as the book has it, where an import brought that.

    The id of a plate follows from the day of its first row, which may be corrected, or stand in
    another table than this list.
    """
    have = there.get(row.plate.label)
    if have is None or have["id"] not in imported:
        return row
    key = have["id"]
    return replace(row, plate=replace(row.plate, id=key), making=replace(row.making, plate=key))


def _plate_row(plate: Plate) -> dict[str, Any]:
    made_on = None if plate.made_on is None else plate.made_on.isoformat()
    return {**asdict(plate), "made_on": made_on}
