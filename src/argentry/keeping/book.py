"""The book as a whole: open it for a studio, look it over, back it up, bring a backup back."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from functools import wraps
from shutil import disk_usage
from tempfile import TemporaryFile
from typing import TYPE_CHECKING, Concatenate, ParamSpec, Protocol, TypeVar

from argentry.book.care.sizes import Holds, sizes
from argentry.book.engine import Book, close_book
from argentry.errors import BadInput
from argentry.keeping.studio import studio_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from argentry.records.studio import Studio


# floors above hold an open book and hand it back; they call nothing on it
__all__ = ["Book", "backup_book", "check_book", "restore_book", "studio_book"]


Given = ParamSpec("Given")
Found = TypeVar("Found")
Found_co = TypeVar("Found_co", covariant=True)


class ByFolder(Protocol[Given, Found_co]):
    """A question to a book that is asked by its studio's folder, or by the book's address."""

    def __call__(
        self,
        folder: Path | None,
        address: str | None = None,
        *given: Given.args,
        **named: Given.kwargs,
    ) -> Found_co:
        """Open the book, ask, and close it."""


LEAST_FREE = 100_000_000  # bytes; a year of a studio's events is a tenth of it
NOT_WRITABLE = "Nothing new is stored: {folder} cannot be written ({why}). Make it writable."
NEARLY_FULL = (
    "Only {free:.0f} MB are free on the disk of {folder}. Free some space before it is full."
)


@dataclass(frozen=True)
class BookCheck(Holds):
    """The book looked over from end to end; exit code 1 when there is a fault.

    Attributes
    ----------
    ok : bool
        True when there is no fault.
    where : str
        Address of the book.
    faults : tuple of str
        Every fault, one sentence each.
    advice : tuple of str
        What is not a fault but puts the book at risk, one sentence each.
    """

    ok: bool
    where: str
    faults: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True)
class Backup(Holds):
    """The backup that was made.

    Attributes
    ----------
    folder : str
        Folder it lies in.
    bytes : int
        Its length on the disk. [bytes]
    """

    folder: str
    bytes: int


@dataclass(frozen=True)
class Restored(Holds):
    """The book after the backup was put in its place.

    Attributes
    ----------
    folder : str or None
        The studio folder; null when the book was named by its address only.
    aside : str or None
        Where the book that was there lies; null when there was none.
    """

    folder: str | None
    aside: str | None


@dataclass(frozen=True)
class SalvagedBook:
    """What was saved of a damaged book.

    Attributes
    ----------
    folder : str
        The new studio folder.
    rows : int
        Events and rows that were copied.
    lost : tuple of str
        Everything that was not, one sentence each.
    """

    folder: str
    rows: int
    lost: tuple[str, ...]


@contextmanager
def studio_book(
    folder: Path | None, address: str | None = None, *, quick: bool = True
) -> Iterator[Book]:
    """Open the book of a studio and close it at the end.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    address : str, optional
        Of a PostgreSQL book; without one the book is ``book.sqlite`` in the folder.
    quick : bool
        False leaves out the quick check of the file.

    Yields
    ------
    Book
        Open.

    Raises
    ------
    BadInput
        If neither names a book.
    ArgentryError
        If it cannot be opened.
    """
    from argentry.book.open import open_book

    folder = None if folder is None else studio_folder(folder)
    if folder is not None and not address and not (folder / "studio.toml").is_file():
        raise BadInput(
            "studio",
            "{folder} holds no studio.toml",
            "name a studio folder with --studio DIR",
            folder=folder,
        )
    book = open_book(_place(folder, address), folder=folder, quick=quick)
    try:
        yield book
    finally:
        close_book(book)


def by_folder(of: Callable[Concatenate[Book, Path | None, Given], Found]) -> ByFolder[Given, Found]:
    """Return what is asked of an open book as a question to a studio's folder."""

    @wraps(of)
    def opened(
        folder: Path | None,
        address: str | None = None,
        *given: Given.args,
        **named: Given.kwargs,
    ) -> Found:
        with studio_book(folder, address) as book:
            return of(book, folder, *given, **named)

    return opened


