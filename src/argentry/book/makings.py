"""Makings: one passage of one plate through one run, or one row of an old notebook."""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import UTC, date, datetime, tzinfo
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, func, insert, literal, select, union_all

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.judgements import (
    NOTHING,
    Judgement,
    checked,
    difference,
    history,
    judge,
    judgement_of,
    judgements,
    word,
)
from argentry.book.rows import add_rows, those_there
from argentry.book.times import clean_text, day_begins, to_json, to_us
from argentry.errors import BadInput
from argentry.records.plate import MAKING_STATES, WITHDRAWN, Making, Said
from argentry.records.run import GivenUp

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection, Select

    from argentry.book.engine import Book


def add_making(book: Book, making: Making, *, by: str = "", at: datetime | None = None) -> bool:
    """Put a making into the book, with the grade, verdict, stages and defects it has already.

    Those of the bench come into the book by themselves, with the first step begun.

    Parameters
    ----------
    book : Book
        The book.
    making : Making
        The making.
    by : str
        Who judged it.
    at : datetime, optional
        When, UTC; now when left out.

    Returns
    -------
    bool
        False when its id is there already (nothing is changed then).

    Raises
    ------
    BadInput
        If its plate is not in the book, a word of it is not known, or the book has one of that
        plate and run.
    """
    return add_makings(book, [making], by=by, at=at) == 1


def add_makings(
    book: Book, new: Sequence[Making], *, by: str = "", at: datetime | None = None
) -> int:
    """Put makings into the book, all or none, and return how many were not there already."""
    with writing(book) as connection:
        return put_makings(connection, new, by=by, at=at or datetime.now(UTC))


def put_makings(connection: Connection, new: Sequence[Making], *, by: str, at: datetime) -> int:
    """Insert makings within a writing transaction; ids that are there are passed over."""
    there = those_there(connection, tables.making, [item.id for item in new])
    plates = those_there(connection, tables.plate, [item.plate for item in new])
    stamp = {"at_us": to_us(at), "who": clean_text("by", by, 200)}
    rows: list[dict[str, Any]] = []
    judged: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for item in new:
        if item.id in there:
            continue
        if item.plate not in plates:
            raise BadInput(
                "making {id}".format(id=item.id), "its plate is not in the book", "add it first"
            )
        there.add(item.id)
        rows.append(_row(item))
        for name, said in difference(NOTHING, checked(judgement_of(item))).items():
            judged[name] += [{"making": item.id, **one, **stamp} for one in said]
    if rows:
        _no_other(connection, rows)
        connection.execute(insert(tables.making), rows)
    for name, content in judged.items():
        add_rows(connection, tables.metadata.tables[name], content)
    return len(rows)


def _no_other(connection: Connection, rows: Sequence[Mapping[str, Any]]) -> None:
    """Refuse a second making of one plate and run."""
    table = tables.making
    runs = {row["run"] for row in rows} - {None}
    if not runs:
        return
    query = select(table.c.run, table.c.plate).where(table.c.run.in_(runs))
    seen = {(run, plate) for run, plate in connection.execute(query)}
    for row in rows:
        if row["run"] is not None and (row["run"], row["plate"]) in seen:
            raise BadInput(
                "making {id}".format(id=row["id"]),
                "the book already has a making of this plate and run",
                "give it no run",
            )
        seen.add((row["run"], row["plate"]))


def rejudge(book: Book, making: str, now: Judgement, by: str, at: datetime | None = None) -> None:
    """Say again how a making without a run is judged; what was said before stays in the book.

    A making of the bench is judged by an event of its run: see `argentry.keeping.plates.grades`.

    Raises
    ------
    BadInput
        If there is no such making, or a word is not known.
    """
    checked(now)
    stamp = {"at_us": to_us(at or datetime.now(UTC)), "who": clean_text("by", by, 200)}
    with writing(book) as connection:
        if making not in those_there(connection, tables.making, [making]):
            raise BadInput(
                "making", "{making!r} is not in the book", "name one that is", making=making
            )
        was = judgements(connection, [making]).get(making, NOTHING)
        judge(connection, making, was, now, stamp)


def last_begun(book: Book, *plates: str, zone: tzinfo) -> dict[str, datetime]:
    """Return when the newest making of each plate that has one was begun; or of some plates.

    One without a run began as its day did by the studio's zone.
    """
    from argentry.book.from_runs import begun_at

    own = tables.making.c
    query = select(own.plate, own.day, own.id, own.run).where(own.state != WITHDRAWN)
    if plates:
        query = query.where(own.plate.in_(plates))
    last: dict[str, tuple[str, str, str | None]] = {}
    with reading(book) as connection:
        for plate, day, key, run in connection.execute(query):
            last[plate] = max(last.get(plate, ("", "", None)), (day, key, run))
    return {
        plate: day_begins(date.fromisoformat(day), zone) if run is None else begun_at(day, key, run)
        for plate, (day, key, run) in last.items()
    }


def makings(
    book: Book,
    plate: str | None = None,
    *,
    newest: int | None = None,
    days: tuple[date, date] | None = None,
) -> list[Making]:
    """Return makings by day, session and place in it; those withdrawn are none.

    Parameters
    ----------
    book : Book
        The book.
    plate : str, optional
        Id of a plate: only its own.
    newest : int, optional
        Only so many, the newest: what else the book holds is not read.
    days : tuple of (date, date), optional
        Only those of the days from one to the other: no more is read either.

    Returns
    -------
    list of Making
        The oldest first.
    """
    query = _newest_first(of_plate=plate is not None, some=newest is not None)
    if days is not None:
        first, last = (day.isoformat() for day in days)
        query = query.where(tables.making.c.day.between(first, last))
    with reading(book) as connection:
        rows = connection.execute(query, {"plate": plate, "newest": newest}).all()[::-1]
        some = plate is not None or newest is not None or days is not None
        said = judgements(connection, [row.id for row in rows] if some else None)
    return [_making(row, said.get(row.id, NOTHING)) for row in rows]


