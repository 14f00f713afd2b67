"""Copy every sound event and row of a damaged book into a new one, and name the rest.

The damaged file is never touched: what is read is a copy of it, page by page as far as it can be.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select

from argentry.book import tables
from argentry.book.care.damaged import Read, read_file, read_server
from argentry.book.care.doctor import plain_words
from argentry.book.care.restore import STUDIO
from argentry.book.care.seal import chain_hash, seal, sealed_event
from argentry.book.engine import close_book, connect, sqlite_engine, writing
from argentry.book.forms import revisions, run_migrations
from argentry.book.hold import FILE
from argentry.book.log import follow_all
from argentry.book.open import open_book
from argentry.book.pictures.kept import FOLDER, is_whole
from argentry.book.rows import AT_ONCE
from argentry.book.upgrade import bring_up
from argentry.errors import ArgentryError, BadInput
from argentry.records.event import HOUSE_RUN, VERSION
from argentry.records.ids import new_id

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection

NO_EVENT = "event {place} is lost; a mark stands in its place."
STOOD_IN = "{table} {key} is lost; as other rows belong to it, an empty one stands in its place."
NO_PICTURE = "the picture {sha256} is missing or damaged."
# What a stand-in says where its table must have something.
LOST = "lost"
PARENTS = ("plate", "making", "bath", "lot")


@dataclass(frozen=True)
class Salvaged:
    """What was saved.

    Attributes
    ----------
    rows : Mapping of str to int
        Table to rows copied.
    lost : tuple of str
        Each thing that was not, one sentence.
    """

    rows: Mapping[str, int]
    lost: tuple[str, ...]


def salvage(where: Path | str, target: Path, folder: Path | None = None) -> Salvaged:
    """Copy what is sound of a book into a new one.

    Parameters
    ----------
    where : Path or str
        Studio folder, or the address of a PostgreSQL book.
    target : Path
        A folder that holds no book; made when it is not there.
    folder : Path, optional
        Studio folder beside a PostgreSQL book.

    Raises
    ------
    BadInput
        If there is no book, one lies in `target`, or nothing can be read.
    ArgentryError
        If the new book cannot be written.
    """
    if (target / FILE).exists():
        raise BadInput(str(target), "a book lies there already", "name a new folder")
    try:
        target.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=target, prefix=".argentry-salvage-") as beside:
            read = _read(where, Path(beside))
            if not any(read.rows.values()):
                raise BadInput(str(where), "nothing in it can be read", "restore the last backup")
            if read.form != revisions()[-1]:
                read = _brought_up(read, Path(beside))
        lost = [*read.lost]
        rows = _write(read, target, lost)
        source = folder or (where if isinstance(where, Path) else None)
        if source is not None:
            lost += _bring_pictures(source, target, read)
    except OSError as error:
        raise ArgentryError(
            "{target}: the salvaged book cannot be written ({strerror}).".format(
                target=target, strerror=error.strerror or error
            )
        ) from None
    return Salvaged(rows, tuple(lost))


def _read(where: Path | str, beside: Path) -> Read:
    if isinstance(where, str):
        book = connect(where)
        try:
            return read_server(book)
        finally:
            close_book(book)
    if not (where / FILE).is_file():
        raise BadInput(str(where), "there is no book", "name a studio folder with --studio DIR")
    return read_file(where / FILE, beside)


def _brought_up(read: Read, beside: Path) -> Read:
    """Bring rows of an older form to the newest, by way of a book of their form."""
    file = beside / "older.sqlite"
    engine = sqlite_engine(file)
    with engine.connect().execution_options(argentry_writes=True) as connection, connection.begin():
        run_migrations(connection, read.form)
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for name, rows in read.rows.items():
            for row in rows:
                columns, marks = ", ".join(row), ", ".join("?" * len(row))
                sql = f"INSERT INTO {name} ({columns}) VALUES ({marks})"  # noqa: S608 - our tables
                connection.exec_driver_sql(sql, tuple(row.values()))
        bring_up(connection)
        seal(connection, tuple(tables.metadata.tables), {})
    engine.dispose()
    again = read_file(file, beside)
    return Read(again.form, again.rows, (*read.lost, *again.lost))


def _write(read: Read, target: Path, lost: list[str]) -> dict[str, int]:
    book = open_book(target)
    try:
        with writing(book) as connection:
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
            events = _events(read.rows.get("event", []), lost)
            _insert(connection, "event", events)
            for name in tables.metadata.tables:
                if name != "event":
                    _insert(connection, name, _numbered(read.rows.get(name, [])))
            _stand_in_pictures(connection, read, lost)
            _stand_ins(connection, "plate", lost, _labels(events))
            follow_all(connection)
            for name in PARENTS:
                _stand_ins(connection, name, lost, {})
    finally:
        close_book(book)
    return {name: len(rows) for name, rows in read.rows.items()}


def _insert(connection: Connection, name: str, rows: list[dict[str, Any]]) -> None:
    for start in range(0, len(rows), AT_ONCE):
        connection.execute(insert(tables.metadata.tables[name]), rows[start : start + AT_ONCE])


def _numbered(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rows with places without gaps; one that got another place is sealed again."""
    out = []
    for place, row in enumerate(sorted(rows, key=lambda one: one.get("seq", 0)), 1):
        moved = row.get("seq", place) != place
        out.append({**row, "seq": place, "sum": ""} if moved else row)
    return out


