"""What is left to mend: problems grouped, rows as a table to edit, and an account of every cell."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import fields, replace
from datetime import datetime, time
from typing import TYPE_CHECKING, Any

from argentry.exchange.plates.cells import plain
from argentry.exchange.plates.days import ISO, OR
from argentry.exchange.sheets.layout import COLUMNS, letter
from argentry.exchange.sheets.tame import tame
from argentry.records.answers.notebook import CellAccount, ProblemGroup

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from argentry.exchange.plates.cells import TableProblem
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.table import PlateTable
    from argentry.exchange.sheets.grid import Grid
    from argentry.exchange.sheets.layout import Sheet

ROW, WRONG = "row of {origin}", "to mend"  # columns of the list that the import leaves out
ORIGIN = re.compile(r"row of ([0-9a-f]{16})")
_CELL = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6})")
_VALUE = re.compile(r"'[^']*'|\d[\d.:+-]*")


def grouped(problems: Iterable[TableProblem]) -> tuple[ProblemGroup, ...]:
    """Return problems by column and kind, in the order of their first rows."""
    groups: dict[tuple[str, str, str], list[TableProblem]] = {}
    for one in problems:
        key = (one.column, _VALUE.sub("", one.what), one.right)
        groups.setdefault(key, []).append(one)
    return tuple(
        ProblemGroup(
            found[0].column,
            len(found),
            tuple(dict.fromkeys(one.row for one in found)),
            found[0].what,
            found[0].right,
        )
        for found in groups.values()
    )


def account(grid: Grid, sheet: Sheet, table: PlateTable, kept_out: frozenset[int]) -> CellAccount:
    """Return what became of every cell that is not empty.

    Parameters
    ----------
    grid : Grid
        The cells of the file.
    sheet : Sheet
        The table in it.
    table : PlateTable
        As it was read.
    kept_out : frozenset of int
        Rows that wait in the list to mend.
    """
    names = {
        at: name for row in set(sheet.letters) for at, name in zip(row, sheet.head, strict=True)
    }
    first = min(sheet.heads)
    counts = dict.fromkeys((one.name for one in fields(CellAccount)), 0)
    for number, row in enumerate(grid.rows, 1):
        for at, cell in enumerate(row):
            if cell is None:
                continue
            where = letter(at)
            if number < first:
                counts["titles"] += 1
            elif number in sheet.heads:
                counts["heads"] += 1
            elif names.get(where, "") in table.skipped:
                counts["left_out"] += 1
            elif number in kept_out:
                counts["listed"] += 1
            elif f"{where}{number}" in table.changed:
                counts["changed"] += 1
            else:
                counts["taken"] += 1
    return CellAccount(**counts)


def rest_table(
    sheet: Sheet,
    mapping: PlateMapping,
    table: PlateTable,
    problems: Sequence[TableProblem],
    kept_out: frozenset[int],
    origin: str,
) -> str:
    """Return the rows to mend as a CSV table that can be edited and imported again.

    Parameters
    ----------
    sheet : Sheet
        The table as it stands in its file.
    mapping : PlateMapping
        How it was read: numbers are written with its decimal sign.
    table : PlateTable
        As it was read.
    problems : sequence of TableProblem
        What is wrong.
    kept_out : frozenset of int
        The rows to mend.
    origin : str
        Hash of the file; the list finds its mapping by it.
    """
    wrong: dict[int, list[str]] = {}
    for one in problems:
        where = one.cell or one.column
        wrong.setdefault(one.row, []).append(f"{where}: {one.what}; {one.right}")
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\r\n")
    order = () if "order" in table.fields or "order" in sheet.head else ("order",)
    head = (WRONG, ROW.format(origin=origin[:16]), *order, *sheet.head)
    lines.writerow([tame(name) for name in head])
    for (number, cells), place in zip(sheet.rows, table.places, strict=True):
        if number in kept_out:
            told = " | ".join(dict.fromkeys(wrong.get(number, ())))
            extra = [str(place or "")] if order else []
            texts = [
                _written(cell, mapping.sign_of(name))
                for name, cell in zip(sheet.head, cells, strict=True)
            ]
            lines.writerow([tame(told), str(number), *extra, *map(tame, texts)])
    return out.getvalue()


def _written(cell: Any, decimal: str) -> str:
    """Return a cell as it is read again by the mapping of its notebook."""
    if cell is None:
        return ""
    if isinstance(cell, datetime) and cell.time() == time():
        return cell.date().isoformat()
    if isinstance(cell, time) and not cell.second:
        return f"{cell.hour}:{cell.minute:02}"
    if isinstance(cell, float) and not cell.is_integer():
        text = repr(cell)
        if decimal == "either" and len(text.partition(".")[2]) == 3:
            text += "0"  # three digits could be thousands
        return text.replace(".", ",") if decimal == "," else text
    return plain(cell)


def rest_mapping(mapping: PlateMapping, origin: str) -> PlateMapping:
    """Return the mapping of the list to mend that was written from a file."""
    return replace(
        mapping,
        date_format=_with_iso(mapping.date_format),
        separator="",
        encoding="",
        sheet="",
        head_row=1,
        head_rows=1,
        plates_in_row=1,
        divider="",
        repeat=(),
        skip=(*mapping.skip, WRONG, ROW.format(origin=origin[:16])),
    )


def _with_iso(forms: str) -> str:
    """Return forms of dates that also take those a spreadsheet kept as dates."""
    return forms if not forms or ISO in forms.split(OR) else forms + OR + ISO


def with_cells(grid: Grid, answers: Mapping[str, str]) -> Grid:
    """Return a grid with the texts that a maker put into its cells, by ``"cell:C7"``."""
    rows = [list(row) for row in grid.rows]
    for key, text in answers.items():
        at = _place(key.removeprefix("cell:")) if key.startswith("cell:") else None
        at = at if at is not None and at[0] < len(rows) and at[1] < COLUMNS else None
        if at is not None and text.strip() != cell_text(grid, key.removeprefix("cell:")):
            rows[at[0]] += [None] * (at[1] + 1 - len(rows[at[0]]))
            rows[at[0]][at[1]] = text.strip() or None
    return replace(grid, rows=tuple(map(tuple, rows)))


def cell_text(grid: Grid, cell: str) -> str:
    """Return what is written in a cell such as ``"C7"``; nothing where there is none."""
    at = _place(cell)
    if at is None or at[0] >= len(grid.rows) or at[1] >= len(grid.rows[at[0]]):
        return ""
    found = grid.rows[at[0]][at[1]]
    return "" if found is None else plain(found)


def _place(cell: str) -> tuple[int, int] | None:
    """Return row and column of a cell, from 0."""
    match = _CELL.fullmatch(cell)
    if match is None:
        return None
    column = 0
    for one in match[1]:
        column = 26 * column + ord(one) - ord("A") + 1
    return int(match[2]) - 1, column - 1


def origin_of(head: Iterable[str]) -> str | None:
    """Return the beginning of the hash of the file that a list to mend was written from."""
    return next((match[1] for name in head if (match := ORIGIN.fullmatch(name))), None)
