"""A maker's own notebook: looked through and asked about, before anything is taken in."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from argentry.errors import BadInput
from argentry.keeping.moments import today_of
from argentry.keeping.studio import load_studio
from argentry.trade.defects import defects

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from argentry.exchange.notebook.drafted import Draft, Memory
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.table import PlateTable
    from argentry.exchange.sheets.grid import Grid
    from argentry.exchange.sheets.layout import Sheet
    from argentry.records.answers.notebook import DraftColumn, ProblemGroup, Question

    Progress = Callable[[int, int], None]


LOOK_AND_STAGE = "{look} ({stage})"
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
    sheet : str
        Sheet of a spreadsheet that was read; empty: the file has none.
    other_sheets : tuple of str
        Its other sheets that hold something: each is imported by itself.
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
    sheet: str
    other_sheets: tuple[str, ...]
    rows: int
    titles: tuple[str, ...]
    columns: tuple[DraftColumn, ...]
    questions: tuple[Question, ...]
    clear: int
    to_mend: int
    problems: tuple[ProblemGroup, ...]


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
    def other_sheets(self) -> tuple[str, ...]:
        """Sheets of the file, besides the one that was read, that hold something."""
        return tuple(one for one in self.grid.sheets if one != self.grid.sheet)

    @property
    def of_list(self) -> bool:
        """True for a list to mend: its rows are some of those of a notebook."""
        from argentry.exchange.notebook.rest import WRONG

        return WRONG in self.sheet.head

    @property
    def key(self) -> str:
        """What its mapping is kept under, and a list to mend names it by.

        The hash of the file; of a later sheet with its name: each sheet has columns of its own.
        """
        return key_of(self.content, self.grid)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What nobody has answered yet."""
        return self.draft.questions if self.draft is not None else ()


def open_file(
    folder: Path | None,
    source: Path,
    *,
    mapping: Path | None = None,
    sheet: str = "",
    progress: Progress | None = None,
) -> Opened:
    """Return the notebook in a file as it would be read; see `open_notebook`."""
    from argentry.exchange.plates.mapping_file import read_plate_mapping
    from argentry.exchange.sheets.grid import KINDS
    from argentry.exchange.sheets.guard import FILE_BYTES
    from argentry.files import read_file

    said = None if mapping is None else read_plate_mapping(mapping)
    content = read_file(source, FILE_BYTES, KINDS)
    return open_notebook(folder, source.name, content, mapping=said, sheet=sheet, progress=progress)


def field_names() -> tuple[str, ...]:
    """Return every field that a column may be taken for."""
    from argentry.exchange.plates.mapping import fields

    return tuple(fields())


def fields_by_group() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Return every field with its words and unit, by the part of the work it belongs to."""
    from argentry.exchange.plates.mapping import fields

    out: dict[str, tuple[tuple[str, str], ...]] = {}
    for name, column in fields().items():
        ending = UNIT_IN_NAME.get(column.unit, "")
        words = name.removesuffix(ending).removesuffix(f"_{column.unit}").replace("_", " ")
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
    sheet: str = "",
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
    sheet : str
        Sheet of a spreadsheet; empty: as the mapping says, or the first that holds plates.
    progress : callable, optional
        Told rows done and rows in all.

    Raises
    ------
    BadInput
        If the file cannot be used at all.
    """
    from argentry.book.notebooks import sha256_of
    from argentry.exchange.notebook.rest import cell_text, with_cells
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.table import plates_from
    from argentry.exchange.sheets.grid import read_grid
    from argentry.exchange.sheets.layout import lay_out

    zone = load_studio(folder).site.time_zone if folder is not None else "UTC"
    said, answers = mapping or PlateMapping(), dict(answers or {})
    grid = read_grid(
        name,
        content,
        sheet=sheet or said.sheet,
        separator=said.separator,
        encoding=said.encoding,
        head_row=said.head_row,
    )
    answers = {  # a cell that was sent as it stands was not corrected
        key: text
        for key, text in answers.items()
        if not (key.startswith("cell:") and text.strip() == cell_text(grid, key[5:]))
    }
    grid = with_cells(grid, answers)
    use = mapping or (None if ask_always else _said_by(folder, grid))
    draft = None
    if use is None:
        try:
            draft = _drafted(grid, memory_of(folder), answers, zone)
        except BadInput:
            if sheet:
                raise
            for other in grid.sheets:  # a cover or a page of addresses may lie before the plates
                with suppress(BadInput):
                    return open_notebook(
                        folder, name, content, answers=answers, ask_always=ask_always,
                        sheet=other, progress=progress,
                    )  # fmt: skip
            raise
        use = draft.mapping
    use = replace(use, sheet=grid.sheet)
    laid = lay_out(grid, use.layout())
    table = plates_from(laid, use, time_zone=zone, today=today_of(folder), progress=progress)
    if table.problems and mapping is None and draft is None and not use.fields:
        with suppress(BadInput):  # named as documented, its cells written as in any notebook
            drafted = open_notebook(
                folder, name, content, answers=answers, ask_always=True, sheet=grid.sheet
            )
            if len(drafted.table.rows) > len(table.rows):
                return drafted
    return Opened(name, sha256_of(content), content, grid, laid, table, use, draft, answers)


