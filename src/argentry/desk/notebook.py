"""A maker's own notebook: looked through, asked about, taken in, and what is left listed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

from argentry.errors import BadInput
from argentry.keeping.book import Book, has_book, studio_book
from argentry.keeping.studio import load_studio

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from argentry.exchange.notebook.draft import Draft, Memory
    from argentry.exchange.plates.cells import TableProblem
    from argentry.exchange.plates.into_book import Compared
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.table import PlateTable
    from argentry.exchange.sheets.grid import Grid
    from argentry.exchange.sheets.layout import Sheet
    from argentry.records.answers.notebook import CellAccount, DraftColumn, ProblemGroup, Question

    Progress = Callable[[int, int], None]


# How a field's name ends when its unit is part of it.
UNIT_IN_NAME = {
    "°C": "_c", "%": "_pct", "µm": "_um", "nm": "_nm", "s": "_seconds", "min": "_minutes",
    "h": "_hours", "days": "_days", "okta": "_okta", "µS/cm": "_us_cm",
}  # fmt: skip


@dataclass(frozen=True)
class NotebookDraft:
    """What a table of the maker's own was taken for, before anything is imported.

    Attributes
    ----------
    kind : str
        Always draft.
    file : str
        Name of the file.
    sha256 : str
        Hash of its content.
    rows : int
        Rows of plates.
    titles : tuple of str
        Texts above the head.
    columns : tuple of DraftColumn
        What each column was taken for.
    questions : tuple of Question
        What the cells do not say.
    clear : int
        Rows that would be taken with every suggestion accepted.
    to_mend : int
        Rows that would wait in a list.
    problems : tuple of ProblemGroup
        What is wrong with those, by column and kind.
    """

    kind: Literal["draft"]
    file: str
    sha256: str
    rows: int
    titles: tuple[str, ...]
    columns: tuple[DraftColumn, ...]
    questions: tuple[Question, ...]
    clear: int
    to_mend: int
    problems: tuple[ProblemGroup, ...]


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
    ok: bool
    dry_run: bool
    rows: int
    new: int
    known: int
    to_mend: int
    list: str
    fields: Mapping[str, str]
    own: tuple[str, ...]
    skipped: tuple[str, ...]
    cells: CellAccount
    problems: tuple[TableProblem, ...]
    groups: tuple[ProblemGroup, ...]


@dataclass(frozen=True)
class Opened:
    """A notebook that was read but not imported.

    Attributes
    ----------
    name, sha256 : str
        Of the file.
    content : bytes
        As it was given.
    grid : Grid
        Its cells.
    sheet : Sheet
        The table in it.
    table : PlateTable
        Its plates as far as they can be read.
    mapping : PlateMapping
        What its columns are taken for.
    draft : Draft or None
        How that was found; None when it was said, or the columns are named as documented.
    answers : Mapping[str, str]
        What the maker answered.
    """

    name: str
    sha256: str
    content: bytes
    grid: Grid
    sheet: Sheet
    table: PlateTable
    mapping: PlateMapping
    draft: Draft | None
    answers: Mapping[str, str]

    def written(self, cell: str) -> str:
        """Return what is written in a cell such as ``"C7"``."""
        from argentry.exchange.notebook.rest import cell_text

        return cell_text(self.grid, cell)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What nobody has answered yet."""
        return self.draft.questions if self.draft is not None else ()


def open_file(
    folder: Path | None,
    source: Path,
    *,
    mapping: Path | None = None,
    progress: Progress | None = None,
) -> Opened:
    """Return the notebook in a file as it would be read; see `open_notebook`."""
    from argentry.exchange.plates.mapping import read_plate_mapping
    from argentry.exchange.sheets.grid import KINDS
    from argentry.exchange.sheets.guard import FILE_BYTES
    from argentry.files import read_file

    said = None if mapping is None else read_plate_mapping(mapping)
    content = read_file(source, FILE_BYTES, KINDS)
    return open_notebook(folder, source.name, content, mapping=said, progress=progress)


def field_names() -> tuple[str, ...]:
    """Return every field that a column may be taken for."""
    from argentry.exchange.plates.mapping import fields

    return tuple(fields())


