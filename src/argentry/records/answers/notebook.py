"""A maker's own notebook as it is shown: columns, questions, problems, an account of its cells."""

from __future__ import annotations

import re
from dataclasses import dataclass

_LETTERED = re.compile("column [A-Z]{1,2}")  # one without a name of its own


def in_words(column: str) -> str:
    """Return how a sentence names a column.

    Examples
    --------
    >>> in_words("Temp"), in_words("column B")
    ('column Temp', 'column B')
    """
    return column if _LETTERED.fullmatch(column) else f"column {column}"


@dataclass(frozen=True)
class Question:
    """One thing that the cells do not say.

    Attributes
    ----------
    key : str
        What an answer is kept under: ``"column:NAME"``, ``"unit:NAME"``, ``"word:FIELD:WORD"``,
        ``"hour:TIME"``, ``"need:FIELD"``, ``"dates"`` or ``"decimal"``.
    text : str
        The question.
    choices : tuple of str
        Answers that are possible.
    suggested : str
        Answer taken when none is given; for a word, empty: it stays unanswered and its rows are
        listed.
    """

    key: str
    text: str
    choices: tuple[str, ...]
    suggested: str


@dataclass(frozen=True)
class DraftColumn:
    """What one column is taken for.

    Attributes
    ----------
    name : str
        Its name in the file.
    field : str
        Field of docs/plates-csv.md that it fills, ``"own"`` for a condition of the maker's own, or
        ``"skip"``.
    unit : str
        Unit its numbers are in; empty: the field's own, or each cell says.
    examples : tuple of str
        Some of its cells.
    sure : bool
        False when it was guessed from a name that is only like a known one.
    """

    name: str
    field: str
    unit: str
    examples: tuple[str, ...]
    sure: bool


@dataclass(frozen=True)
class ProblemGroup:
    """Problems of one kind in one column.

    Attributes
    ----------
    column : str
        Name of the column in the file.
    count : int
        How many cells have it.
    rows : tuple of int
        Their rows.
    what : str
        What is wrong with the first of them.
    right : str
        What would be right.
    """

    column: str
    count: int
    rows: tuple[int, ...]
    what: str
    right: str


@dataclass(frozen=True)
class CellAccount:
    """What became of every cell of a file that is not empty.

    Attributes
    ----------
    taken : int
        Cells taken as they stand.
    changed : int
        Cells taken after their unit, word, date or mark was translated.
    listed : int
        Cells of rows that wait in the list to mend.
    left_out : int
        Cells of columns that are left out.
    heads, titles : int
        Cells that name the columns, and cells above them.
    """

    taken: int
    changed: int
    listed: int
    left_out: int
    heads: int
    titles: int
