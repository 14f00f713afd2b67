"""What the cells of a column may leave open: the decimal sign, and the order of day and month."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from argentry.exchange.plates.cells import plain
from argentry.exchange.plates.days import ISO, OR, date_forms, told_apart
from argentry.exchange.plates.numbers import plain_number
from argentry.records.answers.notebook import Question

OPEN = "?"  # suggested where nothing is: the rows are listed until somebody answers
NEAR = 2.0  # times beyond a column's other numbers: far less than the 1000 between two readings
DATES = "Dates such as {example}: day or month first?"
DECIMAL = "Numbers such as {example}: is the sign a decimal sign?"
_SIGN = re.compile(r"\d*([.,])(\d+)(?!\d)")
_NUMBER = re.compile(r"\d(?:[\d.,' ]*\d)?")
_BARE = re.compile(r"[-+\u2212]?[\d.,' ]*\d")  # a number alone
_BOTH = re.compile(r"\d([.,' ])\d{3}([.,])\d")


def sign_of_file(cells: Sequence[Any], answers: Mapping[str, str]) -> tuple[str, Question | None]:
    """Return the decimal sign of a file's numbers, and the question that its cells leave open.

    Parameters
    ----------
    cells : sequence
        Of all its columns of numbers.
    answers : Mapping[str, str]
        By the keys of `Question`.

    Returns
    -------
    tuple of (str, Question or None)
        ``"either"`` while the question is open: no number is guessed at.
    """
    decimal, sure = decimal_of(cells)
    if sure or "decimal" in answers:
        return answers.get("decimal", decimal), None
    example = next(cell for cell in cells if isinstance(cell, str) and _SIGN.search(cell))
    return "either", Question("decimal", DECIMAL.format(example=example), (".", ","), OPEN)


def bare_numbers(cells: Iterable[Any]) -> list[Any]:
    """Return the cells of a column of the maker's own that are numbers and nothing else."""
    return [cell for cell in cells if _BARE.fullmatch(plain(cell))]


def signs_of_columns(columns: Mapping[str, Sequence[Any]], of_file: str) -> dict[str, str]:
    """Return the columns whose cells say another decimal sign than the file's, each with its own.

    Parameters
    ----------
    columns : Mapping[str, sequence]
        Cells of each column that may hold numbers.
    of_file : str
        Decimal sign of all numbers of the file.
    """
    said = {name: decimal_in(cells, of_file) for name, cells in columns.items()}
    return {name: sign for name, sign in said.items() if sign != of_file}


def forms_of_dates(
    cells: Sequence[str | date], answers: Mapping[str, str]
) -> tuple[str, Question | None]:
    """Return the forms of a column of dates, and the question that its cells leave open.

    Parameters
    ----------
    cells : sequence of str or date
        In the order of their rows.
    answers : Mapping[str, str]
        By the keys of `Question`.

    Returns
    -------
    tuple of (str, Question or None)
        Both orders while the question is open: a date that is two days is not guessed at. Empty
        for ISO 8601 alone.
    """
    if "dates" in answers:
        return answers["dates"], None
    forms = told_apart(cells, in_time=True)
    found = OR.join(dict.fromkeys(OR.join(forms).split(OR)))
    if len(forms) == 1:
        return ("" if found == ISO else found), None
    example = next(one for one in cells if isinstance(one, str) and len(date_forms(one)) > 1)
    return found, Question("dates", DATES.format(example=example), forms, OPEN)


def decimal_of(cells: Iterable[Any]) -> tuple[str, bool]:
    """Return the decimal sign of numbers written as text, and whether the cells decide it.

    Examples
    --------
    >>> decimal_of(["17,5", "1.200"]), decimal_of(["17,5", "18.5"]), decimal_of(["1,200"])
    ((',', True), ('either', True), ('.', False))
    """
    found, doubtful = _signs(cells)
    if len(found) == 1:
        return found.pop(), True
    return ("either", True) if found else (".", not doubtful)


def decimal_in(cells: Sequence[Any], of_file: str) -> str:
    """Return the decimal sign of one column, ``"either"`` where a cell of it could be two numbers.

    A number such as 1.234 is read by the sign of the column's other cells, or else of the file's,
    and only where they bear it out: it must lie among the column's other numbers, or near them, and
    what it would be in the other reading must not.

    Parameters
    ----------
    cells : sequence
        Of the column.
    of_file : str
        Decimal sign of all numbers of the file.

    Examples
    --------
    >>> decimal_in(["17,5", "1.234"], ","), decimal_in(["950", "1.234"], ",")
    ('either', ',')
    >>> decimal_in(["17,5", "1,234"], "."), decimal_in(["90", "120"], ",")
    (',', ',')
    """
    found, doubtful = _signs(cells)
    sign = of_file if not found else "either" if len(found) > 1 else min(found)
    if sign not in (".", ","):
        return sign
    others = [
        number
        for cell in cells
        if cell not in doubtful and (number := _number_in(cell, sign)) is not None
    ]

    def near(number: float) -> bool:
        return bool(others) and min(others) / NEAR <= number <= max(others) * NEAR

    for text in doubtful:
        if sign in found and sign in text:  # the decimal sign of its own column
            continue
        read, other = (_number_in(text, one) for one in (sign, "." if sign == "," else ","))
        if read is not None and other is not None and (not near(read) or near(other)):
            return "either"
    return sign


def _number_in(cell: Any, decimal: str) -> float | None:
    """Return the first number of a cell, or None."""
    if isinstance(cell, (int, float)) and not isinstance(cell, bool):
        return float(cell)
    match = _NUMBER.search(cell) if isinstance(cell, str) else None
    return None if match is None else plain_number(match[0], decimal)


def _signs(cells: Iterable[Any]) -> tuple[set[str], list[str]]:
    """Return the decimal signs that texts show, and those texts that leave it open."""
    found: set[str] = set()
    doubtful = []
    for cell in cells:
        if not isinstance(cell, str):
            continue
        both = _BOTH.search(cell)
        if both is not None and both[1] != both[2]:
            found.add(both[2])
        elif match := _SIGN.search(cell):
            if len(match[2]) != 3 or cell[: match.start(1)].lstrip("-") in ("0", ""):
                found.add(match[1])
            else:
                doubtful.append(cell)
    return found, doubtful
