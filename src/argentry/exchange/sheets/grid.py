"""The cells of a CSV, ODS or XLSX file as they stand; encoding, separator, merged cells found."""

from __future__ import annotations

import csv
import re
import zipfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO, StringIO
from typing import Any
from xml.parsers import expat

from argentry.errors import BadInput, harmless
from argentry.exchange.sheets.guard import AGAIN, CELLS, DAMAGED, check_spreadsheet
from argentry.exchange.sheets.tame import untame

ENCODINGS = ("utf-8", "cp1252", "latin-1", "utf-16")
SEPARATORS = (",", ";", "\t", "|")
KINDS = "give a CSV, ODS or XLSX file"
SPREADSHEET = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")  # how one begins
LOOKED_AT = 200_000  # letters of a CSV file that tell its separator
LINES = 60
LONGEST_CELL = 10_000  # letters; a remark may have 2000
_QUOTED = re.compile(r'"[^"]*"')
_CONTROL = re.compile(r"[\x01-\x08\x0e-\x1a\x1c-\x1f\x7f]")

Merged = tuple[tuple[int, int], tuple[int, int]]  # first and last row and column, from 0


@dataclass(frozen=True)
class Grid:
    """The cells of one file.

    Attributes
    ----------
    name : str
        Name of the file.
    rows : tuple of tuple
        Cells by row: str, int, float, bool, date, datetime, time or None.
    merged : tuple of Merged
        Areas of a spreadsheet shown as one cell.
    separator, encoding : str
        Of a CSV file, as given or as found; empty of a spreadsheet.
    sheet : str
        Sheet of a spreadsheet.
    sheets : tuple of str
        All its sheets that hold something, in their order.
    ended : bool
        False of a CSV file whose last line has no end.
    """

    name: str
    rows: tuple[tuple[Any, ...], ...]
    merged: tuple[Merged, ...] = ()
    separator: str = ""
    encoding: str = ""
    sheet: str = ""
    sheets: tuple[str, ...] = ()
    ended: bool = True


def read_grid(
    name: str,
    data: bytes,
    *,
    sheet: str = "",
    separator: str = "",
    encoding: str = "",
    head_row: int = 1,
) -> Grid:
    """Return the cells of a file; what kind it is shows in its first bytes.

    Parameters
    ----------
    name : str
        Name of the file, for the sentences.
    data : bytes
        Its content.
    sheet : str
        Name of the sheet in a spreadsheet; empty for the first that holds something.
    separator, encoding : str
        Of a CSV file; empty: found.
    head_row : int
        Row that names the columns; lines above it do not tell the separator.

    Raises
    ------
    BadInput
        If it is damaged, too large, or not a table.
    """
    if data.startswith(SPREADSHEET):
        return _spreadsheet(name, data, sheet)
    text, encoding = _decoded(name, data, encoding)
    separator = separator or _separator(text, head_row)
    text = _with_ditto(text, separator)
    rows = tuple(_lines(name, text, separator))
    return Grid(name, rows, (), separator, encoding, ended=text.endswith(("\n", "\r")))


def _spreadsheet(where: str, data: bytes, name: str) -> Grid:
    kind = check_spreadsheet(where, data)
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
        pages = [book.get_sheet_by_name(each) for each in names]
        filled = tuple(each.name for each in pages if each.height)
        name = name or (filled or names)[0]
        page = pages[names.index(name)]
        rows = tuple(
            tuple(_cell(each) for each in _short(where, number, row))
            for number, row in enumerate(page.to_python(skip_empty_area=False), 1)
        )
        merged = page.merged_cell_ranges or ()
    except (calamine.CalamineError, ValueError, OSError):
        raise BadInput(where, DAMAGED, AGAIN) from None
    if kind == "ods":
        merged = tuple(_ods_merged(data, name))
    return Grid(where, rows, tuple((a, b) for a, b in merged), sheet=name, sheets=filled)


def _ods_merged(data: bytes, sheet: str) -> Iterator[Merged]:
    """Give the merged areas of one sheet of an ODS file, which the guard has looked through."""
    found: list[Merged] = []
    at = {"here": 0, "row": 0, "rows": 1, "column": 0}

    def start(name: str, attributes: Mapping[str, str]) -> None:
        tag = name.rpartition(" ")[2]
        given = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        if tag == "table":
            at.update(here=int(given.get("name") == sheet), row=0)
        elif tag == "table-row":
            at.update(rows=int(given.get("number-rows-repeated", 1)), column=0)
        elif tag in ("table-cell", "covered-table-cell"):
            down = int(given.get("number-rows-spanned", 1))
            across = int(given.get("number-columns-spanned", 1))
            row, column = at["row"], at["column"]
            if at["here"] and (down > 1 or across > 1):
                found.append(((row, column), (row + down - 1, column + across - 1)))
            at["column"] += int(given.get("number-columns-repeated", 1))

    def end(name: str) -> None:
        if name.rpartition(" ")[2] == "table-row":
            at["row"] += at["rows"]

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    with zipfile.ZipFile(BytesIO(data)) as archive:
        parser.Parse(archive.read("content.xml"), True)
    return iter(found)


