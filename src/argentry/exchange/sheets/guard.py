"""Look into a spreadsheet before it is parsed: what it would unpack to, and what it hides.

A few kilobytes of ODS or XLSX can stand for thousands of millions of cells. Each part is unpacked
in pieces and counted, then forgotten; only a file that stays within the limits goes to the parser.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from array import array
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from xml.parsers import expat

from argentry.errors import BadInput

MEGABYTE = 1 << 20
FILE_BYTES = 50 * MEGABYTE
UNPACKED_BYTES = 300 * MEGABYTE
RATIO = 250  # of a part above a megabyte; sheets of plates reach about 30
PARTS = 2000
CELLS = 2_000_000
TEXT_BYTES = 200 * MEGABYTE
PIECE = 1 << 16

_REFERENCE = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")
DAMAGED, AGAIN = "the spreadsheet is damaged", "save it again as ODS or XLSX"
_LESS = "save only the sheet of plates to a new file"


@dataclass
class _Count:
    """What one part would unfold to."""

    where: str
    done: int = 0  # cells of the tables before this one
    rows: int = 0
    columns: int = 0
    text: int = 0
    row: int = 0
    column: int = 0
    shared: list[int] = field(default_factory=list)  # lengths of shared texts
    used: array[int] = field(default_factory=lambda: array("I"))  # shared texts the cells name
    # of the cell or row being read
    kind: str = ""
    chars: int = 0
    repeat: int = 1
    row_repeat: int = 1
    value: list[str] = field(default_factory=list)  # text of a cell; in ODS its open paragraphs
    inside: str = ""

    def check(self) -> None:
        if self.done + self.rows * self.columns > CELLS:
            raise BadInput(
                self.where,
                "its used area is {rows} rows by {columns} columns",
                "keep it under {cells} cells: {less}",
                rows=self.rows,
                columns=self.columns,
                cells=CELLS,
                less=_LESS,
            )
        if self.text > TEXT_BYTES:
            raise _too_long(self.where)


def check_spreadsheet(where: str, data: bytes) -> str:
    """Return ``"ods"`` or ``"xlsx"`` when the file is one and unfolds to a sane size.

    Parameters
    ----------
    where : str
        Name of the file, for the sentence.
    data : bytes
        Its content.

    Returns
    -------
    str
        Which of the two it is, by what is inside, not by its name.

    Raises
    ------
    BadInput
        If it is neither, is damaged or locked, holds a document type declaration or a sheet in an
        unusual place, or would unfold beyond the limits of this module.
    """
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise BadInput(where, "this is an old or a locked spreadsheet", "save it as ODS or XLSX")
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            kind = _kind(where, archive)
            _check_parts(where, archive, kind)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, EOFError, zlib.error):
        raise BadInput(where, "the spreadsheet is damaged", AGAIN) from None
    except RuntimeError:  # zipfile's word for a part with a password
        raise BadInput(where, "the spreadsheet is locked", "save it without a password") from None
    return kind


def _kind(where: str, archive: zipfile.ZipFile) -> str:
    names = archive.namelist()
    if len(names) > PARTS:
        raise BadInput(
            where,
            "it holds {names_count} parts",
            "keep under {parts}: {less}",
            names_count=len(names),
            parts=PARTS,
            less=_LESS,
        )
    if len(set(names)) != len(names):
        raise BadInput(where, "it holds two parts of one name", AGAIN)
    if "content.xml" in names:
        return "ods"
    if "xl/workbook.xml" in names:
        return "xlsx"
    raise BadInput(where, "this is not a spreadsheet", "give a CSV, ODS or XLSX file")


def _check_parts(where: str, archive: zipfile.ZipFile, kind: str) -> None:
    total = text = 0
    shared: list[int] = []
    counts: list[_Count] = []
    for info in archive.infolist():
        name = info.filename.lower()
        count = _Count(where) if name.endswith((".xml", ".rels")) else None
        size = 0
        parser = _parser(kind, count) if count else None
        with archive.open(info) as stream:  # reads no more than the part says it holds
            while piece := stream.read(PIECE):
                size += len(piece)
                total += len(piece)
                _check_size(where, size, info.compress_size, total)
                if parser:
                    _feed(where, parser, piece, final=False)
        if count and parser and size:
            _feed(where, parser, b"", final=True)
            count.check()
            shared += count.shared
            counts.append(count)
            text += count.text
    text += sum(shared[i] for count in counts for i in count.used if i < len(shared))
    if text > TEXT_BYTES:
        raise _too_long(where)


def _check_size(where: str, size: int, packed: int, total: int) -> None:
    if total > UNPACKED_BYTES:
        raise BadInput(
            where,
            "it unpacks to more than {unpacked_bytes} MB",
            "keep it smaller: {less}",
            unpacked_bytes=UNPACKED_BYTES // MEGABYTE,
            less=_LESS,
        )
    if size > MEGABYTE and size > RATIO * max(packed, 1):
        raise BadInput(
            where,
            "a part unpacks to more than {ratio} times its size",
            "give a plain one: {less}",
            ratio=RATIO,
            less=_LESS,
        )


def _too_long(where: str) -> BadInput:
    return BadInput(
        where,
        "its cells hold more than {text_bytes} MB of text",
        "keep them shorter: {less}",
        text_bytes=TEXT_BYTES // MEGABYTE,
        less=_LESS,
    )


def _feed(where: str, parser: expat.XMLParserType, piece: bytes, *, final: bool) -> None:
    try:
        parser.Parse(piece, final)
    except expat.ExpatError:
        raise BadInput(where, "the spreadsheet is damaged", AGAIN) from None


def _parser(kind: str, count: _Count) -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        raise BadInput(count.where, "it declares a document type", AGAIN)

    parser.StartDoctypeDeclHandler = refuse
    start, end, chars = (_xlsx if kind == "xlsx" else _ods)(count)
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = chars
    return parser


_Handlers = tuple[
    "Callable[[str, Mapping[str, str]], None]", "Callable[[str], None]", "Callable[[str], None]"
]


def _xlsx(count: _Count) -> _Handlers:
    def start(name: str, attributes: Mapping[str, str]) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "c":
            row, column = _position(count, attributes.get("r"))
            count.row, count.column = row, column
            count.rows, count.columns = max(count.rows, row), max(count.columns, column)
            count.kind, count.value = attributes.get("t", ""), []
        elif tag == "row":
            count.row = _whole(attributes.get("r"), count.row + 1)
            count.column = 0
        elif tag in ("v", "t", "si"):
            count.inside = tag
            if tag == "si":
                count.shared.append(0)
        elif (
            tag == "Relationship"
            and attributes.get("Type", "").endswith(("/worksheet", "/sharedStrings"))
            and not attributes.get("Target", "").lower().endswith(".xml")
        ):
            raise BadInput(count.where, "a sheet lies in an unusual place", AGAIN)

    def end(name: str) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "c" and count.kind == "s":
            count.used.append(min(_whole("".join(count.value), 0), 0xFFFFFFFF))
        if tag in ("v", "t"):
            count.inside = ""
        if tag == "row":
            count.check()

    def chars(text: str) -> None:
        if count.shared and count.inside == "t":
            count.shared[-1] += len(text)
        elif count.inside == "v" and count.kind == "s":
            count.value.append(text)
        count.text += len(text)

    return start, end, chars


def _position(count: _Count, reference: str | None) -> tuple[int, int]:
    if reference is None:
        return max(count.row, 1), count.column + 1
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise BadInput(
            count.where, "a cell is at {reference!r}".format(reference=reference[:20]), AGAIN
        )
    column = 0
    for letter in match[1].upper():
        column = 26 * column + ord(letter) - 64
    return int(match[2]), column


def _ods(count: _Count) -> _Handlers:
    def start(name: str, attributes: Mapping[str, str]) -> None:
        tag = name.rpartition(" ")[2]
        given = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        if tag == "table":
            count.done += count.rows * count.columns
            count.rows = count.columns = count.row = 0
        elif tag == "table-row":
            count.row_repeat = _whole(given.get("number-rows-repeated"), 1)
            count.column = 0
            count.inside = ""
        elif tag in ("table-cell", "covered-table-cell"):
            count.repeat = _whole(given.get("number-columns-repeated"), 1)
            count.chars = 0
            count.kind = "full" if given.keys() & {"value-type", "formula", "value"} else ""
        elif tag == "s":  # a run of spaces
            count.chars += _whole(given.get("c"), 1)
        elif tag == "p":
            count.value.append(tag)
            count.kind = "full"

    def end(name: str) -> None:
        tag = name.rpartition(" ")[2]
        if tag in ("table-cell", "covered-table-cell"):
            count.column += count.repeat
            if count.kind:
                count.inside = "full"
                count.columns = max(count.columns, count.column)
                count.text += count.chars * count.repeat * count.row_repeat
            count.kind, count.chars = "", 0
        elif tag == "p" and count.value:
            count.value.pop()
        elif tag == "table-row":
            count.row += count.row_repeat
            if count.inside:
                count.rows = max(count.rows, count.row)
            count.check()

    def chars(text: str) -> None:
        if count.value:  # within a paragraph; blanks between the tags do not count
            count.chars += len(text)

    return start, end, chars


def _whole(text: str | None, otherwise: int) -> int:
    """Return a count; anything that is none stands for the largest, so that it is refused."""
    if text is None:
        return otherwise
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 1 << 40
