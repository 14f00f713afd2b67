"""Bring a book's tables to the form this argentry knows; a backup goes before every change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from argentry.book import tables
from argentry.book.care.copies import copy_before_change
from argentry.book.engine import writing
from argentry.book.forms import revision, revisions, run_migrations
from argentry.book.log import follow_all
from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from argentry.book.engine import Book

FOLLOWS = "0004"  # from this form on, makings of the bench follow the log


def upgrade(book: Book) -> list[str]:
    """Bring the tables up to date, in one transaction, after a backup of what is there.

    Parameters
    ----------
    book : Book
        Of any older form, or empty.

    Returns
    -------
    list of str
        The forms it passed through; empty when there was nothing to do.

    Raises
    ------
    ArgentryError
        If a newer argentry wrote it, or no backup can be made first.
    """
    with book.engine.connect() as connection:
        have = revision(connection)
    _known(book, have)
    if have == revisions()[-1]:
        return []
    with writing(book) as connection:
        have = revision(connection)  # another program may have been quicker
        _known(book, have)
        steps = [number for number in revisions() if have is None or number > have]
        if not steps:
            return []
        if have is not None:
            _backup_before(book, have)
        bring_up(connection)
    return steps


def bring_up(connection: Connection) -> None:
    """Bring the tables behind a connection to the newest form, within its transaction."""
    have = revision(connection)
    run_migrations(connection, revisions()[-1])
    if have is not None and have < FOLLOWS <= revisions()[-1]:
        follow_all(connection)


def notes(connection: Connection) -> list[str]:
    """Return what upgrades of this book could not bring over as it was, in sentences."""
    table = tables.upgrade_note
    return list(connection.execute(select(table.c.words).order_by(table.c.seq)).scalars())


def _known(book: Book, have: str | None) -> None:
    if have is not None and have not in revisions():
        raise ArgentryError(
            "{url}: the book has form {have}, this argentry knows up to {revisions}; "
            "use the newer argentry that wrote it.".format(
                url=book.url, have=have, revisions=revisions()[-1]
            )
        )


def _backup_before(book: Book, have: str) -> None:
    if book.folder is None:
        raise ArgentryError(
            "{url}: the book must be changed to a newer form, and a backup goes first; "
            "name a studio folder to put it in.".format(url=book.url)
        )
    copy_before_change(book, have)
