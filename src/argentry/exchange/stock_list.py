"""A list of stock as a maker keeps it in a spreadsheet: one lot to a row, every problem told."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from argentry.errors import BadInput
from argentry.exchange.notebook.signs import decimal_in, decimal_of
from argentry.exchange.plates.cells import TableProblem, plain
from argentry.exchange.plates.days import OR, no_such_day, parse_day, told_apart
from argentry.exchange.plates.moments import two_days
from argentry.exchange.plates.numbers import plain_number
from argentry.exchange.sheets.grid import KINDS, read_grid
from argentry.exchange.sheets.guard import FILE_BYTES
from argentry.exchange.sheets.layout import Layout, lay_out
from argentry.files import read_file
from argentry.records.material import LotFacts
from argentry.trade.facts import toml
from argentry.trade.notebook import plain_words

DAYS = ("received_on", "opened_on", "expires_on")
NUMBERS = ("amount", "left", "price", "purity", "lead_days")
HEADS = "name a column for what it is and one for how much, such as: name, amount, unit"
# a sign or a currency, the number, and what stands behind it, which holds no other number
_FIGURE = re.compile(
    r"[^\d,.+\u2212-]*([-+\u2212]?[\d.,'\u2019\u00a0\u202f ]*\d)\s*(?!e\d)((?:\D|(?<=[^\W\d])\d)*)",
    re.IGNORECASE,
)
_MONTH = re.compile(r"(?:(\d{1,2})\s*[./-]\s*(\d{4})|(\d{4})-(\d{1,2}))")


@dataclass(frozen=True)
class ListedLot:
    """One row of the list.

    Attributes
    ----------
    row : int
        Its number in the file.
    name, unit, supplier : str
        As written, without blanks around them.
    amount : float
        How much came in. [unit]
    used : float
        How much of it is gone already, where the list says what is left. [unit]
    received_on : date or None
        When it came in; None where the list does not say.
    facts : LotFacts
        Price, purity and dates as far as the list has them.
    """

    row: int
    name: str
    amount: float
    unit: str
    used: float
    supplier: str
    received_on: date | None
    facts: LotFacts


@dataclass(frozen=True)
class StockList:
    """A list read.

    Attributes
    ----------
    name : str
        Name of the file.
    lots : tuple of ListedLot
        Rows without a problem.
    problems : tuple of TableProblem
        What is wrong; empty when all is well.
    columns : Mapping of str to str
        What a column was taken for, to its name in the file.
    left_out : tuple of str
        Columns that a lot has no place for.
    """

    name: str
    lots: tuple[ListedLot, ...]
    problems: tuple[TableProblem, ...]
    columns: Mapping[str, str]
    left_out: tuple[str, ...]


def read_stock_list(path: Path, sheet: str = "") -> StockList:
    """Return the lots of a CSV, ODS or XLSX file, with every problem found in it.

    Parameters
    ----------
    path : Path
        The file; its first row names the columns, in English, German, French or Spanish.
    sheet : str
        Name of the sheet in a spreadsheet; empty for the first.

    Raises
    ------
    BadInput
        If the file as a whole cannot be used, or no column says what a lot is or how much.
    """
    return stock_list_in(path.name, read_file(path, FILE_BYTES, KINDS), sheet)


def stock_list_in(name: str, data: bytes, sheet: str = "") -> StockList:
    """Return the same of a file's content; see `read_stock_list`."""
    table = lay_out(read_grid(name, data, sheet=sheet), Layout())
    found = _columns(table.head, table.name)
    at = {key: table.head.index(name) for key, name in found.items()}
    cells = [(number, {key: row[i] for key, i in at.items()}) for number, row in table.rows]
    days = [plain(row[key]) for _, row in cells for key in DAYS if row.get(key) is not None]
    texts = {key: [row[key] for _, row in cells] for key in NUMBERS if key in found}
    decimal, sure = decimal_of(cell for column in texts.values() for cell in column)
    # where nothing tells 1.200 from 1,2, or the day from the month, the row is told, not guessed
    signs = {
        key: decimal_in(column, decimal if sure else "either") for key, column in texts.items()
    }
    reader = _Row(found, signs, OR.join(told_apart(days, in_time=False)))
    lots: list[ListedLot] = []
    problems: list[TableProblem] = []
    for number, row in cells:
        try:
            lots.append(reader.lot(number, row))
        except BadInput as no:
            problems.append(TableProblem(number, no.where, no.what, no.right))
    left_out = tuple(name for name in table.head if name not in found.values())
    return StockList(table.name, tuple(lots), tuple(problems), found, left_out)


def _columns(head: tuple[str, ...], where: str) -> Mapping[str, str]:
    """Return what each column stands for, to its name in the file."""
    words = toml("stock_list")["columns"]
    found: dict[str, str] = {}
    for name in head:
        # a unit behind the name, as in "Amount (g)", belongs to the cells
        wanted = plain_words(re.sub(r"[(\[].*", "", name)) or plain_words(name)
        key = next((key for key, known in words.items() if wanted in known), None)
        if key is None:
            continue
        if key in found:
            raise BadInput(
                where,
                "the columns {one!r} and {other!r} say the same",
                "leave one of them out",
                one=found[key],
                other=name,
            )
        found[key] = name
    for key, needed in (("name", "what a lot is"), ("amount", "how much came in")):
        if key not in found:
            raise BadInput(where, "no column says {needed}", HEADS, needed=needed)
    return found


