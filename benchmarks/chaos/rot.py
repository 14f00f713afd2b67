"""One byte of a book goes bad: it is named, or nothing reads it; and every other row is saved."""

from __future__ import annotations

import math
import random
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import String, and_, insert, select, text
from sqlalchemy.exc import IntegrityError
from tests.bench_studio import Table, studio

from argentry.book import log, tables
from argentry.book.baths import add_bath
from argentry.book.care.doctor import check
from argentry.book.care.salvage import salvage
from argentry.book.devices import add_device
from argentry.book.engine import close_book, connect, reading, writing
from argentry.book.hold import FILE
from argentry.book.lots import add_lots
from argentry.book.materials.notes import add_notes
from argentry.book.open import open_book
from argentry.book.pictures.kept import add_picture
from argentry.book.plates import add_making, add_plate, add_work
from argentry.book.readings import add_readings
from argentry.errors import ArgentryError
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import Bath, Lot, MaterialNote
from argentry.records.plate import Making, Plate, Reading
from argentry.records.plate_record import PlateWork
from benchmarks.chaos.ground import database_server, workplace
from benchmarks.chaos.pages import map_of

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.book.engine import Book
    from benchmarks.chaos.ground import Ask, Figures

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
MANY = 30
Rows = dict[str, dict[tuple[Any, ...], dict[str, Any]]]


