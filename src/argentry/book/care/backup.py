"""Backups: one SQLite file, pictures, imported notebooks and the studio file, with checksums.

A backup of a SQLite and of a PostgreSQL book is the same: either may be restored as the other. It
gets its name only after a restore of it was proved.
"""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from argentry.book.care.copies import copy_book, sync_file
from argentry.book.care.doctor import check
from argentry.book.care.restore import (
    HASH,
    NOTEBOOK,
    SPECTRUM,
    STUDIO,
    SUMS,
    file_of,
    is_sound,
    restore,
)
from argentry.book.care.sizes import Holds, counts, sizes
from argentry.book.engine import Book, close_book, sqlite_engine
from argentry.book.hold import FILE
from argentry.book.log import last_seq
from argentry.book.notebooks import FOLDER as NOTEBOOKS
from argentry.book.open import PREFIX, open_book
from argentry.book.pictures.kept import FOLDER, sha256_of, sync_folder
from argentry.book.trouble import told
from argentry.errors import ArgentryError

NAME = re.compile(rf"{PREFIX}(\d{{8}}T\d{{12}})Z")
NOT_SOUND = (
    "{where}: no backup was written, because this book could not be restored from it ({why}). Look "
    "with argentry book check; save what is sound with argentry book salvage."
)

__all__ = ["backup", "backups", "check", "contents", "last_backup", "restore", "rotate"]


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
        The new folder: ``book.sqlite``, ``pictures/``, ``notebooks/``, ``studio.toml`` with the
        spectra that it names, ``SHA256SUMS``. A book was restored from it and found sound before it
        got its name.

    Raises
    ------
    ArgentryError
        If it cannot be written or the copy is not sound; nothing of it is left, nor a new folder.
    """
    name = f"{PREFIX}{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    target, half = target_dir / name, target_dir / f".{name}.part"
    new: list[Path] = []
    try:
        new += [folder for folder in (target_dir, *target_dir.parents) if not folder.exists()]
        half.mkdir(parents=True)
        before = last_seq(book)
        copy_book(book, half / FILE, str(target_dir))
        for file in _beside(book):
            copy = half / file.relative_to(book.folder or Path())
            copy.parent.mkdir(exist_ok=True)
            shutil.copyfile(file, copy)
        listed = ((sha256_of(file), file.relative_to(half).as_posix()) for file in _files(half))
        sums = "".join(f"{digest}  {name}\n" for digest, name in listed)
        (half / SUMS).write_text(sums, encoding="utf-8")
        _sync(half)
        _prove(book, half, before)
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
        with suppress(OSError):  # one that holds a backup stays
            for folder in new:
                folder.rmdir()
    return target


def _prove(book: Book, saved: Path, before: int) -> None:
    """Restore a backup next to it, open the book and look at all of it."""
    with TemporaryDirectory(dir=saved.parent, prefix=".argentry-proof-") as there:
        try:
            restore(Path(there), saved)
            again = open_book(Path(there), quick=False)  # all of it is looked at here
            try:
                wrong = check(again)
                if not wrong and sizes(again).events < before:
                    wrong = ["it lacks the newest events."]
            finally:
                close_book(again)
        except ArgentryError as error:
            wrong = [str(error)]
    if wrong:
        raise ArgentryError(NOT_SOUND.format(where=book.url, why=wrong[0].rstrip(".")))


def last_backup(target_dir: Path) -> datetime | None:
    """Return when the newest backup in a folder was made, None when there is none."""
    return max((made for made, _ in backups(target_dir)), default=None)


def rotate(target_dir: Path, keep: int) -> list[Path]:
    """Delete the oldest backups beyond those to keep, and return them.

    Only sound ones count, and only while the newest is sound: one that rotted is left alone, so
    that nothing is deleted for its sake.

    Parameters
    ----------
    target_dir : Path
        Folder of the backups.
    keep : int
        How many sound ones stay; at least one.
    """
    found = sorted(backups(target_dir), reverse=True)
    sound = [folder for _, folder in found if is_sound(folder)]
    if not found or not sound or found[0][1] != sound[0]:
        return []
    gone = sound[max(1, keep) :]
    for folder in gone:
        shutil.rmtree(folder, ignore_errors=True)
    return gone


def backups(target_dir: Path) -> list[tuple[datetime, Path]]:
    """Return the backups in a folder, each with when it was made (UTC), in no order."""
    if not target_dir.is_dir():
        return []
    named = ((NAME.fullmatch(folder.name), folder) for folder in target_dir.iterdir())
    return [
        (datetime.strptime(match[1], "%Y%m%dT%H%M%S%f").replace(tzinfo=UTC), folder)
        for match, folder in named
        if match is not None and folder.is_dir() and not folder.is_symlink()
    ]


def contents(saved: Path) -> Holds:
    """Return how many rows of each kind a backup holds that was just made.

    Raises
    ------
    BadInput
        If there is no backup.
    """
    file = file_of(saved)
    engine = sqlite_engine(file)
    try:
        with told(str(file)), engine.connect() as connection:
            return counts(connection)
    finally:
        engine.dispose()


def _beside(book: Book) -> Iterator[Path]:
    if book.folder is None:
        return
    if (book.folder / STUDIO).is_file():
        yield book.folder / STUDIO
        yield from _spectra(book.folder)
    for folder, kept in ((FOLDER, HASH), (NOTEBOOKS, NOTEBOOK)):
        files = _files(book.folder / folder)
        yield from (file for file in files if re.fullmatch(kept, file.name, re.ASCII))


def _spectra(folder: Path) -> list[Path]:
    """Return the files of spectra that a studio file names: without them it cannot be read."""
    try:
        tables = tomllib.loads((folder / STUDIO).read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return []  # kept as it is, to be put right by its maker
    found = {folder / name for name in _named(tables) if re.fullmatch(SPECTRUM, name, re.ASCII)}
    return sorted(file for file in found if file.is_file() and not file.is_symlink())


def _named(part: Any) -> Iterator[str]:
    """Yield what stands under any key of a spectrum."""
    if isinstance(part, list):
        for row in part:
            yield from _named(row)
    elif isinstance(part, dict):
        for key, value in part.items():
            if key.endswith("spectrum") and isinstance(value, str):
                yield value
            else:
                yield from _named(value)


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file()) if folder.is_dir() else []


def _sync(folder: Path) -> None:
    for file in _files(folder):
        sync_file(file)
        sync_folder(file.parent)
    sync_folder(folder)
