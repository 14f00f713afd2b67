"""Books for tests: SQLite in a folder, and a throw-away PostgreSQL server of the test's own."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import DatabaseError
from sqlalchemy.util import LRUCache

from argentry.book import engine, tables
from argentry.book import open as opening
from argentry.book.engine import close_book, reading
from argentry.book.hold import FILE
from argentry.book.open import open_book
from argentry.studio.text import studio_text, write_studio

WHERE = ("/usr/lib/postgresql", "/usr/pgsql", "/opt/postgresql")


def save_new_studio(path, studio):
    """Write a studio into a new folder, as `argentry studio new` does."""
    return write_studio(path, studio_text(studio))


def binaries():
    """Return the folder of initdb and pg_ctl, or None."""
    found = shutil.which("pg_ctl")
    if found:
        return Path(found).resolve().parent
    for root in WHERE:
        for folder in sorted(Path(root).glob("*/bin"), reverse=True):
            if (folder / "pg_ctl").exists():
                return folder
    return None


def copies_of(shape):
    """Return a `connect` that begins each new SQLite book as a copy of one, as PostgreSQL's are.

    The first is made by the migrations, in the folder `shape`; each other would take them
    90 ms more. All share what was compiled: with an engine of its own each would compile its
    statements again.
    """
    plain, shared = opening.connect, []

    def connect(where, folder=None):
        here = Path(where)
        if here.is_dir() and here != shape and not (here / FILE).exists():
            if not (shape / FILE).exists():
                close_book(open_book(shape))
            shutil.copyfile(shape / FILE, here / FILE)
        book = plain(where, folder)
        if book.engine.dialect.name == "sqlite":
            if not shared:
                try:
                    with book.engine.connect():  # the dialect learns what it speaks to
                        shared.append((book.engine.dialect, LRUCache(4000)))
                except DatabaseError:  # a test's damaged book
                    return book
            book.engine.dialect, book.engine._compiled_cache = shared[0]
        return book

    return connect


# Nothing here is kept: no commit waits for the disk. What a power cut leaves is in tests/power.
QUICK = tuple(
    "synchronous = OFF" if one.startswith("synchronous") else one for one in engine.PRAGMAS
)


class Server:
    """A PostgreSQL server on a socket in its own folder; nobody else can reach it."""

    def __init__(self, *, durable, where=None):
        self.binaries = binaries()
        if self.binaries is None:
            pytest.skip("NO POSTGRESQL: install the package postgresql to test the shared book")
        self.as_user = []
        self.folder = Path(tempfile.mkdtemp(prefix="argentry-pg-", dir=where))
        if os.geteuid() == 0:
            try:
                owner = pwd.getpwnam("postgres")
            except KeyError:
                pytest.skip("NO USER postgres: PostgreSQL does not run as root")
            os.chown(self.folder, owner.pw_uid, owner.pw_gid)
            self.as_user = ["runuser", "-u", "postgres", "--"]
        self.options = f"-c listen_addresses='' -c max_connections=50 -k {self.folder}"
        if not durable:
            self.options += " -F -c full_page_writes=off"
        sync = [] if durable else ["--no-sync"]
        # its log in pieces of 1 MB: nothing here fills the usual 16 MB
        how = ["-A", "trust", "-U", "argentry", "--wal-segsize=1", *sync]
        self._run("initdb", "-D", self.data, *how)
        self.start()
        self.sql("CREATE DATABASE shape")
        close_book(open_book(self.url("shape")))
        self.count = 0

    @property
    def data(self):
        return str(self.folder / "data")

    def _run(self, program, *arguments, check=True):
        return subprocess.run(
            [*self.as_user, str(self.binaries / program), *arguments],
            check=check,
            capture_output=True,
            cwd="/",
            timeout=600,  # a busy machine
        )

    def start(self):
        where = ["-D", self.data, "-l", str(self.folder / "log"), "-o", self.options]
        subprocess.run(
            [*self.as_user, str(self.binaries / "pg_ctl"), "start", "-w", *where],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd="/",
            timeout=600,  # a busy machine
        )

    def stop(self, mode="fast"):
        self._run("pg_ctl", "-D", self.data, "-m", mode, "-w", "stop", check=False)

    def remove(self):
        self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def url(self, database):
        return f"postgresql+psycopg://argentry@/{database}?host={self.folder}"

    def sql(self, text, database="postgres"):
        import psycopg

        with psycopg.connect(
            host=str(self.folder), user="argentry", dbname=database, autocommit=True
        ) as connection:
            answer = connection.execute(text)
            return answer.fetchall() if answer.description else None

    def database(self, *, template="shape", more=""):
        """Return the address of a new database with the book's tables (or empty)."""
        self.count += 1
        name = f"book{self.count}"
        self.sql(f"CREATE DATABASE {name} TEMPLATE {template} {more}")
        return self.url(name)

    def drop(self, url):
        name = url.split("@/")[1].split("?")[0]
        with contextlib.suppress(Exception):
            self.sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def count_readings(book):
    """How many readings a book holds."""
    with reading(book) as connection:
        return connection.execute(select(func.count()).select_from(tables.reading)).scalar_one()
