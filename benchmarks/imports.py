"""A table of 5,000 plates into the book, beside a bare executemany of the same rows in one run."""

from __future__ import annotations

import csv
import random
import resource
import sqlite3
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.exchange.archive.archive import export_book, import_archive
from argentry.exchange.plates.columns import columns
from argentry.exchange.plates.into_book import import_plates
from argentry.exchange.plates.table import read_plate_table

if TYPE_CHECKING:
    from argentry.trade.columns import Column

PLATES = 5000
MORNING = datetime(2020, 1, 1, 9, tzinfo=UTC)


def _cell(column: Column, number: int, draw: random.Random) -> str:  # noqa: PLR0911
    if column.name == "plate":
        return f"P{number}"
    if column.kind == "date":
        return (MORNING + timedelta(days=number // 3)).date().isoformat()
    if column.kind == "time":
        hours = {"exposure_start": 0, "development_start": 1, "development_end": 4}[column.name]
        return (MORNING + timedelta(days=number // 3, hours=hours)).isoformat()
    if column.name in ("session", "order"):
        return str(number // 3 + 1 if column.name == "session" else number % 3 + 1)
    if column.kind == "whole number":
        return str(draw.randint(int(column.low), int(column.high)))
    if column.kind == "number":
        return f"{draw.uniform(column.low, column.high):.4g}".replace("e+0", "e")
    if column.kind == "defects":
        return draw.choice(["", "fog@coat", "haze@finish;chalky@coat"])
    return draw.choice(column.words) if column.kind == "word" else "an invented remark"


def _rows() -> list[list[str]]:
    draw = random.Random(1)
    wide = [column for column in columns() if column.name != "silver_um"]
    rows = [[column.name for column in wide]]
    return rows + [[_cell(column, n, draw) for column in wide] for n in range(PLATES)]


def _write(folder: Path, rows: list[list[str]]) -> tuple[Path, Path]:
    with (folder / "p.csv").open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows(rows)
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Plates")
    for row in rows:
        page.append(row)
    book.save(folder / "p.xlsx")
    return folder / "p.csv", folder / "p.xlsx"


def _bare(folder: Path, rows: list[list[str]]) -> float:
    """Return seconds for the same cells into one plain table at the book's own settings."""
    start = time.perf_counter()
    connection = sqlite3.connect(folder / "bare.sqlite")
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA synchronous = EXTRA")
    names = ", ".join(f'"{name}"' for name in rows[0])
    connection.execute(f"CREATE TABLE plates ({names})")
    marks = ", ".join("?" * len(rows[0]))
    connection.executemany(f"INSERT INTO plates VALUES ({marks})", rows[1:])
    connection.commit()
    connection.close()
    return time.perf_counter() - start


def _import(home: Path, path: Path) -> tuple[float, float]:
    home.mkdir()
    start = time.perf_counter()
    book = open_book(home)
    opened = time.perf_counter()
    table = read_plate_table(path)
    if table.problems:
        raise RuntimeError(table.problems[0].sentence())
    found = import_plates(book, table, at=MORNING)
    done = time.perf_counter()
    if len(found.fresh) != PLATES:
        raise RuntimeError(f"{len(found.fresh)} plates went in")
    close_book(book)
    return opened - start, done - opened


def _archive(folder: Path, home: Path) -> tuple[float, float]:
    book, other = open_book(home), open_book(_made(folder / "other"))
    start = time.perf_counter()
    export_book(book, folder / "bag")
    written = time.perf_counter()
    import_archive(other, folder / "bag")
    read = time.perf_counter()
    close_book(book)
    close_book(other)
    return written - start, read - written


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


def run() -> list[tuple[str, str]]:
    """Return what was measured, each figure beside its reference from this run."""
    rows = _rows()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        table, sheet = _write(folder, rows)
        bare = _bare(folder, rows)
        opened, from_csv = _import(folder / "csv", table)
        _, from_sheet = _import(folder / "xlsx", sheet)
        written, read = _archive(folder, folder / "csv")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    return [
        (f"{PLATES} plates of {len(rows[0])} columns, bare executemany", f"{bare:.2f} s"),
        (
            "the same from CSV, every cell checked, into the book (goal: 60 s)",
            f"{from_csv:.2f} s",
        ),
        ("ratio to the bare executemany", f"{from_csv / bare:.1f}"),
        ("the same from XLSX, looked through before parsing", f"{from_sheet:.2f} s"),
        ("ratio to the bare executemany", f"{from_sheet / bare:.1f}"),
        ("a new book made and its tables brought up to date", f"{opened:.2f} s"),
        ("that book written as an archive, with checksums", f"{written:.2f} s"),
        ("that archive checked and read into an empty book", f"{read:.2f} s"),
        ("peak memory of the whole run", f"{peak:.0f} MB"),
    ]
