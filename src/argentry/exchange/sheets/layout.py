"""Where a table lies in its file: head, merged cells, ditto marks, several plates in one row."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput, unknown
from argentry.trade.notebook import notebook_words, plain_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from argentry.exchange.sheets.grid import Grid

COLUMNS = 500
LONGEST_NAME = 100
MOST_IN_ROW = 4  # plates
LONGER = "the row has more cells than the {named} named columns: perhaps {sign!r} stands inside one"
IN_QUOTES = "put that cell in quotes, or name every column"
ALONE = "only one cell of the row is filled", "fill it in, or leave it out"
CUT = "the file ends in the middle of this row", "complete it"
UNNAMED, SECOND = "column {letter}", "{name} ({letter})"


@dataclass(frozen=True)
class Layout:
    """How the table lies in its file.

    Attributes
    ----------
    head_row : int
        First row that names the columns.
    head_rows : int
        Rows that name them together: a group above its columns, or units below the names.
    plates_in_row : int
        How often the columns of a plate stand side by side.
    divider : str
        What parts two plates within one cell; empty: nothing does.
    lead : str
        Column whose cells say, by the divider, how many plates a row holds.
    repeat : tuple of str
        Columns in which an empty cell means "as above".
    """

    head_row: int = 1
    head_rows: int = 1
    plates_in_row: int = 1
    divider: str = ""
    lead: str = ""
    repeat: tuple[str, ...] = ()


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
    letters : tuple of tuple of str
        To each row the letters of the columns its cells come from.
    heads : frozenset of int
        Rows that name the columns, also where they are repeated further down.
    unclear : Mapping of int to str
        Rows whose two plates cannot be parted, with the cell that is not divided like the others.
    breaks : tuple of (int, tuple of str)
        Rows below an empty one that hold words alone, with these: another table may begin there.
    broken : Mapping of int to (str, str)
        Rows that are not whole, with what is wrong and what would be right.
    """

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Any, ...]], ...]
    letters: tuple[tuple[str, ...], ...] = ()
    heads: frozenset[int] = frozenset()
    unclear: Mapping[int, str] = field(default_factory=dict)
    breaks: tuple[tuple[int, tuple[str, ...]], ...] = ()
    broken: Mapping[int, tuple[str, str]] = field(default_factory=dict)


