"""Copies of the book on its page: the backups there are, one more, an archive to take away."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from tempfile import mkdtemp
from typing import TYPE_CHECKING
from zipfile import ZIP_DEFLATED, ZipFile

from argentry.book.care.backup import backup, backups
from argentry.files import refused_by_disk

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.desk.house import House

MEGABYTE = 1e6
ARCHIVE = "argentry-archive-{day:%Y-%m-%d}"
MAKE_ROOM = "free some space"


@dataclass(frozen=True)
class KeptBackup:
    """One backup.

    Attributes
    ----------
    name : str
        Of its folder.
    made : str
        When, by the studio's wall clock.
    megabytes : float
        On the disk. [MB]
    """

    name: str
    made: str
    megabytes: float


@dataclass(frozen=True)
class CopiesPage:
    """What the page of copies shows.

    Attributes
    ----------
    folder : str
        Where backups go.
    daily : bool
        True when the server makes one a day.
    keep : int
        How many sound ones stay then.
    free_megabytes : float or None
        Room on that disk; None where it cannot be asked. [MB]
    backups : tuple of KeptBackup
        The newest first.
    """

    folder: str
    daily: bool
    keep: int
    free_megabytes: float | None
    backups: tuple[KeptBackup, ...]


def copies_page(house: House) -> CopiesPage:
    """Return what copies there are of the book."""
    folder, asked = _folder(house), house.studio.backups
    there = next((one for one in (folder, *folder.parents) if one.is_dir()), None)
    return CopiesPage(
        folder=str(folder),
        daily=asked.daily and house.book.folder is not None,
        keep=asked.keep,
        free_megabytes=None if there is None else shutil.disk_usage(there).free / MEGABYTE,
        backups=tuple(
            KeptBackup(one.name, f"{made.astimezone(house.zone):%Y-%m-%d %H:%M}", _megabytes(one))
            for made, one in sorted(backups(folder), reverse=True)
        ),
    )


def back_up_now(house: House) -> str:
    """Make a backup beside those of the day; return its name. None is deleted for it."""
    return backup(house.book, _folder(house)).name


def archive_zip(house: House) -> Path:
    """Write the whole book as one archive into a ZIP file in a new folder of its own.

    Raises
    ------
    ArgentryError
        If it cannot be written, or a picture of the book is missing or damaged.
    """
    from pathlib import Path

    from argentry.exchange.archive.archive import export_book

    made = Path(mkdtemp(prefix="argentry-"))
    try:
        name = ARCHIVE.format(day=datetime.now(UTC).astimezone(house.zone))
        export_book(house.book, made / name)
        file = made / f"{name}.zip"
        with (
            refused_by_disk(made, MAKE_ROOM),
            ZipFile(file, "w", ZIP_DEFLATED, compresslevel=1) as out,
        ):
            for one in sorted((made / name).rglob("*")):
                if one.is_file():
                    out.write(one, one.relative_to(made))
        shutil.rmtree(made / name, ignore_errors=True)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    return file


def _folder(house: House) -> Path:
    return (house.book.folder or house.studio_dir) / house.studio.backups.folder


def _megabytes(folder: Path) -> float:
    return sum(one.stat().st_size for one in folder.rglob("*") if one.is_file()) / MEGABYTE
