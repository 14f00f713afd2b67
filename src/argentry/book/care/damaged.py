"""Read a damaged book row by row: what can be read and is sound, and a name for what is not."""

from __future__ import annotations

import shutil
import sqlite3
import struct
from collections.abc import Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import DBAPIError

from argentry.book import tables
from argentry.book.care.doctor import plain_words, row_fault
from argentry.book.care.seal import FIRST_SEALED
from argentry.book.care.shape import fresh_lines
from argentry.book.engine import Book
from argentry.book.forms import revisions
from argentry.book.hold import FILE
from argentry.book.trouble import told

PAGE = 4096  # bytes; every book of argentry has pages of this size
MOST_PROBED = 200_000  # rows looked for one by one where neither end of a table leads to them
UNREADABLE = "{name} {key} cannot be read."
AND_AFTER = "{key} and after"
NO_TABLE = "the table {name} cannot be read."
HEAD = b"SQLite format 3\0" + struct.pack(">HBBBBBB", PAGE, 1, 1, 0, 64, 32, 32)


@dataclass(frozen=True)
class Read:
    """What was read of a book.

    Attributes
    ----------
    form : str
        Its form.
    rows : Mapping of str to list of dict
        Table to its sound rows.
    lost : tuple of str
        What is not, one sentence each.
    """

    form: str
    rows: Mapping[str, list[dict[str, Any]]]
    lost: tuple[str, ...]


def read_server(book: Book) -> Read:
    """Read a PostgreSQL book; what its server cannot read is lost with its whole table."""
    rows: dict[str, list[dict[str, Any]]] = {}
    lost: list[str] = []
    for name, table in tables.metadata.tables.items():
        try:
            with told(book.url), book.engine.connect() as connection:
                found = [dict(row) for row in connection.execute(select(table)).mappings()]
        except DBAPIError:
            lost.append(NO_TABLE.format(name=name))
            found = []
        rows[name] = [row for row in found if _sound(name, row, lost)]
    return Read(revisions()[-1], rows, tuple(lost))


def read_file(file: Path, beside: Path) -> Read:
    """Read a SQLite book from a copy of its file, its head put right.

    Parameters
    ----------
    file : Path
        Is not touched.
    beside : Path
        A folder for the copy.
    """
    copy = beside / f"copy-of-{FILE}"
    copy.unlink(missing_ok=True)
    shutil.copyfile(file, copy)
    journal = file.with_name(f"{file.name}-journal")
    if journal.exists():  # what a killed program left half done is taken back first
        shutil.copyfile(journal, copy.with_name(f"{copy.name}-journal"))
        with closing(sqlite3.connect(copy)) as half:
            try:
                half.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            except sqlite3.Error:
                copy.with_name(f"{copy.name}-journal").unlink(missing_ok=True)
    _right_head(copy)
    _right_schema(copy)
    with closing(sqlite3.connect(copy, isolation_level=None)) as raw:
        raw.text_factory = bytes
        raw.execute("PRAGMA writable_schema = ON")  # a rotten line of the schema hides no other
        form = _form(raw)
        rows: dict[str, list[dict[str, Any]]] = {}
        lost: list[str] = []
        for name in _names(form):
            rows[name] = list(_table(raw, name, form, lost))
    return Read(form, rows, tuple(lost))


def _right_head(copy: Path) -> None:
    """Write what the first hundred bytes of every book say, and the length that the file has."""
    pages = copy.stat().st_size // PAGE
    with copy.open("r+b") as stream:
        head = bytearray(stream.read(100).ljust(100, b"\0"))
        head[:24] = HEAD
        head[28:32] = struct.pack(">I", pages)
        head[32:40] = bytes(8)  # free pages: nothing is written to the copy
        head[44:48] = struct.pack(">I", 4)
        head[52:68] = struct.pack(">IIII", 0, 1, 0, 0)
        head[92:96] = head[24:28]
        stream.seek(0)
        stream.write(head)


def _right_schema(copy: Path) -> None:
    """Write the lines of the schema as every book of the newest form has them, but for the pages.

    The lines of older forms are left as they are.
    """
    with closing(sqlite3.connect(copy, isolation_level=None)) as raw:
        raw.text_factory = bytes
        try:
            raw.execute("PRAGMA writable_schema = ON")
            if _form(raw) != revisions()[-1]:
                return
            for kind, name, table, sql, number in fresh_lines():
                raw.execute(
                    "UPDATE sqlite_schema SET type = ?, name = ?, tbl_name = ?, sql = ? "
                    "WHERE rowid = ? AND (type, name, tbl_name, sql) IS NOT (?, ?, ?, ?)",
                    (kind, name, table, sql, number, kind, name, table, sql),
                )
        except sqlite3.Error:  # the page itself is rotten: what can be read is read
            return


def _form(raw: sqlite3.Connection) -> str:
    try:
        (found,) = raw.execute("SELECT version_num FROM alembic_version").fetchone()
        form = found.decode()
    except (sqlite3.Error, TypeError, UnicodeDecodeError, AttributeError):
        form = ""
    return form if form in revisions() else revisions()[-1]


