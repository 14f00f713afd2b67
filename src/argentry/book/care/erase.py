"""Erase a person's words from the log on request; an event says so, and nothing else changes."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select, update

from argentry.book import tables
from argentry.book.care.seal import body_sha256, sealed_event
from argentry.book.engine import writing
from argentry.book.from_runs import follow_run
from argentry.book.log import run_events
from argentry.book.times import clean_text, to_json, to_us
from argentry.errors import BadInput
from argentry.records.event import HOUSE_RUN, VERSION
from argentry.records.ids import new_id

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from argentry.book.engine import Book

WORDS = ("words", "why", "title")  # keys of bodies in which a person writes freely
SHORTEST = 3  # letters; less would erase what nobody meant


def erase(book: Book, text: str, by: str, at: datetime) -> int:
    """Erase every remark, reason and title of the log that holds some words; return how many.

    The body keeps its other keys. Its salt goes with the words, so that nobody can try out what
    they were; the chain of the log stays as it is. Backups made before keep them.

    Parameters
    ----------
    book : Book
        The book.
    text : str
        Words, whatever their case.
    by : str
        Who does it.
    at : datetime
        When, UTC.

    Raises
    ------
    BadInput
        If the words are shorter than three letters.
    ArgentryError
        If the book cannot be written; nothing was erased then.
    """
    wanted = text.strip().casefold()
    if len(wanted) < SHORTEST:
        raise BadInput("words", "they are too short", "give at least three letters")
    table = tables.event
    left: dict[str, str] = {}
    runs: set[str] = set()
    with writing(book) as connection:
        if book.kind == "sqlite":  # what is overwritten leaves no trace in the file
            connection.exec_driver_sql("PRAGMA secure_delete = ON")
        query = select(table.c.seq, table.c.id, table.c.run, table.c.body).where(table.c.salt != "")
        for seq, key, run, body in connection.execute(query.order_by(table.c.seq)).all():
            there = json.loads(body)
            kept = _without(there, wanted)
            if kept == there:
                continue
            new = to_json("body", kept)
            own = update(table).where(table.c.seq == seq)
            connection.execute(own.values(body=new, salt=""))
            left[key] = body_sha256("", new)
            runs.add(run)
        if not left:
            return 0
        last = connection.execute(
            select(table.c.seq, table.c.chain).order_by(table.c.seq.desc()).limit(1)
        ).one()
        said = {
            "seq": last.seq + 1, "id": new_id(), "run": HOUSE_RUN, "kind": "words_erased",
            "at_us": to_us(at), "plate": None, "step": None,
            "body": to_json("left", {"left": left}),
            "device": clean_text("by", by, 200), "version": VERSION,
        }  # fmt: skip
        connection.execute(insert(table), [dict(sealed_event(last.chain, said))])
        for run in runs:
            book.read.pop(run, None)
            follow_run(connection, run_events(connection, run))
    return len(left)


def _without(body: Mapping[str, Any], wanted: str) -> dict[str, Any]:
    """Return a body without those of its words that hold what is to be erased."""
    out: dict[str, Any] = {}
    for key, value in body.items():
        if isinstance(value, dict):
            out[key] = _without(value, wanted)
        elif key in WORDS and isinstance(value, str) and wanted in value.casefold():
            out[key] = ""
        else:
            out[key] = value
    return out
