"""Tables on a terminal that is too narrow for them: row after row, and nothing is cut off."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.table import Column, Table
    from rich.text import Text

WIDE = 80  # columns: from here on tables stay tables
BETWEEN = 3  # columns between two of a table


def in_lines(table: Table, console: Console, width: int) -> RenderableType:
    """Return a table as it is, or its rows as lines where its words do not fit side by side.

    Parameters
    ----------
    table : Table
        To be printed.
    console : Console
        Reads the marks in its cells.
    width : int
        Columns of the terminal.

    Returns
    -------
    RenderableType
        The table; or of each row its first cell, and below it the others with their heads.
    """
    columns = [[_read(cell, console) for cell in column.cells] for column in table.columns]
    if (
        width >= WIDE
        or len(columns) < 3
        or table.show_footer
        or any(None in cells for cells in columns)
    ):
        return table
    heads = [_read(column.header, console) for column in table.columns]
    pairs = zip(table.columns, heads, columns, strict=True)
    needed = sum(_least(column, [head, *cells]) for column, head, cells in pairs)
    if needed + BETWEEN * (len(columns) - 1) <= width:
        return table
    from rich.console import Group

    rows = _lines([head.plain if head else "" for head in heads], columns)
    return Group(*([table.title] if table.title else []), *rows)


def _read(cell: RenderableType, console: Console) -> Text | None:
    from rich.text import Text

    if isinstance(cell, str):
        return console.render_str(cell)
    return cell if isinstance(cell, Text) else None


def _least(column: Column, cells: list[Text | None]) -> int:
    """Return how narrow a column may be: its longest word, or line where lines stay whole."""
    told = [cell.plain for cell in cells if cell is not None]
    parts = [part for one in told for part in (one.split("\n") if column.no_wrap else one.split())]
    return max(map(len, parts), default=0)


def _lines(heads: list[str], columns: list[list[Text | None]]) -> list[RenderableType]:
    from rich.padding import Padding
    from rich.text import Text

    out: list[RenderableType] = []
    for row in zip(*columns, strict=True):
        first, *others = (cell or Text() for cell in row)
        out.append(first)
        for head, cell in zip(heads[1:], others, strict=True):
            if cell.plain.strip():
                said = Text(f"{head}: ") + cell if head.strip() else cell
                out.append(Padding(said, (0, 0, 0, 2)))
    return out
