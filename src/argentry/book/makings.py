"""How plates came out: grades, verdicts, stages, defects; said again rather than changed."""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.log import AT_ONCE
from argentry.book.times import clean_text, to_json, to_us
from argentry.errors import BadInput
from argentry.records.plate import GRADES, STAGES, VERDICTS, Making

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from sqlalchemy import Connection, Select, Table

    from argentry.book.engine import Book

STATES = ("ok", "fault")


def add_making(book: Book, making: Making, *, by: str = "", at: datetime | None = None) -> bool:
    """Put a making into the book, with the grade, verdict, stages and defects it has already.

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
        If its plate is not in the book or a word of it is not known.
    """
    return add_makings(book, [making], by=by, at=at) == 1


def add_makings(
    book: Book, new: Sequence[Making], *, by: str = "", at: datetime | None = None
) -> int:
    """Put makings into the book, all or none, and return how many were not there already.

    Raises
    ------
    BadInput
        As `add_making`.
    """
    with writing(book) as connection:
        return put_makings(connection, new, by=by, at=at or datetime.now(UTC))


def put_makings(connection: Connection, new: Sequence[Making], *, by: str, at: datetime) -> int:
    """Insert makings within a writing transaction; ids that are there are passed over."""
    there = _those(connection, tables.making, [item.id for item in new])
    plates = _those(connection, tables.plate, [item.plate for item in new])
    stamp = {"at_us": to_us(at), "who": clean_text("by", by, 200)}
    rows: dict[str, list[dict[str, Any]]] = defaultdict(list)
    count = 0
    for item in new:
        if item.id in there:
            continue
        if item.plate not in plates:
            raise BadInput(f"making {item.id}", "its plate is not in the book", "add it first")
        there.add(item.id)
        count += 1
        rows["outcome"].append(_row(item))
        for name, judged in _judged(item):
            rows[name].append({"outcome": item.id, **judged, **stamp})
    for name, content in rows.items():
        table = tables.metadata.tables[name]
        if name != "outcome":
            number(connection, table, content)
        connection.execute(insert(table), content)
    return count


def _those(connection: Connection, table: Table, ids: Sequence[str]) -> set[str]:
    """Return which of some ids a table holds."""
    found: set[str] = set()
    for start in range(0, len(ids), AT_ONCE):
        query = select(table.c.id).where(table.c.id.in_(ids[start : start + AT_ONCE]))
        found.update(connection.execute(query).scalars())
    return found


def number(connection: Connection, table: Table, rows: Iterable[dict[str, Any]]) -> None:
    """Give rows of an append-only table their places; only within a writing transaction."""
    last = connection.execute(select(func.max(table.c.seq))).scalar() or 0
    for place, row in enumerate(rows, last + 1):
        row["seq"] = place


def set_grade(
    book: Book, making: str, grade: str | None, by: str, at: datetime | None = None
) -> None:
    """Grade a making; the last grade counts, None takes it back.

    Raises
    ------
    BadInput
        If there is no such making or grade.
    """
    _say(book, tables.grade, making, {"grade": _word("grade", grade, GRADES)}, by, at)


def set_verdict(
    book: Book, making: str, verdict: str | None, by: str, at: datetime | None = None
) -> None:
    """Judge the exposure of a making; the last verdict counts, None takes it back."""
    _say(book, tables.verdict, making, {"verdict": _word("verdict", verdict, VERDICTS)}, by, at)


def set_stage(
    book: Book, making: str, stage: str, state: str | None, by: str, at: datetime | None = None
) -> None:
    """Say whether a stage went well (``"ok"``) or not (``"fault"``); None takes it back."""
    _word("stage", stage, STAGES)
    row = {"stage": stage, "state": _word("state", state, STATES)}
    _say(book, tables.stage, making, row, by, at)


def add_defect(
    book: Book, making: str, defect: str, step: str, by: str, at: datetime | None = None
) -> None:
    """Note a defect and the step it came from.

    Raises
    ------
    BadInput
        If there is no such making.
    """
    _say(book, tables.defect, making, _defect(defect, step, withdrawn=False), by, at)


def withdraw_defect(
    book: Book, making: str, defect: str, step: str, by: str, at: datetime | None = None
) -> None:
    """Take a defect back that was noted by mistake.

    Raises
    ------
    BadInput
        If the making has no such defect.
    """
    with reading(book) as connection:
        own = select(tables.making.c.id).where(tables.making.c.id == making)
        have = _defects(connection, own).get(making, ())
    if (defect, step) not in have:
        raise BadInput(f"making {making}", f"it has no defect {defect!r} of {step!r}", "name one")
    _say(book, tables.defect, making, _defect(defect, step, withdrawn=True), by, at)


