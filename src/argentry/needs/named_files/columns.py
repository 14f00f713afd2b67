"""Read a small CSV of numbers by column names, and say which row is wrong."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.files import MEGABYTE, read_file

CSV_BYTES = 20 * MEGABYTE  # a spectrum has some thousands of rows


def read_columns(
    path: Path, names: Sequence[str], *, either: Sequence[str] = ()
) -> Mapping[str, Floats]:
    """Return the named columns of a CSV file with a header row.

    Lines that begin with ``#`` and empty lines are left out; other columns are ignored.

    Parameters
    ----------
    path : Path
        The file.
    names : sequence of str
        Columns that must be there.
    either : sequence of str
        Columns of which the first found is read too; one must be there unless empty.

    Returns
    -------
    Mapping[str, ndarray]
        Column to numbers, all of one length, at least one row.

    Raises
    ------
    BadInput
        If the file cannot be read, a column is missing, or a cell is not a finite number.
    """
    where = path.name
    wanted = ",".join([*(["/".join(either)] if either else []), *names])
    try:
        text = read_file(path, CSV_BYTES, "give a CSV file").decode("utf-8-sig")
    except (BadInput, UnicodeDecodeError):
        raise BadInput(
            where,
            "the file cannot be read as text",
            "give a CSV file with the columns {wanted}",
            wanted=wanted,
        ) from None
    lines = [line for line in enumerate(text.splitlines(), 1) if _holds_data(line[1])]
    if len(lines) < 2:
        raise BadInput(
            where, "there are no rows", "give a header {wanted} and rows of numbers", wanted=wanted
        )
    rows = list(csv.reader(line for _, line in lines))
    header = [cell.strip() for cell in rows[0]]
    use = [*names, *[name for name in either if name in header][:1]]
    missing = [name for name in use if name not in header]
    if missing or len(use) == len(names) + bool(either) - 1:
        what = (
            "no column {missing}".format(missing=missing[0])
            if missing
            else "no column {either}".format(either=" or ".join(either))
        )
        raise BadInput(
            where, what, "name the columns {wanted} in the first row".format(wanted=wanted)
        )
    at = {name: header.index(name) for name in use}
    values = [
        [_number(where, number, name, row, column) for name, column in at.items()]
        for (number, _), row in zip(lines[1:], rows[1:], strict=True)
    ]
    return dict(zip(at, np.array(values).T, strict=True))


def _holds_data(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _number(where: str, line: int, name: str, row: list[str], column: int) -> float:
    cell = row[column].strip() if column < len(row) else ""
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(
            "{where} line {line}".format(where=where, line=line),
            "{name} is {cell!r}",
            "write a plain number",
            name=name,
            cell=cell,
        )
    return value
