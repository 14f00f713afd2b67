"""The whole book as one archive that outlives argentry: JSON lines, pictures, checksums.

A folder after RFC 8493 (BagIt). ``docs/archive.md`` describes it; so does the README inside.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from argentry.book import tables
from argentry.book.care.copies import copy_tables
from argentry.book.engine import close_book, reading, writing
from argentry.book.forms import revision
from argentry.book.plates import makings, plates
from argentry.errors import ArgentryError, BadInput
from argentry.exchange.archive.bag import open_bag, seal_bag
from argentry.exchange.archive.pictures import check_pictures, copy_in, copy_out
from argentry.exchange.archive.rows import ARCHIVED, MEND, table_lines, table_sha256
from argentry.exchange.archive.store import (
    OLDER,
    RECORDS,
    checked_rows,
    file_of,
    older_book,
    store_rows,
)
from argentry.exchange.plates.csv import plate_lines
from argentry.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from sqlalchemy import Connection

    from argentry.book.engine import Book
    from argentry.exchange.archive.bag import Bag

FORM = "3"
FORM_LABEL = "Argentry-Archive-Form"
TABLE = "data/plates.csv"
OTHERS = ("the book holds other records already", "import it into an empty studio")


@dataclass(frozen=True)
class Archived:
    """What went into an archive or came out of one.

    Attributes
    ----------
    folder : Path
        The archive.
    rows : Mapping[str, int]
        Rows by table.
    pictures : int
        Number of pictures.
    known : bool
        True when the book held all of it already, so that nothing was done.
    """

    folder: Path
    rows: Mapping[str, int]
    pictures: int
    known: bool = False


def export_book(
    book: Book, target_dir: Path, *, progress: Callable[[int, int], None] | None = None
) -> Archived:
    """Write the whole book as an archive.

    Parameters
    ----------
    book : Book
        May be in use by a bench meanwhile: what is written to it after the start may be missing.
    target_dir : Path
        Made by this; must not exist, or be empty.
    progress : callable, optional
        Told tables done and tables in all.

    Raises
    ------
    BadInput
        If the folder holds something already.
    ArgentryError
        If it cannot be written, or a picture of the book is missing or damaged.
    """
    if target_dir.exists() and (not target_dir.is_dir() or any(target_dir.iterdir())):
        raise BadInput(str(target_dir), "there is something there already", "name a new folder")
    part = target_dir.with_name(f".{target_dir.name}.part")
    try:
        shutil.rmtree(part, ignore_errors=True)
        (part / RECORDS).mkdir(parents=True)
        rows: dict[str, int] = {}
        for done, name in enumerate(reversed(ARCHIVED)):  # nothing may point to what came later
            if progress:
                progress(done, len(ARCHIVED) + 1)
            rows[name] = _write_table(book, name, part / RECORDS / f"{name}.jsonl")
        pictures = copy_out(book, part)
        with (part / TABLE).open("w", encoding="utf-8", newline="\n") as stream:
            stream.writelines(plate_lines(plates(book), makings(book)))
        (part / "data" / "README.txt").write_bytes(_readme())
        seal_bag(part, _info(book))
        _to_disk(part)
        if target_dir.exists():
            target_dir.rmdir()
        part.rename(target_dir)
    except OSError as error:
        shutil.rmtree(part, ignore_errors=True)
        raise ArgentryError(
            "{target_dir}: the archive cannot be written ({strerror}); give a folder on a "
            "disk with free space, and try again.".format(
                target_dir=target_dir, strerror=error.strerror
            )
        ) from None
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    if progress:
        progress(1, 1)
    return Archived(target_dir, rows, pictures)


def import_archive(
    book: Book, folder: Path, *, progress: Callable[[int, int], None] | None = None
) -> Archived:
    """Read an archive into an empty book; all of it or nothing.

    Parameters
    ----------
    book : Book
        Empty, or equal to the archive (then nothing is done).
    folder : Path
        The archive.
    progress : callable, optional
        Told bytes checked and bytes in all, then rows stored and rows in all.

    Raises
    ------
    BadInput
        If it is not an archive, was changed, is damaged, reaches out of its folder, or the book
        holds other records.
    ArgentryError
        If the book cannot take it; nothing was stored.
    """
    bag = open_bag(folder, progress)
    where = folder.name or str(folder)
    form = _check_form(where, bag)
    if form != FORM:
        return _import_older(book, where, bag, form, progress)
    if not _empty(book):
        if all(bag.files.get(file_of(name)) == table_sha256(book, name) for name in ARCHIVED):
            return Archived(folder, {}, 0, known=True)
        raise BadInput(where, *OTHERS)
    media = check_pictures(where, bag)
    with writing(book) as connection:
        _still_empty(connection, where)
        rows = store_rows(connection, where, bag, media, tables.metadata, ARCHIVED, progress)
        # the files are safe before the rows that name them are committed
        copy_in(book, bag, media)
    return Archived(folder, rows, len(media))


def _import_older(
    book: Book, where: str, bag: Bag, form: str, progress: Callable[[int, int], None] | None
) -> Archived:
    """Read an archive of an older form: as a book of that form, which is brought up to date."""
    media = check_pictures(where, bag)
    with TemporaryDirectory() as beside:
        older = older_book(Path(beside), where, bag, form, media, progress)
        try:
            if not _empty(book):
                if all(table_sha256(older, one) == table_sha256(book, one) for one in ARCHIVED):
                    return Archived(bag.folder, {}, 0, known=True)
                raise BadInput(where, *OTHERS)
            with writing(book) as target, reading(older) as source:
                _still_empty(target, where)
                copy_tables(source, target)
                copy_in(book, bag, media)
                rows = _counts(source)
        finally:
            close_book(older)
    return Archived(bag.folder, rows, len(media))


def _still_empty(connection: Connection, where: str) -> None:
    for name in ARCHIVED:
        if connection.execute(select(tables.metadata.tables[name]).limit(1)).first():
            raise BadInput(where, "the book was written to meanwhile", "try again")


def check_archive(folder: Path, *, progress: Callable[[int, int], None] | None = None) -> Archived:
    """Check an archive from end to end without any book, but for what its rows point to."""
    bag = open_bag(folder, progress)
    where = folder.name or str(folder)
    form = _check_form(where, bag)
    media = check_pictures(where, bag)
    if form == FORM:
        shape = tables.metadata.tables
        rows = {
            name: sum(1 for _ in checked_rows(where, bag, media, shape[name])) for name in ARCHIVED
        }
        return Archived(folder, rows, len(media))
    with TemporaryDirectory() as beside:
        older = older_book(Path(beside), where, bag, form, media)
        try:
            with reading(older) as connection:
                return Archived(folder, _counts(connection), len(media))
        finally:
            close_book(older)


def _counts(connection: Connection) -> dict[str, int]:
    counted = {
        name: select(func.count()).select_from(tables.metadata.tables[name]) for name in ARCHIVED
    }
    return {name: connection.execute(query).scalar_one() for name, query in counted.items()}


def _readme() -> bytes:
    return (
        files("argentry.exchange").joinpath("templates").joinpath("archive_readme.txt").read_bytes()
    )


def _check_form(where: str, bag: Bag) -> str:
    form = bag.info.get(FORM_LABEL)
    if form != FORM and form not in OLDER:
        raise BadInput(
            where,
            "it is not an archive of a book"
            if form is None
            else "its form {form!r} is not supported".format(form=form),
            "give an archive of form {form}, or use the argentry that wrote it".format(form=FORM),
        )
    form = str(form)
    known = {file_of(name) for name in (ARCHIVED if form == FORM else OLDER[form][1])}
    for name in bag.files:
        if name.startswith(f"{RECORDS}/") and name not in known:
            raise BadInput(
                where, "{name!r} is not a known table", "use a newer argentry", name=name
            )
    missing = sorted(known - bag.files.keys())
    if missing:
        raise BadInput(where, "{missing!r} is missing from it".format(missing=missing[0]), MEND)
    return form


def _empty(book: Book) -> bool:
    with reading(book) as connection:
        return not any(
            connection.execute(select(tables.metadata.tables[name]).limit(1)).first()
            for name in ARCHIVED
        )


def _info(book: Book) -> list[tuple[str, str]]:
    with reading(book) as connection:
        book_form = revision(connection) or ""
    return [
        ("Bag-Software-Agent", f"argentry {VERSION}"),
        ("Bagging-Date", datetime.now(UTC).date().isoformat()),
        ("External-Description", "Plate book: plates, runs, readings, baths, judgements, pictures"),
        (FORM_LABEL, FORM),
        ("Argentry-Book-Form", book_form),
    ]


def _write_table(book: Book, name: str, path: Path) -> int:
    count = 0
    with path.open("w", encoding="utf-8", newline="\n") as stream:
        for line in table_lines(book, name):
            stream.write(line + "\n")
            count += 1
    return count


def _to_disk(folder: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            with path.open("rb") as stream:
                os.fsync(stream.fileno())