def _drafted(grid: Grid, memory: Memory, answers: Mapping[str, str], zone: str) -> Draft:
    """Return what the columns are taken for; refuse a table that is hardly one of plates."""
    from argentry.exchange.notebook.draft import draft_mapping

    draft = draft_mapping(grid, memory=memory, answers=answers, time_zone=zone)
    if not draft.known:
        raise BadInput(
            grid.name,
            "there is no column plate, and no column has a name that is known",
            "name the columns in a row above the plates, or give a mapping file",
        )
    return draft


def key_of(content: bytes, grid: Grid) -> str:
    """Return what the mapping of one sheet of a file is kept under; see `Opened.key`."""
    from argentry.book.notebooks import sha256_of

    first = not grid.sheets or grid.sheet == grid.sheets[0]
    return sha256_of(content if first else content + grid.sheet.encode())


def choice_words(choice: str) -> str:
    """Return an answer to a question as a maker reads it: forms of dates in words."""
    from argentry.exchange.plates.moments import form_words

    return form_words(choice)


def choice_look(choice: str) -> str:
    """Return an answer as `choice_words` does; a defect by its look and where it comes from."""
    key, _, stage = choice.partition("@")
    if stage and key in defects():
        return LOOK_AND_STAGE.format(look=defects()[key].look, stage=stage)
    return choice_words(choice)


def draft_answer(opened: Opened) -> NotebookDraft:
    """Return what a notebook was taken for, to be shown before it is imported."""
    from argentry.exchange.notebook.rest import grouped

    draft = opened.draft
    return NotebookDraft(
        kind="draft",
        file=opened.name,
        sha256=opened.sha256,
        sheet=opened.grid.sheet,
        other_sheets=opened.other_sheets,
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


def _said_by(folder: Path | None, grid: Grid) -> PlateMapping | None:
    """Return the mapping of a table that says itself what it is, or None.

    A list to mend names the notebook it was written from; a table whose first row names its columns
    as documented, and none as a field that is not among them, needs no mapping.
    """
    from argentry.book.notebooks import kept_mapping
    from argentry.exchange.notebook.heads import names_field
    from argentry.exchange.notebook.rest import WRONG, origin_of, rest_mapping
    from argentry.exchange.plates.columns import REQUIRED
    from argentry.exchange.plates.mapping import PlateMapping
    from argentry.exchange.plates.mapping_file import read_plate_mapping

    head = [str(cell) for cell in grid.rows[0] if cell is not None] if grid.rows else []
    origin = origin_of(head)
    if origin is not None and WRONG in head and folder is not None:
        kept = kept_mapping(folder, origin)
        if kept is not None:
            return rest_mapping(read_plate_mapping(kept), origin)
    said = all(name in head for name in REQUIRED) and not origin
    return PlateMapping() if said and not any(names_field(name, head) for name in head) else None


def memory_of(folder: Path | None) -> Memory:
    """Return what was answered for earlier notebooks; nothing without a studio."""
    from argentry.book.notebooks import FOLDER, MEMORY, kept_notebook
    from argentry.exchange.notebook.drafted import Memory
    from argentry.exchange.notebook.written import memory_from

    content = None if folder is None else kept_notebook(folder, MEMORY)
    return Memory() if content is None else memory_from(f"{FOLDER}/{MEMORY}", content)
