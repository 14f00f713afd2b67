"""``argentry book export`` and ``argentry book import``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, of_book
from argentry.cli.plates.book_notebook import import_table, progress_bar, table_back
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Iterable

    from argentry.keeping.book_transfer import ArchiveImport, Exported

TABLES = ("plate", "making", "event", "reading", "bath", "lot")
WROTE = "Wrote {folder} ({megabytes:.1f} MB)"
HOLDS = "It holds {counts}."
TELL = (
    "{tell} of the pictures say where they were taken or whose they are, as the camera wrote it; "
    "{unknown} were not looked into. Keep that in mind before you give the archive away."
)
KNOWN = "The book already holds all of this; nothing was changed."
WHOLE, READ = "The archive is complete.", "Read the archive."


@click.command("export")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@of_book
def export(call: BookCall, target: Path) -> None:
    """Write the whole book into DIR as plain files with checksums.

    The archive can be read without argentry (JSON lines, pictures, a table for spreadsheets).
    Import it again with: argentry book import DIR.
    """
    from argentry.keeping.book_transfer import export_archive

    with progress_bar("Writing") as told:
        made = export_archive(call.folder, target, call.address, progress=told)
    if call.emitted(made):
        return
    click.echo(WROTE.format(folder=made.folder, megabytes=made.bytes / 1e6))
    click.echo(_holds(made))
    if made.pictures_that_tell or made.pictures_not_looked_into:
        tell, unknown = made.pictures_that_tell, made.pictures_not_looked_into
        click.echo(TELL.format(tell=tell, unknown=unknown))


@click.command("import")
@click.argument("source", metavar="DIR|FILE", type=click.Path(path_type=Path))
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    help="A TOML file that says what the columns of a table mean (docs/import.md).",
)
@click.option("--sheet", default="", metavar="NAME", help="Which sheet of a spreadsheet.")
@click.option(
    "--instead",
    is_flag=True,
    help="The table corrects an earlier import: it stands for what was imported of its plates.",
)
@click.option("--take-back", is_flag=True, help="Take back what this table brought into the book.")
@click.option("--dry-run", is_flag=True, help="Report every problem and change nothing.")
@click.option("--yes", is_flag=True, help="Take the columns as suggested, without asking.")
@click.option(
    "--draft",
    type=click.Path(path_type=Path),
    help="Write what the columns were taken for to this file, to edit; import nothing.",
)
@click.option(
    "--list",
    "rest",
    type=click.Path(path_type=Path),
    help="Where rows to mend are written (default: NAME-to-mend.csv next to FILE).",
)
@of_book
def import_(
    call: BookCall,
    source: Path,
    mapping: Path | None,
    dry_run: bool,
    yes: bool,
    draft: Path | None,
    rest: Path | None,
    sheet: str,
    *,
    instead: bool,
    take_back: bool,
) -> None:
    """Read an archive (DIR) or a CSV, ODS or XLSX table of plates (FILE) into the book.

    Of an archive either all is imported or none. Of a table the clear rows are imported, and the
    others written to a list: mend them there and import the list. What was imported before is
    recognised and skipped.
    """
    if not source.is_dir():
        if take_back:
            table_back(call, source, sheet)
            return
        import_table(
            call,
            source,
            mapping,
            draft,
            rest,
            sheet=sheet,
            dry_run=dry_run,
            yes=yes,
            instead=instead,
        )
        return
    from argentry.keeping.book_transfer import import_archive_folder

    if mapping is not None:
        raise BadInput("--mapping", "an archive needs none", "leave it out")
    with progress_bar("Reading") as told:
        found = import_archive_folder(
            call.folder, source, call.address, dry_run=dry_run, progress=told
        )
    if not call.emitted(found):
        _say_archive(found)


def _say_archive(found: ArchiveImport) -> None:
    if found.known:
        click.echo(KNOWN)
        return
    click.echo(WHOLE if found.dry_run else READ)
    click.echo(_holds(found))


def _holds(made: Exported | ArchiveImport) -> str:
    return holds_line((*((made.tables[key], key) for key in TABLES), (made.pictures, "picture")))


def holds_line(counts: Iterable[tuple[int, str]]) -> str:
    """Return what a book holds, of how many there are of each thing."""
    from argentry.out.wording import counted

    return HOLDS.format(counts=", ".join(counted(count, one) for count, one in counts))
