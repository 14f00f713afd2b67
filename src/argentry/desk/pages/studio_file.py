"""The studio file on a page: its text, the mistakes in a changed one, its old versions."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.studio.file import FILE, check_text
from argentry.studio.text import rewrite_studio, versions

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.desk.house import House

SHOWN = 30  # versions, the newest
CHANGED = "the file has changed since this page was opened"
LOOK_AGAIN = "show the page again, and make your change in the newer text"
NO_VERSION = "there is no version {name!r}"


@dataclass(frozen=True)
class Version:
    """An old version of the file.

    Attributes
    ----------
    name : str
        Of its file.
    written : str
        When it was written, by the studio's clock.
    """

    name: str
    written: str


@dataclass(frozen=True)
class StudioFile:
    """The studio file as a page shows it.

    Attributes
    ----------
    text : str
        Its text, or the one being written.
    was : str
        Stands for the text in the folder.
    mistakes : tuple of str
        One sentence each.
    versions : tuple of Version
        Old ones, the newest first.
    """

    text: str
    was: str
    mistakes: tuple[str, ...]
    versions: tuple[Version, ...]


def studio_file(house: House, text: str | None = None) -> StudioFile:
    """Return the file of an open studio.

    Parameters
    ----------
    house : House
        The open studio.
    text : str or None
        A changed text to go on with; None: as it is in the folder.
    """
    own = _text(house.studio_dir)
    shown = own if text is None else text
    found = tuple(
        Version(one.name, f"{_written(one).astimezone(house.zone):%Y-%m-%d %H:%M}")
        for one in versions(house.studio_dir)[:SHOWN]
    )
    return StudioFile(shown, mark_of(own), mistakes_in(house.studio_dir, shown), found)


def mistakes_in(folder: Path, text: str) -> tuple[str, ...]:
    """Return the mistakes in a text, in the sentences of ``argentry studio check``."""
    return tuple(str(one) for one in check_text(text, folder)[1])


def mark_of(text: str) -> str:
    """Return a short word that stands for a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def save(house: House, text: str, was: str) -> tuple[str, ...]:
    """Put a changed text in the place of the file; the studio that is open follows it.

    Parameters
    ----------
    house : House
        The open studio.
    text : str
        The new text.
    was : str
        Mark of the text that was changed.

    Returns
    -------
    tuple of str
        Its mistakes; the file is as it was where there is any.

    Raises
    ------
    BadInput
        If the file has changed meanwhile, or cannot be written.
    """
    from argentry.desk.house import take_studio

    if mark_of(_text(house.studio_dir)) != was:
        raise BadInput(FILE, CHANGED, LOOK_AGAIN)
    mistakes = mistakes_in(house.studio_dir, text)
    if not mistakes:
        rewrite_studio(house.studio_dir / FILE, text)
        take_studio(house)
    return mistakes


def version_text(house: House, name: str) -> str:
    """Return the text of an old version."""
    found = {one.name: one for one in versions(house.studio_dir)}
    if name not in found:
        raise BadInput("version", NO_VERSION, "choose one of the list", name=name)
    return found[name].read_text(encoding="utf-8")


def _text(folder: Path) -> str:
    return (folder / FILE).read_text(encoding="utf-8-sig")


def _written(version: Path) -> datetime:
    return datetime.strptime(version.stem, "%Y%m%dT%H%M%S%f").replace(tzinfo=UTC)