def fill(book: Book) -> None:
    """Put rows into every table: a run of two plates, and thirty of most other things."""
    table = Table(book, studio())
    table.open("Q-1", "Q-2")
    table.cautions()
    table.up_to("expose")
    for n in range(MANY):
        plate = Plate(new_id(), f"A {n}", silver_um=3.0 + n / 100, remark=f"plate {n}")
        add_plate(book, plate)
        made = Making(
            new_id(), plate.id, None, "s", n + 1, date(2026, 6, 1), grade="fine", verdict="right",
            stages={"coat": "ok"}, defects=(("veil", "coat"),), remark=f"soft {n}",
        )  # fmt: skip
        add_making(book, made)
        add_work(book, PlateWork(new_id(), plate.id, "polished", NOON, "Ana", f"rouge {n}"))
        add_device(book, f"tablet {n}", "bench", f"{n:064x}", NOON)
        add_picture(book, plate.id, "coat", NOON, b"\xff\xd8\xff" + bytes(500 + n))
    add_readings(
        book, [Reading(new_id(), "room_c", 18.0 + n, "°C", NOON, "M") for n in range(MANY)]
    )
    for n in range(MANY // 3):
        add_bath(book, Bath(new_id(), f"Fixer {n}", "fixer", NOON, 500.0, 3, 270.0))
        add_lots(book, [Lot(new_id(), f"Iodine {n}", 100.0, "g", "Shop", date(2026, 1, 1), 2.0)])
    long = [{"words": f"w{n} " + "x" * (9000 if n % 20 == 7 else 20)} for n in range(2 * MANY)]
    run = new_id()
    for body in long:
        log.append(book, [Event(new_id(), run, "remark_made", NOON, body=body)])
    with writing(book) as connection:
        words = [
            {"seq": n + 1, "form": "0004", "words": f"not restored {n}"} for n in range(MANY // 3)
        ]
        connection.execute(insert(tables.metadata.tables["upgrade_note"]), words)
        shown = connection.execute(select(tables.photograph)).mappings().all()
        said = [
            {"seq": n + 1, "picture": row["sha256"], "plate": row["plate"], "kind": "coat",
             "judged_us": n, "version": "1", "answer": f'{{"n": {n}}}', "struck": "{}"}
            for n, row in enumerate(shown)
        ]  # fmt: skip
        connection.execute(insert(tables.judgement), said)
    noted = [MaterialNote("lot", f"lot {n}", "price", str(n + 1.0), NOON) for n in range(MANY // 3)]
    add_notes(book, noted)


def rows_of(book: Book) -> Rows:
    """Return table to key to row, without what a salvaged log lays again."""
    out: Rows = {}
    with reading(book) as connection:
        for name, table in tables.metadata.tables.items():
            keys = table.primary_key.columns.keys()
            out[name] = {
                tuple(row[key] for key in keys): dict(row)
                for row in connection.execute(select(table)).mappings()
            }
    return out


def values(kept: Rows, name: str) -> set[str]:
    """Return the rows of a table without their place, sum and chain, which may move."""
    drop = {"seq", "sum", "chain"} if name != "event" else {"chain"}
    return {
        repr(sorted((k, v) for k, v in row.items() if k not in drop)) for row in kept[name].values()
    }


def on_sqlite(ask: Ask) -> Figures:
    chance = random.Random(ask.seed)
    found = {"books": 0, "named": 0, "unused": 0, "silent": 0, "untouched lost": 0, "tables": 0}
    with workplace(quick=True) as folder:
        whole = folder / "whole"
        whole.mkdir()
        book = open_book(whole)
        fill(book)
        kept = rows_of(book)
        close_book(book)
        shape = map_of(whole / FILE)
        content = (whole / FILE).read_bytes()
        names = [name for name in tables.metadata.tables if name in shape.of]
        rowids = _rowids(whole / FILE, names)
        for number in range(ask.count):
            if not ask.go_on():
                break
            # each table in turn, every fourth time any byte of the file
            name = names[number % len(names)]
            page = chance.choice(shape.of[name]) - 1
            place = page * shape.page + chance.randrange(shape.page)
            if number % 4 == 3:
                place = chance.randrange(len(content))
            rotten = bytearray(content)
            rotten[place] ^= chance.randrange(1, 256)
            here = folder / str(number)
            here.mkdir()
            (here / FILE).write_bytes(rotten)
            (here / "pictures").symlink_to(whole / "pictures")
            found["books"] += 1
            if _named(here):
                found["named"] += 1
            else:
                same = _read_by(here / FILE, names) == _read_by(whole / FILE, names)
                found["unused" if same else "silent"] += 1
            salvage(here, here / "saved")
            _compare(found, here / "saved", kept, _touched(shape, place, rowids))
            shutil.rmtree(here)
        found["tables"] = len(names)
    return found


def _rowids(file: Path, names: list[str]) -> dict[str, dict[int, tuple[Any, ...]]]:
    out = {}
    with closing(sqlite3.connect(file)) as book:
        for name in names:
            keys = tables.metadata.tables[name].primary_key.columns.keys()
            found = book.execute(f"SELECT rowid, {', '.join(keys)} FROM {name}").fetchall()
            out[name] = {row[0]: tuple(row[1:]) for row in found}
    return out


def _touched(
    shape: Any, place: int, rowids: dict[str, dict[int, tuple[Any, ...]]]
) -> tuple[str, tuple[Any, ...]] | None:
    """Return the table and key of the row that holds a byte."""
    row = shape.row_at(place)
    page = place // shape.page + 1
    name = next((name for name, pages in shape.of.items() if page in pages), "")
    return None if row is None or name not in rowids else (name, rowids[name][row])


def _read_by(file: Path, names: list[str]) -> Any:
    """Return all that SQLite reads of a book: schema, rows, and what it says of indexes."""
    try:
        with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as book:
            book.text_factory = bytes
            found = [book.execute("SELECT * FROM sqlite_schema ORDER BY rowid").fetchall()]
            found += [book.execute("PRAGMA integrity_check").fetchall()]
            found += [
                book.execute(f"SELECT rowid, * FROM {name} NOT INDEXED ORDER BY rowid").fetchall()
                for name in names
            ]
            return found
    except sqlite3.Error:
        return None


def _compare(
    found: dict[str, int], target: Path, kept: Rows, touched: tuple[str, tuple[Any, ...]] | None
) -> None:
    """Count the rows that the byte did not touch and that are not in the salvaged book."""
    book = open_book(target)
    saved = rows_of(book)
    assert check(book) == []
    close_book(book)
    for name, rows in kept.items():
        gone = values(kept, name) - values(saved, name)
        if touched is not None and touched[0] == name:
            gone -= values({name: {touched[1]: rows[touched[1]]}}, name)
        found["untouched lost"] += len(gone)


def _named(where: Path | str) -> list[str]:
    """Return what `book check` says of a book, or what it says instead of opening it."""
    try:
        book = open_book(where, quick=False)
    except ArgentryError as error:
        return [str(error)]
    try:
        return check(book)
    finally:
        close_book(book)


def on_postgresql(ask: Ask) -> Figures:
    chance = random.Random(ask.seed)
    found = {"books": 0, "named": 0, "unused": 0, "silent": 0, "untouched lost": 0, "tables": 0}
    with database_server() as server, workplace(quick=True) as folder:
        whole = server.database()
        book = open_book(whole, folder=folder)
        fill(book)
        kept = rows_of(book)
        close_book(book)
        template = whole.split("@/")[1].split("?")[0]
        names = [name for name in tables.metadata.tables if kept[name]]
        for number in range(ask.count):
            if not ask.go_on():
                break
            address = server.database(template=template)
            name = names[number % len(names)]
            touched = _rot_row(address, name, kept, chance)
            found["books"] += 1
            named = _named(address)
            found["named" if name in " ".join(named) else "silent"] += 1
            target = folder / str(number)
            salvage(address, target, folder)
            _compare(found, target, kept, touched)
            shutil.rmtree(target)
            server.drop(address)
        found["tables"] = len(names)
    return found


def _rot_row(
    address: str, name: str, kept: Rows, chance: random.Random
) -> tuple[str, tuple[Any, ...]]:
    """Change one letter or bit, unseen by any trigger; return the row's table and key."""
    table = tables.metadata.tables[name]
    key = chance.choice(sorted(kept[name], key=repr))
    row = kept[name][key]
    column = chance.choice([one for one in table.c if row[one.name] not in (None, "")])
    was = row[column.name]
    if isinstance(column.type, String):
        place = chance.randrange(len(was))
        letter = chance.choice([one for one in "abz09-X{" if one != was[place]])
        rotten: Any = was[:place] + letter + was[place + 1 :]
    elif isinstance(was, float):
        rotten = math.nextafter(was, math.inf)
    else:
        rotten = was ^ 1 << chance.randrange(16)
    keys = table.primary_key.columns
    here = and_(*(one == value for one, value in zip(keys, key, strict=True)))
    book = connect(address)
    try:
        with book.engine.begin() as connection:
            connection.execute(text("SET session_replication_role = replica"))
            connection.execute(table.update().where(here).values({column.name: rotten}))
    except IntegrityError:  # another row has that key: no page would hold both
        return _rot_row(address, name, kept, chance)
    finally:
        close_book(book)
    return name, key
