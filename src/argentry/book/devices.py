"""Devices that were let in: tablets and sensors. Of a token only its hash is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from argentry.book.engine import reading, writing
from argentry.book.tables import device as table
from argentry.book.times import from_us, to_us
from argentry.errors import BadInput
from argentry.records.ids import new_id

if TYPE_CHECKING:
    from sqlalchemy import Row

    from argentry.book.engine import Book

# scope: what it may do
SCOPES = {"bench": "open and run the bench", "readings": "send readings, nothing else"}


@dataclass(frozen=True)
class Device:
    """One device; nothing in it lets anybody in.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What the maker calls it.
    scope : str
        bench: it may run the bench; readings: it may send readings and nothing else.
    created : datetime
        When it was let in, UTC.
    seen : datetime or None
        When it was last seen, to ten minutes, UTC; null when it never was.
    revoked : datetime or None
        When it was shut out, UTC; null while it is let in.
    """

    id: str
    name: str
    scope: str
    created: datetime
    seen: datetime | None = None
    revoked: datetime | None = None


def _device(row: Row) -> Device:  # type: ignore[type-arg]
    return Device(
        id=row.id,
        name=row.name,
        scope=row.scope,
        created=from_us(row.created_us),
        seen=None if row.seen_us is None else from_us(row.seen_us),
        revoked=None if row.revoked_us is None else from_us(row.revoked_us),
    )


def add_device(book: Book, name: str, scope: str, token_hash: str, at: datetime) -> Device:
    """Keep a new device.

    Parameters
    ----------
    book : Book
        The book.
    name, scope : str
        What it is called, and what it may do.
    token_hash : str
        SHA-256 of its token, hexadecimal.
    at : datetime
        Now, UTC.
    """
    made = Device(new_id(), name, scope, at)
    with writing(book) as connection:
        connection.execute(
            insert(table).values(
                id=made.id,
                name=name,
                scope=scope,
                token_sha256=token_hash,
                created_us=to_us(at),
            )
        )
    return made


def devices(book: Book) -> list[Device]:
    """Return every device, the first made first, revoked ones too."""
    with reading(book) as connection:
        rows = connection.execute(select(table).order_by(table.c.created_us, table.c.id))
        return [_device(row) for row in rows]


def device_of_hash(book: Book, token_hash: str) -> Device | None:
    """Return the device whose token has this hash and that is not revoked, or None."""
    with reading(book) as connection:
        row = connection.execute(
            select(table).where(table.c.token_sha256 == token_hash, table.c.revoked_us.is_(None))
        ).first()
    return None if row is None else _device(row)


def revoke_device(book: Book, device: str, at: datetime) -> Device:
    """Let a device in no more.

    Parameters
    ----------
    book : Book
        The book.
    device : str
        Its id, or its name when only one device that is not revoked has it.
    at : datetime
        Now, UTC.

    Raises
    ------
    BadInput
        If there is no such device, or several of that name.
    """
    with writing(book) as connection:
        rows = connection.execute(
            select(table).where(
                (table.c.id == device) | (table.c.name == device), table.c.revoked_us.is_(None)
            )
        ).all()
        if len(rows) != 1:
            what = "several devices have that name" if rows else "there is no such device"
            raise BadInput(
                "device {device}".format(device=device), what, "give an id of: argentry device list"
            )
        connection.execute(
            update(table).where(table.c.id == rows[0].id).values(revoked_us=to_us(at))
        )
    return _device(rows[0])


def note_seen(book: Book, device: str, at: datetime) -> None:
    """Write down that a device was seen."""
    with writing(book) as connection:
        connection.execute(update(table).where(table.c.id == device).values(seen_us=to_us(at)))
