"""Cells as they are written into a table that a spreadsheet program will open."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Any

# A cell that begins with one of these is run as a formula by spreadsheet programs (OWASP, "CSV
# Injection"), and so is one with their full-width twins where such programs fold them. It is only
# ever text here; written out, such a text gets an apostrophe in front, taken off when read.
# Where lists are parted by semicolons or tabs, a program opens a new cell inside the text: what
# stands behind such a sign, or on a new line, is treated like the beginning.
FORMULA = "=+\\-@\uff1d\uff0b\uff0d\uff20"
_NEW_CELL = ";|\t\r\n"
# Nothing is given back once taken and a run is begun once only, so that a cell made of apostrophes
# or line ends takes time by its length, not by its square.
_AT_START = rf"(?=\s*+'*+[{FORMULA}]|[\t\r\n])"
_WITHIN = rf"(?<![;|\s])([;|\s]++)('*+)(?=[{FORMULA}])"
_TAME = re.compile(rf"^('*+){_AT_START}|{_WITHIN}")
_UNTAME = re.compile(rf"^('++){_AT_START}|{_WITHIN}")


def tame(text: str) -> str:
    """Return a text as it is written to a CSV file, so that no program runs it as a formula.

    Examples
    --------
    >>> tame("=1+1"), tame("plain"), tame("'=1"), tame("wind; -2 stops")
    ("'=1+1", 'plain', "''=1", "wind; '-2 stops")
    """
    return _TAME.sub(lambda at: _quoted(at, 1), text)


def untame(text: str) -> str:
    """Return a text of a CSV file without the apostrophes that `tame` put there.

    Examples
    --------
    >>> untame("'=1+1"), untame("'tis"), untame("''=1"), untame("wind; '-2 stops")
    ('=1+1', "'tis", "'=1", 'wind; -2 stops')
    """
    return _UNTAME.sub(lambda at: _quoted(at, -1), text)


def csv_line(values: Iterable[Any]) -> str:
    r"""Return values as a line of a CSV file with its end; None is an empty cell.

    Examples
    --------
    >>> csv_line(["=1", 2.0, 0.1, None])
    "'=1,2,0.1,\n"
    """
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow([_cell(value) for value in values])
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return tame(value) if isinstance(value, str) else str(value)


def _quoted(at: re.Match[str], more: int) -> str:
    """Return what was found with one apostrophe more, or one less where there is any."""
    before, quotes = at[2] or "", at[1] or at[3] or ""
    if before and not any(sign in before for sign in _NEW_CELL):
        return at[0]
    return before + "'" * max(len(quotes) + more, 0)
