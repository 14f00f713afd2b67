"""Backups: one SQLite file, the pictures and the studio file, with their checksums; and back again.

A backup of a SQLite and of a PostgreSQL book is the same: either may be restored as the other.
"""

from __future__ import annotations

import hashlib
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from argentry.book.care.copies import copy_book, copy_tables, sync_file
from argentry.book.care.doctor import check, check_connection
from argentry.book.care.sizes import Holds, counts
from argentry.book.engine import FILE, Book, close_book, sqlite_engine, writing
from argentry.book.forms import revision, revisions
from argentry.book.hold import hold_alone
from argentry.book.open import open_book
from argentry.book.pictures import FOLDER, sync_folder
from argentry.book.trouble import told
from argentry.errors import ArgentryError, BadInput

if TYPE_CHECKING:
    from collections.abc import Iterator


SUMS = "SHA256SUMS"  # as sha256sum writes and reads them
STUDIO = "studio.toml"

__all__ = ["backup", "check", "contents", "restore"]


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
        copy_book(book, half / FILE)
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
            "{target}: the backup cannot be written ({strerror}).".format(
                target=target, strerror=error.strerror or error
            )
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
        sync_file(half)
        aside = _aside(place, now)
        half.replace(place)
        sync_folder(folder)
        _bring_pictures(saved, folder)
        if not (folder / STUDIO).exists() and (file.parent / STUDIO).is_file():
            shutil.copyfile(file.parent / STUDIO, folder / STUDIO)
    except OSError as error:
        raise ArgentryError(
            "{place}: it cannot be restored ({strerror}).".format(
                place=place, strerror=error.strerror or error
            )
        ) from None
    finally:
        half.unlink(missing_ok=True)
        alone()
    return aside


def contents(saved: Path) -> Holds:
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


def _into_database(url: str, file: Path, studio: Path | None) -> None:
    engine = sqlite_engine(file)
    book = open_book(url, folder=studio)
    try:
        with engine.connect() as source, writing(book) as target:
            have = revision(source)
            if have != revisions()[-1]:
                raise BadInput(
                    str(file),
                    "it has the older form {have}",
                    "restore it into a folder first",
                    have=have,
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
                    (
                        "{saved}: {name!r} is missing or not as it was saved; use another backup."
                    ).format(saved=saved, name=name)
                )
    engine = sqlite_engine(file)
    try:
        with told(str(file)), engine.connect() as connection:
            wrong = check_connection(connection)
    finally:
        engine.dispose()
    if wrong:
        raise ArgentryError(
            "{saved}: the backup is damaged ({wrong}); use another.".format(
                saved=saved, wrong=wrong[0]
            )
        )
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
            sync_file(target)


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
        sync_file(file)
        sync_folder(file.parent)
    sync_folder(folder)
