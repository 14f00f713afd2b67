"""Put a backup in the place of a book: only what its checksums list, and never a moment without."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
from collections.abc import Mapping
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from argentry.book.care.copies import copy_tables, sync_file
from argentry.book.care.doctor import check_connection
from argentry.book.engine import close_book, sqlite_engine, writing
from argentry.book.forms import revision, revisions
from argentry.book.hold import FILE, hold_alone
from argentry.book.notebooks import FOLDER as NOTEBOOKS
from argentry.book.notebooks import MAPPING, MEMORY
from argentry.book.open import open_book
from argentry.book.pictures.kept import FOLDER, sha256_of, sync_folder
from argentry.book.trouble import told
from argentry.errors import ArgentryError, BadInput

SUMS = "SHA256SUMS"  # as sha256sum writes and reads them
STUDIO = "studio.toml"
HOLDS, NAME_ONE = "it is a folder of backups ({count})", "name one of them; the newest is {newest}"
SPECTRUM = r"[A-Za-z0-9][\w .()+-]{0,70}\.(?:csv|tsv|txt)"  # a file that a studio names
HASH = r"[0-9a-f]{64}"
NOTEBOOK = rf"{HASH}(?:{re.escape(MAPPING)})?|{re.escape(MEMORY)}"
NAMES = "|".join(
    (
        re.escape(FILE),
        re.escape(STUDIO),
        SPECTRUM,
        f"{FOLDER}/{HASH}",
        f"{NOTEBOOKS}/(?:{NOTEBOOK})",
    )
)
LINE = re.compile(rf"([0-9a-f]{{64}})  ({NAMES})", re.ASCII)
LONGEST_SUMS = 100_000_000  # bytes; a line is 143


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
    file, sums = _sound(saved)
    if "://" in str(folder):
        _into_database(str(folder), file, studio)
        if studio is not None:
            _bring_beside(file.parent, studio, sums)
        return None
    folder = Path(folder)
    alone = None
    now = f"{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    place, half = folder / FILE, folder / f".{FILE}.{now}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        alone = hold_alone(folder)
        shutil.copyfile(file, half, follow_symlinks=False)
        sync_file(half)
        _check_copy(half, saved, sums)
        _bring_beside(file.parent, folder, sums)
        aside = _exchange(place, half, now)
        sync_folder(folder)
    except OSError as error:
        raise ArgentryError(
            "{place}: it cannot be restored ({strerror}).".format(
                place=place, strerror=error.strerror or error
            )
        ) from None
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)
        if alone is not None:
            alone()
    return aside


def is_sound(saved: Path) -> bool:
    """Return True when all that a backup lists is there as it was saved."""
    try:
        return bool(_listed(saved, file_of(saved)))
    except (ArgentryError, OSError):
        return False


def file_of(saved: Path) -> Path:
    """Return the book in a backup.

    Raises
    ------
    BadInput
        If there is none, or a link stands in its place.
    """
    file = saved / FILE if saved.is_dir() else saved
    if file.is_symlink():
        raise BadInput(str(file), "it is a link", "name a folder made by book backup")
    if not file.is_file():
        within = list(saved.glob(f"*/{FILE}")) if saved.is_dir() else []
        if within:  # the folder that was given to `book backup`
            newest = max(within, key=lambda one: one.stat().st_mtime).parent
            raise BadInput(str(saved), HOLDS, NAME_ONE, count=len(within), newest=newest)
        raise BadInput(str(saved), "there is no backup here", "name a folder made by book backup")
    return file


def _listed(saved: Path, file: Path) -> Mapping[str, str]:
    """Return name to sum of what a backup lists, each looked at; empty for a bare file."""
    listing = file.parent / SUMS
    if not listing.exists() and not listing.is_symlink():
        return {}
    bad = "{saved}: {name!r} is missing or not as it was saved; use another backup."
    if listing.is_symlink() or not listing.is_file() or listing.stat().st_size > LONGEST_SUMS:
        raise ArgentryError(bad.format(saved=saved, name=SUMS))
    sums = {}
    for line in listing.read_bytes().decode("utf-8", "replace").splitlines():
        match = LINE.fullmatch(line)
        path = file.parent / match[2] if match else file.parent
        linked = path.is_symlink() or path.parent.is_symlink()
        if match is None or linked or not path.is_file() or sha256_of(path) != match[1]:
            name = match[2] if match else line.partition("  ")[2][:80]
            raise ArgentryError(bad.format(saved=saved, name=name))
        sums[match[2]] = match[1]
    if file.name not in sums:
        raise ArgentryError(bad.format(saved=saved, name=file.name))
    return sums


def _sound(saved: Path) -> tuple[Path, Mapping[str, str]]:
    file = file_of(saved)
    sums = _listed(saved, file)
    engine = sqlite_engine(file)
    try:
        with told(str(file)), engine.connect() as connection:
            wrong = check_connection(connection)
    finally:
        engine.dispose()
    if wrong:
        raise ArgentryError(
            "{saved}: the backup is damaged ({wrong}); use another.".format(
                saved=saved, wrong=wrong[0].rstrip(".")
            )
        )
    return file, sums


def _check_copy(half: Path, saved: Path, sums: Mapping[str, str]) -> None:
    if sums and sha256_of(half) != sums[FILE]:
        raise ArgentryError("{saved}: it was copied with errors; try again.".format(saved=saved))


def _exchange(place: Path, half: Path, now: str) -> Path | None:
    """Put the new book in the place of the old one in one step; keep the old under its own name."""
    if not place.exists():
        half.replace(place)
        return None
    _roll_back(place)
    aside = place.with_name(f"book-before-restore-{now}.sqlite")
    try:
        os.link(place, aside)
    except OSError:  # a disk that knows no second names
        shutil.copyfile(place, aside)
        sync_file(aside)
    journal = place.with_name(f"{place.name}-journal")
    if journal.exists():  # of a book too damaged to be rolled back
        journal.replace(aside.with_name(f"{aside.name}-journal"))
    half.replace(place)
    return aside


def _roll_back(place: Path) -> None:
    """Let SQLite finish what a killed program left half done, so that no journal is left over."""
    with suppress(sqlite3.Error), closing(sqlite3.connect(place)) as old:
        old.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def _bring_beside(saved: Path, folder: Path, sums: Mapping[str, str]) -> None:
    """Bring what is named by its hash, and the studio's own files where there are none."""
    for name, wanted in sums.items():
        target = folder / name
        own = not re.fullmatch(HASH, target.name)  # of the studio, which keeps what it has
        if name == FILE or (target.exists() and (own or sha256_of(target) == wanted)):
            continue
        target.parent.mkdir(exist_ok=True)
        half = target.with_name(f".{target.name}.part")
        shutil.copyfile(saved / name, half, follow_symlinks=False)
        sync_file(half)
        half.replace(target)
        sync_folder(target.parent)


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