def _names(form: str) -> list[str]:
    if form >= "0004":
        return list(tables.metadata.tables)
    return ["outcome" if name == "making" else name for name in tables.metadata.tables]


def _table(
    raw: sqlite3.Connection, name: str, form: str, lost: list[str]
) -> Iterator[dict[str, Any]]:
    try:
        head = raw.execute(f"PRAGMA table_info({name})").fetchall()
    except sqlite3.Error:
        head = []
    columns = [row[1].decode("utf-8", "replace") for row in head]
    wanted = tables.metadata.tables.get(name)
    if form == revisions()[-1] and wanted is not None and set(columns) != set(wanted.c.keys()):
        lost.append(NO_TABLE.format(name=name))
        return
    key_columns = [] if wanted is None else wanted.primary_key.columns.keys()
    keys: set[tuple[Any, ...]] = set()
    for rowid, found in _found(raw, name, columns) if columns else ():
        try:
            if found is None:
                raise sqlite3.DatabaseError
            row = {key: _text(value) for key, value in zip(columns, found, strict=True)}
        except (sqlite3.Error, UnicodeDecodeError):
            lost.append(UNREADABLE.format(name=name, key=rowid))
            continue
        key = tuple(row.get(one) for one in key_columns)
        if key and key in keys:  # a rotten page may lead to a row twice
            continue
        if form < FIRST_SEALED or _sound(name, row, lost):
            keys.add(key)
            yield row


def _text(value: Any) -> Any:
    return value.decode("utf-8") if isinstance(value, bytes) else value


def _sound(name: str, row: Mapping[str, Any], lost: list[str]) -> bool:
    fault = row_fault(name, row)
    if fault:
        keys = tables.metadata.tables[name].primary_key.columns.keys()
        lost.append(fault.format(name=name, key=plain_words(" ".join(str(row[k]) for k in keys))))
    return not fault


def _found(
    raw: sqlite3.Connection, name: str, columns: list[str]
) -> Iterator[tuple[int | str, tuple[Any, ...] | None]]:
    """Yield the rows of a table with their numbers; None for one that cannot be read.

    Rotten pages at the end of a table of which nobody knows how many rows they held are one.

    It is read from both ends as far as its pages go. Only what lies between is looked for by its
    number: where numbers are rotten, that would miss rows that are sound.
    """
    seen: set[int] = set()
    ends = []
    for order in ("ASC", "DESC"):
        walk = f"SELECT rowid, {', '.join(columns)} FROM {name} NOT INDEXED ORDER BY rowid {order}"  # noqa: S608
        rows, whole = _one_way(raw, walk)
        for rowid, *found in rows:
            if order == "ASC" or rowid not in seen:
                yield rowid, tuple(found)
            seen.add(rowid)
        if whole:
            return
        ends.append(rows[-1][0] if rows else None)
    try:
        indexes = [row[1].decode() for row in raw.execute(f"PRAGMA index_list({name})")]
    except (sqlite3.Error, UnicodeDecodeError):
        indexes = []
    known: set[int] = set()
    counted = False
    for index in indexes:
        rows, whole = _one_way(raw, f"SELECT rowid FROM {name} INDEXED BY {index}")  # noqa: S608
        known.update(rowid for (rowid,) in rows)
        counted |= whole
    low = ends[0] or 0
    high = ends[1] or low + MOST_PROBED
    between = known | set(range(low + 1, min(high, low + MOST_PROBED)))
    one = f"SELECT {', '.join(columns)} FROM {name} NOT INDEXED WHERE rowid = ?"  # noqa: S608
    dark: list[int] = []  # numbers on rotten pages
    for rowid in sorted(between - seen):
        try:
            row = raw.execute(one, (rowid,)).fetchone()
        except (sqlite3.Error, OverflowError):
            dark.append(rowid)
            continue
        if row is not None or rowid in known:
            yield from ((lost, None) for lost in dark)
            dark.clear()
            yield rowid, row
    last = max(known, default=0) if ends[1] is None else high
    yield from ((lost, None) for lost in dark if lost <= last)
    after = next((lost for lost in dark if lost > last), None)
    if after is not None and not counted:  # nothing says how many rows there were
        yield AND_AFTER.format(key=after), None


def _one_way(raw: sqlite3.Connection, walk: str) -> tuple[list[tuple[Any, ...]], bool]:
    """Return the rows of a question up to the first fault, and whether there was none."""
    rows: list[tuple[Any, ...]] = []
    try:
        for row in raw.execute(walk):
            rows.append(row)  # noqa: PERF402 - what came before a fault is kept
    except (sqlite3.Error, OverflowError):
        # the driver looks one row ahead, and drops the last one before a fault
        with suppress(sqlite3.Error, OverflowError):
            rows += raw.execute(f"{walk} LIMIT 1 OFFSET {len(rows)}").fetchall()
        return rows, False
    return rows, True
