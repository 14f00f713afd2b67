"""A whole table written as Apache Parquet, where the library for it is there already."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

LIBRARY = "pyarrow"
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
    """
    from importlib import import_module

    arrow = import_module(LIBRARY)
    forms = {str: arrow.string(), int: arrow.int64(), float: arrow.float64()}
    columns = {
        name: arrow.array([_value(row[name], kind) for row in rows], forms[kind])
        for name, kind in kinds.items()
    }
    import_module(f"{LIBRARY}.parquet").write_table(arrow.table(columns), str(path))


def _value(text: str, kind: type) -> Any:
    return text if kind is str else kind(text) if text else None