@dataclass(frozen=True)
class _Row:
    """Reads one row; what is wrong is raised with the name of its column.

    Attributes
    ----------
    columns : Mapping of str to str
        What a column stands for, to its name.
    signs : Mapping of str to str
        Decimal sign of the numbers of each column that are text.
    forms : str
        Forms of the dates of all columns: one hand wrote them.
    """

    columns: Mapping[str, str]
    signs: Mapping[str, str]
    forms: str

    def lot(self, number: int, cells: Mapping[str, Any]) -> ListedLot:
        name = self._text(cells, "name")
        if not name:
            raise BadInput(self.columns["name"], "it is empty", "say what the lot is")
        given = self._figure(cells, "amount")
        if given is None:
            right = "write how much came in, such as 100 g"
            raise BadInput(self.columns["amount"], "it is empty", right)
        amount, unit = given
        unit = self._unit(unit, self._text(cells, "unit"))
        rest = self._figure(cells, "left")
        return ListedLot(
            row=number,
            name=name,
            amount=amount,
            unit=unit,
            used=0.0 if rest is None else self._used(amount, unit, *rest),
            supplier=self._text(cells, "supplier"),
            received_on=self._day(cells, "received_on"),
            facts=LotFacts(
                purity=self._purity(cells),
                price=self._number(cells, "price"),
                opened_on=self._day(cells, "opened_on"),
                expires_on=self._day(cells, "expires_on"),
                lead_days=self._lead(cells),
            ),
        )

    def _text(self, cells: Mapping[str, Any], key: str) -> str:
        cell = cells.get(key)
        return "" if cell is None else " ".join(plain(cell).split())

    def _figure(self, cells: Mapping[str, Any], key: str) -> tuple[float, str] | None:
        """Return the number of a cell and what is written behind it; None for an empty cell."""
        text = self._text(cells, key)
        if text in ("", "-", "\u2013", "?"):
            return None
        cell = cells[key]
        if isinstance(cell, (int, float)) and not isinstance(cell, bool):
            return float(cell), ""
        match = _FIGURE.fullmatch(text)
        number = None if match is None else plain_number(match[1], self.signs[key])
        if match is None or number is None:
            raise BadInput(
                self.columns[key],
                "{text!r} is not a number that can be read one way",
                "write a number, such as 2.5",
                text=text,
            )
        return number, match[2].strip()

    def _number(self, cells: Mapping[str, Any], key: str) -> float | None:
        figure = self._figure(cells, key)
        return None if figure is None else figure[0]

    def _unit(self, written: str, named: str) -> str:
        """Return the unit of an amount: in its cell, in its own column, or in the head."""
        column = self.columns["amount"]
        head = re.search(r"[(\[]([^)\]]+)[)\]]", column)
        unit = written or named or (head[1].strip() if head else "")
        if not unit:
            raise BadInput(column, "no unit stands with it", "write it, such as 100 g")
        if written and named and written.casefold() != named.casefold():
            raise BadInput(
                column,
                "the units {one!r} and {other!r} stand with it",
                "leave one of them",
                one=written,
                other=named,
            )
        return unit

    def _used(self, amount: float, unit: str, rest: float, rest_unit: str) -> float:
        column = self.columns["left"]
        if rest_unit and rest_unit.casefold() != unit.casefold():
            raise BadInput(
                column,
                "its unit is {one!r}, of what came in {other!r}",
                "write both in one unit",
                one=rest_unit,
                other=unit,
            )
        if not 0.0 <= rest <= amount:
            raise BadInput(
                column,
                "{rest:g} are left of {amount:g}",
                "give at most what came in",
                rest=rest,
                amount=amount,
            )
        return amount - rest

    def _purity(self, cells: Mapping[str, Any]) -> float | None:
        """Return a purity as a share: 99.8 %, 99.8 and 0.998 are one."""
        figure = self._figure(cells, "purity")
        if figure is None:
            return None
        value, unit = figure
        share = value / 100.0 if unit.startswith("%") or value > 1.0 else value
        if unit not in ("", "%") or not 0.0 < share <= 1.0:
            raise BadInput(
                self.columns["purity"],
                "{text!r} is no share by mass",
                "write it as 99.8 %, or leave it empty",
                text=self._text(cells, "purity"),
            )
        return share

    def _lead(self, cells: Mapping[str, Any]) -> float | None:
        """Return a time from order to delivery in days; weeks are told by their word."""
        figure = self._figure(cells, "lead_days")
        if figure is None:
            return None
        weeks = plain_words(figure[1])[:3] in ("w", "wk", "wee", "woc", "wo", "sem")
        return figure[0] * (7.0 if weeks else 1.0)

    def _day(self, cells: Mapping[str, Any], key: str) -> date | None:
        """Return a day; of a month alone the first, or the last where it ends something."""
        cell = cells.get(key)
        if isinstance(cell, datetime):
            return cell.date()
        if isinstance(cell, date):
            return cell
        text = self._text(cells, key)
        if text in ("", "-", "\u2013", "?"):
            return None
        if match := _MONTH.fullmatch(text):
            month, year = int(match[1] or match[4]), int(match[2] or match[3])
            if 1 <= month <= 12:
                last = monthrange(year, month)[1] if key == "expires_on" else 1
                return date(year, month, last)
        try:
            day = parse_day(text, self.forms) if self.forms else None
        except ValueError:
            raise two_days(self.columns[key], text) from None
        if day is not None:
            return day
        what = "{text!r} is in no calendar" if no_such_day(text) else "{text!r} is no day"
        raise BadInput(self.columns[key], what, "write it as 2026-06-21", text=text[:40])
