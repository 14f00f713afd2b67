"""``argentry book import FILE``: a notebook shown as it was understood, asked about, taken in."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console
from argentry.errors import BadInput
from argentry.files import refused_by_disk
from argentry.records.answers.notebook import in_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from argentry.desk.notebook import NotebookDraft, Opened
    from argentry.desk.notebook_taken import TableImport
    from argentry.records.answers.notebook import Question

SHOWN = 100  # groups of problems on the terminal; --json shows all
READ = "{d.file}: {d.rows} plates in {columns} columns."
TITLES = "Above the column names: {titles}"
HEADS = ("column", "taken for", "unit", "for example")
OWN_WORDS, SKIP_WORDS = "a condition of your own", "left out"
GUESSED = "{field} (a guess)"
ROUND_HEAD = "To be answered: {count}. Enter takes the suggestion in brackets."
TYPE_ONE = "  one of {choices}"
TYPE_MORE = "  (or any field of docs/plates-csv.md)"
LEAVE_SIGN = "-"
LEAVE_HELP = "  - leaves it out; Enter leaves it for the list to mend"
AGAIN = "  {given!r} is not one of them."
TAKE = "{clear} plates are clear, {to_mend} to mend. Import the clear ones?"
NOTHING_DONE = "Nothing was imported."
WROTE_DRAFT = "Wrote {path}. Correct it, then: argentry book import {source} --mapping {path}"
OPEN_QUESTIONS = (
    "{count} still to be answered, first: {first}",
    "answer them on a terminal, or use --draft FILE to write a mapping, or --yes to accept",
)
TAKEN = "Taken without asking: {text} {answer}."
LEFT_OPEN = "Left for the list to mend: {text}"
ROWS = "{t.file}: {t.rows} plates, {count} columns known here."
COLUMN = "{column} as {field}"
COLUMNS = "Read {columns}."
NO_GRADE = "No column says how the plates came out (grade): until that is noted they teach no odds."
OWN = "Kept as conditions of your own: {columns}."
LEFT_OUT = "Left out: {columns}."
PROBLEM = "{file} {rows}, {column}: {what}; {right}."
ONE_ROW, ROWS_LIKE = "row {rows}", "rows {rows} ({count} in all)"
MORE = "... and {count} more kinds of problems (--json shows them all)."
GROUPS = "Problems: {cells}, of different kinds: {groups}. Rows to mend: {rows}."
WOULD_ADD = "{t.new} would be added, {t.known} in the book before."
ADDED = "{t.new} were added, {t.known} in the book before."
LIST = "To mend: {t.to_mend}, in {t.list}. Correct it, then: argentry book import {t.list}"
BACK = "{count} makings count no more. The file is kept; it may be imported again."
INSTEAD = "{t.instead} makings of earlier imports count no more: this table stands for them."
SHEETS = (
    "This was the sheet {t.sheet}. The file also has: {others}. Each is imported by itself, "
    "with --sheet NAME."
)
CELLS = (
    "Cells: {c.taken} taken as written, {c.changed} translated, {c.listed} in the list to mend, "
    "{c.left_out} left out, {c.heads} column names, {c.titles} above them."
)


def import_table(
    call: BookCall,
    source: Path,
    mapping: Path | None,
    draft: Path | None,
    rest: Path | None,
    *,
    sheet: str,
    dry_run: bool,
    yes: bool,
    instead: bool,
) -> None:
    """Import a table of plates, asking on a terminal what its cells do not say."""
    from argentry.desk.notebook import draft_answer, draft_file, open_file
    from argentry.desk.notebook_taken import take_notebook

    with progress_bar("Reading") as told:
        opened = open_file(call.folder, source, mapping=mapping, sheet=sheet, progress=told)
    if draft is not None:
        text = draft_file(opened)
        if draft.is_file() and draft.stat().st_size and draft.read_bytes() != text.encode():
            raise BadInput(
                "--draft",
                "{name} is there already and holds something else",
                "name another file, or move it away",
                name=draft,
            )
        _write(draft, text)
        click.echo(WROTE_DRAFT.format(path=draft, source=source))
        return
    asks = sys.stdin.isatty() and not (yes or call.as_json or dry_run)
    if opened.draft is not None:
        if not call.as_json:
            _show(draft_answer(opened))
            if yes:
                _taken(opened.questions)
        if asks:
            opened = _asked(call, opened)
        elif opened.questions and not (yes or dry_run):
            if call.emitted(draft_answer(opened)):
                sys.exit(2)
            what, right = OPEN_QUESTIONS
            first = opened.questions[0].text
            raise BadInput(source.name, what, right, count=len(opened.questions), first=first)
    with progress_bar("Storing") as told:
        made, to_mend = take_notebook(
            call.folder, opened, call.address, dry_run=dry_run, instead=instead, progress=told
        )
    if to_mend and not dry_run:
        made = _listed(made, to_mend, source, rest)
    if not call.emitted(made):
        _say(made)
    if not made.ok:
        sys.exit(2 if dry_run else 1)


def table_back(call: BookCall, source: Path, sheet: str) -> None:
    """Take back what a table brought into the book."""
    from argentry.desk.notebook_taken import taken_back

    count = taken_back(call.folder, source, sheet, call.address)
    if not call.emitted(count):
        click.echo(BACK.format(count=count.makings))


@contextmanager
def progress_bar(words: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar on the error stream while the work goes on; none when it is not a terminal.

    Yields
    ------
    callable
        To be told how much is done, and of how much.
    """
    screen = console(stderr=True)
    if not screen.is_terminal:
        yield lambda _done, _total: None
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(complete_style="default", finished_style="default"),
        TaskProgressColumn(),
        console=screen,
        transient=True,
    ) as bar:
        task = bar.add_task(words, total=None)

        last = 0

        def told(done: int, total: int) -> None:
            nonlocal last
            # what is read and checked is counted first, then what is stored, from nothing again
            description = "Storing" if done < last else None
            last = done
            bar.update(task, completed=done, total=total, description=description)

        yield told


