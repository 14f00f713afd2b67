"""Getting plates into the book and the whole book in and out."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from argentry.desk.book import studio_book
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from argentry.exchange.plates.table import PlateTable

    Progress = Callable[[int, int], None]


def export_archive(
    folder: Path | None,
    target: Path,
    address: str | None = None,
    *,
    progress: Progress | None = None,
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        ``folder``, ``tables`` (rows by table), ``pictures`` and ``bytes``.

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
    return {
        "folder": str(target),
        "tables": dict(made.rows),
        "pictures": made.pictures,
        "bytes": size,
    }


def import_into_book(
    folder: Path | None,
    source: Path,
    address: str | None = None,
    *,
    mapping: Path | None = None,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        As `import_archive_folder` or `import_table`, with ``kind``: ``"archive"`` or ``"table"``.

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
) -> dict[str, Any]:
    """Read an archive into an empty book; a dry run only checks its files.

    Returns
    -------
    dict
        ``kind``, ``ok``, ``dry_run``, ``known`` (True when the book held all of it), ``tables``,
        ``pictures``.
    """
    from argentry.exchange.archive.archive import check_archive, import_archive

    if dry_run:
        made = check_archive(source, progress=progress)
    else:
        with studio_book(folder, address) as book:
            made = import_archive(book, source, progress=progress)
    return {
        "kind": "archive",
        "ok": True,
        "dry_run": dry_run,
        "known": made.known,
        "tables": dict(made.rows),
        "pictures": made.pictures,
    }


def import_table(
    folder: Path | None,
    source: Path,
    address: str | None = None,
    *,
    mapping: Path | None = None,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Read a table of plates into the book, all rows or none; a dry run reports every problem.

    Returns
    -------
    dict
        ``kind``, ``file``, ``ok``, ``dry_run``, ``rows`` (in the file), ``new``, ``known``
        (imported before), ``fields`` (field to column), ``own`` (columns kept as conditions of
        their own), ``skipped`` and ``problems`` (each ``row``, ``column``, ``what``, ``right``,
        ``sentence``).

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


def _table_answer(table: PlateTable, found: Any, *, dry_run: bool) -> dict[str, Any]:
    problems = sorted((*table.problems, *found.problems), key=lambda problem: problem.row)
    return {
        "kind": "table",
        "file": table.name,
        "ok": not problems,
        "dry_run": dry_run,
        "rows": table.total,
        "new": len(found.fresh),
        "known": found.known,
        "fields": dict(table.fields),
        "own": list(table.own),
        "skipped": list(table.skipped),
        "problems": [
            {
                "row": problem.row,
                "column": problem.column,
                "what": problem.what,
                "right": problem.right,
                "sentence": problem.sentence(),
            }
            for problem in problems
        ],
    }
