"""``argentry book export`` and ``argentry book import``."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from argentry.desk.book_transfer import ArchiveImport, Exported, TableImport

SHOWN = 200  # problems on the terminal; --json shows all
TABLES = {
    "plate": "plates",
    "making": "makings",
    "event": "events",
    "reading": "readings",
    "bath": "baths",
    "lot": "lots",
}
WROTE = "Wrote {folder} ({megabytes:.1f} MB)"
HOLDS = "It holds {counts}, {pictures} pictures."
KNOWN = "The book already holds all of this; nothing was changed."
WHOLE, READ = "The archive is complete.", "Read the archive."
MORE = "... and {count} more (--json shows them all)."
ROWS = "{t.file}: {t.rows} rows, {count} columns known here."
COLUMN = "{column} as {field}"
COLUMNS = "Read {columns}."
OWN = "Kept as conditions of your own: {columns}."
LEFT_OUT = "Left out: {columns}."
PROBLEM, PROBLEMS = (
    "{count} problem; nothing would be imported.",
    "{count} problems; nothing would be imported.",
)
WOULD_ADD = "{t.new} would be added, {t.known} in the book before."
ADDED = "{t.new} were added, {t.known} in the book before."


@click.command("export")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@of_book
def export(call: BookCall, target: Path) -> None:
    """Write the whole book into DIR as plain files with checksums.

    The archive can be read without argentry (JSON lines, pictures, a table for spreadsheets).
    Import it again with: argentry book import DIR.
    """
    from argentry.desk.book_transfer import export_archive

    with progress_bar("Writing") as told:
        made = export_archive(call.folder, target, call.address, progress=told)
    if call.emitted(made):
        return
    click.echo(WROTE.format(folder=made.folder, megabytes=made.bytes / 1e6))
    click.echo(_holds(made))


@click.command("import")
@click.argument("source", metavar="DIR|FILE", type=click.Path(path_type=Path))
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    help="A TOML file that says what the columns of a table mean (docs/import.md).",
)
@click.option("--dry-run", is_flag=True, help="Report every problem and change nothing.")
@of_book
def import_(call: BookCall, source: Path, mapping: Path | None, dry_run: bool) -> None:
    """Read an archive (DIR) or a CSV, ODS or XLSX table of plates (FILE) into the book.

    Either all of it is imported or none. Rows that were imported before are recognised and skipped.
    """
    from argentry.desk.book_transfer import import_into_book

    with progress_bar("Reading") as told:
        found = import_into_book(
            call.folder, source, call.address, mapping=mapping, dry_run=dry_run, progress=told
        )
    if not call.emitted(found):
        _say_archive(found) if found.kind == "archive" else _say_table(found)
    if not found.ok:
        sys.exit(2)


@contextmanager
def progress_bar(words: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar on the error stream while the work goes on; none when it is not a terminal.

    Parameters
    ----------
    words : str
        What is being done.

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


def _say_archive(found: ArchiveImport) -> None:
    if found.known:
        click.echo(KNOWN)
        return
    click.echo(WHOLE if found.dry_run else READ)
    click.echo(_holds(found))


def _holds(made: Exported | ArchiveImport) -> str:
    counts = ", ".join(f"{made.tables[key]} {words}" for key, words in TABLES.items())
    return HOLDS.format(counts=counts, pictures=made.pictures)


def _say_table(found: TableImport) -> None:
    for problem in found.problems[:SHOWN]:
        click.echo(f"{found.file} {problem.sentence}", err=True)
    over = len(found.problems) - SHOWN
    if over > 0:
        click.echo(MORE.format(count=over), err=True)
    click.echo(ROWS.format(t=found, count=len(found.fields)))
    named = [
        COLUMN.format(column=column, field=field)
        for field, column in found.fields.items()
        if column != field
    ]
    for words, columns in ((COLUMNS, named), (OWN, found.own), (LEFT_OUT, found.skipped)):
        if columns:
            click.echo(words.format(columns=", ".join(columns)))
    if found.problems:
        count = len(found.problems)
        click.echo((PROBLEM if count == 1 else PROBLEMS).format(count=count))
    else:
        click.echo((WOULD_ADD if found.dry_run else ADDED).format(t=found))
