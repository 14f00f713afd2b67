"""A whole table written as Apache Parquet, where the library for it is there already."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from argentry.errors import BadInput

LIBRARY = "pyarrow"
WHERE = "line {line}, column {column}"
NOT_A_NUMBER, FROM_ANEW = "{text!r} is not a number: the table was changed", "name a new table"
NOT_HERE, USE_CSV = "the library pyarrow is not installed here", "use the CSV table"


def check_parquet(option: str) -> None:
    """Refuse Parquet where its library is missing.

    Raises
    ------
    BadInput
        If it is.
    """
    if find_spec(LIBRARY) is None:
        raise BadInput(option, NOT_HERE, USE_CSV)


def write_parquet(path: Path, rows: Sequence[Mapping[str, Any]], kinds: Mapping[str, type]) -> None:
    """Write rows as Parquet; an empty cell of numbers is null.

    Parameters
    ----------
    path : Path
        The file.
    rows : sequence of Mapping
        Text by column, as a CSV table has it.
    kinds : Mapping
        By column: str, int or float.

    Raises
    ------
    BadInput
        If a cell is not of its kind: the table was changed by hand.
    """
    from importlib import import_module

    cells = {
        name: [_value(row[name], kind, name, line) for line, row in enumerate(rows, 2)]
        for name, kind in kinds.items()
    }
    arrow = import_module(LIBRARY)
    forms = {str: arrow.string(), int: arrow.int64(), float: arrow.float64()}
    columns = {name: arrow.array(cells[name], forms[kind]) for name, kind in kinds.items()}
    import_module(f"{LIBRARY}.parquet").write_table(arrow.table(columns), str(path))


def _value(text: str, kind: type, column: str, line: int) -> Any:
    try:
        return text if kind is str else kind(text) if text else None
    except ValueError:
        where = WHERE.format(line=line, column=column)
        raise BadInput(where, NOT_A_NUMBER, FROM_ANEW, text=text[:40]) from None
