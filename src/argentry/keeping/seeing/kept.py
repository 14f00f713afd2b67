"""What was read out of pictures, kept in the book; and the maker's word on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.pictures.judged import add_judged, confirm, judged
from argentry.book.pictures.kept import picture_content
from argentry.keeping.book import studio_book
from argentry.keeping.plates.pictures import keep_content
from argentry.keeping.plates.plates import find_plate
from argentry.keeping.studio import load_studio
from argentry.records.answers.seen import PictureSeen
from argentry.records.plain import plain
from argentry.records.plate import Judged

KEPT_AS = {"change": "plate", "ripening": "development", "scale": "coat"}  # what its pictures show
VERSION = "4"  # of what is read out of a picture: told beside every answer that is kept


def size_of(folder: Path | None, label: str, address: str | None = None) -> str | None:
    """Return the size of a plate of a studio's book: its own, else the studio's usual one.

    Raises
    ------
    BadInput
        If the plate is not known.
    """
    usual = None if folder is None else load_studio(folder).habits.plate_size
    with studio_book(folder, address) as book:
        return find_plate(book, label).size or usual


def keep_answer(
    folder: Path | None,
    label: str,
    file: Path,
    answer: PictureSeen,
    address: str | None = None,
    *,
    kind: str = "coat",
    so_it_is: bool = False,
    second: Path | None = None,
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
    second : Path, optional
        Of a change: the picture after.

    Raises
    ------
    BadInput
        If the plate is not known.
    """
    content = picture_content(file)
    with studio_book(folder, address) as book:
        now, after = datetime.now(UTC), None
        made = keep_content(
            book, content, label, now, kind=KEPT_AS.get(kind, kind), named=file.name
        )
        if second is not None:
            more = picture_content(second)
            other = keep_content(book, more, label, now, kind="plate", named=second.name)
            after = other.picture.sha256
        keep_judged(book, made.picture.plate, answer, now, kind, after)
        if so_it_is:
            confirm(book, made.picture.plate, answer.sha256, kind, now)


def keep_judged(
    book: Book,
    plate: str,
    answer: PictureSeen,
    now: datetime,
    kind: str = "coat",
    after: str | None = None,
) -> None:
    """Add what a picture that is kept said, or two of which the other is `after`.

    The maker's word on an earlier look at it stays: what was struck out is struck out again, and
    nothing is asked again while the same is found or less.
    """
    read = Judged(answer.sha256, plate, kind, now, VERSION, plain(answer), second_picture=after)
    key = (read.picture, kind, after)
    earlier = (o for o in judged(book, plate) if (o.picture, o.kind, o.second_picture) == key)
    add_judged(book, _worded(read, next(earlier, None)))


def _worded(read: Judged, earlier: Judged | None) -> Judged:
    """Return what was read with the maker's word on the findings of the look before."""
    if earlier is None or earlier.confirmed_at is None or read.kind != "plate":
        return read
    found, before = ({row["key"] for row in one.answer["defects"]} for one in (read, earlier))
    struck = {key: why for key, why in earlier.struck.items() if key in found}
    return replace(
        read, struck=struck, confirmed_at=earlier.confirmed_at if found <= before else None
    )