def _place(folder: Path | None, address: str | None) -> Path | str:
    where = address or folder
    if where is None:
        raise BadInput("studio", "no studio is named", "give --studio DIR or --book ADDRESS")
    return where


def check_book(folder: Path | None, address: str | None = None) -> BookCheck:
    """Look a book over from end to end.

    Raises
    ------
    ArgentryError
        If it cannot be opened at all.
    """
    from argentry.book.care.doctor import advice, check

    with studio_book(folder, address, quick=False) as book:
        faults = tuple(check(book))
        return BookCheck(
            **vars(sizes(book)),
            ok=not faults,
            where=book.url,
            faults=faults,
            advice=tuple(advice(book)),
        )


def backup_book(folder: Path | None, target: Path, address: str | None = None) -> Backup:
    """Copy a whole book into a new folder under `target`, also during a run.

    Raises
    ------
    ArgentryError
        If the book cannot be read or the backup cannot be written.
    """
    from argentry.book.care.backup import backup, contents

    with studio_book(folder, address, quick=False) as book:
        made = backup(book, target)
    size = sum(file.stat().st_size for file in made.rglob("*") if file.is_file())
    return Backup(**vars(contents(made)), folder=str(made), bytes=size)


def store_trouble(folder: Path) -> str:
    """Return why new events may soon not be stored in a folder; empty when nothing does."""
    try:
        with TemporaryFile(dir=folder):
            free = disk_usage(folder).free
    except OSError as error:
        return NOT_WRITABLE.format(folder=folder, why=error.strerror or error)
    if free < LEAST_FREE:
        return NEARLY_FULL.format(folder=folder, free=free / 1e6)
    return ""


def daily_backup(book: Book, studio: Studio, now: datetime) -> Path | None:
    """Make the backup of the day when it is due, and delete the oldest beyond those to keep.

    Parameters
    ----------
    book : Book
        Open.
    studio : Studio
        Says whether, where to and how many.
    now : datetime
        The machine's time, UTC: backups are named by it.

    Returns
    -------
    Path or None
        The new backup; None when none is due.

    Raises
    ------
    ArgentryError
        If it cannot be made, or nothing could be restored from it; nothing is deleted then.
    """
    from argentry.book.care.backup import backup, last_backup, rotate

    asked = studio.backups
    if not asked.daily or book.folder is None:
        return None
    target = book.folder / asked.folder
    last = last_backup(target)
    if last is not None and timedelta() <= now - last < timedelta(days=1):
        return None
    made = backup(book, target)
    rotate(target, asked.keep)
    return made


def salvage_book(folder: Path | None, target: Path, address: str | None = None) -> SalvagedBook:
    """Copy every sound event and row of a damaged book into a new folder.

    Raises
    ------
    BadInput
        If no place is named, there is no book, or one lies in `target`.
    ArgentryError
        If the new book cannot be written.
    """
    from argentry.book.care.salvage import salvage

    done = salvage(_place(folder, address), target, folder)
    return SalvagedBook(str(target), sum(done.rows.values()), done.lost)


def restore_book(folder: Path | None, saved: Path, address: str | None = None) -> Restored:
    """Put a backup in the place of the book; the one that was there is moved aside.

    Raises
    ------
    BadInput
        If no place is named, or there is no backup.
    ArgentryError
        If the backup is damaged or another program has the book open.
    """
    from argentry.book.care.backup import restore

    aside = restore(_place(folder, address), saved, studio=folder)
    with studio_book(folder, address) as book:  # an older form is brought up to date here
        held = sizes(book)
    return Restored(
        **vars(held),
        folder=None if folder is None else str(folder),
        aside=None if aside is None else str(aside),
    )
