"""Look a book over: the file, its links, the chain of its log, its pictures, where it lies."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.exc import DBAPIError

from argentry.book import tables
from argentry.book.care.seal import body_sha256, chain_hash, row_sum
from argentry.book.care.shape import shape_faults
from argentry.book.engine import reading
from argentry.book.forms import revision, revisions
from argentry.book.pictures.kept import FOLDER, is_whole
from argentry.book.upgrade import notes
from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from sqlalchemy import Connection

    from argentry.book.engine import Book

NETWORK = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "fuse.sshfs", "ncpfs", "ceph")
FEW = 20  # faults of one kind that are named; the rest are counted
MOUNTS = Path("/proc/self/mounts")
DAMAGED = "the file is damaged: {line}."
PARENTLESS = "a row of {table} belongs to a {parent} that is missing."
UNREADABLE = "{name} cannot be read: {why}."
CHANGED = "{name} {key} was changed after it was written."
UNSEALED = "{name} {key} was written by another program: it has no sum."
GAP = "rows of {name} are missing: there is none in place {place}."
UNCHAINED = "the log was changed before event {place}."
NOT_ERASED = "event {id} lost its salt, and no erasure says so."


def check(book: Book) -> list[str]:
    """Return every fault found in a book, one sentence each; an empty list for a sound one."""
    with reading(book) as connection:
        wrong = check_connection(connection)
    return wrong + _pictures(book)


def advice(book: Book) -> list[str]:
    """Return what is not a fault but good to know.

    What an upgrade could not restore, network shares, careless server settings.
    """
    with reading(book) as connection:
        found = notes(connection)
    if book.kind == "postgresql":
        with reading(book) as connection:
            found += [
                (
                    "the database server runs with {setting} off: a power cut may damage the book."
                ).format(setting=setting)
                for setting in ("fsync", "full_page_writes")
                if connection.exec_driver_sql(f"SHOW {setting}").scalar() != "on"
            ]
    if book.folder is not None and book.kind == "sqlite":
        kind = _file_system(book.folder)
        if kind in NETWORK:
            found.append(
                "the book lies on a network share ({kind}), where locks are not reliable: "
                "keep it on a disk of this machine, or use PostgreSQL for several benches.".format(
                    kind=kind
                )
            )
    return found


def check_connection(connection: Connection) -> list[str]:
    """Return the faults in the tables behind a connection; whatever is rotten, it names it."""
    wrong = file_faults(connection)
    try:
        have = revision(connection)
    except DBAPIError as error:
        return [*wrong, UNREADABLE.format(name="alembic_version", why=_reason(error))]
    if have != revisions()[-1]:
        return wrong if have in revisions() else [*wrong, "it is not a book of argentry."]
    wrong += shape_faults(connection)
    with any_letters(connection):
        return wrong + [one for name in tables.metadata.tables for one in _rows(connection, name)]


def file_faults(connection: Connection) -> list[str]:
    """Return what SQLite itself finds wrong with its file and with links between rows."""
    if connection.dialect.name != "sqlite":
        return []
    wrong: list[str] = []
    try:
        query = f"PRAGMA integrity_check({FEW})"
        answer = connection.exec_driver_sql(query).scalars().all()
        wrong += [DAMAGED.format(line=line) for line in answer if line != "ok"]
        links = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        wrong += [PARENTLESS.format(table=row[0], parent=row[2]) for row in links]
    except DBAPIError as error:
        wrong.append(DAMAGED.format(line=_reason(error)))
    return _some(wrong)


@contextmanager
def any_letters(connection: Connection) -> Iterator[None]:
    """Read texts that are not UTF-8 as well: half letters stand for the bytes that are none."""
    if connection.dialect.name != "sqlite":
        yield
        return
    raw: Any = connection.connection.driver_connection
    raw.text_factory = lambda given: given.decode("utf-8", "surrogateescape")
    try:
        yield
    finally:
        raw.text_factory = str


def _rows(connection: Connection, name: str) -> list[str]:
    """Walk one table: every row as its sum says, places without gaps, the chain of the log."""
    table = tables.metadata.tables[name]
    walk = _Walk(name)
    try:
        query = select(table).order_by(*table.primary_key.columns)
        for row in connection.execution_options(stream_results=True).execute(query).mappings():
            walk.step(row)
    except (DBAPIError, OverflowError, ValueError, TypeError) as error:
        after = f" after {walk.key}" if walk.key else ""
        walk.wrong.append(UNREADABLE.format(name=name + after, why=_reason(error)))
    return _some(walk.wrong + walk.not_erased())


@dataclass
class _Walk:
    """Goes through the rows of one table in order."""

    name: str
    wrong: list[str] = field(default_factory=list)
    key: str = ""
    last: str = ""
    expected: int = 1
    erased: dict[str, str] = field(default_factory=dict)
    left: dict[str, str] = field(default_factory=dict)

    def step(self, row: Mapping[Any, Any]) -> None:
        keys = tables.metadata.tables[self.name].primary_key.columns.keys()
        self.key = plain_words(" ".join(str(row[one]) for one in keys))
        fault = row_fault(self.name, row)
        if fault:
            self.wrong.append(fault.format(name=self.name, key=self.key))
        if "seq" in row:
            if row["seq"] != self.expected:
                self.wrong.append(GAP.format(name=self.name, place=self.expected))
            self.expected = row["seq"] + 1
        if self.name == "event":
            self._event(row, fault)

    def _event(self, row: Mapping[Any, Any], fault: str) -> None:
        if not fault and row["chain"] != chain_hash(self.last, row["sum"]):
            self.wrong.append(UNCHAINED.format(place=row["seq"]))
        self.last = row["chain"]
        if row["salt"] == "":
            self.erased[row["id"]] = row["body"]
        elif row["kind"] == "words_erased":
            self.left.update(_erasures(row["body"]))

    def not_erased(self) -> list[str]:
        return [
            NOT_ERASED.format(id=plain_words(one))
            for one, body in self.erased.items()
            if self.left.get(one) != body_sha256("", body)
        ]


def row_fault(name: str, row: Mapping[Any, Any]) -> str:
    """Return what is wrong with one row by its sum, with places for its table and key."""
    if not row["sum"]:
        return UNSEALED
    if row["sum"] != row_sum(name, row):
        return CHANGED
    salted = name == "event" and row["salt"]
    if salted and row["body_sha256"] != body_sha256(row["salt"], row["body"]):
        return CHANGED
    return ""


def _erasures(body: str) -> dict[str, str]:
    try:
        said = json.loads(body).get("left")
    except (ValueError, AttributeError, RecursionError):
        return {}
    return {str(key): str(value) for key, value in said.items()} if isinstance(said, dict) else {}


def plain_words(text: str) -> str:
    """Return text that any screen can show, whatever bytes it was read from."""
    return text.encode("ascii", "backslashreplace").decode()[:80]


def _reason(error: Exception) -> str:
    cause = getattr(error, "orig", None) or error
    return plain_words(" ".join(str(cause).split()))


def _pictures(book: Book) -> list[str]:
    if book.folder is None:
        return []
    wrong = []
    try:
        with reading(book) as connection, any_letters(connection):
            query = select(tables.photograph.c.sha256).distinct()
            hashes = connection.execute(query).scalars().all()
    except ArgentryError:  # the table is named among the faults already
        return []
    for sha256 in sorted(plain_words(str(one)) for one in hashes):
        file = book.folder / FOLDER / sha256
        if not file.is_file():
            wrong.append("the picture {sha256} is missing.".format(sha256=sha256))
        elif not is_whole(file):
            wrong.append("the picture {sha256} is damaged.".format(sha256=sha256))
    return _some(wrong)


def _some(wrong: list[str]) -> list[str]:
    more = len(wrong) - FEW
    return wrong if more <= 0 else [*wrong[:FEW], "and {more} more of this kind.".format(more=more)]


def _file_system(folder: Path) -> str:
    """Return the kind of file system a folder lies on, empty where the system does not tell."""
    try:
        lines = MOUNTS.read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    here = folder.resolve()
    best, kind = -1, ""
    for line in lines:
        _, point, found, *_ = line.split(" ")
        point = point.replace("\\040", " ")
        if here.is_relative_to(point) and len(point) >= best:
            best, kind = len(point), found
    return kind