def _decoded(where: str, data: bytes, encoding: str) -> tuple[str, str]:
    """Return the text of a CSV file and the encoding it was written in."""
    use = _encoding(data) if encoding in ("", "utf-8", "utf-16") else encoding
    if encoding == "utf-8" and use in ("cp1252", "latin-1"):
        use = encoding
    try:
        text = data.decode("utf-8-sig" if use == "utf-8" else use)
    except UnicodeDecodeError:
        raise BadInput(
            where,
            "it is not written in {use}",
            'save it as UTF-8, or name its encoding in a mapping file (encoding = "cp1252")',
            use=use,
        ) from None
    if "\0" in text or len(_CONTROL.findall(text[:LOOKED_AT])) > len(text[:LOOKED_AT]) // 50:
        raise BadInput(where, "it is not a table of text", KINDS)
    return text, use


def _encoding(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    begin = data[:4096]
    for at, kind in ((1, "utf-16-le"), (0, "utf-16-be")):
        half = begin[at::2]
        if len(half) > 4 and half.count(0) > 0.7 * len(half) and 0 not in begin[1 - at :: 2]:
            return kind
    for kind in ("utf-8", "cp1252"):
        try:
            data.decode(kind)
        except UnicodeDecodeError:
            continue
        return kind
    return "latin-1"


def _separator(text: str, head_row: int) -> str:
    """Return the separator that parts most lines into the same number of cells, outside quotes."""
    bare = _QUOTED.sub("", text[:LOOKED_AT])
    lines = [line for line in bare.splitlines()[head_row - 1 :][:LINES] if line.strip()]

    def fits(separator: str) -> tuple[int, int]:
        counts = Counter(count for line in lines if (count := line.count(separator)))
        usual, times = counts.most_common(1)[0] if counts else (0, 0)
        return times, usual

    return max(SEPARATORS, key=fits)


def _with_ditto(text: str, separator: str) -> str:
    """Return a text in which a quote alone in its cell is a ditto mark, not the start of a cell.

    It is taken for one where more rows are then as wide as the others.
    """
    alone = re.compile(rf'(?m)(?:^|(?<={re.escape(separator)}))"(?={re.escape(separator)}|\r?$)')
    marked = alone.sub('""""', text)

    def even(text: str) -> int:
        try:
            rows = csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)
            return max(Counter(map(len, rows)).values(), default=0)
        except csv.Error:
            return 0

    return marked if marked != text and even(marked) > even(text) else text


def _lines(where: str, text: str, separator: str) -> Iterator[tuple[Any, ...]]:
    cells = 0
    reader = csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for row in reader:
            cells += len(row)
            if cells > CELLS:
                raise BadInput(where, "it has more than {cells} cells", "split it", cells=CELLS)
            yield tuple(_cell(untame(cell)) for cell in _short(where, reader.line_num, row))
    except csv.Error as error:
        raise BadInput(
            "{where} line {line_num}".format(where=where, line_num=reader.line_num),
            "the line cannot be split ({error})",
            "correct its quotes",
            error=error,
        ) from None


def _short(where: str, number: int, row: list[Any]) -> list[Any]:
    """Return a row as it is, unless a cell is longer than any text of a notebook."""
    for cell in row:
        if isinstance(cell, str) and len(cell) > LONGEST_CELL:
            raise BadInput(
                "{where} row {number}".format(where=where, number=number),
                "a cell has {count} letters",
                "give at most {most}",
                count=len(cell),
                most=LONGEST_CELL,
            )
    return row


def _shown(text: str) -> str:
    """Return a text of a cell in which only its line ends act; other signs are written out."""
    if text.isascii() and text.isprintable():
        return text
    return "\n".join(
        harmless(line.replace("\t", " ")) for line in text.replace("\r\n", "\n").split("\n")
    )


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return _shown(value.strip()) or None
    if isinstance(value, timedelta):  # a clock time past midnight, or a length of time
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02}:{seconds:02}"
    if value is None or isinstance(value, (bool, int, float, datetime, date, time)):
        return value
    return str(value)
