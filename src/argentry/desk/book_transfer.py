"""Getting plates into the book and the whole book in and out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Literal

from argentry.desk.book import studio_book
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from argentry.exchange.plates.cells import TableProblem
    from argentry.exchange.plates.table import PlateTable

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
    """

    folder: str
    tables: Mapping[str, int]
    pictures: int
    bytes: int


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


@dataclass(frozen=True)
class TableImport:
    """A table of plates that was read into the book; exit code 2 when a dry run finds a problem.

    Attributes
    ----------
    kind : str
        Always table.
    file : str
        Name of the file.
    ok : bool
        True when there is no problem.
    dry_run : bool
        True when it was only looked at and nothing was changed.
    rows : int
        Rows in the file.
    new : int
        Rows that were, or would be, added.
    known : int
        Rows that were in the book before.
    fields : Mapping of str to str
        Column of the file by field (docs/plates-csv.md).
    own : tuple of str
        Columns kept as conditions of the maker's own.
    skipped : tuple of str
        Columns left out.
    problems : tuple of TableProblem
        Every problem, in the order of the rows.
    """

    kind: Literal["table"]
    file: str
    ok: bool
    dry_run: bool
    rows: int
    new: int
    known: int
    fields: Mapping[str, str]
    own: tuple[str, ...]
    skipped: tuple[str, ...]
    problems: tuple[TableProblem, ...]


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
    from argentry.exchange.archive.archive import export_book

    with studio_book(folder, address, quick=False) as book:
        made = export_book(book, target, progress=progress)
    size = sum(file.stat().st_size for file in target.rglob("*") if file.is_file())
    return Exported(str(target), made.rows, made.pictures, size)


def import_into_book(
    folder: Path | None,
    source: Path,
    address: str | None = None,
    *,
    mapping: Path | None = None,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> ArchiveImport | TableImport:
    """Read an archive (a folder) or a table of plates (a file) into the book.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    source : Path
        The archive's folder, or a CSV, ODS or XLSX file.
    address : str, optional
        Of a PostgreSQL book.
    mapping : Path, optional
        TOML file that says what the columns of a table mean.
    dry_run : bool
        True: look at everything, change nothing.
    progress : callable, optional
        Told how much is done, and of how much.

    Raises
    ------
    BadInput
        If there is nothing of that name, or it cannot be used.
    """
    if source.is_dir():
        if mapping is not None:
            raise BadInput("--mapping", "an archive needs none", "leave it out")
        return import_archive_folder(folder, source, address, dry_run=dry_run, progress=progress)
    return import_table(
        folder, source, address, mapping=mapping, dry_run=dry_run, progress=progress
    )


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


def import_table(
    folder: Path | None,
    source: Path,
    address: str | None = None,
    *,
    mapping: Path | None = None,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> TableImport:
    """Read a table of plates into the book, all rows or none; a dry run reports every problem.

    Raises
    ------
    BadInput
        If the file or the mapping cannot be used; unless `dry_run`, also if a row has a problem.
    """
    from argentry.desk.studio import load_studio
    from argentry.exchange.plates.into_book import Compared, compare, import_plates, refuse
    from argentry.exchange.plates.mapping import read_plate_mapping
    from argentry.exchange.plates.table import read_plate_table

    zone = load_studio(folder).site.time_zone if folder is not None else "UTC"
    meaning = None if mapping is None else read_plate_mapping(mapping)
    table = read_plate_table(source, meaning, time_zone=zone, progress=progress)
    if not dry_run:
        refuse(table.name, table.problems)
    if dry_run and address is None and not _has_book(folder):  # a look makes no book
        return _table_answer(table, Compared(table.rows, 0, ()), dry_run=True)
    with studio_book(folder, address) as book:
        if dry_run:
            found = compare(book, table)
        else:
            found = import_plates(book, table, at=datetime.now(UTC), progress=progress)
    return _table_answer(table, found, dry_run=dry_run)


def _has_book(folder: Path | None) -> bool:
    from argentry.book.engine import FILE

    return folder is not None and (folder / FILE).is_file()


def _table_answer(table: PlateTable, found: Any, *, dry_run: bool) -> TableImport:
    problems = sorted((*table.problems, *found.problems), key=lambda problem: problem.row)
    return TableImport(
        kind="table",
        file=table.name,
        ok=not problems,
        dry_run=dry_run,
        rows=table.total,
        new=len(found.fresh),
        known=found.known,
        fields=dict(table.fields),
        own=tuple(table.own),
        skipped=tuple(table.skipped),
        problems=tuple(problems),
    )
