"""The whole book as one archive, out and in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from argentry.keeping.book import studio_book

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Exported:
    """The archive that was written.

    Attributes
    ----------
    folder : str
        Folder it lies in.
    tables : Mapping of str to int
        Rows by table of the archive (docs/archive.md).
    pictures : int
        Photographs in the archive.
    bytes : int
        Its length on the disk. [bytes]
    pictures_that_tell : int
        Photographs whose file says where it was taken, or whose it is.
    pictures_not_looked_into : int
        Photographs of which that is not known.
    """

    folder: str
    tables: Mapping[str, int]
    pictures: int
    bytes: int
    pictures_that_tell: int
    pictures_not_looked_into: int


@dataclass(frozen=True)
class ArchiveImport:
    """An archive that was read into the book.

    Attributes
    ----------
    kind : str
        Always archive.
    ok : bool
        Always true: an archive that is not whole ends in a sentence and exit code 2.
    dry_run : bool
        True when it was only looked at and nothing was changed.
    known : bool
        True when the book held all of it already, so that nothing was changed.
    tables : Mapping of str to int
        Rows by table of the archive (docs/archive.md); empty when the book held all of it.
    pictures : int
        Photographs in the archive.
    """

    kind: Literal["archive"]
    ok: bool
    dry_run: bool
    known: bool
    tables: Mapping[str, int]
    pictures: int


def export_archive(
    folder: Path | None,
    target: Path,
    address: str | None = None,
    *,
    progress: Progress | None = None,
) -> Exported:
    """Write the whole book as one archive into a new folder.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    target : Path
        The archive's folder; must not exist, or be empty.
    address : str, optional
        Of a PostgreSQL book.
    progress : callable, optional
        Told how much is done, and of how much.

    Raises
    ------
    BadInput
        If there is something in the folder already.
    ArgentryError
        If it cannot be written.
    """
    from argentry.book.pictures.kept import pictures
    from argentry.exchange.archive.archive import export_book

    with studio_book(folder, address, quick=False) as book:
        made = export_book(book, target, progress=progress)
        carries = {one.sha256: one.carries for one in pictures(book)}.values()
    size = sum(file.stat().st_size for file in target.rglob("*") if file.is_file())
    tell, unknown = sum(map(bool, carries)), sum(one is None for one in carries)
    return Exported(str(target), made.rows, made.pictures, size, tell, unknown)


def import_archive_folder(
    folder: Path | None,
    source: Path,
    address: str | None = None,
    *,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> ArchiveImport:
    """Read an archive into an empty book; a dry run only checks its files."""
    from argentry.exchange.archive.archive import check_archive, import_archive

    if dry_run:
        made = check_archive(source, progress=progress)
    else:
        with studio_book(folder, address) as book:
            made = import_archive(book, source, progress=progress)
    return ArchiveImport(
        kind="archive",
        ok=True,
        dry_run=dry_run,
        known=made.known,
        tables=made.rows,
        pictures=made.pictures,
    )
