"""A sum over every row of the book, and the chain of the log over the sums of its events.

The sum of an event holds a salted hash of its body and not the body itself: words can be erased on
request, with their salt, and nothing else of the log changes or can be guessed from what is left.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, func, select, update

from argentry.book import tables

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection

SALT_BYTES = 16
FIRST_SEALED = "0005"  # older forms have no sums
# What the sum of a row leaves out: itself, and what is laid over it.
NOT_SUMMED = frozenset({"sum", "chain", "salt"})


def _sha256(text: str) -> str:
    # a rotten book may hold half letters: they give another sum, never an error
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()


def body_sha256(salt: str, body: str) -> str:
    """Return the hash of a body with the salt of its event."""
    return _sha256(salt + body)


def row_sum(name: str, row: Mapping[Any, Any]) -> str:
    """Return the sum of one row: SHA-256 of its table and its columns, by name.

    Parameters
    ----------
    name : str
        Its table. Of an event the hash of its body counts, not the body.
    row : Mapping
        All columns as stored.
    """
    out = {*NOT_SUMMED, "body"} if name == "event" else NOT_SUMMED
    content = [name, *sorted((key, value) for key, value in row.items() if key not in out)]
    return _sha256(json.dumps(content, ensure_ascii=False, separators=(",", ":"), default=repr))


def chain_hash(last: str, own: str) -> str:
    """Return what ties an event to the whole log before it.

    Parameters
    ----------
    last : str
        The same of the event before; empty for the first.
    own : str
        The sum of this one.
    """
    return _sha256(last + own)


def sealed_event(last: str, row: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return an event's row with its salt, its sum and its link to the event before."""
    salt = secrets.token_hex(SALT_BYTES)
    made = {**row, "salt": salt, "body_sha256": body_sha256(salt, row["body"])}
    own = row_sum("event", made)
    return {**made, "sum": own, "chain": chain_hash(last, own)}


@cache
def _asked(names: tuple[str, ...]) -> str:
    each = (
        f"SELECT '{name}' WHERE EXISTS (SELECT 1 FROM {name} WHERE sum = '')"  # noqa: S608
        for name in names
    )
    return " UNION ALL ".join(each)


def unsealed(
    connection: Connection, names: tuple[str, ...]
) -> dict[str, int | set[tuple[Any, ...]]]:
    """Return by table, of those named, which rows have no sum: up to which place, or their keys."""
    found: dict[str, int | set[tuple[Any, ...]]] = {}
    for name in connection.exec_driver_sql(_asked(names)).scalars().all():
        table = tables.metadata.tables[name]
        if "seq" in table.c:
            last = select(func.max(table.c.seq)).where(table.c.sum == "")
            found[name] = int(connection.execute(last).scalar_one())
        else:
            query = select(*table.primary_key.columns).where(table.c.sum == "")
            found[name] = {tuple(row) for row in connection.execute(query)}
    return found


def seal(
    connection: Connection,
    names: tuple[str, ...],
    but: Mapping[str, int | set[tuple[Any, ...]]],
) -> None:
    """Give every row that has no sum its own, within the transaction that wrote it.

    Parameters
    ----------
    connection : Connection
        Writing.
    names : tuple of str
        Tables that have sums.
    but : Mapping
        Of `unsealed` before: another program wrote those, and that is to be seen.
    """
    for name in connection.exec_driver_sql(_asked(names)).scalars().all():
        table = tables.metadata.tables[name]
        keys = [column.name for column in table.primary_key.columns]
        query = select(table).where(table.c.sum == "").order_by(*table.primary_key.columns)
        leave = but.get(name, 0)
        if isinstance(leave, int):
            query = query if "seq" not in table.c else query.where(table.c.seq > leave)
            leave = set()
        found = (dict(row) for row in connection.execute(query).mappings())
        rows = [row for row in found if tuple(row[key] for key in keys) not in leave]
        if not rows:
            continue
        made = _sealed(connection, name, rows)
        own = update(table)
        for key in keys:
            own = own.where(table.c[key] == bindparam(f"key_{key}"))
        new = [name for name in ("sum", "chain", "salt", "body_sha256") if name in table.c]
        own = own.values({one: bindparam(f"new_{one}") for one in new})
        connection.execute(
            own,
            [
                {f"key_{key}": row[key] for key in keys} | {f"new_{one}": row[one] for one in new}
                for row in made
            ],
        )


def _sealed(
    connection: Connection, name: str, rows: list[dict[str, Any]]
) -> list[Mapping[str, Any]]:
    if name != "event":
        return [{**row, "sum": row_sum(name, row)} for row in rows]
    table = tables.event
    before = select(table.c.chain).where(table.c.seq < rows[0]["seq"])
    last = connection.execute(before.order_by(table.c.seq.desc()).limit(1)).scalar() or ""
    made: list[Mapping[str, Any]] = []
    for row in rows:
        made.append(sealed_event(last, row))
        last = made[-1]["chain"]
    return made
