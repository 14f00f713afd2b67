"""What was read out of pictures, kept in the book; and the maker's word on it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from argentry.book.pictures.judged import add_judged, confirm
from argentry.book.pictures.kept import MOST_BYTES
from argentry.desk.book import studio_book
from argentry.desk.plates.pictures import keep_picture, place_for
from argentry.desk.seeing.coat import VERSION
from argentry.files import read_file
from argentry.records.plain import plain
from argentry.records.plate import Judged

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.answers.coat_seen import CoatSeen


def keep_answer(
    folder: Path | None, label: str, file: Path, answer: CoatSeen, address: str | None = None
) -> None:
    """Keep a picture with a plate of a studio's book, and what it said of the coat.

    Raises
    ------
    BadInput
        If there is no such plate.
    """
    content = read_file(file, MOST_BYTES, "name a picture")
    with studio_book(folder, address) as book:
        came = place_for(book)
        try:
            came.write(content)
            now = datetime.now(UTC)
            made = keep_picture(book, came, label, now, kind="coat", named=file.name)
        finally:
            came.drop()
        keep_judged(book, made.picture.plate, answer, now)


def keep_judged(book: Book, plate: str, answer: CoatSeen, now: datetime) -> None:
    """Add what a picture that is kept said of a coat."""
    add_judged(book, Judged(answer.sha256, plate, "coat", now, VERSION, plain(answer)))


def confirm_coat(book: Book, plate: str, sha256: str, now: datetime) -> None:
    """Add the maker's word that a coat is as it was read out of a picture."""
    confirm(book, plate, sha256, "coat", now)
