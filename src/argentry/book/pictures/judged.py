"""What was read out of pictures. Rows are added; the last of a picture or pair and kind counts."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from argentry.book.engine import reading, writing
from argentry.book.rows import add_rows
from argentry.book.tables import judgement as table
from argentry.book.tables import photograph
from argentry.book.times import from_us, to_json, to_us
from argentry.errors import BadInput
from argentry.records.plate import JUDGED, Judged

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection

    from argentry.book.engine import Book

NOT_KEPT = "this picture is not kept with that plate"
USE_KIND = "use coat, scale, plate, wedge, change or ripening"
NOT_JUDGED = "nothing was read out of this picture yet"


def add_judged(book: Book, one: Judged) -> None:
    """Keep what was read out of a picture.

    Raises
    ------
    BadInput
        If the picture is not kept with the plate, or the kind is not known.
    """
    with writing(book) as connection:
        _add(connection, one)


def judged(book: Book, plate: str) -> list[Judged]:
    """Return what counts of each picture and kind of a plate, in the order it was kept."""
    with reading(book) as connection:
        return list(_last(connection, plate).values())


def confirm(
    book: Book,
    plate: str,
    picture: str,
    kind: str,
    at: datetime | None,
    *,
    struck: Mapping[str, str] | None = None,
) -> Judged:
    """Add the maker's word on what was read: it is so, but for what is struck out.

    Parameters
    ----------
    book : Book
        The book.
    plate, picture, kind : str
        What was read.
    at : datetime or None
        When the word was given; None takes it back.
    struck : Mapping, optional
        What is struck out, each with why.

    Raises
    ------
    BadInput
        If nothing was read out of that picture.
    """
    with writing(book) as connection:
        found = _last(connection, plate).get((picture, kind, None))
        if found is None:
            raise BadInput("picture", NOT_JUDGED, "let it be looked at first")
        made = replace(found, confirmed_at=at, struck=struck or {})
        _add(connection, made)
    return made


def confirmed(book: Book, kind: str) -> list[Judged]:
    """Return what the makers confirmed of one kind, over all plates, the last word last."""
    with reading(book) as connection:
        found = _last(connection, None, kind).values()
    return sorted(
        (one for one in found if one.confirmed_at is not None),
        key=lambda one: one.confirmed_at or one.judged_at,
    )


def _add(connection: Connection, one: Judged) -> None:
    if one.kind not in JUDGED:
        raise BadInput("kind", "this kind of reading is not known", USE_KIND)
    there = select(photograph.c.sha256).where(
        (photograph.c.sha256 == one.picture) & (photograph.c.plate == one.plate)
    )
    if connection.execute(there).first() is None:
        raise BadInput("picture", NOT_KEPT, "keep it with the plate first")
    row: dict[str, Any] = {
        "picture": one.picture,
        "second_picture": one.second_picture,
        "plate": one.plate,
        "kind": one.kind,
        "judged_us": to_us(one.judged_at),
        "version": one.version,
        "answer": to_json("answer", dict(one.answer)),
        "confirmed_us": None if one.confirmed_at is None else to_us(one.confirmed_at),
        "struck": to_json("struck", dict(one.struck)),
    }
    add_rows(connection, table, [row])


def _last(
    connection: Connection, plate: str | None, kind: str | None = None
) -> dict[tuple[str | None, ...], Judged]:
    """Return the last word on each picture and kind of one plate, or of all."""
    found: dict[tuple[str | None, ...], Judged] = {}
    query = select(table).order_by(table.c.seq)
    for column, value in ((table.c.plate, plate), (table.c.kind, kind)):
        if value is not None:
            query = query.where(column == value)
    for row in connection.execute(query):
        confirmed_at = None if row.confirmed_us is None else from_us(row.confirmed_us)
        own = (row.picture, row.kind, row.second_picture)
        key = own if plate else (row.plate, *own)
        found.pop(key, None)
        found[key] = Judged(
            row.picture, row.plate, row.kind, from_us(row.judged_us), row.version,
            json.loads(row.answer), confirmed_at, json.loads(row.struck), row.second_picture,
        )  # fmt: skip
    return found
