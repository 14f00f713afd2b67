"""Look a book over: the file, its links, the chain of its log, its pictures, where it lies."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from argentry.book import tables
from argentry.book.engine import reading
from argentry.book.forms import revision, revisions
from argentry.book.log import chain_hash
from argentry.book.pictures import FOLDER
from argentry.book.upgrade import notes

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from argentry.book.engine import Book

NETWORK = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "fuse.sshfs", "ncpfs", "ceph")
FEW = 20  # faults of one kind that are named; the rest are counted
MOUNTS = Path("/proc/self/mounts")


def check(book: Book) -> list[str]:
    """Return every fault found in a book, one sentence each; an empty list for a sound one.

    Parameters
    ----------
    book : Book
        An open book.

    Returns
    -------
    list of str
        Faults.
    """
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
    """Return the faults in the tables behind a connection."""
    wrong: list[str] = []
    if connection.dialect.name == "sqlite":
        answer = connection.exec_driver_sql(f"PRAGMA integrity_check({FEW})").scalars().all()
        wrong += [
            "the file is damaged: {line}.".format(line=line) for line in answer if line != "ok"
        ]
        links = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        wrong += [
            "a row of {table} belongs to a {parent} that is missing.".format(
                table=row[0], parent=row[2]
            )
            for row in links
        ]
    have = revision(connection)
    if have != revisions()[-1]:
        return wrong if have in revisions() else [*wrong, "it is not a book of argentry."]
    return wrong + _log(connection) + _places(connection)


def _log(connection: Connection) -> list[str]:
    """Walk the log: places without gaps, every hash as the one before it says."""
    wrong: list[str] = []
    last, expected = "", 1
    query = select(tables.event).order_by(tables.event.c.seq)
    rows = connection.execution_options(stream_results=True).execute(query).mappings()
    for row in rows:
        if row["seq"] != expected:
            wrong.append(
                "the log has a gap: entry {expected} is missing.".format(expected=expected)
            )
        if row["chain"] != chain_hash(last, row):
            wrong.append(
                "event {id} (entry {seq}) was changed after it was written.".format(
                    id=row["id"], seq=row["seq"]
                )
            )
        last, expected = row["chain"], row["seq"] + 1
    return _some(wrong)


def _places(connection: Connection) -> list[str]:
    wrong = []
    for name in tables.APPEND_ONLY:
        table = tables.metadata.tables[name]
        count, last = connection.execute(
            select(func.count(), func.max(table.c.seq)).select_from(table)
        ).one()
        if name != "event" and count != (last or 0):
            wrong.append(
                "rows of {name} are missing: only {count} of {last} are there.".format(
                    name=name, count=count, last=last
                )
            )
    return wrong


def _pictures(book: Book) -> list[str]:
    if book.folder is None:
        return []
    wrong = []
    with reading(book) as connection:
        hashes = connection.execute(select(tables.photograph.c.sha256).distinct()).scalars().all()
    for sha256 in sorted(hashes):
        file = book.folder / FOLDER / sha256
        if not file.is_file():
            wrong.append("the picture {sha256} is missing.".format(sha256=sha256))
            continue
        with file.open("rb") as content:
            if hashlib.file_digest(content, "sha256").hexdigest() != sha256:
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
