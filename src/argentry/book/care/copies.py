"""The book as one SQLite file next to it: for backups, and before its tables change form."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import MetaData, select
from sqlalchemy.exc import DBAPIError

from argentry.book.engine import sqlite_engine
from argentry.book.forms import revision, run_migrations
from argentry.book.pictures.kept import sync_folder
from argentry.book.trouble import told
from argentry.errors import ArgentryError, BadInput

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection

    from argentry.book.engine import Book

AT_ONCE = 5000


def copy_before_change(book: Book, form: str) -> Path:
    """Copy the book's tables next to it before they are changed to another form."""
    folder = (book.folder or Path()) / "backups"
    now = f"{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    file = folder / f"book-form-{form}-{now}.sqlite"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        copy_book(book, file)
        sync_file(file)
        sync_folder(folder)
    except OSError as error:
        raise ArgentryError(
            "{file}: no backup can be made ({strerror}), so nothing was changed.".format(
                file=file, strerror=error.strerror or error
            )
        ) from None
    except BaseException:
        file.unlink(missing_ok=True)
        raise
    return file


def copy_book(book: Book, file: Path, where: str = "") -> None:
    """Write the book as one SQLite file and check that the copy is sound.

    Parameters
    ----------
    book : Book
        Open.
    file : Path
        Made; its folder is there.
    where : str
        What a sentence about a fault of the copy names; empty: the file.
    """
    where = where or str(file)
    with told(book.url):
        if book.kind == "sqlite":
            with book.engine.connect() as connection:
                source: Any = connection.connection.driver_connection
                with told(where), closing(sqlite3.connect(file)) as copy:
                    source.backup(copy)  # all pages in one go: one state of the book
        else:
            options: dict[str, Any] = {"isolation_level": "REPEATABLE READ"}
            with book.engine.connect().execution_options(**options) as connection, _copied(where):
                _copy_rows(connection, file)
    with closing(sqlite3.connect(file)) as copy:
        found = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise ArgentryError(
            "{where}: the copy is not sound ({found}); do not rely on it.".format(
                where=where, found=found
            )
        )


@contextmanager
def _copied(where: str) -> Iterator[None]:
    """Tell of an error of the copy, an SQLite file, by its place; one of the server passes."""
    try:
        yield
    except DBAPIError as error:
        if isinstance(error.orig, sqlite3.Error):
            with told(where):
                raise
        raise


def _copy_rows(source: Connection, file: Path) -> None:
    form = revision(source)
    if form is None:
        raise BadInput("backup", "this database holds no book", "name one that does")
    engine = sqlite_engine(file)
    try:
        with engine.connect().execution_options(argentry_writes=True) as target, target.begin():
            run_migrations(target, form)
            copy_tables(source, target)
    finally:
        engine.dispose()


def copy_tables(source: Connection, target: Connection) -> None:
    """Copy the rows of all tables between two books of the same form.

    Parameters
    ----------
    source, target : Connection
        `target` within a writing transaction, its tables empty.
    """
    shape = MetaData()
    shape.reflect(target)
    for table in shape.sorted_tables:
        if table.name == "alembic_version":
            continue
        query = select(table)
        if "seq" in table.c:
            query = query.order_by(table.c.seq)
        for part in source.execute(query).mappings().partitions(AT_ONCE):
            target.execute(table.insert(), [dict(row) for row in part])


def sync_file(file: Path) -> None:
    """Wait until the bytes of a file are on the disk."""
    with file.open("rb+") as handle:
        os.fsync(handle.fileno())
