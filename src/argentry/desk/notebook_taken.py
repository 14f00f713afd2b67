"""A notebook taken into the book: its clear rows stored, its file kept, the rest listed to mend."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

from argentry.desk.notebook import Opened, key_of, memory_of, open_notebook
from argentry.errors import BadInput
from argentry.keeping.book import Book, studio_book
from argentry.keeping.studio import has_book

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from argentry.exchange.plates.cells import TableProblem
    from argentry.exchange.plates.into_book import Compared
    from argentry.records.answers.notebook import CellAccount, ProblemGroup, Question

    Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class TableImport:
    """A table of plates that was read into the book.

    Exit code 1 when some rows wait to be mended, 2 when a dry run finds a problem.

    Attributes
    ----------
    kind : str
        Always table.
    file : str
        Name of the file.
    sha256 : str
        Hash of its content; the studio keeps it under that name.
    sheet : str
        Sheet of a spreadsheet that was read; empty: the file has none.
    other_sheets : tuple of str
        Its other sheets that hold something: each is imported by itself.
    ok : bool
        True when there is no problem.
    dry_run : bool
        True when it was only looked at and nothing was changed.
    rows : int
        Rows in the file.
    new : int
        Rows that were, or would be, added.
    known : int
        Rows that were in the book before.
    instead : int
        Makings of earlier imports that the table stands for, or would.
    to_mend : int
        Rows that wait in the list to mend.
    list : str
        Where that list was written; empty: nowhere.
    fields : Mapping of str to str
        Column of the file by field (docs/plates-csv.md).
    own : tuple of str
        Columns kept as conditions of the maker's own.
    skipped : tuple of str
        Columns left out.
    questions : tuple of Question
        What nobody answered, with what was taken instead.
    cells : CellAccount
        What became of every cell that is not empty.
    problems : tuple of TableProblem
        Every problem, in the order of the rows.
    groups : tuple of ProblemGroup
        The same by column and kind.
    """

    kind: Literal["table"]
    file: str
    sha256: str
    sheet: str
    other_sheets: tuple[str, ...]
    ok: bool
    dry_run: bool
    rows: int
    new: int
    known: int
    instead: int
    to_mend: int
    list: str
    fields: Mapping[str, str]
    own: tuple[str, ...]
    skipped: tuple[str, ...]
    questions: tuple[Question, ...]
    cells: CellAccount
    problems: tuple[TableProblem, ...]
    groups: tuple[ProblemGroup, ...]


def take_notebook(
    folder: Path | None,
    opened: Opened,
    address: str | None = None,
    *,
    dry_run: bool = False,
    instead: bool = False,
    progress: Progress | None = None,
) -> tuple[TableImport, str]:
    """Put the clear rows of a notebook into the book; return the answer and the list to mend.

    The file is kept beside the book under its hash, with the mapping it was read by; what the maker
    answered is remembered.

    Raises
    ------
    BadInput
        If no row is clear, unless it is a dry run.
    ArgentryError
        If the book cannot take them; nothing was stored.
    """
    from argentry.exchange.plates.cells import refuse
    from argentry.exchange.plates.into_book import Compared, compare

    table = opened.table
    if dry_run:
        if not has_book(folder, address):  # a look makes no book
            found = Compared(table.rows, 0, ())
        else:
            with studio_book(folder, address) as book:
                found = compare(book, table, instead=instead, of_list=opened.of_list)
        return _answer(opened, found, dry_run=True)
    if not table.rows:
        refuse(table.name, table.problems)
    with studio_book(folder, address) as book:
        return take_into(book, folder, opened, instead=instead, progress=progress)


def take_into(
    book: Book,
    folder: Path | None,
    opened: Opened,
    *,
    instead: bool = False,
    progress: Progress | None = None,
) -> tuple[TableImport, str]:
    """Put the clear rows of a notebook into an open book; see `take_notebook`."""
    from argentry.book.notebooks import keep_memory, keep_notebook
    from argentry.exchange.notebook.written import learned, mapping_text, memory_text
    from argentry.exchange.plates.cells import refuse
    from argentry.exchange.plates.into_book import import_plates

    table = opened.table
    if not table.rows:
        refuse(table.name, table.problems)
    if folder is not None:
        keep_notebook(folder, opened.content, mapping_text(opened.mapping), opened.key)
        if opened.draft is not None:
            memory = learned(memory_of(folder), opened.draft, opened.answers)
            keep_memory(folder, memory_text(memory))
    found = import_plates(
        book,
        table,
        at=datetime.now(UTC),
        instead=instead,
        of_list=opened.of_list,
        progress=progress,
    )
    if not found.fresh and not found.known:
        refuse(table.name, (*table.problems, *found.problems))
    return _answer(opened, found, dry_run=False)


def rest_of_kept(book: Book, folder: Path, sha256: str, sheet: str = "") -> str:
    """Return the list to mend of a notebook that was taken in, or of one of its sheets.

    Raises
    ------
    BadInput
        If no notebook of that hash is kept.
    """
    from argentry.exchange.plates.into_book import compare

    opened = _kept(folder, sha256, sheet)
    return _answer(opened, compare(book, opened.table, of_list=opened.of_list), dry_run=True)[1]


def back_out(book: Book, folder: Path, sha256: str, sheet: str = "") -> tuple[str, int]:
    """Take back what a notebook that is kept, or one of its sheets, brought into the book.

    Returns
    -------
    tuple of (str, int)
        The sheet, and how many makings were taken back.

    Raises
    ------
    BadInput
        If no notebook of that hash is kept.
    """
    from argentry.exchange.plates.into_book import take_back

    opened = _kept(folder, sha256, sheet)
    return opened.grid.sheet, take_back(book, opened.table)


@dataclass(frozen=True)
class TakenBack:
    """What an import had brought and counts no more.

    Attributes
    ----------
    makings : int
        How many makings.
    """

    makings: int


def taken_back(
    folder: Path | None, source: Path, sheet: str = "", address: str | None = None
) -> TakenBack:
    """Take back what a file brought into the book; see `back_out`."""
    from argentry.book.notebooks import sha256_of
    from argentry.exchange.sheets.grid import KINDS
    from argentry.exchange.sheets.guard import FILE_BYTES
    from argentry.files import read_file

    if folder is None:
        raise BadInput("--take-back", "no studio is named", "give --studio DIR")
    content = read_file(source, FILE_BYTES, KINDS)
    with studio_book(folder, address) as book:
        return TakenBack(back_out(book, folder, sha256_of(content), sheet)[1])


def _kept(folder: Path, sha256: str, sheet: str) -> Opened:
    """Return a notebook that was taken in, read as it was then."""
    from argentry.book.notebooks import kept_mapping, kept_notebook
    from argentry.exchange.plates.mapping_file import read_plate_mapping
    from argentry.exchange.sheets.grid import read_grid

    known = len(sha256) == 64 and set(sha256) <= set("0123456789abcdef")
    content = kept_notebook(folder, sha256) if known else None
    key = "" if content is None else key_of(content, read_grid(sha256[:8], content, sheet=sheet))
    mapping = kept_mapping(folder, key) if key else None
    if content is None or mapping is None:
        raise BadInput("notebook", "no notebook of that hash is kept here", "take it in first")
    return open_notebook(folder, sha256[:8], content, mapping=read_plate_mapping(mapping))


def _answer(opened: Opened, found: Compared, *, dry_run: bool) -> tuple[TableImport, str]:
    from argentry.exchange.notebook.rest import account, grouped, rest_table

    table = opened.table
    problems = sorted((*table.problems, *found.problems), key=lambda problem: problem.row)
    kept_out = table.kept_out | {problem.row for problem in found.problems}
    clear = [row for row in table.rows if row.row not in kept_out]
    rest = ""
    if kept_out:
        rest = rest_table(opened.sheet, opened.mapping, table, problems, kept_out, opened.key)
    made = TableImport(
        kind="table",
        file=table.name,
        sha256=opened.sha256,
        sheet=opened.grid.sheet,
        other_sheets=opened.other_sheets,
        ok=not problems,
        dry_run=dry_run,
        rows=table.total,
        new=len(found.fresh),
        known=found.known,
        instead=len(found.instead),
        to_mend=table.total - len(clear),
        list="",
        fields=dict(table.fields),
        own=tuple(table.own),
        skipped=tuple(table.skipped),
        questions=opened.questions,
        cells=account(opened.grid, opened.sheet, table, kept_out),
        problems=tuple(problems),
        groups=grouped(problems),
    )
    return made, rest


def with_list(made: TableImport, place: str) -> TableImport:
    """Return an answer that says where the list to mend was written."""
    return replace(made, list=place)