def letter(column: int) -> str:
    """Return the letters of a column counted from 0.

    Examples
    --------
    >>> letter(0), letter(25), letter(26), letter(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    before, last = divmod(column, 26)
    return (letter(before - 1) if before else "") + chr(ord("A") + last)


def filled(grid: Grid) -> list[list[Any]]:
    """Return the rows of a grid, equally long, with merged cells filled downwards."""
    width = max((len(row) for row in grid.rows), default=0)
    rows = [[*row, *[None] * (width - len(row))] for row in grid.rows]
    for (top, left), (bottom, _) in grid.merged:
        if left < width and top < len(rows):
            for row in rows[top + 1 : bottom + 1]:
                row[left] = rows[top][left] if row[left] is None else row[left]
    return rows


def names_of(grid: Grid, rows: Sequence[Sequence[Any]], head_row: int, head_rows: int) -> list[str]:
    """Return the name of every column of a grid, empty where there is none.

    Raises
    ------
    BadInput
        If no column is named, there are too many, or a name is too long.
    """
    where = "{name} row {row}".format(name=grid.name, row=head_row)
    head = [list(row) for row in rows[head_row - 1 : head_row - 1 + head_rows]]
    for (top, left), (bottom, right) in grid.merged:
        if top <= head_row - 1 <= bottom and head:
            head[0][left + 1 : right + 1] = [head[0][left]] * len(head[0][left + 1 : right + 1])
    across = any(
        top <= head_row - 1 <= bottom and left < right
        for (top, left), (bottom, right) in grid.merged
    )
    if head_rows > 1 and not across:
        for column in range(1, len(head[0])):  # a group's name stands over the first of its columns
            if head[0][column] is None and head[1][column] is not None:
                head[0][column] = head[0][column - 1]
    names = []
    for cells in zip(*head, strict=True):
        said = dict.fromkeys(" ".join(str(cell).split()) for cell in cells if cell is not None)
        names.append(" ".join(said))
    if not any(names):
        raise BadInput(where, "no column is named", "name the columns in the first row")
    if len(names) > COLUMNS:
        raise BadInput(
            where, "there are {count} columns", "keep under {most}", count=len(names), most=COLUMNS
        )
    for name in names:
        if len(name) > LONGEST_NAME:
            raise BadInput(
                where, "the name {name!r}... is too long", "keep under 100 letters", name=name
            )
    return names


def used_columns(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> list[int]:
    """Return the columns, from 0, that have a name or a cell that is not empty."""
    return [at for at, name in enumerate(names) if name or any(row[at] is not None for row in rows)]


def lay_out(grid: Grid, layout: Layout) -> Sheet:
    """Return the table of a file, one row to each plate.

    Raises
    ------
    BadInput
        If no column is named or there is no row below the head.
    """
    rows = filled(grid)
    names = names_of(grid, rows, layout.head_row, layout.head_rows)
    first = layout.head_row + layout.head_rows
    below = rows[first - 1 :]
    blocks = _blocks(names, used_columns(names, below), layout.plates_in_row)
    letters = [tuple(letter(at) for at in block) for block in blocks]
    head = _distinct([names[at] for at in blocks[0]], blocks[0], side_by_side=len(blocks) > 1)
    made = _Rows(head, layout)
    heads = set(range(layout.head_row, first))
    said = [str(cell) for cell in rows[layout.head_row - 1] if cell is not None]
    breaks = []
    for number, row in enumerate(below, first):
        cells = [str(cell) for cell in row if cell is not None]
        if cells == said:
            heads.add(number)
            continue
        words = len(cells) > 1 and not any(letter.isdigit() for letter in "".join(cells))
        if words and number > first and not any(cell is not None for cell in rows[number - 2]):
            breaks.append((number, tuple(cells)))
        for block, named in zip(blocks, letters, strict=True):
            made.add(number, [row[at] for at in block], named, blocks)
    if not made.rows:
        raise BadInput(
            grid.name, "there are no rows below the header row", "give one row for each plate"
        )
    return Sheet(
        grid.name,
        head,
        tuple(made.rows),
        tuple(made.letters),
        frozenset(heads),
        made.unclear,
        tuple(breaks),
        _broken(grid, rows, names, layout),
    )


def _broken(
    grid: Grid, rows: Sequence[Sequence[Any]], names: Sequence[str], layout: Layout
) -> Mapping[int, tuple[str, str]]:
    """Return the rows with one cell alone, and of a CSV file those that are divided or cut off."""
    first = layout.head_row + layout.head_rows
    heads, below = grid.rows[layout.head_row - 1 : first - 1], grid.rows[first - 1 :]
    wide = len(used_columns(names, rows)) > 2
    alone = {
        number: ALONE
        for number, row in enumerate(rows[first - 1 :], first)
        if wide and sum(cell is not None for cell in row) == 1
    }
    if not grid.separator or not below:
        return alone
    named = max(map(len, heads))
    found = alone | {
        number: (LONGER.format(named=named, sign=grid.separator), IN_QUOTES)
        for number, row in enumerate(below, first)
        if any(cell is not None for cell in row[named:])
    }
    if not grid.ended and 0 < len(below[-1]) < min(
        len(row) for row in (*heads, *below[:-1]) if row
    ):
        found[len(grid.rows)] = CUT
    return found


class _Rows:
    """The rows of a table as they are gathered, each knowing the one above it."""

    def __init__(self, head: tuple[str, ...], layout: Layout) -> None:
        self.head, self.layout = head, layout
        self.lead = head.index(layout.lead) if layout.lead in head else None
        self.repeat = [at for at, name in enumerate(head) if name in layout.repeat]
        self.ditto = frozenset(notebook_words().marks["ditto"])
        self.above: list[Any] = [None] * len(head)
        self.rows: list[tuple[int, tuple[Any, ...]]] = []
        self.letters: list[tuple[str, ...]] = []
        self.unclear: dict[int, str] = {}

    def add(
        self,
        number: int,
        cells: list[Any],
        letters: tuple[str, ...],
        blocks: Sequence[Sequence[int]],
    ) -> None:
        """Add the cells of one plate, or of several that a divider parts."""
        shared = len(set(blocks[0]) & set(blocks[-1])) if len(blocks) > 1 else 0
        if all(cell is None for cell in cells[shared:]):
            return
        for at, cell in enumerate(cells):
            as_above = isinstance(cell, str) and cell.casefold() in self.ditto
            if (as_above and self.above[at] is not None) or (cell is None and at in self.repeat):
                cells[at] = self.above[at]
        self.above = cells
        for part in self._parted(number, cells):
            self.rows.append((number, part))
            self.letters.append(letters)

    def _parted(self, number: int, cells: list[Any]) -> Iterator[tuple[Any, ...]]:
        sign = self.layout.divider
        lead = None if self.lead is None else cells[self.lead]
        count = len(_parts(lead, sign)) if sign else 1
        if count == 1:
            yield tuple(cells)
            return
        split = [_parts(cell, sign) for cell in cells]
        odd = next((at for at, parts in enumerate(split) if len(parts) not in (1, count)), None)
        if odd is not None:
            self.unclear[number] = self.head[odd]
            yield tuple(cells)
            return
        for at in range(count):
            yield tuple(parts[at] if len(parts) > 1 else parts[0] for parts in split)


def _parts(cell: Any, sign: str) -> list[Any]:
    if not isinstance(cell, str) or sign not in cell:
        return [cell]
    return [part.strip() or None for part in cell.split(sign)]


def without_side(name: str) -> str:
    """Return a column's name without the sign of its side: ``"Plate 2"`` as ``"Plate"``."""
    words = name.split()
    sides = notebook_words().marks["sides"]
    return " ".join(words[:-1] if len(words) > 1 and plain_words(words[-1]) in sides else words)


