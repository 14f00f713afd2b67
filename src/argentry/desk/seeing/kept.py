"""What was read out of pictures, kept in the book; and the maker's word on it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from argentry.book.pictures.judged import add_judged, confirm
from argentry.book.pictures.kept import MOST_BYTES
from argentry.desk.book import studio_book
from argentry.desk.plates.pictures import keep_content
from argentry.files import read_file
from argentry.records.plain import plain
from argentry.records.plate import Judged

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.answers.seen import PictureSeen

VERSION = "1"  # of what is read out of a picture: told beside every answer that is kept


def keep_answer(
    folder: Path | None,
    label: str,
    file: Path,
    answer: PictureSeen,
    address: str | None = None,
    *,
    kind: str = "coat",
    so_it_is: bool = False,
) -> None:
    """Keep a picture with a plate of a studio's book, and what it said.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    label : str
        The plate.
    file : Path
        The picture.
    answer : PictureSeen
        What it said.
    address : str, optional
        Of a PostgreSQL book.
    kind : str
        What it was asked: one of `argentry.records.plate.JUDGED`.
    so_it_is : bool
        True when the maker confirms it at once.

    Raises
    ------
    BadInput
        If the plate is not known.
    """
    content = read_file(file, MOST_BYTES, "name a picture")
    with studio_book(folder, address) as book:
        now = datetime.now(UTC)
        made = keep_content(book, content, label, now, kind=kind, named=file.name)
        keep_judged(book, made.picture.plate, answer, now, kind)
        if so_it_is:
            confirm(book, made.picture.plate, answer.sha256, kind, now)


def keep_judged(
    book: Book, plate: str, answer: PictureSeen, now: datetime, kind: str = "coat"
) -> None:
    """Add what a picture that is kept said."""
    add_judged(book, Judged(answer.sha256, plate, kind, now, VERSION, plain(answer)))
