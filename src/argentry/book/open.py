"""Open a book: connect to its store, look it over, bring its tables up to date."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from argentry.book.engine import Book, close_book, connect
from argentry.book.hold import FILE
from argentry.book.tables import APPLICATION_ID
from argentry.book.trouble import told
from argentry.book.upgrade import upgrade
from argentry.errors import ArgentryError, BadInput

PREFIX = "argentry-backup-"  # how the folders of backups begin
LOST = (
    "{file}: the book is missing or empty, but backups of it lie in {folder}. Bring the newest "
    "back with: argentry book restore {newest}. To begin a new book, move these backups away."
)


def open_book(where: Path | str, *, folder: Path | None = None, quick: bool = True) -> Book:
    """Open the book of a studio, bring its tables up to date and check that it is sound.

    Parameters
    ----------
    where : Path or str
        A studio folder (its ``book.sqlite`` is made when there is none), or an address
        ``postgresql+psycopg://...``.
    folder : Path, optional
        Studio folder beside a PostgreSQL book.
    quick : bool
        False leaves out the quick check of the file (a second for a very large book).

    Returns
    -------
    Book
        Ready for reading and writing. `close_book` gives its connections back.

    Raises
    ------
    ArgentryError
        If it cannot be opened, is damaged, or was written by a newer argentry.
    """
    if "://" not in str(where):
        _not_taken_for_new(Path(where))
    book = connect(where, folder)
    try:
        with told(book.url):
            if quick and book.kind == "sqlite":
                _quick_check(book)
            upgrade(book)
    except BaseException:
        close_book(book)
        raise
    return book


def _not_taken_for_new(folder: Path) -> None:
    """Refuse to begin a new book where backups say that there was one."""
    file = folder / FILE if folder.is_dir() else folder
    found = sorted(
        (folder / "backups").glob(f"{PREFIX}*/{FILE}") if folder.is_dir() else (),
        key=lambda one: one.parent.name,
    )
    if found and not _holds_tables(file):
        raise ArgentryError(
            LOST.format(file=file, folder=folder / "backups", newest=found[-1].parent)
        )


def _holds_tables(file: Path) -> bool:
    """Return False for a file that is missing, empty, or a database without a table."""
    if not file.is_file() or file.stat().st_size == 0:
        return False
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as raw:
            return bool(raw.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])
    except sqlite3.Error:  # damaged or in use: told where it is opened
        return True


def _quick_check(book: Book) -> None:
    with book.engine.connect() as connection:
        application = connection.exec_driver_sql("PRAGMA application_id").scalar()
        tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_schema").scalar()
        if application not in (0, APPLICATION_ID) or (application == 0 and tables):
            raise BadInput(
                book.url, "it is not a book of argentry", "move the file away or name another"
            )
        found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
    if found != "ok":
        raise ArgentryError(
            "{url}: the book is damaged ({found}); stop, copy the folder as it is, and "
            "restore the last backup with: argentry book restore.".format(url=book.url, found=found)
        )
