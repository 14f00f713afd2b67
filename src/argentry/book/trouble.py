"""What the store says when it cannot, put into one sentence for the maker."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy.exc import DBAPIError, PendingRollbackError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterator

# SQLite's message (lower case, a part of it) or PostgreSQL's code: what to tell.
SQLITE = {
    "database or disk is full": "the disk is full; nothing of this was stored; free some space",
    "disk i/o error": "the disk fails; nothing of this was stored; make a copy of the folder now",
    "readonly database": "the book may only be read here; nothing was stored; give it back its "
    "right to be written or open another copy",
    "unable to open": "the book cannot be opened; see whether its folder may be written",
    "database is locked": "another program holds the book; nothing was stored; close it, try again",
    "malformed": "the book is damaged; stop, copy the folder, then restore the last backup",
    "not a database": "the file is no book; move it away or restore the last backup",
}
POSTGRESQL = {
    "53100": SQLITE["database or disk is full"],
    "25006": SQLITE["readonly database"],
    "55P03": SQLITE["database is locked"],
    "53300": "the database server takes no more connections; nothing was stored; try again",
    "42501": "the database user lacks the right for this; nothing was stored",
    "28": "the database server does not let this user in",
    "3D000": "there is no such database on the server; make it first",
    "58": SQLITE["disk i/o error"],
}
AWAY = "the database server cannot be reached; see whether it runs and the address is right"
GONE = (
    "the database server was lost; what was not answered may or may not be stored; "
    "send it again, twice does no harm"
)


def sentence(error: DBAPIError | sqlite3.Error) -> str | None:
    """Return what to tell about a store's error, or None when it is a mistake of the program."""
    raised = error if isinstance(error, sqlite3.Error) else error.orig
    if isinstance(raised, sqlite3.Error):
        message = str(raised).lower()
        return next((say for part, say in SQLITE.items() if part in message), None)
    code = getattr(raised, "sqlstate", None)
    if code:
        found = next((say for part, say in POSTGRESQL.items() if code.startswith(part)), None)
        return GONE if found is None and code.startswith(("57P", "08")) else found
    if any(part in str(raised) for part in ("connection to server", "resolve host")):
        return AWAY
    lost = getattr(error, "connection_invalidated", False)
    return GONE if lost or type(raised).__name__ == "OperationalError" else None


@contextmanager
def told(url: str) -> Iterator[None]:
    """Turn the store's own errors into `ArgentryError`; errors of the program pass unchanged."""
    try:
        yield
    except PoolTimeout:
        raise ArgentryError(f"{url}: too many wait for the book; try again.") from None
    except PendingRollbackError:
        raise ArgentryError(f"{url}: {GONE}.") from None
    except (DBAPIError, sqlite3.Error) as error:
        say = sentence(error)
        if say is None:
            raise
        raise ArgentryError(f"{url}: {say}.") from error
