"""Rows of the book's tables as lines of JSON, and back: what ``docs/archive.md`` describes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Double, Float, Integer, and_, collate, or_, select

from argentry.book import tables
from argentry.book.engine import reading
from argentry.book.materials.bath_notes import numbers_noted
from argentry.book.materials.notes import facts_of
from argentry.book.pictures.kind import MEDIA
from argentry.book.times import clean_text, to_json, to_us
from argentry.errors import BadInput
from argentry.records.event import KINDS, VERSION
from argentry.records.ids import is_id
from argentry.records.material import ABOUT, LOT, WASTE
from argentry.records.plate import (
    CARRIES,
    GRADES,
    MAKING_STATES,
    STAGES,
    TAKEN_FROM,
    VERDICTS,
    WITHDRAWN,
)
from argentry.records.plate_record import WORKS
from argentry.records.run import GivenUp

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from sqlalchemy import ColumnElement, Table

    from argentry.book.engine import Book

# In this order, so that what a row points to comes before it.
ARCHIVED = (
    "plate",
    "plate_work",
    "making",
    "grade",
    "verdict",
    "stage",
    "defect",
    "event",
    "reading",
    "bath",
    "bath_use",
    "lot",
    "lot_use",
    "material_note",
    "photograph",
    "judgement",
)
# Who was let in belongs to the host, not to the craft: tokens never leave in an archive. What an
# upgrade had to say belongs to the one book.
LEFT_OUT = ("device", "upgrade_note")
SEALS = frozenset({"sum", "salt", "body_sha256"})
JSON_COLUMNS = (
    ("event", "body"),
    ("making", "conditions"),
    ("making", "given_up"),
    ("photograph", "said"),
    ("judgement", "answer"),
    ("judgement", "struck"),
    ("outcome", "conditions"),  # in archives of form 1
)
GIVEN_UP = {one.name for one in fields(GivenUp)}
PAGE = 5000
LONGEST_LINE = 4_000_000  # bytes
LONGEST_TEXT = 1_000_000
LARGEST = 1 << 63
DAYS = ("day", "made_on", "received_on")
WORDS: dict[tuple[str, str], tuple[Any, ...]] = {
    ("event", "kind"): tuple(KINDS),
    ("grade", "grade"): (*GRADES, None),
    ("verdict", "verdict"): (*VERDICTS, None),
    ("stage", "stage"): STAGES,
    ("stage", "state"): ("ok", "fault", None),
    ("photograph", "media_type"): MEDIA,
    ("photograph", "taken_from"): TAKEN_FROM,
    ("photograph", "carries"): (*CARRIES, None),
    ("plate_work", "kind"): WORKS,
    ("making", "state"): (*MAKING_STATES, WITHDRAWN),
    ("material_note", "about"): ABOUT,
}
FIRST_US = to_us(datetime(1000, 1, 1, tzinfo=UTC))
LAST_US = to_us(datetime(9000, 1, 1, tzinfo=UTC))
MEND = "use another copy of the archive"


def table_lines(book: Book, name: str) -> Iterator[str]:
    """Give each row of a table as one line of JSON, in the order of its key.

    Parameters
    ----------
    book : Book
        Read a page at a time, so that a bench that writes never waits long.
    name : str
        One of `ARCHIVED`.

    Yields
    ------
    str
        JSON with sorted keys and no spaces, without the line's end. Equal rows give equal text on
        every store.
    """
    table = tables.metadata.tables[name]
    parsed = [column for owner, column in JSON_COLUMNS if owner == name]
    numbers = [c.name for c in table.columns if isinstance(c.type, (Float, Double))]
    last = ""
    for row in _rows(book, table):
        if "chain" in row:  # an archive's own, over all that stands in it
            row["chain"] = last = chain_hash(last, row)
        for column in numbers:  # SQLite keeps no minus before zero, PostgreSQL does
            row[column] = None if row[column] is None else row[column] + 0.0
        for column in parsed:
            row[column] = json.loads(row[column])
        yield json.dumps(
            row, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
        )


def table_sha256(book: Book, name: str) -> str:
    """Return the SHA-256 of the file that `table_lines` would fill."""
    digest = hashlib.sha256()
    for line in table_lines(book, name):
        digest.update(f"{line}\n".encode())
    return digest.hexdigest()


def _rows(book: Book, table: Table) -> Iterator[dict[str, Any]]:
    """Give each row by its key; the key of the page before is where the next begins."""
    keys = [_ordered(book, column) for column in table.primary_key]
    names = [column.name for column in table.primary_key]
    last: tuple[Any, ...] | None = None
    while True:
        query = select(*archived_columns(table)).order_by(*keys).limit(PAGE)
        if last is not None:
            query = query.where(_after(keys, last))
        with reading(book) as connection:
            page = [dict(row) for row in connection.execute(query).mappings()]
        yield from page
        if len(page) < PAGE:
            return
        last = tuple(page[-1][name] for name in names)


def _ordered(book: Book, column: Any) -> ColumnElement[Any]:
    """Return a key that sorts by its bytes, whatever the language of the server."""
    if book.kind == "postgresql" and not isinstance(column.type, Integer):
        return collate(column, "C")
    return column  # type: ignore[no-any-return]


def _after(keys: list[ColumnElement[Any]], last: tuple[Any, ...]) -> ColumnElement[bool]:
    either = [
        and_(*(keys[j] == last[j] for j in range(i)), keys[i] > last[i]) for i in range(len(keys))
    ]
    return or_(*either)


def archived_columns(table: Table) -> list[Any]:
    """Return the columns that stand in an archive: sums and salts belong to the one book."""
    return [column for column in table.columns if column.name not in SEALS]


def chain_hash(last: str, row: Mapping[Any, Any]) -> str:
    """Return the hash that ties one event to the whole log before it.

    Parameters
    ----------
    last : str
        Hash of the event before it; empty for the first.
    row : Mapping
        Its columns as stored.

    Returns
    -------
    str
        SHA-256, 64 hexadecimal digits, of the JSON list of `last` and the columns.
    """
    names = ("id", "run", "kind", "at_us", "plate", "step", "body", "device", "version")
    content = [last, *(row[name] for name in names)]
    text = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def read_rows(
    where: str, path: Path, table: Table, told: Callable[[int], None] | None = None
) -> Iterator[Mapping[str, Any]]:
    """Give each row of a file of JSON lines, checked against its table, ready to be stored.

    Parameters
    ----------
    where : str
        Name of the archive, for the sentence.
    path : Path
        The file.
    table : Table
        Its table.
    told : callable, optional
        Told the bytes of each line.

    Yields
    ------
    dict
        Column to value.

    Raises
    ------
    BadInput
        If a line is not a JSON object with exactly the table's columns and their types, or the keys
        do not rise.
    """
    keys = [column.name for column in table.primary_key]
    last: tuple[Any, ...] | None = None
    with path.open("rb") as stream:
        number = 0
        while raw := stream.readline(LONGEST_LINE + 1):
            number += 1
            place = f"{where} {path.name} line {number}"
            row = _row(place, raw, table)
            key = tuple(row[each] for each in keys)
            if last is not None and key <= last:
                raise BadInput(place, "the rows are not in order of their key", MEND)
            last = key
            if told:
                told(len(raw))
            yield row


def _row(where: str, raw: bytes, table: Table) -> dict[str, Any]:
    if len(raw) > LONGEST_LINE:
        raise BadInput(where, "the line is too long", MEND)
    try:
        row = json.loads(raw, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise BadInput(where, "the line is not JSON", MEND) from None
    if not isinstance(row, dict) or set(row) != {column.name for column in archived_columns(table)}:
        raise BadInput(where, "the line does not have the columns of {name}", MEND, name=table.name)
    out = {c.name: _value(where, table.name, c, row[c.name]) for c in archived_columns(table)}
    _check_meaning(where, table.name, out)
    return out


def _no_number(text: str) -> float:
    raise ValueError(text)


def _value(where: str, table: str, column: Any, value: Any) -> Any:
    place = f"{where} {column.name}"
    if (table, column.name) in JSON_COLUMNS:
        if not isinstance(value, dict):
            raise BadInput(place, "it is not a JSON object", MEND)
        return to_json(place, value)
    if value is None:
        if not column.nullable:
            raise BadInput(place, "it is empty", MEND)
        return None
    if isinstance(column.type, Integer):
        if type(value) is not int or not -LARGEST <= value < LARGEST:
            raise BadInput(place, "it is not a whole number", MEND)
        return value
    if isinstance(column.type, (Float, Double)):
        if type(value) not in (int, float) or not abs(value) < 1e300:
            raise BadInput(place, "it is not a number", MEND)
        return float(value)
    if not isinstance(value, str):
        raise BadInput(place, "it is not text", MEND)
    if column.name in DAYS:
        _day(place, value)
    return clean_text(place, value, LONGEST_TEXT)


def _day(where: str, text: str) -> None:
    try:
        written = date.fromisoformat(text).isoformat()
    except ValueError:
        written = ""
    if written != text:
        raise BadInput(where, "{text!r} is not a day", MEND, text=text)


def _check_meaning(where: str, table: str, row: dict[str, Any]) -> None:
    """Refuse what a store would take but no reader of the book could use."""
    for name, value in row.items():
        if name.endswith("_us") and value is not None and not FIRST_US <= value <= LAST_US:
            raise BadInput(f"{where} {name}", "the time is outside the calendar", MEND)
        words = WORDS.get((table, name))
        if words and value not in words:
            raise BadInput(f"{where} {name}", "{value!r} is not known", MEND, value=str(value))
    if table == "event" and (not is_id(row["id"]) or row["version"] != VERSION):
        raise BadInput(where, "it is not a known event", MEND)
    if table == "material_note" and row["about"] != WASTE:
        try:
            if row["about"] == LOT:
                facts_of({row["what"]: row["value"]})
            else:
                numbers_noted(row["what"], row["value"])
        except ValueError:
            said = "{noted} {value!r} cannot be read"
            raise BadInput(
                where, said, MEND, noted=row["what"][:40], value=row["value"][:40]
            ) from None
    if table in ("making", "outcome"):
        for condition in json.loads(row["conditions"]).values():
            if type(condition) not in (int, float, str):
                raise BadInput(
                    "{where} conditions".format(where=where), "one is neither number nor text", MEND
                )
    up = json.loads(row["given_up"]) if table == "making" else {}
    if up and (
        up.keys() != GIVEN_UP or not all(one is None or isinstance(one, str) for one in up.values())
    ):
        raise BadInput("{where} given_up".format(where=where), "it is not known", MEND)