def fields_by_group() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Return every field with its words and unit, by the part of the work it belongs to."""
    from argentry.exchange.plates.mapping import fields

    out: dict[str, tuple[tuple[str, str], ...]] = {}
    for name, column in fields().items():
        words = name.removesuffix(UNIT_IN_NAME.get(column.unit, "")).replace("_", " ")
        shown = f"{words} ({column.unit})" if column.unit in UNIT_IN_NAME else words
        out[column.group] = (*out.get(column.group, ()), (name, shown))
    return out


def units_by_field() -> Mapping[str, tuple[str, ...]]:
    """Return the units in which each field of numbers may be given."""
    from argentry.exchange.plates.mapping import fields, units_of

    known = {name: units_of(column) for name, column in fields().items()}
    return {name: units for name, units in known.items() if len(units) > 1}


def open_notebook(
    folder: Path | None,
    name: str,
    content: bytes,
    *,
    mapping: PlateMapping | None = None,
    answers: Mapping[str, str] | None = None,
    ask_always: bool = False,
    progress: Progress | None = None,
) -> Opened:
    """Return a notebook as it would be read.

    Parameters
    ----------
    folder : Path or None
        Studio folder: its time zone, and what it answered for earlier notebooks.
    name : str
        Name of the file, for the sentences.
    content : bytes
        A CSV, ODS or XLSX file.
    mapping : PlateMapping, optional
        What its columns mean; None: as documented, as said by the list it came from, or drafted.
    answers : Mapping[str, str], optional
        By the keys of `Question`; ``"cell:C7"`` puts another text into a cell.
    ask_always : bool
        True: draft a mapping also of a table whose columns are named as documented.
    progress : callable, optional
        Told rows done and rows in all.

    Raises
    ------
    BadInput
        If the file cannot be used at all.
    """
    from argentry.book.notebooks import sha256_of
    from argentry.exchange.notebook.draft import draft_mapping
    from argentry.exchange.notebook.rest import with_cells
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.table import plates_from
    from argentry.exchange.sheets.grid import read_grid
    from argentry.exchange.sheets.layout import lay_out

    zone = load_studio(folder).site.time_zone if folder is not None else "UTC"
    said, answers = mapping or PlateMapping(), dict(answers or {})
    grid = read_grid(
        name,
        content,
        sheet=said.sheet,
        separator=said.separator,
        encoding=said.encoding,
        head_row=said.head_row,
    )
    grid = with_cells(grid, answers)
    use = mapping or (None if ask_always else _said_by(folder, grid))
    draft = None
    if use is None:
        draft = draft_mapping(grid, memory=_memory(folder), answers=answers, time_zone=zone)
        use = draft.mapping
        if not draft.known:
            raise BadInput(
                name,
                "there is no column plate, and no column has a name that is known",
                "name the columns in a row above the plates, or give a mapping file",
            )
    sheet = lay_out(grid, use.layout())
    table = plates_from(sheet, use, time_zone=zone, progress=progress)
    return Opened(name, sha256_of(content), content, grid, sheet, table, use, draft, answers)


def choice_words(choice: str) -> str:
    """Return an answer to a question as a maker reads it: forms of dates in words."""
    from argentry.exchange.plates.moments import form_words

    return form_words(choice)


def draft_answer(opened: Opened) -> NotebookDraft:
    """Return what a notebook was taken for, to be shown before it is imported."""
    from argentry.exchange.notebook.rest import grouped

    draft = opened.draft
    return NotebookDraft(
        kind="draft",
        file=opened.name,
        sha256=opened.sha256,
        rows=opened.table.total,
        titles=draft.titles if draft else (),
        columns=draft.columns if draft else (),
        questions=draft.questions if draft else (),
        clear=len(opened.table.rows),
        to_mend=opened.table.total - len(opened.table.rows),
        problems=grouped(opened.table.problems),
    )


def draft_file(opened: Opened) -> str:
    """Return the drafted mapping as the text of a mapping file."""
    from argentry.exchange.notebook.written import draft_text, mapping_text

    if opened.draft is None:
        return mapping_text(opened.mapping)
    return draft_text(opened.name, opened.draft)


def take_notebook(
    folder: Path | None,
    opened: Opened,
    address: str | None = None,
    *,
    dry_run: bool = False,
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
    from argentry.exchange.plates.into_book import Compared, compare, refuse

    table = opened.table
    if dry_run:
        if not has_book(folder, address):  # a look makes no book
            found = Compared(table.rows, 0, ())
        else:
            with studio_book(folder, address) as book:
                found = compare(book, table)
        return _answer(opened, found, dry_run=True)
    if not table.rows:
        refuse(table.name, table.problems)
    with studio_book(folder, address) as book:
        return take_into(book, folder, opened, progress=progress)


def take_into(
    book: Book, folder: Path | None, opened: Opened, *, progress: Progress | None = None
) -> tuple[TableImport, str]:
    """Put the clear rows of a notebook into an open book; see `take_notebook`."""
    from argentry.book.notebooks import keep_memory, keep_notebook
    from argentry.exchange.notebook.written import learned, mapping_text, memory_text
    from argentry.exchange.plates.into_book import import_plates, refuse

    table = opened.table
    if not table.rows:
        refuse(table.name, table.problems)
    if folder is not None:
        keep_notebook(folder, opened.content, mapping_text(opened.mapping))
        if opened.draft is not None:
            memory = learned(_memory(folder), opened.draft, opened.answers)
            keep_memory(folder, memory_text(memory))
    found = import_plates(book, table, at=datetime.now(UTC), progress=progress)
    if not found.fresh and not found.known:
        refuse(table.name, (*table.problems, *found.problems))
    return _answer(opened, found, dry_run=False)


def rest_of_kept(book: Book, folder: Path, sha256: str) -> str:
    """Return the list to mend of a notebook that was taken in.

    Raises
    ------
    BadInput
        If no notebook of that hash is kept.
    """
    from argentry.book.notebooks import kept_mapping, kept_notebook
    from argentry.exchange.plates.into_book import compare
    from argentry.exchange.plates.mapping import read_plate_mapping

    known = len(sha256) == 64 and set(sha256) <= set("0123456789abcdef")
    content = kept_notebook(folder, sha256) if known else None
    mapping = kept_mapping(folder, sha256) if known else None
    if content is None or mapping is None:
        raise BadInput("notebook", "no notebook of that hash is kept here", "take it in first")
    opened = open_notebook(folder, sha256[:8], content, mapping=read_plate_mapping(mapping))
    return _answer(opened, compare(book, opened.table), dry_run=True)[1]


def _answer(opened: Opened, found: Compared, *, dry_run: bool) -> tuple[TableImport, str]:
    from argentry.exchange.notebook.rest import account, grouped, rest_table

    table = opened.table
    problems = sorted((*table.problems, *found.problems), key=lambda problem: problem.row)
    kept_out = table.kept_out | {problem.row for problem in found.problems}
    clear = [row for row in table.rows if row.row not in kept_out]
    rest = ""
    if kept_out:
        rest = rest_table(opened.sheet, opened.mapping, table, problems, kept_out, opened.sha256)
    made = TableImport(
        kind="table",
        file=table.name,
        sha256=opened.sha256,
        ok=not problems,
        dry_run=dry_run,
        rows=table.total,
        new=len(found.fresh),
        known=found.known,
        to_mend=table.total - len(clear),
        list="",
        fields=dict(table.fields),
        own=tuple(table.own),
        skipped=tuple(table.skipped),
        cells=account(opened.grid, opened.sheet, table, kept_out),
        problems=tuple(problems),
        groups=grouped(problems),
    )
    return made, rest


def with_list(made: TableImport, place: str) -> TableImport:
    """Return an answer that says where the list to mend was written."""
    return replace(made, list=place)


def _said_by(folder: Path | None, grid: Grid) -> PlateMapping | None:
    """Return the mapping of a table that says itself what it is, or None.

    A list to mend names the notebook it was written from; a table whose first row names its columns
    as documented needs no mapping.
    """
    from argentry.book.notebooks import kept_mapping
    from argentry.exchange.notebook.rest import WRONG, origin_of, rest_mapping
    from argentry.exchange.plates.columns import REQUIRED
    from argentry.exchange.plates.mapping import PlateMapping, read_plate_mapping

    head = [str(cell) for cell in grid.rows[0] if cell is not None] if grid.rows else []
    origin = origin_of(head)
    if origin is not None and WRONG in head and folder is not None:
        kept = kept_mapping(folder, origin)
        if kept is not None:
            return rest_mapping(read_plate_mapping(kept), origin)
    return PlateMapping() if all(name in head for name in REQUIRED) and not origin else None


def _memory(folder: Path | None) -> Memory:
    from argentry.book.notebooks import FOLDER, MEMORY, kept_notebook
    from argentry.exchange.notebook.draft import Memory
    from argentry.exchange.notebook.written import memory_from

    content = None if folder is None else kept_notebook(folder, MEMORY)
    return Memory() if content is None else memory_from(f"{FOLDER}/{MEMORY}", content)
