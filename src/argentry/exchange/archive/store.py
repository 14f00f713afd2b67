"""Rows of an archive into a book's tables; one of an older form by way of a book of its time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import MetaData, create_engine, insert
from sqlalchemy.exc import IntegrityError

from argentry.book.engine import Book, sqlite_engine, writing
from argentry.book.forms import run_migrations
from argentry.book.hold import FILE
from argentry.book.upgrade import bring_up
from argentry.errors import BadInput
from argentry.exchange.archive.rows import ARCHIVED, MEND, PAGE, chain_hash, read_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

    from sqlalchemy import Connection, Table

    from argentry.exchange.archive.bag import Bag

RECORDS = "data/records"
# Archives of form 2 hold the tables of book form 0005, before pictures were looked into and notes
# kept on materials; those of form 1 hold form 0003: what came of a plate was an outcome then.
_SECOND = tuple(name for name in ARCHIVED if name not in ("judgement", "material_note"))
OLDER: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "1": ("0003", tuple("outcome" if name == "making" else name for name in _SECOND)),
    "2": ("0005", _SECOND),
}


def file_of(name: str) -> str:
    """Return the place of a table in an archive."""
    return f"{RECORDS}/{name}.jsonl"


def store_rows(
    connection: Connection,
    where: str,
    bag: Bag,
    media: Mapping[str, tuple[str, int]],
    shape: MetaData,
    names: Sequence[str],
    progress: Callable[[int, int], None] | None = None,
) -> dict[str, int]:
    """Put the rows of an archive into empty tables and return how many by table.

    Raises
    ------
    BadInput
        If a row is not as its table wants it, or points nowhere.
    """
    total = sum((bag.folder / file_of(name)).stat().st_size for name in names)
    told = _Told(total, progress)
    rows: dict[str, int] = {}
    try:
        for name in names:
            rows[name] = 0
            table = shape.tables[name]
            for page in _pages(checked_rows(where, bag, media, table, told)):
                connection.execute(insert(table), _unchained(page) if "salt" in table.c else page)
                rows[name] += len(page)
    except IntegrityError as error:
        what = " ".join(str(error.orig).split())[:120]
        raise BadInput(
            where, "a row points nowhere or is there twice ({what})".format(what=what), MEND
        ) from None
    return rows


def older_book(
    folder: Path,
    where: str,
    bag: Bag,
    form: str,
    media: Mapping[str, tuple[str, int]],
    progress: Callable[[int, int], None] | None = None,
) -> Book:
    """Return a book in `folder` with the rows of an archive of an older form, as books are now."""
    book = Book(sqlite_engine(folder / FILE), where, None, "sqlite")
    with writing(book) as connection:
        of_book, names = OLDER[form]
        run_migrations(connection, of_book)
        store_rows(connection, where, bag, media, older_shape(of_book), names, progress)
        bring_up(connection)
    return book


@cache
def older_shape(of_book: str) -> MetaData:
    """Return the tables of an older form of the book."""
    engine = create_engine("sqlite://")
    shape = MetaData()
    with engine.connect() as connection:
        run_migrations(connection, of_book)
        shape.reflect(connection)
    engine.dispose()
    return shape


def checked_rows(
    where: str,
    bag: Bag,
    media: Mapping[str, tuple[str, int]],
    table: Table,
    told: Callable[[int], None] | None = None,
) -> Iterator[Mapping[str, Any]]:
    """Give the rows of a table, with what hangs together between them checked.

    Raises
    ------
    BadInput
        If they were changed, damaged or do not fit together.
    """
    chain, name = "", table.name
    rows = read_rows(bag.folder.name, bag.folder / file_of(name), table, told)
    for number, row in enumerate(rows, 1):
        place = "{where} {name}.jsonl line {number}".format(where=where, name=name, number=number)
        if "seq" in row and row["seq"] != number:
            raise BadInput(
                place,
                "its place is {seq}, not {number}".format(seq=row["seq"], number=number),
                MEND,
            )
        if name == "event":
            if row["chain"] and row["chain"] != chain_hash(chain, row):
                raise BadInput(place, "the log was changed at or before this event", MEND)
            chain = row["chain"]
        held = (row["media_type"], row["bytes"]) if name == "photograph" else None
        if held and media.get(row["sha256"]) != held:
            raise BadInput(place, "its picture is not in the archive as it says", MEND)
        yield row


def _unchained(page: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return events without the archive's chain: the book lays its own."""
    return [{key: row[key] for key in row if key != "chain"} for row in page]


@dataclass
class _Told:
    """Counts the bytes of lines stored, and tells now and then."""

    total: int
    progress: Callable[[int, int], None] | None
    done: int = 0
    last: int = 0

    def __call__(self, size: int) -> None:
        self.done += size
        if self.progress and self.done - self.last > 100_000:
            self.last = self.done
            self.progress(self.done, self.total)


def _pages(rows: Iterator[Mapping[str, Any]]) -> Iterator[list[Mapping[str, Any]]]:
    page: list[Mapping[str, Any]] = []
    for row in rows:
        page.append(row)
        if len(page) == PAGE:
            yield page
            page = []
    if page:
        yield page
