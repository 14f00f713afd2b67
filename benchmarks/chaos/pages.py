"""Which bytes of a SQLite file hold which row, by the file format alone.

Source: "Database File Format", the SQLite documentation, sections 1.5 (b-tree pages) and 1.6
(overflow pages). The pages of each table come from SQLite's own table ``dbstat``.
"""

from __future__ import annotations

import sqlite3
import struct
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

LEAF = 0x0D  # of a table


@dataclass(frozen=True)
class Map:
    """The pages of a book.

    Attributes
    ----------
    page : int
        Size of a page. [bytes]
    of : dict of str to list of int
        Table or index to its pages, from 1.
    rows : dict of int to list of (int, int, int)
        Page to its cells: from where to where in the page, and the row.
    """

    page: int
    of: dict[str, list[int]]
    rows: dict[int, list[tuple[int, int, int]]]

    def row_at(self, place: int) -> int | None:
        """Return the number of the row that a byte of the file belongs to."""
        page, offset = divmod(place, self.page)
        found = (row for low, high, row in self.rows.get(page + 1, ()) if low <= offset < high)
        return next(found, None)


def map_of(file: Path) -> Map:
    """Return which pages and bytes of a sound book belong to what."""
    with closing(sqlite3.connect(file)) as book:
        (page,) = book.execute("PRAGMA page_size").fetchone()
        tables = book.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
        found = book.execute("SELECT name, pageno FROM dbstat ORDER BY pageno").fetchall()
    of: dict[str, list[int]] = {}
    for name, number in found:
        of.setdefault(name, []).append(number)
    content = file.read_bytes()
    rows: dict[int, list[tuple[int, int, int]]] = {}
    for name in {name for (name,) in tables} & of.keys():
        for number in of[name]:
            _cells(content, page, number, rows)
    return Map(page, of, rows)


def _cells(
    content: bytes, page: int, number: int, rows: dict[int, list[tuple[int, int, int]]]
) -> None:
    start = (number - 1) * page
    head = start + (100 if number == 1 else 0)
    if content[head] != LEAF:
        return
    (count,) = struct.unpack_from(">H", content, head + 3)
    for place in struct.unpack_from(f">{count}H", content, head + 8):
        size, at = _varint(content, start + place)
        row, at = _varint(content, at)
        own = _local(size, page)
        end = at + own + (4 if own < size else 0)
        rows.setdefault(number, []).append((place, end - start, row))
        left = size - own
        (following,) = struct.unpack_from(">I", content, end - 4) if left else (0,)
        while left > 0:
            held = min(left, page - 4)
            rows.setdefault(following, []).append((0, 4 + held, row))
            left -= held
            (following,) = struct.unpack_from(">I", content, (following - 1) * page)


def _local(size: int, page: int) -> int:
    """Return how many bytes of a row lie in its own page (section 1.5)."""
    if size <= page - 35:
        return size
    least = (page - 12) * 32 // 255 - 23
    own = least + (size - least) % (page - 4)
    return own if own <= page - 35 else least


def _varint(content: bytes, at: int) -> tuple[int, int]:
    value = 0
    for step in range(8):
        value = value << 7 | content[at + step] & 0x7F
        if content[at + step] < 0x80:
            return value, at + step + 1
    return value << 8 | content[at + 8], at + 9