@cache
def _newest_first(*, of_plate: bool, some: bool) -> Select[Any]:
    table = tables.making
    order = [c.desc() for c in (table.c.day, table.c.session, table.c.place, table.c.id)]
    query = select(table).where(table.c.state != WITHDRAWN).order_by(*order)
    if of_plate:
        query = query.where(table.c.plate == bindparam("plate"))
    return query.limit(bindparam("newest")) if some else query


def days_made(book: Book) -> list[date]:
    """Return the day of every making."""
    table = tables.making
    with reading(book) as connection:
        days = connection.execute(select(table.c.day).where(table.c.state != WITHDRAWN)).scalars()
        return [date.fromisoformat(day) for day in days]


def first_made(book: Book, first: date, last: date) -> dict[str, date]:
    """Return the plates whose first making lies within some days, and its day."""
    table = tables.making
    day = func.min(table.c.day)
    query = select(table.c.plate, day).where(table.c.state != WITHDRAWN).group_by(table.c.plate)
    within = day.between(first.isoformat(), last.isoformat())
    with reading(book) as connection:
        found = connection.execute(query.having(within))
        return {plate: date.fromisoformat(begun) for plate, begun in found}


def making(book: Book, key: str) -> Making | None:
    """Return the making with that id; None when there is none, or it was withdrawn."""
    table = tables.making
    with reading(book) as connection:
        row = connection.execute(select(table).where(table.c.id == key)).first()
        if row is None or row.state == WITHDRAWN:
            return None
        return _making(row, judgements(connection, [key]).get(key, NOTHING))


def all_said(book: Book, key: str) -> tuple[Said, ...]:
    """Return all that was ever said of a making, the old grades too, in order of time."""
    with reading(book) as connection:
        return history(connection, key)


def what_teaches(book: Book) -> tuple[int, ...]:
    """Return numbers that are others whenever something was put down or judged in the book."""
    with reading(book) as connection:
        return tuple(int(n or 0) for n in connection.execute(_last_places()).one())


@cache
def _last_places() -> Select[Any]:
    seqs = (
        t.c.seq for t in (tables.event, tables.grade, tables.verdict, tables.stage, tables.defect)
    )
    counted = select(func.count()).select_from(tables.making).scalar_subquery()
    read = tables.judgement
    wedges = select(func.max(read.c.seq)).where(read.c.kind == "wedge").scalar_subquery()
    made = tables.making
    back = select(func.count()).where(made.c.state == WITHDRAWN).scalar_subquery()
    return select(*(select(func.max(seq)).scalar_subquery() for seq in seqs), counted, back, wedges)


def newest_sessions(book: Book, newest: int) -> list[str]:
    """Return the sessions of the makings made last, one for each making."""
    table = tables.making
    last = [c.desc() for c in (table.c.day, table.c.session, table.c.place, table.c.id)]
    query = select(table.c.session).where(table.c.state != WITHDRAWN).order_by(*last).limit(newest)
    with reading(book) as connection:
        return list(connection.execute(query).scalars())


def count_between(book: Book, first: date, last: date) -> int:
    """Return how many makings fall on some days."""
    return counts_between(book, [(first, last)])[0]


def counts_between(book: Book, spans: Sequence[tuple[date, date]]) -> list[int]:
    """Return how many makings fall on each span of days, first and last included."""
    table = tables.making
    asked = [
        select(literal(number), func.count())
        .select_from(table)
        .where(table.c.day.between(first.isoformat(), last.isoformat()), table.c.state != WITHDRAWN)
        for number, (first, last) in enumerate(spans)
    ]
    if not asked:
        return []
    with reading(book) as connection:
        found = dict(connection.execute(union_all(*asked)).all())
    return [int(found[number]) for number in range(len(asked))]


def last_place(book: Book, session: str) -> int:
    """Return the last place taken in a session, 0 while it has none."""
    table = tables.making
    query = select(func.max(table.c.place)).where(table.c.session == session)
    with reading(book) as connection:
        return int(connection.execute(query).scalar() or 0)


def _making(row: Any, said: Judgement) -> Making:
    up = json.loads(row.given_up)
    return Making(
        id=row.id,
        plate=row.plate,
        run=row.run,
        session=row.session,
        order=row.place,
        day=date.fromisoformat(row.day),
        commissioned=bool(row.commissioned),
        conditions=json.loads(row.conditions),
        stages=said.stages,
        verdict=said.verdict,
        grade=said.grade,
        defects=said.defects,
        remark=row.remark,
        state=row.state,
        given_up=GivenUp(**up) if up else None,
    )


def _row(item: Making) -> dict[str, Any]:
    where = f"making {item.id}"
    return {
        "id": clean_text(where, item.id, 100),
        "plate": item.plate,
        "run": clean_text(f"{where} run", item.run, 100),
        "session": clean_text(f"{where} session", item.session, 200),
        "place": item.order,
        "day": item.day.isoformat(),
        "commissioned": int(item.commissioned),
        "conditions": to_json(f"{where} conditions", item.conditions),
        "remark": clean_text(f"{where} remark", item.remark),
        "state": word(where, item.state, MAKING_STATES),
        "given_up": to_json(where, vars(item.given_up) if item.given_up else {}),
    }