def _events(rows: list[dict[str, Any]], lost: list[str]) -> list[dict[str, Any]]:
    """Return the log without gaps, its chain laid again; a lost event leaves a mark."""
    there = {row["seq"]: row for row in rows}
    last, at_us, made = "", 0, []
    for place in range(1, max(there, default=0) + 1):
        row = there.get(place)
        if row is None:
            lost.append(NO_EVENT.format(place=place))
            mark = {
                "seq": place, "id": new_id(), "run": HOUSE_RUN, "kind": "event_lost",
                "at_us": at_us, "plate": None, "step": None, "body": "{}", "device": "salvage",
                "version": VERSION,
            }  # fmt: skip
            row = dict(sealed_event(last, mark))
        last = chain_hash(last, row["sum"])
        at_us = row["at_us"]
        made.append({**row, "chain": last})
    return made


def _labels(events: list[dict[str, Any]]) -> dict[str, str]:
    """Return plate to label as the runs name them."""
    found: dict[str, str] = {}
    added: dict[str, str] = {}  # the plate that an event took into its run
    for event in events:
        if event["kind"] not in ("run_opened", "plate_added", "corrected"):
            continue
        body = json.loads(event["body"])
        about = str(event["id"])
        if event["kind"] == "plate_added":
            added[about] = str(event["plate"])
        elif event["kind"] == "corrected":  # a plate was renamed
            about, body = str(body.get("event")), body.get("body") or {}
        if about in added:
            found[added[about]] = str(body.get("label") or found.get(added[about], LOST))
        plates = body.get("plates")
        named = plates if isinstance(plates, list) else []
        pairs = ((one.get("id"), one.get("label")) for one in named if isinstance(one, dict))
        found |= {key: label for key, label in pairs if isinstance(key, str) and label}
    return found


def _stand_ins(
    connection: Connection, parent: str, lost: list[str], labels: Mapping[str, str]
) -> None:
    """Put in a row for each one that others belong to and that is lost."""
    table = tables.metadata.tables[parent]
    there = set(connection.execute(select(table.c.id)).scalars())
    wanted = set(labels)
    for child in tables.metadata.tables.values():
        for key in child.foreign_keys:
            if key.column.table is table:
                wanted |= set(connection.execute(select(key.parent)).scalars())
    taken = set(connection.execute(select(table.c.label)).scalars()) if parent == "plate" else set()
    for one in sorted(wanted - there):
        row = _empty(connection, parent, one)
        if parent == "plate":
            label = labels.get(one, f"{LOST} {one[-6:]}")
            row["label"] = label if label not in taken else f"{label} {LOST} {one[-6:]}"
            taken.add(row["label"])
        connection.execute(insert(table), [row])
        lost.append(STOOD_IN.format(table=parent, key=plain_words(row.get("label", one))))


def _stand_in_pictures(connection: Connection, read: Read, lost: list[str]) -> None:
    """Put in a row for each picture that was judged and whose own row is lost."""
    there = {(row["sha256"], row["plate"]) for row in read.rows.get("photograph", [])}
    judged = {(row["picture"], row["plate"]) for row in read.rows.get("judgement", [])}
    for sha256, plate in sorted(judged - there):
        row = {"sha256": sha256, "plate": plate, "kind": "", "taken_us": 0, "media_type": ""}
        row["bytes"] = 0
        connection.execute(insert(tables.photograph), [row])
        lost.append(STOOD_IN.format(table="photograph", key=plain_words(sha256)))


def _empty(connection: Connection, name: str, key: str) -> dict[str, Any]:
    """Return a row that says nothing but its key."""
    table = tables.metadata.tables[name]
    fixed = {"size": "", "day": "1970-01-01", "conditions": "{}", "given_up": "{}", "unit": "g"}
    fixed |= {"state": "finished", "received_on": "1970-01-01", "session": LOST, "remark": LOST}
    row: dict[str, Any] = {"id": key}
    for column in table.columns:
        if column.name in row or column.nullable or column.name == "sum":
            continue
        if column.name == "plate":
            row["plate"] = _lost_plate(connection)
        else:
            row[column.name] = fixed.get(column.name, "" if column.type.python_type is str else 0)
    return row


def _lost_plate(connection: Connection) -> str:
    """Return the plate that makings belong to whose own row is lost."""
    table = tables.plate
    found = connection.execute(select(table.c.id).where(table.c.label == LOST)).scalar()
    if found is not None:
        return str(found)
    row = {**_empty(connection, "plate", new_id()), "label": LOST}
    connection.execute(insert(table), [row])
    return str(row["id"])


def _bring_pictures(source: Path, target: Path, read: Read) -> list[str]:
    lost = []
    shown = {row["sha256"] for row in read.rows.get("photograph", [])}
    judged = {row["picture"] for row in read.rows.get("judgement", [])}
    for sha256 in sorted(shown | judged):
        file = source / FOLDER / sha256
        if not is_whole(file):
            lost.append(NO_PICTURE.format(sha256=sha256))
            continue
        (target / FOLDER).mkdir(exist_ok=True)
        shutil.copyfile(file, target / FOLDER / sha256)
    if (source / STUDIO).is_file() and not (target / STUDIO).exists():
        shutil.copyfile(source / STUDIO, target / STUDIO)
    return lost
