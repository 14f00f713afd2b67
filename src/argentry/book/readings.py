"""Readings in the book: added, never changed; the latest, and series over time."""

from __future__ import annotations

from functools import cache
from math import isfinite
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, func, insert, select

from argentry.book.engine import reading, writing
from argentry.book.log import Stored
from argentry.book.rows import AT_ONCE
from argentry.book.tables import reading as table
from argentry.book.times import clean_text, from_us, to_us
from argentry.errors import BadInput
from argentry.records.ids import is_id
from argentry.records.plate import Reading

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sqlalchemy import Connection, Select

    from argentry.book.engine import Book

# What a resend must repeat: the time and the doubt are the house's, given at the first sending.
SAME = ("what", "value", "unit", "source", "run", "plate")


def add_readings(book: Book, readings: Sequence[Reading]) -> list[Stored]:
    """Add readings, all or none; answer only when they are safe on the disk.

    Returns
    -------
    list of Stored
        One for each, in the same order; a reading that is there already is a duplicate.

    Raises
    ------
    BadInput
        If a reading is badly formed, or its id is in the book with another content.
    ArgentryError
        If the store cannot take them; none was stored.
    """
    rows = [_row(item) for item in readings]
    if not rows:
        return []
    with writing(book) as connection:
        there = _known(connection, [row["id"] for row in rows])
        seq = connection.execute(select(func.max(table.c.seq))).scalar() or 0
        fresh, stored = [], []
        for row in rows:
            old = there.get(row["id"])
            if old is not None:
                _same(row, old)
            else:
                seq += 1
                there[row["id"]] = row
                row["seq"] = seq
                fresh.append(row)
            kept = old or row
            at = from_us(kept["at_us"])
            stored.append(Stored(row["id"], kept["seq"], at, duplicate=old is not None))
        if fresh:
            connection.execute(insert(table), fresh)
    return stored


def latest(
    book: Book,
    what: str,
    since: datetime | None = None,
    until: datetime | None = None,
    *,
    trusted: bool = True,
) -> Reading | None:
    """Return the latest reading of a quantity, or None.

    Parameters
    ----------
    book : Book
        The book.
    what : str
        Quantity.
    since : datetime, optional
        None older than this is returned.
    until : datetime, optional
        None later than this is returned: it was stamped by a clock that was wrong.
    trusted : bool
        True passes over readings in doubt.
    """
    query = _latest(since is not None, until is not None, trusted)
    asked = {
        "quantity": what,
        **({} if since is None else {"since": to_us(since)}),
        **({} if until is None else {"until": to_us(until)}),
    }
    with reading(book) as connection:
        row = connection.execute(query, asked).mappings().first()
    return None if row is None else _reading(row)


@cache
def _latest(since: bool, until: bool, trusted: bool) -> Select[Any]:
    """Return the question once: to put it together costs more than to ask it at every press."""
    query = select(table).where(table.c.what == bindparam("quantity"))
    if since:
        query = query.where(table.c.at_us >= bindparam("since"))
    if until:
        query = query.where(table.c.at_us <= bindparam("until"))
    if trusted:
        query = query.where(table.c.doubt == "")
    return query.order_by(table.c.at_us.desc(), table.c.seq.desc()).limit(1)


def series(
    book: Book, what: str | Sequence[str], start: datetime, end: datetime, *, trusted: bool = False
) -> list[Reading]:
    """Return the readings of a quantity from `start` up to and with `end`, in order of time.

    Parameters
    ----------
    book : Book
        The book.
    what : str or sequence of str
        Quantity, or several: asked for at once they cost little more than one.
    start, end : datetime
        UTC.
    trusted : bool
        True leaves out readings in doubt.
    """
    those = table.c.what.in_([what] if isinstance(what, str) else list(what))
    query = select(table).where(those, table.c.at_us >= to_us(start), table.c.at_us <= to_us(end))
    if trusted:
        query = query.where(table.c.doubt == "")
    query = query.order_by(table.c.at_us, table.c.seq)
    with reading(book) as connection:
        return [_reading(row) for row in connection.execute(query).mappings()]


def _row(item: Reading) -> dict[str, Any]:
    where = f"reading {str(item.id)[:40]}"
    if not is_id(item.id):
        raise BadInput(where, "its id is not a UUID version 7", "make it where it was taken")
    if isinstance(item.value, bool) or not isinstance(item.value, (int, float)):
        raise BadInput(where, "{item!r} is not a number", "give a finite number", item=item.value)
    if not isfinite(item.value):
        raise BadInput(
            where, "{item} is not a finite number", "give a finite number", item=item.value
        )
    if not item.what:
        raise BadInput(where, "it does not say what was measured", "name the quantity")
    return {
        "id": item.id,
        "what": clean_text(f"{where} what", item.what, 100),
        "value": float(item.value),
        "unit": clean_text(f"{where} unit", item.unit, 50),
        "at_us": to_us(item.at, f"{where} at"),
        "source": clean_text(f"{where} source", item.source, 200),
        "run": clean_text(f"{where} run", item.run, 100),
        "plate": clean_text(f"{where} plate", item.plate, 100),
        "doubt": clean_text(f"{where} doubt", item.doubt, 500),
    }


def _reading(row: Mapping[Any, Any]) -> Reading:
    return Reading(
        id=row["id"],
        what=row["what"],
        value=row["value"],
        unit=row["unit"],
        at=from_us(row["at_us"]),
        source=row["source"],
        run=row["run"],
        plate=row["plate"],
        doubt=row["doubt"],
    )


def _known(connection: Connection, ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for start in range(0, len(ids), AT_ONCE):
        query = select(table).where(table.c.id.in_(ids[start : start + AT_ONCE]))
        found.update({row["id"]: {**row} for row in connection.execute(query).mappings()})
    return found


def _same(row: Mapping[str, Any], old: Mapping[str, Any]) -> None:
    for name in SAME:
        if row[name] != old[name]:
            raise BadInput(
                "reading {id}".format(id=row["id"]),
                "this id is in the book already with another {name}",
                "make a new id for a new reading",
                name=name,
            )
