"""Whether tables, indexes and triggers are those that this argentry makes."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from sqlalchemy import create_engine

from argentry.book import tables
from argentry.book.forms import revisions, run_migrations

if TYPE_CHECKING:
    from sqlalchemy import Connection

MISSING = "the {kind} {name} is missing."
OTHER = "the {kind} {name} is not as argentry makes it."
FOREIGN = "the {kind} {name} is not one of argentry's."
NUMBERS = "the file's own numbers are not those of a book ({found})."
SCHEMA = "SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%'"
SERVER = """
SELECT 'trigger', tgname FROM pg_trigger t
JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE NOT tgisinternal AND n.nspname = current_schema() AND tgenabled <> 'D'
UNION ALL
SELECT 'column', table_name || '.' || column_name
FROM information_schema.columns WHERE table_schema = current_schema()
"""


def shape_faults(connection: Connection) -> list[str]:
    """Return what differs from the tables, indexes and triggers of a fresh book."""
    if connection.dialect.name != "sqlite":
        return _server_faults(connection)
    found, fresh = _schema(connection), _fresh()
    wrong = [
        (MISSING if key not in found else OTHER).format(kind=key[0], name=key[1])
        for key, sql in fresh.items()
        if found.get(key) != sql
    ]
    wrong += [FOREIGN.format(kind=key[0], name=key[1][:60]) for key in found if key not in fresh]
    numbers = {
        name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
        for name in ("application_id", "user_version", "encoding")
    }
    if list(numbers.values()) != [tables.APPLICATION_ID, 0, "UTF-8"]:
        wrong.append(NUMBERS.format(found=", ".join(f"{k} {v}" for k, v in numbers.items())))
    return wrong


def _schema(connection: Connection) -> dict[tuple[str, str], str]:
    rows = connection.exec_driver_sql(SCHEMA).all()
    return {(str(kind), str(name)): " ".join(str(sql).split()) for kind, name, sql in rows}


def _fresh() -> dict[tuple[str, str], str]:
    return {
        (kind, name): " ".join(str(sql).split())
        for kind, name, _, sql, _ in fresh_lines()
        if not name.startswith("sqlite_")
    }


@cache
def fresh_lines() -> tuple[tuple[str, str, str, str | None, int], ...]:
    """Return kind, name, table, SQL and number of each line of the schema of a fresh book."""
    engine = create_engine("sqlite://")
    with engine.connect() as connection:
        run_migrations(connection, revisions()[-1])
        lines = "SELECT type, name, tbl_name, sql, rowid FROM sqlite_schema ORDER BY rowid"
        found = connection.exec_driver_sql(lines).all()
    engine.dispose()
    return tuple((str(row[0]), str(row[1]), str(row[2]), row[3], int(row[4])) for row in found)


def _server_faults(connection: Connection) -> list[str]:
    """Return the triggers and columns that a server's book lacks."""
    found = {(kind, name) for kind, name in connection.exec_driver_sql(SERVER).all()}
    wanted = {
        ("column", f"{table.name}.{column.name}")
        for table in tables.metadata.tables.values()
        for column in table.columns
    }
    for name in tables.metadata.tables:
        ends = ("kept", "kept_update", "kept_whole") if name in tables.APPEND_ONLY else ("unseal",)
        wanted |= {("trigger", f"{name}_{end}") for end in ends}
    return [MISSING.format(kind=kind, name=name) for kind, name in sorted(wanted - found)]