def _asked(call: BookCall, opened: Opened) -> Opened:
    """Return the notebook with the maker's answers; end the command when it is not to be taken."""
    from argentry.desk.notebook import draft_answer, open_notebook

    answers: dict[str, str] = {}
    asked: set[str] = set()
    while fresh := [one for one in opened.questions if one.key not in asked]:
        click.echo(ROUND_HEAD.format(count=len(fresh)))
        for question in fresh:
            asked.add(question.key)
            answer = _answer(question)
            if answer is not None:
                answers[question.key] = answer
        opened = open_notebook(
            call.folder, opened.name, opened.content, answers=answers, sheet=opened.grid.sheet
        )
    found = draft_answer(opened)
    if not click.confirm(TAKE.format(clear=found.clear, to_mend=found.to_mend), default=True):
        click.echo(NOTHING_DONE)
        sys.exit(0)
    return opened


def _answer(question: Question) -> str | None:
    """Ask one question; None when it stays open."""
    from argentry.desk.notebook import choice_words, field_names

    click.echo(question.text)
    named = {choice_words(choice): choice for choice in question.choices if choice}
    click.echo(TYPE_ONE.format(choices=", ".join(named)))
    free = question.key.startswith("column:")
    leave = "" in question.choices
    click.echo(TYPE_MORE if free else LEAVE_HELP if leave else "", nl=free or leave)
    open_ = question.suggested == "?"
    while True:
        given = click.prompt(
            ">",
            default="" if open_ else choice_words(question.suggested),
            show_default=not open_,
            prompt_suffix=" ",
        ).strip()
        if not given and open_:
            return None
        if given == LEAVE_SIGN and leave:
            return ""
        given = named.get(given, given)
        if given in question.choices or (free and given in field_names()):
            return str(given)
        click.echo(AGAIN.format(given=given))


def _show(found: NotebookDraft) -> None:
    from rich.table import Table
    from rich.text import Text

    click.echo(READ.format(d=found, columns=len(found.columns)))
    if found.titles:
        click.echo(TITLES.format(titles=", ".join(found.titles[:6])))
    table = Table(*HEADS, box=None, padding=(0, 2, 0, 0))
    for column in found.columns:
        words = {"own": OWN_WORDS, "skip": SKIP_WORDS}.get(column.field, column.field)
        if not column.sure:
            words = GUESSED.format(field=words)
        cells = (column.name, words, column.unit, ", ".join(column.examples))
        table.add_row(*(Text(cell) for cell in cells))
    console().print(table)


def _taken(questions: Sequence[Question]) -> None:
    """Say what is taken of what would have been asked."""
    from argentry.desk.notebook import choice_words

    for one in questions:
        said = {"own": OWN_WORDS, "skip": SKIP_WORDS, "": SKIP_WORDS}.get(one.suggested)
        words = LEFT_OPEN if one.suggested == "?" else TAKEN
        click.echo(words.format(text=one.text, answer=said or choice_words(one.suggested)))


def _listed(made: TableImport, to_mend: str, source: Path, rest: Path | None) -> TableImport:
    from argentry.desk.notebook_taken import with_list

    path = rest
    if path is None:  # a list that the maker may be mending is never written over
        stem = source.stem.split("-to-mend")[0]
        names = (
            f"{stem}-to-mend{number}.csv" for number in ("", *(f"-{i}" for i in range(2, 1000)))
        )
        path = next(one for name in names if not (one := source.with_name(name)).exists())
    _write(path, to_mend, bom=True)
    return with_list(made, str(path))


def _write(path: Path, text: str, *, bom: bool = False) -> None:
    with refused_by_disk(path, "name a file in a folder that you may write to"):
        path.write_text(text, encoding="utf-8-sig" if bom else "utf-8", newline="")


def _say(found: TableImport) -> None:
    for group in found.groups[:SHOWN]:
        rows = ", ".join(map(str, group.rows[:8])) + (" ..." if len(group.rows) > 8 else "")
        where = (ONE_ROW if group.count == 1 else ROWS_LIKE).format(rows=rows, count=group.count)
        told = PROBLEM.format(
            file=found.file,
            rows=where,
            column=in_words(group.column),
            what=group.what,
            right=group.right,
        )
        click.echo(" ".join(told.split()), err=True)
    if len(found.groups) > SHOWN:
        click.echo(MORE.format(count=len(found.groups) - SHOWN), err=True)
    click.echo(ROWS.format(t=found, count=len(found.fields)))
    named = [
        COLUMN.format(column=column, field=field)
        for field, column in found.fields.items()
        if column != field
    ]
    for words, columns in ((COLUMNS, named), (OWN, found.own), (LEFT_OUT, found.skipped)):
        if columns:
            click.echo(words.format(columns=", ".join(columns).rstrip(".")))
    if "grade" not in found.fields:
        click.echo(NO_GRADE)
    if found.problems:
        groups = len(found.groups)
        cells = len(found.problems)
        click.echo(GROUPS.format(cells=cells, groups=groups, rows=found.to_mend))
    click.echo((WOULD_ADD if found.dry_run else ADDED).format(t=found))
    if found.instead:
        click.echo(INSTEAD.format(t=found))
    if found.other_sheets:
        click.echo(SHEETS.format(t=found, others=", ".join(found.other_sheets)))
    if found.list:
        click.echo(LIST.format(t=found))
    click.echo(CELLS.format(c=found.cells))
