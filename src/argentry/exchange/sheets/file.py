"""Read a table of cells from a CSV, ODS or XLSX file that may have been made to do harm."""

from __future__ import annotations

import stat
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.exchange.sheets.grid import KINDS, read_grid
from argentry.exchange.sheets.guard import FILE_BYTES, MEGABYTE
from argentry.exchange.sheets.layout import Layout, Sheet, lay_out

if TYPE_CHECKING:
    from pathlib import Path


def read_sheet(
    path: Path,
    *,
    sheet: str = "",
    separator: str = "",
    encoding: str = "",
    layout: Layout | None = None,
) -> Sheet:
    """Return the table in a file; what kind of file it is shows in its first bytes.

    Parameters
    ----------
    path : Path
        The file.
    sheet : str
        Name of the sheet in a spreadsheet; empty for the first.
    separator, encoding : str
        Of a CSV file; empty: found.
    layout : Layout, optional
        Where the table lies; None: the first row names the columns.

    Raises
    ------
    BadInput
        If it cannot be read, is too large, is damaged, or has no head.
    """
    use = layout or Layout()
    grid = read_grid(
        path.name,
        read_bytes(path),
        sheet=sheet,
        separator=separator,
        encoding=encoding,
        head_row=use.head_row,
    )
    return lay_out(grid, use)


def read_bytes(path: Path, limit: int = FILE_BYTES, kinds: str = KINDS) -> bytes:
    """Return a file's content when it is no longer than `limit`.

    A device or a pipe is not opened: it might never end, or never begin.

    Raises
    ------
    BadInput
        If it is not a file, cannot be read, or is longer.
    """
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode):
            raise BadInput(str(path), "this is not a plain file", kinds)
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except FileNotFoundError:
        raise BadInput(str(path), "there is no such file", kinds) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise BadInput(str(path), "it cannot be read ({why})", kinds, why=why) from None
    if len(data) > limit:
        raise BadInput(
            path.name,
            "it is larger than {limit} MB",
            "split it into several files",
            limit=limit // MEGABYTE,
        )
    return data
