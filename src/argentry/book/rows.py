"""What several rooms of the book need of a table's rows: which are there, which place is next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select

from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sqlalchemy import Connection, Table

AT_ONCE = 500  # ids asked for in one question to the store


def those_there(connection: Connection, table: Table, ids: Sequence[str]) -> set[str]:
    """Return which of some ids a table holds."""
    found: set[str] = set()
    for start in range(0, len(ids), AT_ONCE):
        query = select(table.c.id).where(table.c.id.in_(ids[start : start + AT_ONCE]))
        found.update(connection.execute(query).scalars())
    return found


def next_seq(connection: Connection, table: Table) -> int:
    """Return the next place in an append-only table; only within a writing transaction."""
    return (connection.execute(select(func.max(table.c.seq))).scalar() or 0) + 1


def add_rows(connection: Connection, table: Table, rows: Iterable[dict[str, Any]]) -> None:
    """Add rows at the end of an append-only table; only within a writing transaction."""
    first = next_seq(connection, table)
    numbered = [{"seq": place, **row} for place, row in enumerate(rows, first)]
    if numbered:
        connection.execute(insert(table), numbered)


def free_id(connection: Connection, table: Table, key: str, where: str) -> None:
    """Refuse an id that a table holds."""
    if connection.execute(select(table.c.id).where(table.c.id == key)).first() is not None:
        raise BadInput(where, "its id is in the book already", "make a new one")


def known_id(connection: Connection, table: Table, key: str) -> None:
    """Refuse an id that a table does not hold."""
    if connection.execute(select(table.c.id).where(table.c.id == key)).first() is None:
        raise BadInput(table.name, "{key!r} is not in the book", "name one that is", key=key)