def side_by_side(names: Sequence[str], count: int) -> int | None:
    """Return how many columns at the left are shared by plates standing side by side.

    Parameters
    ----------
    names : sequence of str
        Names of the columns that are used.
    count : int
        Plates in a row.

    Returns
    -------
    int or None
        None when the names do not repeat so often.
    """
    base = [without_side(plain_words(name)) for name in names]
    for shared in range(len(base)):
        own, over = divmod(len(base) - shared, count)
        if own < 2:
            return None
        parts = [base[shared + own * i : shared + own * (i + 1)] for i in range(count)]
        if not over and all(parts[0]) and all(part == parts[0] for part in parts):
            return shared
    return None


def _blocks(names: Sequence[str], used: Sequence[int], count: int) -> list[list[int]]:
    shared = side_by_side([names[at] for at in used], count) if count > 1 else None
    if shared is None:
        return [list(used)]
    own = (len(used) - shared) // count
    both = list(used[:shared])
    return [both + list(used[shared + own * i : shared + own * (i + 1)]) for i in range(count)]


def _distinct(
    names: Sequence[str], columns: Sequence[int], *, side_by_side: bool
) -> tuple[str, ...]:
    out: list[str] = []
    for name, column in zip(names, columns, strict=True):
        if side_by_side:
            name = without_side(name)  # noqa: PLW2901 - the side is told by the letters
        name = name or UNNAMED.format(letter=letter(column))  # noqa: PLW2901
        if name in out:
            name = SECOND.format(name=name, letter=letter(column))  # noqa: PLW2901
        out.append(name)
    return tuple(out)


def column_entry(where: str, entry: Any, keys: tuple[str, ...]) -> Mapping[str, Any]:
    """Return what a mapping file says of a column: its name alone, or a table that holds it."""
    table = {"column": entry} if isinstance(entry, str) else entry
    if not isinstance(table, dict) or not isinstance(table.get("column"), str):
        right = 'write "name" or { column = "name", unit = "..." }'
        raise BadInput(where, "no column is named", right)
    for key in table:
        if key not in keys:
            raise unknown(where, "key", key, keys)
    return table
