"""Pictures of plates: one comes in, is looked into, kept untouched; its thumbnail is made again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.pictures.kept import (
    MOST_BYTES,
    Incoming,
    add_incoming,
    clean_name,
    incoming,
    keep_file,
    kind_of,
    picture_content,
    picture_file,
    pictures,
)
from argentry.book.pictures.reading import UnfitPicture, read_picture
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.plates.plates import find_plate
from argentry.records.plate import Photograph

NOT_YET = ("library", "heic")
KINDS = ("plate", "coat", "development", "wedge", "scan", "other")
NOT_KNOWN, USE = "{kind!r} is not a kind of picture", "use {kinds}"
FROM_BENCH_BYTES = 40_000_000
SIZES_PX = (320, 1600)
CACHE = ".pictures-shown"  # in the studio's folder, beside the book and not of it
NO_SIZE = "Pictures are shown with {sizes} pixels on the longer side."
EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class KeptPicture:
    """A picture as it was kept.

    Attributes
    ----------
    label : str
        The plate.
    picture : Photograph
        The picture.
    known : bool
        True when the same bytes were kept of this plate before; nothing was changed then.
    """

    label: str
    picture: Photograph
    known: bool


def place_for(book: Book, most: int = MOST_BYTES) -> Incoming:
    """Return a place for a picture that is about to come; whoever asks drops it at the end."""
    return incoming(book, most)


def keep_picture(
    book: Book,
    came: Incoming,
    label: str,
    now: datetime,
    *,
    kind: str = "plate",
    named: str = "",
    said: Mapping[str, str] | None = None,
) -> KeptPicture:
    """Look into a picture that has come, and keep it untouched with its plate.

    Parameters
    ----------
    book : Book
        With a folder.
    came : Incoming
        All of it.
    label : str
        The plate.
    now : datetime
        Its time, when the file does not tell one with its zone.
    kind : str
        One of `KINDS`.
    named : str
        The file's own name.
    said : Mapping, optional
        What the maker stated of it.

    Raises
    ------
    BadInput
        If it is not a picture that can be read, or there is no such plate.
    """
    if kind not in KINDS:
        raise BadInput("kind", NOT_KNOWN, USE, kind=kind, kinds=", ".join(KINDS))
    plate = find_plate(book, label)
    media = kind_of(came.half)
    known = any(one.sha256 == came.sha256 for one in pictures(book, plate.id))
    about = Photograph(
        came.sha256, plate.id, kind, now, media, came.length,
        said=said or {}, named=clean_name(named),
    )  # fmt: skip
    return KeptPicture(plate.label, add_incoming(book, came, _looked_into(came, about)), known)


def _looked_into(came: Incoming, about: Photograph) -> Photograph:
    """Return what is known of a picture with what its file says; one not read stays as it is."""
    try:
        read = read_picture(came.half, about.media_type, SIZES_PX[-1], "facts")
    except UnfitPicture as error:
        if error.why in NOT_YET:
            return about  # kept for the day when it can be read
        raise
    own = read.taken_at
    from_file = own is not None and EARLIEST <= own <= about.taken_at + timedelta(days=1)
    taken = own.astimezone(UTC) if own is not None and from_file else about.taken_at
    return Photograph(
        about.sha256, about.plate, about.kind, taken, about.media_type, about.bytes,
        read.width_px, read.height_px, about.said, about.named,
        "file" if from_file else "upload", read.carries,
    )  # fmt: skip


def add_picture_file(
    folder: Path | None,
    label: str,
    file: Path,
    address: str | None = None,
    *,
    kind: str = "plate",
) -> KeptPicture:
    """Keep a picture that lies on this machine with a plate of a studio's book.

    Raises
    ------
    BadInput
        As `keep_picture`, or if the file cannot be read.
    """
    content = picture_content(file)
    with studio_book(folder, address) as book:
        return keep_content(book, content, label, datetime.now(UTC), kind=kind, named=file.name)


def keep_content(
    book: Book, content: bytes, label: str, now: datetime, *, kind: str, named: str
) -> KeptPicture:
    """Keep the bytes of a picture with a plate."""
    came = place_for(book)
    try:
        came.write(content)
        return keep_picture(book, came, label, now, kind=kind, named=named)
    finally:
        came.drop()


def shown_picture(book: Book, studio_dir: Path, sha256: str, most_px: int) -> bytes:
    """Return a picture of the book as a JPEG for a page; nothing of its metadata goes along.

    It is made from the original and kept by its hash beside the book; taking that folder away
    loses nothing.

    Raises
    ------
    BadInput
        If there is no such picture or size, or it cannot be read.
    """
    if most_px not in SIZES_PX:
        raise BadInput("size", NO_SIZE, "ask for one of these", sizes=SIZES_PX)
    original = picture_file(book, sha256)
    folder, name = studio_dir / CACHE, f"{sha256}-{most_px}.jpg"
    if not (folder / name).is_file():
        made = read_picture(original, kind_of(original), most_px, "jpeg")
        keep_file(folder, name, made.content)
    return (folder / name).read_bytes()
