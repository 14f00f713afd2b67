"""Bring a book's tables to the form this argentry knows; a backup goes before every change."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from argentry.book.engine import Book

HERE = "argentry.book.migrations"
WITHOUT_ALEMBIC = "SELECT version_num FROM alembic_version"


@cache
def revisions() -> tuple[str, ...]:
    """Return the numbers of all forms this argentry knows, oldest first.

    They are the leading digits of the files in ``migrations/versions``; reading the names keeps
    Alembic out of every start that has nothing to change.
    """
    names = (entry.name for entry in files(HERE).joinpath("versions").iterdir())
    return tuple(sorted(name[:4] for name in names if name[:4].isdigit() and name.endswith(".py")))


def revision(connection: Connection) -> str | None:
    """Return the form of the book behind `connection`, None for an empty one."""
    if connection.dialect.name == "sqlite":
        there = "SELECT 1 FROM sqlite_schema WHERE name = 'alembic_version'"
    else:
        there = "SELECT to_regclass('alembic_version')"
    if connection.exec_driver_sql(there).scalar() is None:
        return None
    found = connection.exec_driver_sql(WITHOUT_ALEMBIC).scalar()
    return None if found is None else str(found)


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
    from argentry.book.engine import writing

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
        run_migrations(connection, steps[-1])
    return steps


def run_migrations(connection: Connection, to: str) -> None:
    """Run the migrations up to form `to` on an open transaction.

    Parameters
    ----------
    connection : Connection
        Within a writing transaction, which the caller commits.
    to : str
        One of `revisions`.
    """
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(files(HERE)))
    config.set_main_option("path_separator", "os")
    command.upgrade(config, to)


def _known(book: Book, have: str | None) -> None:
    if have is not None and have not in revisions():
        raise ArgentryError(
            f"{book.url}: the book has form {have}, this argentry knows up to {revisions()[-1]}; "
            "use the newer argentry that wrote it."
        )


def _backup_before(book: Book, have: str) -> None:
    from argentry.book.backup import copy_before_change

    if book.folder is None:
        raise ArgentryError(
            f"{book.url}: the book must be changed to a newer form, and a backup goes first; "
            "name a studio folder to put it in."
        )
    copy_before_change(book, have)
