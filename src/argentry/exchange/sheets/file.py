"""Read a table of cells from a CSV, ODS or XLSX file that may have been made to do harm."""

from __future__ import annotations

from pathlib import Path

from argentry.exchange.sheets.grid import KINDS, read_grid
from argentry.exchange.sheets.guard import FILE_BYTES
from argentry.exchange.sheets.layout import Layout, Sheet, lay_out
from argentry.files import read_file


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
        read_file(path, FILE_BYTES, KINDS),
        sheet=sheet,
        separator=separator,
        encoding=encoding,
        head_row=use.head_row,
    )
    return lay_out(grid, use)
