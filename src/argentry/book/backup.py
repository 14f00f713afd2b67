"""Backups: one SQLite file, the pictures and the studio file, with their checksums; and back again.

A backup of a SQLite and of a PostgreSQL book is the same: either may be restored as the other.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import MetaData, select

from argentry.book.doctor import check, check_connection
from argentry.book.engine import FILE, Book, close_book, open_book, sqlite_engine, writing
from argentry.book.hold import hold_alone
from argentry.book.pictures import FOLDER, sync_folder
from argentry.book.sizes import counts
from argentry.book.trouble import told
from argentry.book.upgrade import revision, revisions, run_migrations
from argentry.errors import ArgentryError, BadInput

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection

SUMS = "SHA256SUMS"  # as sha256sum writes and reads them
STUDIO = "studio.toml"
AT_ONCE = 5000

__all__ = ["backup", "check", "contents", "copy_before_change", "restore"]


def backup(book: Book, target_dir: Path) -> Path:
    """Copy the whole book into a new folder under `target_dir`; a run may go on meanwhile.

    Parameters
    ----------
    book : Book
        An open book.
    target_dir : Path
        Made when it is not there. Another disk is best.

    Returns
    -------
    Path
        The new folder: ``book.sqlite``, ``pictures/``, ``studio.toml``, ``SHA256SUMS``.

    Raises
    ------
    ArgentryError
        If it cannot be written or the copy is not sound; no half backup is left under its name.
    """
    name = f"argentry-backup-{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    target, half = target_dir / name, target_dir / f".{name}.part"
    try:
        half.mkdir(parents=True)
        _copy_book(book, half / FILE)
        for file in _beside(book):
            copy = half / file.relative_to(book.folder or Path())
            copy.parent.mkdir(exist_ok=True)
            shutil.copyfile(file, copy)
        sums = [f"{_sha256(file)}  {file.relative_to(half).as_posix()}\n" for file in _files(half)]
        (half / SUMS).write_text("".join(sums), encoding="utf-8")
        _sync(half)
        half.replace(target)
        sync_folder(target_dir)
    except OSError as error:
        raise ArgentryError(
            f"{target}: the backup cannot be written ({error.strerror or error})."
        ) from None
    finally:
        shutil.rmtree(half, ignore_errors=True)
    return target


def restore(folder: Path | str, saved: Path, *, studio: Path | None = None) -> Path | None:
    """Put a backup in the place of a book; what was there is moved aside, never deleted.

    Parameters
    ----------
    folder : Path or str
        Studio folder; or the address of an empty PostgreSQL database.
    saved : Path
        A folder made by `backup`, or its ``book.sqlite``.
    studio : Path, optional
        Studio folder for the pictures beside a PostgreSQL book.

    Returns
    -------
    Path or None
        Where the book that was there lies now.

    Raises
    ------
    ArgentryError
        If the backup is damaged or cannot be put in place; the book that was there stays.
    """
    file = _sound(saved)
    if "://" in str(folder):
        _into_database(str(folder), file, studio)
        if studio is not None:
            _bring_pictures(saved, studio)
        return None
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    alone = hold_alone(folder)
    now = f"{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    place, half = folder / FILE, folder / f".{FILE}.{now}.part"
    try:
        shutil.copyfile(file, half)
        _sync_file(half)
        aside = _aside(place, now)
        half.replace(place)
        sync_folder(folder)
        _bring_pictures(saved, folder)
        if not (folder / STUDIO).exists() and (file.parent / STUDIO).is_file():
            shutil.copyfile(file.parent / STUDIO, folder / STUDIO)
    except OSError as error:
        raise ArgentryError(
            f"{place}: it cannot be restored ({error.strerror or error})."
        ) from None
    finally:
        half.unlink(missing_ok=True)
        alone()
    return aside


def contents(saved: Path) -> dict[str, int]:
    """Return how many rows of each kind a backup holds that was just made.

    Raises
    ------
    BadInput
        If there is no backup.
    """
    file = _file_of(saved)
    engine = sqlite_engine(file)
    try:
        with told(str(file)), engine.connect() as connection:
            return counts(connection)
    finally:
        engine.dispose()


def copy_before_change(book: Book, form: str) -> Path:
    """Copy the book's tables beside it before they are changed to another form."""
    folder = (book.folder or Path()) / "backups"
    now = f"{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    file = folder / f"book-form-{form}-{now}.sqlite"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _copy_book(book, file)
        _sync_file(file)
        sync_folder(folder)
    except OSError as error:
        raise ArgentryError(
            f"{file}: no backup can be made ({error.strerror or error}), so nothing was changed."
        ) from None
    except BaseException:
        file.unlink(missing_ok=True)
        raise
    return file


