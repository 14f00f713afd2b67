"""What the store says when it cannot, put into one sentence for the maker."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, PendingRollbackError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from argentry.errors import ArgentryError

# SQLite's message (lower case, a part of it) or PostgreSQL's code: what to tell.
SQLITE = {
    "database or disk is full": "the disk is full and nothing was stored; free some space",
    "disk i/o error": "the disk is failing and nothing was stored; copy the folder now",
    "readonly database": "the book is read-only here and nothing was stored; make it writable "
    "or open another copy",
    "unable to open": "the book cannot be opened; check that its folder is writable",
    "database is locked": (
        "another program is using the book and nothing was stored; close it and try again"
    ),
    "malformed": "the book is damaged; stop, copy the folder, then restore the last backup",
    "not a database": "the file is not a book; move it away or restore the last backup",
}
POSTGRESQL = {
    "53100": SQLITE["database or disk is full"],
    "25006": SQLITE["readonly database"],
    "55P03": SQLITE["database is locked"],
    "53300": "the database server accepts no more connections and nothing was stored; try again",
    "42501": "the database user lacks the permission for this and nothing was stored",
    "28": "the database server refuses this user",
    "3D000": "the server has no such database; create it first",
    "58": SQLITE["disk i/o error"],
    "XX001": SQLITE["malformed"],
    "XX002": SQLITE["malformed"],
}
AWAY = "the database server cannot be reached; check that it is running and the address is right"
GONE = (
    "the connection to the database server was lost, so unanswered events may or may not be "
    "stored; send them again, sending twice does no harm"
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
        raise ArgentryError(
            "{url}: too many requests are waiting for the book; try again.".format(url=url)
        ) from None
    except PendingRollbackError:
        raise ArgentryError(f"{url}: {GONE}.") from None
    except UnicodeDecodeError as error:  # SQLite's own message names what is rotten by its bytes
        raise ArgentryError(f"{url}: {SQLITE['malformed']}.") from error
    except (DBAPIError, sqlite3.Error) as error:
        say = sentence(error)
        if say is None:
            raise
        raise ArgentryError(f"{url}: {say}.") from error
