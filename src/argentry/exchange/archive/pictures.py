"""The pictures of an archive: copied out of the book, looked at, copied into another."""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from pathlib import Path

from sqlalchemy import select

from argentry.book import tables
from argentry.book.engine import Book, reading
from argentry.book.pictures.kept import FOLDER, MOST_BYTES, picture_file, sync_folder
from argentry.book.pictures.kind import media_type
from argentry.errors import ArgentryError, BadInput
from argentry.exchange.archive.bag import Bag, sha256_of
from argentry.exchange.archive.rows import MEND

PICTURES = "data/pictures"


def copy_out(book: Book, part: Path) -> int:
    """Copy every picture the book names into an archive, and return how many.

    Raises
    ------
    ArgentryError
        If one is missing or damaged.
    """
    with reading(book) as connection:
        table = tables.photograph
        names = sorted(set(connection.execute(select(table.c.sha256)).scalars()))
    if not names:
        return 0
    (part / PICTURES).mkdir()
    for name in names:
        try:
            source = picture_file(book, name)
        except BadInput:
            raise ArgentryError(
                "picture {name}: it is missing; restore a backup.".format(name=name)
            ) from None
        shutil.copyfile(source, part / PICTURES / name)
        if sha256_of(part / PICTURES / name) != name:
            raise ArgentryError(
                "picture {name}: it is damaged; restore a backup.".format(name=name)
            )
    return len(names)


def check_pictures(where: str, bag: Bag) -> dict[str, tuple[str, int]]:
    """Return media type and length of each picture of an archive, by its hash.

    Raises
    ------
    BadInput
        If one is not named by its hash, is not a picture, or is too large.
    """
    out: dict[str, tuple[str, int]] = {}
    for name, listed in bag.files.items():
        if not name.startswith(f"{PICTURES}/"):
            continue
        sha256 = name.removeprefix(f"{PICTURES}/")
        path = bag.folder / name
        if listed != sha256:
            raise BadInput(where, "{name!r} is not named by its hash".format(name=name[:80]), MEND)
        with path.open("rb") as stream:
            media = media_type(stream)
        size = path.stat().st_size
        if media is None or size > MOST_BYTES:
            raise BadInput(
                where, "{name!r} is not a picture, or is too large".format(name=name[:30]), MEND
            )
        out[sha256] = (media, size)
    return out


def copy_in(book: Book, bag: Bag, names: Collection[str]) -> None:
    """Keep the pictures of an archive; harmless when the rest fails: each is named by its hash.

    Raises
    ------
    BadInput
        If the book has no folder for them.
    ArgentryError
        If they cannot be written.
    """
    if not names:
        return
    if book.folder is None:
        raise BadInput(
            "pictures", "this book has no folder for its pictures", "name a studio folder too"
        )
    folder = book.folder / FOLDER
    try:
        folder.mkdir(exist_ok=True)
        for name in names:
            half = folder / f".{name[:16]}-import.part"
            shutil.copyfile(bag.folder / PICTURES / name, half)
            with half.open("rb") as stream:
                os.fsync(stream.fileno())
            half.replace(folder / name)
        sync_folder(folder)
    except OSError as error:
        raise ArgentryError(
            "{folder}: pictures cannot be kept ({strerror}).".format(
                folder=folder, strerror=error.strerror
            )
        ) from None
