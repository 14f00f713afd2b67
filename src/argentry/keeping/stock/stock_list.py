"""A maker's own list of stock taken into the book: all of its rows, or none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from argentry.book.baths import MOST
from argentry.book.engine import Book
from argentry.book.lots import add_lots, lot_row, lots
from argentry.errors import BadInput, check_range
from argentry.exchange.plates.cells import TableProblem
from argentry.exchange.stock_list import ListedLot, StockList, read_stock_list
from argentry.keeping.book import studio_book
from argentry.keeping.moments import past_day
from argentry.keeping.stock.lot_facts import LotNow, check_facts, facts_noted
from argentry.keeping.stock.lots import check_new, rows_of, same_name
from argentry.records.ids import new_id
from argentry.records.material import Lot

TWICE = "row {row} has that name too"
APART = "tell them apart, for example {name} 2"


@dataclass(frozen=True, kw_only=True)
class StockImport:
    """What came of a list of stock.

    Attributes
    ----------
    file : str
        Name of the file.
    lots : tuple of LotNow
        The lots that were noted; none when there is a problem, or when it was only looked at.
    rows : int
        Rows of the list that a lot was read from.
    known : int
        Rows of which the same lot is in the book already; they are left as they are.
    columns : Mapping of str to str
        What a column was taken for, to its name in the file.
    left_out : tuple of str
        Columns that a lot has no place for.
    problems : tuple of TableProblem
        What is wrong, by row; with one of them nothing is noted.
    dry_run : bool
        True when it was only looked at.
    """

    file: str
    lots: tuple[LotNow, ...]
    rows: int
    known: int
    columns: Mapping[str, str]
    left_out: tuple[str, ...]
    problems: tuple[TableProblem, ...]
    dry_run: bool


def import_stock_file(
    folder: Path | None,
    path: Path,
    address: str | None = None,
    *,
    sheet: str = "",
    by: str = "",
    dry_run: bool = False,
) -> StockImport:
    """Note the lots of a CSV, ODS or XLSX file; see `read_stock_list` and `import_stock`."""
    found = read_stock_list(path, sheet)
    return import_stock(folder, found, address, by=by, dry_run=dry_run)


def import_stock(
    folder: Path | None,
    found: StockList,
    address: str | None = None,
    *,
    by: str = "",
    dry_run: bool = False,
) -> StockImport:
    """Note the lots of a list.

    A row whose lot is in the book already, of the same name, amount and supplier, and of the same
    day where the list has one, is left as it is: a list that has grown may be read again.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    found : StockList
        The list, as `argentry.exchange.stock_list.read_stock_list` gives it.
    address : str, optional
        Of a PostgreSQL book.
    by : str
        Who notes them.
    dry_run : bool
        True: look only.
    """
    with studio_book(folder, address) as book:
        answer = None
        while answer is None:  # sent twice at a time, the second looks again
            answer = _imported(book, folder, found, by, dry_run=dry_run)
        return answer


def _imported(
    book: Book, folder: Path | None, found: StockList, by: str, *, dry_run: bool
) -> StockImport | None:
    """Note what is new of a list; None where lots were noted while it was looked at."""
    there = lots(book)
    fresh = [one for one in found.lots if not _is_there(one, there)]
    problems = list(found.problems)
    new: list[tuple[ListedLot, Lot]] = []
    for one in fresh:
        try:
            new.append((one, _lot(folder, one, there)))
        except BadInput as no:
            problems.append(_problem(one, found.columns, no))
    problems += _twice(fresh, found.columns)
    made = []
    if not problems and not dry_run:
        now = datetime.now(UTC)
        notes = [n for one, lot in new for n in facts_noted(lot.id, one.facts, now, by)]
        if not add_lots(book, [lot for _, lot in new], notes, seen=len(there)):
            return None
        ids = {lot.id for _, lot in new}
        made = [row for row in rows_of(folder, book) if row.id in ids]
    return StockImport(
        file=found.name,
        lots=tuple(made),
        rows=len(found.lots),
        known=len(found.lots) - len(fresh),
        columns=found.columns,
        left_out=found.left_out,
        problems=tuple(sorted(problems, key=lambda one: one.row)),
        dry_run=dry_run,
    )


def _is_there(one: ListedLot, there: Sequence[Lot]) -> bool:
    return any(
        same_name(lot.name, one.name)
        and (lot.amount, lot.unit, lot.supplier) == (one.amount, one.unit, one.supplier)
        and one.received_on in (None, lot.received_on)
        for lot in there
    )


def _lot(folder: Path | None, one: ListedLot, there: Sequence[Lot]) -> Lot:
    """Return the lot of a row, refused as a lot noted by hand is."""
    # opened or expired before today, a lot has come in by then at the latest
    known = [day for day in (one.facts.opened_on, one.facts.expires_on) if day is not None]
    day = past_day("received", folder, one.received_on)
    if one.received_on is None:
        day = min([day, *known])
    check_new(there, one.name, one.unit, day)
    check_facts(one.facts, day, folder)
    check_range("amount", one.amount, 0.0, MOST, one.unit, open_low=True)
    made = Lot(new_id(), one.name, one.amount, one.unit, one.supplier, day, one.used)
    lot_row(made)  # what the table would refuse is told with its row
    return made


def _problem(one: ListedLot, columns: Mapping[str, str], no: BadInput) -> TableProblem:
    said = no.where.removeprefix("--").replace("-", "_")
    key = next((name for name in columns if name.removesuffix("_on") == said), "name")
    return TableProblem(one.row, columns[key], no.what, no.right)


def _twice(listed: Sequence[ListedLot], columns: Mapping[str, str]) -> Iterator[TableProblem]:
    """Give the rows whose name a row before them has."""
    rows: dict[str, int] = {}
    for one in listed:
        first = rows.setdefault(one.name.casefold(), one.row)
        if first != one.row and one.used < one.amount:
            what, right = TWICE.format(row=first), APART.format(name=one.name)
            yield TableProblem(one.row, columns["name"], what, right)
