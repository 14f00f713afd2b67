"""The forms a book's tables have had, and the steps from one to the next."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection

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
