"""``argentry book``: check the book, back it up, restore, export, import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, of_book
from argentry.cli.plates.book_transfer import export, holds_line, import_

if TYPE_CHECKING:
    from argentry.keeping.book import Backup, BookCheck, Restored

FAULT, CARE = "fault: {sentence}", "warning: {sentence}"
SOUND = "The book is sound: the file, its tables and links, every row, the log, pictures."
WROTE = "Wrote {folder} ({megabytes:.1f} MB); a book was restored from it and is sound."
RESTORED = "Restored {folder}"
WITHDRAWN = "The run {title} is withdrawn, with its plates {plates}. It stays in the log."
SURE = "Erase them for good?"
ERASED = (
    "{events} events and {remarks} remarks of plates lost those words; nothing else of them "
    "changed."
)
STAYS = "Still there: {what}."
BACKUPS = "Backups and exports made before still hold the words: delete them too."
SAVED = "Copied {rows} sound events and rows into {folder}"
AGREE = "The house's clock and this machine's agree: {wall:%Y-%m-%d %H:%M} UTC."
MOVED = "{runs} runs were moved with it."
ASIDE = "The book that was there lies in {folder}"


@click.group()
def book() -> None:
    """Check the plate book, back it up, restore a backup, export and import it."""


@book.command("check")
@of_book
def check(call: BookCall) -> None:
    """Read the whole book and list every fault in it; the exit code is 1 if there is one."""
    from argentry.keeping.book import check_book

    found = check_book(call.folder, call.address)
    if not call.emitted(found):
        click.echo(found.where)
        click.echo(_holds(found))
        for sentence in found.faults:
            click.echo(FAULT.format(sentence=sentence))
        for sentence in found.advice:
            click.echo(CARE.format(sentence=sentence))
        if found.ok:
            click.echo(SOUND)
    if not found.ok:
        click.get_current_context().exit(1)


@book.command("clock")
@click.option("--set", "set_it", is_flag=True, help="Set the house's clock by the machine's.")
@of_book
def clock(call: BookCall, *, set_it: bool) -> None:
    """Compare the house's clock with this machine's; the exit code is 1 when they are apart.

    A bench starts after the newest event of the book, so one that a wrong clock wrote holds it
    back. --set moves what lies ahead; nothing is erased. Stop the server first, or use its page.
    """
    from argentry.keeping.house_clock import book_clock

    found = book_clock(call.folder, call.address, set_it=set_it)
    if not call.emitted(found):
        if found.words:
            click.secho(found.words, fg="red")
        else:
            click.echo(AGREE.format(wall=found.wall))
        if found.runs:
            click.echo(MOVED.format(runs=found.runs))
    if not found.agree:
        click.get_current_context().exit(1)


@book.command("withdraw-run")
@click.argument("run", metavar="RUN")
@click.option("--why", default="", metavar="WORDS", help="Why, in words.")
@click.option("--by", default="", metavar="NAME", help="Who says so.")
@of_book
def withdraw_run(call: BookCall, run: str, why: str, by: str) -> None:
    """Withdraw a run opened by mistake: nothing is erased, and it counts for nothing.

    RUN is its name, or the first letters of its id. One plate of it: argentry plate withdraw.
    """
    from argentry.keeping.plates import mistakes

    done = mistakes.withdraw_run(call.folder, run, call.address, why=why, by=by)
    if not call.emitted(done):
        click.echo(WITHDRAWN.format(title=done.title, plates=", ".join(done.plates)))


@book.command("backup")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@of_book
def backup(call: BookCall, target: Path) -> None:
    """Copy the book, its pictures and the studio file into a new folder under DIR.

    A run can continue during the backup. It is written only when a book could be restored from it.
    Use a different disk from the book's if you can.
    """
    from argentry.keeping.book import backup_book

    made = backup_book(call.folder, target, call.address)
    if call.emitted(made):
        return
    click.echo(WROTE.format(folder=made.folder, megabytes=made.bytes / 1e6))
    click.echo(_holds(made))


@book.command("restore")
@click.argument("saved", metavar="DIR", type=click.Path(path_type=Path))
@of_book
def restore(call: BookCall, saved: Path) -> None:
    """Replace the book with the backup in DIR; the old book is kept next to it.

    Stop the server and every bench first.
    """
    from argentry.keeping.book import restore_book

    done = restore_book(call.folder, saved, call.address)
    if call.emitted(done):
        return
    console().print(RESTORED.format(folder=saved), soft_wrap=True, markup=False)
    click.echo(_holds(done))
    if done.aside:
        click.echo(ASIDE.format(folder=done.aside))


@book.command("erase-words")
@click.argument("words")
@click.option("--by", default="", metavar="NAME", help="Who does it.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@of_book
def erase_words(call: BookCall, words: str, by: str, *, yes: bool) -> None:
    """Erase every remark, reason, title and sitter's name that holds WORDS.

    For a person who asks. The log says that it was done and stays sound. It names every place where
    the words still stand: labels, names, what tables refuse to change, imported files. Stop
    the server first: it keeps what it has read.
    """
    from argentry.keeping.plates.mistakes import erase_words as erase

    if not yes and not call.as_json:
        click.confirm(SURE, abort=True)
    done = erase(call.folder, words, call.address, by)
    if not call.emitted(done):
        click.echo(ERASED.format(events=done.events, remarks=done.remarks))
        for what in done.stays:
            click.echo(STAYS.format(what=what))
        click.echo(BACKUPS)


@book.command("salvage")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@of_book
def salvage(call: BookCall, target: Path) -> None:
    """Copy what is sound of a damaged book into the new folder DIR, and name the rest.

    The damaged book is not touched. Look at what is lost, then use DIR as the studio folder.
    """
    from argentry.keeping.book import salvage_book

    done = salvage_book(call.folder, target, call.address)
    if call.emitted(done):
        return
    click.echo(SAVED.format(rows=done.rows, folder=done.folder))
    for sentence in done.lost:
        click.echo(FAULT.format(sentence=sentence))


def _holds(told: Backup | BookCheck | Restored) -> str:
    return holds_line((
        (told.plates, "plate"), (told.outcomes, "making"), (told.runs, "run"),
        (told.events, "event"), (told.readings, "reading"), (told.baths, "bath"),
        (told.lots, "lot"), (told.pictures, "picture"),
    ))  # fmt: skip


book.add_command(export)
book.add_command(import_)
