"""Read a table of cells from a CSV, ODS or XLSX file that may have been made to do harm."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO, StringIO
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput
from argentry.exchange.sheets.guard import (
    AGAIN,
    CELLS,
    DAMAGED,
    FILE_BYTES,
    MEGABYTE,
    check_spreadsheet,
)

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

ENCODINGS = ("utf-8", "cp1252", "latin-1", "utf-16")
SEPARATORS = (",", ";", "\t", "|")
COLUMNS = 500
# A cell that begins with one of these is run as a formula by spreadsheet programs. It is only ever
# text here; written out, such a text gets an apostrophe in front, which is taken off when read.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
KINDS = "give a CSV, ODS or XLSX file"


@dataclass(frozen=True)
class Sheet:
    """A table as it stands in a file.

    Attributes
    ----------
    name : str
        Name of the file.
    head : tuple of str
        Names of the columns.
    rows : tuple of (int, tuple)
        Number of the row as a spreadsheet counts it (the head is usually 1), and its cells, one
        to a column: str, int, float, bool, date, datetime, time or None. Empty rows are left out.
    """

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Any, ...]], ...]


def read_sheet(
    path: Path,
    *,
    sheet: str = "",
    head_row: int = 1,
    separator: str = "",
    encoding: str = "utf-8",
) -> Sheet:
    """Return the table in a file; what kind of file it is shows in its first bytes.

    Parameters
    ----------
    path : Path
        The file.
    sheet : str
        Name of the sheet in a spreadsheet; empty for the first.
    head_row : int
        Row that names the columns, the first being 1; rows above it are left out.
    separator : str
        Of a CSV file; empty: found from the head row.
    encoding : str
        Of a CSV file, one of `ENCODINGS`.

    Returns
    -------
    Sheet
        Head and rows.

    Raises
    ------
    BadInput
        If it cannot be read, is too large, is damaged, or has no head with distinct names.
    """
    data = read_bytes(path)
    if data[:4] == b"PK\x03\x04" or data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        rows = _spreadsheet(path.name, data, sheet)
    else:
        rows = _csv(path.name, data, separator, encoding, head_row)
    return _sheet(path.name, rows, head_row)


def read_bytes(path: Path, limit: int = FILE_BYTES) -> bytes:
    """Return a file's content when it is no longer than `limit`.

    Raises
    ------
    BadInput
        If it is not a file, cannot be read, or is longer.
    """
    try:
        if not path.is_file():
            raise BadInput(str(path), "there is no such file", KINDS)
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except OSError as error:
        raise BadInput(
            str(path), "it cannot be read ({strerror})".format(strerror=error.strerror), KINDS
        ) from None
    if len(data) > limit:
        raise BadInput(
            path.name,
            "it is larger than {limit} MB",
            "split it into several files",
            limit=limit // MEGABYTE,
        )
    return data


def tame(text: str) -> str:
    """Return a text as it is written to a CSV file, so that no program runs it as a formula.

    Examples
    --------
    >>> tame("=1+1"), tame("plain"), tame("'=1")
    ("'=1+1", 'plain', "''=1")
    """
    bare = text.lstrip("'")
    return f"'{text}" if bare.startswith(FORMULA) else text


def untame(text: str) -> str:
    """Return a text of a CSV file without the apostrophe that `tame` put there.

    Examples
    --------
    >>> untame("'=1+1"), untame("'tis"), untame("''=1")
    ('=1+1', "'tis", "'=1")
    """
    return text[1:] if text.startswith("'") and text.lstrip("'").startswith(FORMULA) else text


def _spreadsheet(where: str, data: bytes, name: str) -> list[tuple[Any, ...]]:
    check_spreadsheet(where, data)
    import python_calamine as calamine

    try:
        book = calamine.CalamineWorkbook.from_filelike(BytesIO(data))
        names = book.sheet_names
        if not names:
            raise BadInput(where, "it has no sheet", KINDS)
        if name and name not in names:
            shown = ", ".join(repr(each) for each in names[:10])
            raise BadInput(
                where, "there is no sheet {name!r}", "name one of {shown}", name=name, shown=shown
            )
        page = book.get_sheet_by_name(name or names[0])
        return [tuple(row) for row in page.to_python(skip_empty_area=False)]
    except (calamine.CalamineError, ValueError, OSError):
        raise BadInput(where, DAMAGED, AGAIN) from None


def _csv(
    where: str, data: bytes, separator: str, encoding: str, head_row: int
) -> list[tuple[Any, ...]]:
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    use = "utf-16" if marked else "utf-8-sig" if encoding == "utf-8" else encoding
    try:
        text = data.decode(use)
    except UnicodeDecodeError:
        raise BadInput(
            where,
            "it is not written in {use}",
            'save it as UTF-8, or name its encoding in a mapping file (encoding = "cp1252")',
            use=use.removesuffix("-sig"),
        ) from None
    if "\0" in text:
        raise BadInput(where, "it holds zero bytes", KINDS)
    out: list[tuple[Any, ...]] = []
    cells = 0
    reader = csv.reader(
        StringIO(text, newline=""), delimiter=separator or _separator(text, head_row), strict=True
    )
    try:
        for row in reader:
            cells += len(row)
            if cells > CELLS:
                raise BadInput(where, "it has more than {cells} cells", "split it", cells=CELLS)
            out.append(tuple(untame(cell) for cell in row))
    except csv.Error as error:
        raise BadInput(
            "{where} line {line_num}".format(where=where, line_num=reader.line_num),
            "the line cannot be split ({error})",
            "correct its quotes",
            error=error,
        ) from None
    return out


def _separator(text: str, head_row: int) -> str:
    """Return the separator that the head row holds most of, outside of quotes."""
    line = next((each for i, each in enumerate(text.splitlines(), 1) if i >= head_row), "")
    bare = "".join(line.split('"')[::2])
    return max(SEPARATORS, key=bare.count)


def _sheet(where: str, rows: Iterable[tuple[Any, ...]], head_row: int) -> Sheet:
    numbered = [(i, row) for i, row in enumerate(rows, 1) if i >= head_row]
    head = _head(where, numbered[0][1] if numbered else (), head_row)
    kept = [(i, _cells(row)) for i, row in numbered[1:]]
    width = len(head)
    table = []
    for i, row in kept:
        if all(cell is None for cell in row):
            continue
        over = next((at for at, cell in enumerate(row) if at >= width and cell is not None), None)
        if over is not None:
            raise BadInput(
                "{where} row {i}".format(where=where, i=i),
                "there are more cells than the {width} columns of the header row",
                "name the column, or put a text with the separator in quotes",
                width=width,
            )
        table.append((i, (*row[:width], *[None] * (width - len(row)))))
    if not table:
        raise BadInput(
            where, "there are no rows below the header row", "give one row for each plate"
        )
    return Sheet(where, head, tuple(table))


def _head(where: str, row: tuple[Any, ...], number: int) -> tuple[str, ...]:
    cells = ["" if cell is None else str(cell).strip() for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    place = f"{where} row {number}"
    if not cells:
        raise BadInput(place, "no column is named", "name the columns in the first row")
    if len(cells) > COLUMNS:
        raise BadInput(
            place,
            "there are {cells_count} columns",
            "keep under {columns}",
            cells_count=len(cells),
            columns=COLUMNS,
        )
    for i, name in enumerate(cells):
        if not name:
            raise BadInput(place, "column {i} has no name", "name it, or remove it", i=i + 1)
        if len(name) > 100:
            raise BadInput(
                place, "the name {name!r}... is too long", "keep under 100 letters", name=name[:20]
            )
        if name in cells[:i]:
            raise BadInput(
                place, "two columns are named {name!r}", "name each column once", name=name
            )
    return tuple(cells)


def _cells(row: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(_cell(value) for value in row)


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return value.strip() or None
    if isinstance(value, timedelta):  # a clock time past midnight, or a length of time
        return value.total_seconds()
    if value is None or isinstance(value, (bool, int, float, datetime, date, time)):
        return value
    return str(value)