def _copy_book(book: Book, file: Path) -> None:
    """Write the book as one SQLite file and look whether the copy is sound."""
    with told(book.url):
        if book.kind == "sqlite":
            with book.engine.connect() as connection:
                source: Any = connection.connection.driver_connection
                with told(str(file)), closing(sqlite3.connect(file)) as copy:
                    source.backup(copy)  # all pages in one go: one state of the book
        else:
            options: dict[str, Any] = {"isolation_level": "REPEATABLE READ"}
            with book.engine.connect().execution_options(**options) as connection:
                _copy_rows(connection, file)
    with closing(sqlite3.connect(file)) as copy:
        found = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise ArgentryError(f"{file}: the copy is not sound ({found}); do not rely on it.")


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


def _into_database(url: str, file: Path, studio: Path | None) -> None:
    engine = sqlite_engine(file)
    book = open_book(url, folder=studio)
    try:
        with engine.connect() as source, writing(book) as target:
            have = revision(source)
            if have != revisions()[-1]:
                raise BadInput(
                    str(file), f"it has the older form {have}", "restore it into a folder first"
                )
            if target.exec_driver_sql("SELECT 1 FROM event UNION ALL SELECT 1 FROM plate").first():
                raise BadInput("book address", "this database holds a book", "name an empty one")
            copy_tables(source, target)
    finally:
        engine.dispose()
        close_book(book)


def _file_of(saved: Path) -> Path:
    file = saved / FILE if saved.is_dir() else saved
    if not file.is_file():
        raise BadInput(str(saved), "there is no backup here", "name a folder made by book backup")
    return file


def _sound(saved: Path) -> Path:
    file = _file_of(saved)
    sums = file.parent / SUMS
    if sums.is_file():
        for line in sums.read_text(encoding="utf-8").splitlines():
            wanted, _, name = line.partition("  ")
            path = file.parent / name
            inside = path.resolve().is_relative_to(file.parent.resolve())
            if not inside or not path.is_file() or _sha256(path) != wanted:
                raise ArgentryError(
                    f"{saved}: {name!r} is missing or not as it was saved; use another backup."
                )
    engine = sqlite_engine(file)
    try:
        with told(str(file)), engine.connect() as connection:
            wrong = check_connection(connection)
    finally:
        engine.dispose()
    if wrong:
        raise ArgentryError(f"{saved}: the backup is damaged ({wrong[0]}); use another.")
    return file


def _aside(place: Path, now: str) -> Path | None:
    """Move a book and its journal away under one name, so that the journal still fits."""
    if not place.exists():
        return None
    aside = place.with_name(f"book-before-restore-{now}.sqlite")
    journal = place.with_name(f"{place.name}-journal")
    if journal.exists():
        journal.replace(aside.with_name(f"{aside.name}-journal"))
    place.replace(aside)
    return aside


def _bring_pictures(saved: Path, folder: Path) -> None:
    for picture in _files(saved / FOLDER) if saved.is_dir() else ():
        target = folder / FOLDER / picture.name
        if not target.exists():
            target.parent.mkdir(exist_ok=True)
            shutil.copyfile(picture, target)
            _sync_file(target)


def _beside(book: Book) -> Iterator[Path]:
    if book.folder is None:
        return
    if (book.folder / STUDIO).is_file():
        yield book.folder / STUDIO
    yield from (file for file in _files(book.folder / FOLDER) if not file.name.startswith("."))


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file()) if folder.is_dir() else []


def _sha256(file: Path) -> str:
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def _sync(folder: Path) -> None:
    for file in _files(folder):
        _sync_file(file)
        sync_folder(file.parent)
    sync_folder(folder)


def _sync_file(file: Path) -> None:
    with file.open("rb+") as handle:
        os.fsync(handle.fileno())
