"""Photographs of plates, kept as files named by the hash of their bytes."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from typing import TYPE_CHECKING

from sqlalchemy import insert, select

from argentry.book.engine import reading, writing
from argentry.book.plates import need_plate
from argentry.book.tables import photograph as table
from argentry.book.times import clean_text, from_us, to_us
from argentry.errors import ArgentryError, BadInput
from argentry.records.plate import Photograph

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from argentry.book.engine import Book

FOLDER = "pictures"
MOST_BYTES = 100_000_000
# How each kind of picture begins: the type is read from the bytes, never from a name.
BEGINNINGS = {
    b"\xff\xd8\xff": "image/jpeg",
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"II*\x00": "image/tiff",
    b"MM\x00*": "image/tiff",
}


def add_picture(
    book: Book, plate: str, kind: str, taken_at: datetime, content: bytes
) -> Photograph:
    """Keep a photograph of a plate; the file is safe on the disk before the book names it.

    Parameters
    ----------
    book : Book
        With a folder.
    plate : str
        Id of the plate.
    kind : str
        ``"coat"``, ``"development"``, ``"plate"``, ``"scan"``...
    taken_at : datetime
        UTC.
    content : bytes
        A JPEG, PNG or TIFF file.

    Returns
    -------
    Photograph
        As kept; the same bytes of the same plate are kept once.

    Raises
    ------
    BadInput
        If it is not a picture, too long, or there is no such plate.
    ArgentryError
        If it cannot be written.
    """
    if len(content) > MOST_BYTES:
        raise BadInput(
            "picture",
            "it has {content_count} bytes",
            "at most {most_bytes}",
            content_count=len(content),
            most_bytes=MOST_BYTES,
        )
    media = next((m for begin, m in BEGINNINGS.items() if content.startswith(begin)), None)
    if media is None:
        raise BadInput("picture", "it is not a JPEG, PNG or TIFF", "save it as one of these")
    made = Photograph(
        hashlib.sha256(content).hexdigest(), plate, kind, taken_at, media, len(content)
    )
    row = {
        "sha256": made.sha256,
        "plate": plate,
        "kind": clean_text("kind", kind, 100),
        "taken_us": to_us(taken_at),
        "media_type": media,
        "bytes": len(content),
    }
    same = (table.c.sha256 == made.sha256) & (table.c.plate == plate)
    with reading(book) as connection:
        need_plate(connection, plate)
    keep_file(_folder(book), made.sha256, content)
    with writing(book) as connection:
        if connection.execute(select(table.c.sha256).where(same)).first() is None:
            connection.execute(insert(table).values(**row))
    return made


def picture_file(book: Book, sha256: str) -> Path:
    """Return the file of a photograph's hash.

    Raises
    ------
    BadInput
        If that is not a hash, or there is no such file.
    """
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        raise BadInput("picture", "this is not a SHA-256", "give 64 hexadecimal digits")
    file = _folder(book) / sha256
    if not file.is_file():
        raise BadInput("picture", "{sha256} is not kept here", "name one that is", sha256=sha256)
    return file


def pictures(book: Book, plate: str | None = None) -> list[Photograph]:
    """Return the photographs of one plate, or all, in the order they were taken."""
    query = select(table).order_by(table.c.taken_us, table.c.sha256, table.c.plate)
    if plate is not None:
        query = query.where(table.c.plate == plate)
    with reading(book) as connection:
        return [
            Photograph(
                row.sha256, row.plate, row.kind, from_us(row.taken_us), row.media_type, row.bytes
            )
            for row in connection.execute(query)
        ]


def _folder(book: Book) -> Path:
    if book.folder is None:
        raise BadInput("picture", "this book has no folder for pictures", "name a studio folder")
    return book.folder / FOLDER


def keep_file(folder: Path, name: str, content: bytes, *, again: bool = False) -> None:
    """Write a file whole or not at all: a nameless copy first, synced, then its name.

    Parameters
    ----------
    folder : Path
        Made when it is not there.
    name : str
        Of the file.
    content : bytes
        What it holds.
    again : bool
        True when a file of that name is replaced; False when its name says what it holds.

    Raises
    ------
    ArgentryError
        If it cannot be written.
    """
    target = folder / name
    if not again and target.is_file() and target.stat().st_size == len(content):
        return
    half = folder / f".{name[:16]}-{secrets.token_hex(4)}.part"
    try:
        folder.mkdir(exist_ok=True)
        with half.open("xb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        half.replace(target)
        sync_folder(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            half.unlink(missing_ok=True)
        raise ArgentryError(
            "{target}: the file cannot be kept ({strerror}).".format(
                target=target, strerror=error.strerror
            )
        ) from None


def sha256_of(file: Path) -> str:
    """Return the SHA-256 of a file."""
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def is_whole(file: Path) -> bool:
    """Return True when a file named by its hash is there, can be read and holds what it says."""
    try:
        return sha256_of(file) == file.name
    except OSError:
        return False


def sync_folder(folder: Path) -> None:
    """Make a folder's list of names safe on the disk, where the system can."""
    flag = getattr(os, "O_DIRECTORY", None)
    if flag is None:
        return
    handle = os.open(folder, os.O_RDONLY | flag)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
