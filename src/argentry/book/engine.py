"""The stores of a book: SQLite in the studio's folder, or PostgreSQL; one writer at a time."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import create_engine, event, inspect, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import QueuePool

from argentry.book.care.seal import FIRST_SEALED, seal, unsealed
from argentry.book.forms import revision, revisions
from argentry.book.hold import FILE, hold, let_go
from argentry.book.tables import metadata
from argentry.book.trouble import told
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sqlalchemy import Connection, Engine

    from argentry.records.event import Event

CONNECTIONS = 4  # kept open; each holds pages of the file in memory, at most a megabyte
MORE = 28  # opened while all are in use, and closed after
CONNECT_S = 5  # a server that does not answer is told, not waited for
BUSY_MS = 10_000  # how long a writer waits for another before it says so
LOCK = 0x4167656E7472  # PostgreSQL advisory lock: one writer of a book at a time

# Measured in docs/decisions/durable-book.md: the one setting with a deleted journal that loses no
# acknowledged event when the power goes. recursive_triggers lets REPLACE meet the triggers that
# refuse it.
PRAGMAS = (
    "busy_timeout = {busy_ms}".format(busy_ms=BUSY_MS),
    "journal_mode = DELETE",
    "synchronous = EXTRA",
    "foreign_keys = ON",
    "recursive_triggers = ON",
    "trusted_schema = OFF",
    "mmap_size = 0",
    "cache_size = -1000",
)


@dataclass(frozen=True)
class Book:
    """An open book.

    Attributes
    ----------
    engine : Engine
        Connections to it.
    url : str
        Its address, without any password.
    folder : Path or None
        Studio folder: pictures and backups before migrations go there.
    kind : str
        ``"sqlite"`` or ``"postgresql"``.
    read : dict
        Events of a run as they were read last: see `argentry.book.log.events`.
    has_sums : set of bool
        Holds True once it was seen that its tables have sums.
    """

    engine: Engine
    url: str
    folder: Path | None
    kind: str
    read: dict[str, tuple[Event, ...]] = field(default_factory=dict, compare=False, repr=False)
    has_sums: set[bool] = field(default_factory=set, compare=False, repr=False)


def close_book(book: Book) -> None:
    """Give back every connection of a book."""
    book.engine.dispose()
    let_go(book.engine)


def connect(where: Path | str, folder: Path | None = None) -> Book:
    """Return a book by its folder or address, neither looked over nor brought up to date."""
    text = str(where)
    return _postgresql(text, folder) if "://" in text else _sqlite(Path(where))


def _sqlite(folder: Path) -> Book:
    if folder.is_file():
        folder = folder.parent
    if not folder.is_dir():
        raise BadInput(str(folder), "there is no such folder", "name a studio folder")
    file = folder / FILE
    if file.exists() and not file.is_file():
        raise BadInput(str(file), "it is not a file", "move it away and open the book again")
    url = f"sqlite:///{file.as_posix()}"
    engine = sqlite_engine(file)
    hold(engine, folder)
    return Book(engine, url, folder, "sqlite")


def sqlite_engine(file: Path, *, creator: Callable[[], Any] | None = None) -> Engine:
    """Return an engine on one SQLite file with the book's settings.

    Parameters
    ----------
    file : Path
        The file.
    creator : callable, optional
        Makes the raw connection instead of the standard library (the power-cut test does).

    Returns
    -------
    Engine
        Every connection has the settings of `PRAGMAS`; writers begin at once with the lock.
    """

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(file, timeout=BUSY_MS / 1000, check_same_thread=False)

    engine = create_engine(
        f"sqlite:///{file.as_posix()}",
        creator=creator or connect,
        poolclass=QueuePool,
        hide_parameters=True,
        pool_size=CONNECTIONS,
        max_overflow=MORE,
        pool_use_lifo=True,  # the few in use stay warm, the others small
    )
    _use_settings(engine)
    return engine


def _use_settings(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def _set(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # BEGIN is ours, below: the driver's own comes too late
        cursor = connection.cursor()
        for pragma in PRAGMAS:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("argentry_writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgresql(text: str, folder: Path | None) -> Book:
    right = "write it as postgresql+psycopg://user@host/book"
    try:
        url = make_url(text)
        if url.get_backend_name() != "postgresql":
            raise BadInput(
                "book address",
                "{get_backend_name!r} is not a known kind of store".format(
                    get_backend_name=url.get_backend_name()
                ),
                right,
            )
        engine = create_engine(
            url.set(drivername="postgresql+psycopg"),
            pool_pre_ping=True,
            hide_parameters=True,  # what a maker wrote never stands in a log
            isolation_level="READ COMMITTED",
            connect_args={"connect_timeout": CONNECT_S},
        )
    except ModuleNotFoundError:
        raise BadInput(
            "book address",
            "PostgreSQL support is not installed",
            "pip install 'argentry[postgres]'",
        ) from None
    except (ArgumentError, NoSuchModuleError, ValueError):
        raise BadInput("book address", "it cannot be read", right) from None

    @event.listens_for(engine, "connect")
    def _set(connection: Any, _record: object) -> None:
        with connection.cursor() as cursor:  # whatever the server's default: answer when it is safe
            cursor.execute("SET synchronous_commit = on")
            cursor.execute(f"SET lock_timeout = {BUSY_MS}")
        connection.commit()

    return Book(engine, url.render_as_string(hide_password=True), folder, "postgresql")


@contextmanager
def reading(book: Book) -> Iterator[Connection]:
    """Give a connection that only reads, seeing one state of the book."""
    with told(book.url), book.engine.connect() as plain:
        if book.kind == "sqlite":  # a transaction there sees one state from its first read on
            yield plain
        else:
            yield plain.execution_options(isolation_level="REPEATABLE READ")


@contextmanager
def writing(book: Book) -> Iterator[Connection]:
    """Give the one connection that may write; commit at the end, roll back on any error.

    Yields
    ------
    Connection
        Nobody else writes while it is held, so that places in the log are in order of commit.

    Raises
    ------
    ArgentryError
        If the store cannot take it (full, read-only, locked, gone): nothing was stored.
    """
    with told(book.url), book.engine.connect() as plain:
        connection = plain.execution_options(argentry_writes=True)
        with connection.begin():
            if book.kind == "postgresql":
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")
            names = _with_sums(book, connection)
            before = unsealed(connection, names) if names else {}
            yield connection
            if names := _with_sums(book, connection):
                seal(connection, names, before)


def _with_sums(book: Book, connection: Connection) -> tuple[str, ...]:
    """Return the tables whose rows have sums; a book of an older form lacks the newer ones."""
    if not book.has_sums:
        form = revision(connection) or ""
        if form < FIRST_SEALED:
            return ()
        if form != revisions()[-1]:
            there = set(inspect(connection).get_table_names())
            return tuple(name for name in metadata.tables if name in there)
        book.has_sums.add(True)
    return tuple(metadata.tables)