def makings(book: Book, plate: str | None = None, *, newest: int | None = None) -> list[Making]:
    """Return makings by day, session and place in it.

    Parameters
    ----------
    book : Book
        The book.
    plate : str, optional
        Id of a plate: only its own.
    newest : int, optional
        Only so many, the newest: what else the book holds is not read.

    Returns
    -------
    list of Making
        The oldest first.
    """
    table = tables.making
    order = (table.c.day, table.c.session, table.c.place, table.c.id)
    query, own = select(table), select(table.c.id)
    if plate is not None:
        query, own = query.where(table.c.plate == plate), own.where(table.c.plate == plate)
    backwards = [column.desc() for column in order]
    query, own = (one.order_by(*backwards).limit(newest) for one in (query, own))
    those = None if plate is None and newest is None else own
    with reading(book) as connection:
        rows = connection.execute(query).all()[::-1]
        grades = dict(_last(connection, tables.grade, ("grade",), those))
        verdicts = dict(_last(connection, tables.verdict, ("verdict",), those))
        stages: dict[str, dict[str, str]] = defaultdict(dict)
        for of, stage, state in _last(connection, tables.stage, ("stage", "state"), those):
            stages[of][stage] = state
        defects = _defects(connection, those)
    return [
        Making(
            id=row.id,
            plate=row.plate,
            run=row.run,
            session=row.session,
            order=row.place,
            day=date.fromisoformat(row.day),
            commissioned=bool(row.commissioned),
            conditions=json.loads(row.conditions),
            stages={k: v for k, v in stages.get(row.id, {}).items() if v is not None},
            verdict=verdicts.get(row.id),
            grade=grades.get(row.id),
            defects=defects.get(row.id, ()),
            remark=row.remark,
        )
        for row in rows
    ]


def last_place(book: Book, session: str) -> int:
    """Return the last place taken in a session, 0 while it has none."""
    table = tables.making
    query = select(func.max(table.c.place)).where(table.c.session == session)
    with reading(book) as connection:
        return int(connection.execute(query).scalar() or 0)


def _last(
    connection: Connection, table: Table, columns: Sequence[str], those: Select[Any] | None
) -> Iterable[Any]:
    """Return rows in order of their places: whoever puts them in a dictionary keeps the last."""
    query = select(table.c.outcome, *(table.c[name] for name in columns)).order_by(table.c.seq)
    if those is not None:
        query = query.where(table.c.outcome.in_(those))
    return connection.execute(query).all()


def _defects(
    connection: Connection, those: Select[Any] | None
) -> dict[str, tuple[tuple[str, str], ...]]:
    found: dict[str, dict[tuple[str, str], None]] = defaultdict(dict)
    columns = ("defect", "step", "withdrawn")
    for of, defect, step, withdrawn in _last(connection, tables.defect, columns, those):
        if withdrawn:
            found[of].pop((defect, step), None)
        else:
            found[of][defect, step] = None
    return {of: tuple(have) for of, have in found.items()}


def _say(
    book: Book,
    table: Table,
    making: str,
    row: Mapping[str, Any],
    by: str,
    at: datetime | None,
) -> None:
    at_us, who = to_us(at or datetime.now(UTC)), clean_text("by", by, 200)
    own = tables.making.c.id
    with writing(book) as connection:
        if connection.execute(select(own).where(own == making)).first() is None:
            raise BadInput("outcome", f"{making!r} is not in the book", "name one that is")
        full = {"outcome": making, **row, "at_us": at_us, "who": who}
        number(connection, table, [full])
        connection.execute(insert(table), [full])


def _word(where: str, word: str | None, words: Sequence[str]) -> str | None:
    if word is not None and word not in words:
        raise BadInput(where, f"{word!r} is not known", f"say one of {', '.join(words)}")
    return word


def _defect(defect: str, step: str, *, withdrawn: bool) -> dict[str, Any]:
    return {
        "defect": clean_text("defect", defect, 100),
        "step": clean_text("step", step, 100),
        "withdrawn": int(withdrawn),
    }


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
    }


def _judged(item: Making) -> Iterable[tuple[str, dict[str, Any]]]:
    if item.grade is not None:
        yield "grade", {"grade": _word("grade", item.grade, GRADES)}
    if item.verdict is not None:
        yield "verdict", {"verdict": _word("verdict", item.verdict, VERDICTS)}
    for stage, state in item.stages.items():
        _word("stage", stage, STAGES)
        yield "stage", {"stage": stage, "state": _word("state", state, STATES)}
    for defect, step in item.defects:
        yield "defect", _defect(defect, step, withdrawn=False)
