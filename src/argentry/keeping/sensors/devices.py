"""Let devices in and shut them out."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from argentry.book.devices import SCOPES, Device
from argentry.errors import BadInput

if TYPE_CHECKING:
    from argentry.book.engine import Book

TOKEN_BYTES = 32  # 256 bit
LONGEST_NAME = 60


@dataclass(frozen=True)
class Devices:
    """The devices that were let in, and those shut out again.

    Attributes
    ----------
    devices : tuple of Device
        The devices.
    """

    devices: tuple[Device, ...]


@dataclass(frozen=True)
class NewSensor:
    """The sensor that was let in, with its token.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What the maker calls it.
    scope : str
        Always readings: it may send readings and nothing else.
    token : str
        What it shows to be let in; printed this once and kept nowhere.
    """

    id: str
    name: str
    scope: str
    token: str


@dataclass(frozen=True)
class ShutOut:
    """The device that was shut out.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What the maker calls it.
    revoked : bool
        Always true.
    """

    id: str
    name: str
    revoked: bool = True


def token_hash(token: str) -> str:
    """Return the SHA-256 of a token, hexadecimal: all that is ever stored of it.

    A token is 256 random bits, so that a fast hash without salt is as good as any: there is
    nothing to guess (NIST SP 800-63B, 5.1.2, treats such look-up secrets alike).
    """
    return hashlib.sha256(token.encode()).hexdigest()


def device_name(where: str, given: str) -> str:
    """Return a device's name, tidied.

    Raises
    ------
    BadInput
        If it is empty, too long or holds a character that cannot be shown.
    """
    name = " ".join(given.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadInput(
            where,
            "the device's name is empty, too long or cannot be shown",
            "give up to {longest_name} letters, for example: tablet at the fuming box",
            longest_name=LONGEST_NAME,
        )
    return name


def new_device(book: Book, name: str, scope: str) -> tuple[Device, str]:
    """Let a device in.

    Parameters
    ----------
    book : Book
        The open book.
    name : str
        What the maker calls it.
    scope : str
        ``"bench"`` or ``"readings"``.

    Returns
    -------
    device, token : Device, str
        The token is shown once and kept nowhere.

    Raises
    ------
    BadInput
        If the name or the scope cannot be used.
    """
    from argentry.book.devices import add_device

    if scope not in SCOPES:
        raise BadInput(
            "scope",
            "{scope!r} is none",
            "give one of {scopes}",
            scope=scope,
            scopes=", ".join(SCOPES),
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    tidy = device_name("device name", name)
    return add_device(book, tidy, scope, token_hash(token), datetime.now(UTC)), token


def device_of_token(book: Book, token: str) -> Device | None:
    """Return the device that has this token, None when nobody has it or it was revoked."""
    from argentry.book.devices import device_of_hash

    return device_of_hash(book, token_hash(token))


def revoke_device(book: Book, device: str) -> Device:
    """Shut a device out.

    Parameters
    ----------
    book : Book
        The open book.
    device : str
        Its id, or its name when only one has it.

    Raises
    ------
    BadInput
        If there is no such device, or several.
    """
    from argentry.book.devices import revoke_device as revoke

    return revoke(book, device, datetime.now(UTC))


def live_devices(book: Book) -> frozenset[str]:
    """Return the ids of the devices that are let in."""
    from argentry.book.devices import devices

    return frozenset(one.id for one in devices(book) if one.revoked is None)


def note_seen(book: Book, device: str) -> None:
    """Write down that a device was seen now."""
    from argentry.book.devices import note_seen as note

    note(book, device, datetime.now(UTC))


def list_devices(book: Book) -> Devices:
    """Return every device."""
    from argentry.book.devices import devices

    return Devices(tuple(devices(book)))
