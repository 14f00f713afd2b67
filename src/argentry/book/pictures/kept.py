"""Photographs of plates, kept as files named by the hash of their bytes."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
from dataclasses import dataclass, field, replace
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from sqlalchemy import insert, select

from argentry.book.engine import Book, reading, writing
from argentry.book.pictures.kind import media_type
from argentry.book.plates import need_plate
from argentry.book.tables import photograph as table
from argentry.book.times import clean_text, from_us, harmless_line, to_json, to_us
from argentry.errors import ArgentryError, BadInput
from argentry.files import read_file
from argentry.records.plate import Photograph

FOLDER = "pictures"
MOST_BYTES = 100_000_000
AT_ONCE = 1 << 20
LONGEST_NAME = 120
NOT_KEPT = "{target}: the file cannot be kept ({why})."
NOT_A_PICTURE = (
    "it is not a JPEG, PNG, TIFF, HEIC or DNG picture", "save it as a JPEG, PNG or TIFF"
)  # fmt: skip
TOO_LONG = "it is larger than {most:.0f} MB", "save it smaller, for example as a JPEG"


def picture_content(file: Path) -> bytes:
    """Return the content of a picture on this machine.

    Raises
    ------
    BadInput
        If it cannot be read or is too long.
    """
    try:
        too_long = file.stat().st_size > MOST_BYTES
    except (OSError, ValueError):
        too_long = False  # why it cannot be read is said below
    if too_long:
        raise BadInput(file.name, *TOO_LONG, most=MOST_BYTES / 1e6)
    return read_file(file, MOST_BYTES, "name a picture")


@dataclass
class Incoming:
    """A picture on its way in: written to a nameless file beside the others, hashed as it comes.

    Attributes
    ----------
    half : Path
        The file; whoever does not `add_incoming` it removes it with `drop`.
    most : int
        Longest it may become. [bytes]
    length : int
        How much has come. [bytes]
    """

    half: Path
    most: int = MOST_BYTES
    length: int = 0
    _digest: Any = field(default_factory=hashlib.sha256)

    @property
    def sha256(self) -> str:
        """Hash of what has come so far."""
        return str(self._digest.hexdigest())

    def write(self, part: bytes) -> None:
        """Add what came.

        Raises
        ------
        BadInput
            If it becomes too long.
        ArgentryError
            If it cannot be written.
        """
        self.length += len(part)
        if self.length > self.most:
            raise BadInput("picture", *TOO_LONG, most=self.most / 1e6)
        self._digest.update(part)
        try:
            with self.half.open("ab") as out:
                out.write(part)
        except OSError as error:
            raise ArgentryError(NOT_KEPT.format(target=self.half, why=error.strerror)) from None

    def drop(self) -> None:
        """Remove the nameless file."""
        with contextlib.suppress(OSError):
            self.half.unlink(missing_ok=True)


def incoming(book: Book, most: int = MOST_BYTES) -> Incoming:
    """Return a place for a picture that is about to come.

    Raises
    ------
    BadInput
        If the book has no folder.
    ArgentryError
        If nothing can be written there.
    """
    folder = _folder(book)
    half = folder / f".{secrets.token_hex(8)}.part"
    try:
        folder.mkdir(exist_ok=True)
        half.touch(exist_ok=False)
    except OSError as error:
        raise ArgentryError(NOT_KEPT.format(target=folder, why=error.strerror)) from None
    return Incoming(half, most)


def kind_of(file: Path) -> str:
    """Return the media type of a file by its content.

    Raises
    ------
    BadInput
        If it is not a picture that can be kept.
    """
    with file.open("rb") as stream:
        media = media_type(stream)
    if media is None:
        raise BadInput("picture", *NOT_A_PICTURE)
    return media


def add_incoming(book: Book, came: Incoming, about: Photograph) -> Photograph:
    """Keep a picture that has come whole; its file is safe on the disk before the book names it.

    Parameters
    ----------
    book : Book
        With a folder.
    came : Incoming
        All of it.
    about : Photograph
        What is known of it; its hash, length and kind are those of the file.

    Returns
    -------
    Photograph
        As kept; the same bytes of the same plate are kept once, as they were told first.

    Raises
    ------
    BadInput
        If it is not a picture, or there is no such plate.
    ArgentryError
        If it cannot be written.
    """
    media = kind_of(came.half)
    made = replace(about, sha256=came.sha256, media_type=media, bytes=came.length)
    row = _row(made)
    with reading(book) as connection:
        need_plate(connection, made.plate)
    target = _folder(book) / made.sha256
    try:
        with came.half.open("rb") as stream:
            os.fsync(stream.fileno())
        came.half.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise ArgentryError(NOT_KEPT.format(target=target, why=error.strerror)) from None
    same = (table.c.sha256 == made.sha256) & (table.c.plate == made.plate)
    with writing(book) as connection:
        there = connection.execute(select(table).where(same)).first()
        if there is not None:
            return _photograph(there)
        connection.execute(insert(table).values(**row))
    return made


def add_picture(
    book: Book, plate: str, kind: str, taken_at: datetime, content: bytes
) -> Photograph:
    """Keep a photograph of a plate that is in memory; see `add_incoming`.

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
        A picture.
    """
    if media_type(BytesIO(content)) is None:
        raise BadInput("picture", *NOT_A_PICTURE)
    with reading(book) as connection:
        need_plate(connection, plate)
    came = incoming(book)
    try:
        came.write(content)
        return add_incoming(book, came, Photograph("", plate, kind, taken_at, "", 0))
    finally:
        came.drop()


def _row(made: Photograph) -> dict[str, Any]:
    return {
        "sha256": made.sha256,
        "plate": made.plate,
        "kind": clean_text("kind", made.kind, 100),
        "taken_us": to_us(made.taken_at),
        "media_type": made.media_type,
        "bytes": made.bytes,
        "width_px": made.width_px,
        "height_px": made.height_px,
        "said": to_json("said", dict(made.said)),
        "named": clean_text("named", made.named, LONGEST_NAME),
        "taken_from": made.taken_from,
        "carries": made.carries,
    }


def clean_name(name: str) -> str:
    """Return a file's own name as data: without its folder and without control characters."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return harmless_line(last)[-LONGEST_NAME:]


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
        return [_photograph(row) for row in connection.execute(query)]


def _photograph(row: Any) -> Photograph:
    return Photograph(
        row.sha256, row.plate, row.kind, from_us(row.taken_us), row.media_type, row.bytes,
        row.width_px, row.height_px, json.loads(row.said), row.named, row.taken_from, row.carries,
    )  # fmt: skip


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
        raise ArgentryError(NOT_KEPT.format(target=target, why=error.strerror)) from None


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
