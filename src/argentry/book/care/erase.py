"""Erase a person's words on request: an event says so, and what must stay is named."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Text, insert, select, update

from argentry.book import tables
from argentry.book.care.seal import body_sha256, sealed_event
from argentry.book.engine import writing
from argentry.book.from_runs import follow_run
from argentry.book.log import run_events
from argentry.book.notebooks import FOLDER as NOTEBOOKS
from argentry.book.notebooks import MAPPING, MEMORY
from argentry.book.runs.fold import fold
from argentry.book.times import clean_text, to_json, to_us
from argentry.errors import BadInput
from argentry.records.event import HOUSE_RUN, VERSION
from argentry.records.ids import new_id

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection

    from argentry.book.engine import Book

WORDS = ("words", "why", "title")  # keys of bodies in which a person writes freely
SITTERS, LINES = "sitters", "lines"  # keys of who came for a plate, and of what a new plan said
SHORTEST = 3  # letters; less would erase what nobody meant
REMARKS = ("plate", "making")  # tables whose rows may change and hold a remark
# Columns in which nobody writes.
MADE = frozenset({"id", "sum", "chain", "salt", "body_sha256", "token_sha256", "sha256"})
COUNTED = "{count} in the column {column} of the table {table}"
FILES = "{count} kept in notebooks/, each as it was imported: look for the words there"


@dataclass(frozen=True)
class Erasure:
    """What was erased, and where the words still stand.

    Attributes
    ----------
    events : int
        Events whose words are gone.
    remarks : int
        Remarks of plates and of their makings that are gone.
    stays : tuple of str
        Each place where the words still stand or may stand, with how often.
    """

    events: int
    remarks: int
    stays: tuple[str, ...]


def erase(book: Book, text: str, by: str, at: datetime) -> Erasure:
    """Erase every remark, reason, title and sitter's name that holds some words.

    An event's body keeps its other keys. Its salt goes with the words, so that nobody can try out
    what they were; the chain of the log stays as it is. Labels and names stay, as others go by
    them, and so does what tables refuse to change; both are named.

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
    with writing(book) as connection:
        if book.kind == "sqlite":  # what is overwritten leaves no trace in the file
            connection.exec_driver_sql("PRAGMA secure_delete = ON")
        left = _erase_events(book, connection, wanted)
        remarks = _erase_remarks(connection, wanted)
        if left or remarks:
            _say(connection, left, by, at)
        stays = (*_stays(connection, wanted), *_files(book))
    return Erasure(len(left), remarks, stays)


def _erase_events(book: Book, connection: Connection, wanted: str) -> dict[str, str]:
    """Return id to the hash of what is left of each event that held the words."""
    table = tables.event
    left: dict[str, str] = {}
    runs: set[str] = set()
    query = select(table.c.seq, table.c.id, table.c.run, table.c.body).where(table.c.salt != "")
    for seq, key, run, body in connection.execute(query.order_by(table.c.seq)).all():
        there = json.loads(body)
        kept = _without(there, wanted, WORDS)
        if kept == there:
            continue
        new = to_json("body", kept)
        connection.execute(update(table).where(table.c.seq == seq).values(body=new, salt=""))
        left[key] = body_sha256("", new)
        runs.add(run)
    for run in runs:
        book.read.pop(run, None)
        events = run_events(connection, run)
        follow_run(connection, fold(events), events)
    return left


def _erase_remarks(connection: Connection, wanted: str) -> int:
    """Erase the remarks of plates and makings; return how many."""
    gone = 0
    for name in REMARKS:
        table = tables.metadata.tables[name]
        for key, remark in connection.execute(select(table.c.id, table.c.remark)).all():
            if wanted in remark.casefold():
                connection.execute(update(table).where(table.c.id == key).values(remark=""))
                gone += 1
    return gone


def _say(connection: Connection, left: Mapping[str, str], by: str, at: datetime) -> None:
    """Add the event that says what was erased."""
    table = tables.event
    last = connection.execute(
        select(table.c.seq, table.c.chain).order_by(table.c.seq.desc()).limit(1)
    ).one_or_none()
    said = {
        "seq": last.seq + 1 if last else 1, "id": new_id(), "run": HOUSE_RUN,
        "kind": "words_erased", "at_us": to_us(at), "plate": None, "step": None,
        "body": to_json("left", {"left": dict(left)}),
        "device": clean_text("by", by, 200), "version": VERSION,
    }  # fmt: skip
    connection.execute(insert(table), [dict(sealed_event(last.chain if last else "", said))])


def _stays(connection: Connection, wanted: str) -> list[str]:
    """Return in which columns the words still stand, and in how many rows."""
    found = []
    for name, table in tables.metadata.tables.items():
        columns = [one for one in table.c if isinstance(one.type, Text) and one.name not in MADE]
        held = dict.fromkeys((one.name for one in columns), 0)
        for row in connection.execute(select(*columns)).mappings():
            for column, value in row.items():
                held[column] += value is not None and wanted in value.casefold()
        found += [
            COUNTED.format(count=count, column=column, table=name)
            for column, count in held.items()
            if count
        ]
    return found


def _files(book: Book) -> list[str]:
    if book.folder is None:
        return []
    kept = [one for one in (book.folder / NOTEBOOKS).glob("*") if one.suffix != MAPPING]
    kept = [one for one in kept if one.name != MEMORY]
    return [FILES.format(count=len(kept))] if kept else []


def _without(body: Mapping[str, Any], wanted: str, words: tuple[str, ...]) -> dict[str, Any]:
    """Return a body without those of its words that hold what is to be erased."""
    return {key: _kept(key, value, wanted, words) for key, value in body.items()}


def _kept(key: str, value: Any, wanted: str, words: tuple[str, ...]) -> Any:
    """Return a value of a body without what is to be erased; of a sitter, the name too."""
    if isinstance(value, str):
        return "" if key in words and wanted in value.casefold() else value
    if key == SITTERS:
        words = (*words, "name")
    if isinstance(value, dict):
        return _without(value, wanted, words)
    if isinstance(value, list):
        inside = (*words, key) if key == LINES else words
        return [_kept(key, one, wanted, inside) for one in value]
    return value
