"""``argentry book``: check the book, back it up, restore, export, import."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.book_option import book_option
from argentry.cli.book_transfer import export, import_
from argentry.cli.common import console, emit_json, json_option, studio_option, studio_path

HOLDS = (
    "It holds {h.plates} plates, {h.outcomes} makings, {h.runs} runs, {h.events} events, "
    "{h.readings} readings, {h.baths} baths, {h.lots} lots, {h.pictures} pictures."
)
FAULT, CARE = "fault: {sentence}", "warning: {sentence}"
SOUND = "The book is sound: the file, its links, every event of the log, pictures."
WROTE = "Wrote {folder} ({megabytes:.1f} MB)"
RESTORED = "Restored {folder}"
WITHDRAWN = "The run {title} is withdrawn, with its plates {plates}. It stays in the log."
ASIDE = "The book that was there lies in {folder}"


@click.group()
def book() -> None:
    """Check the plate book, back it up, restore a backup, export and import it."""


@book.command("check")
@studio_option
@book_option
@json_option
@click.pass_context
def check(ctx: click.Context, address: str | None, as_json: bool) -> None:
    """Read the whole book and list every fault in it; the exit code is 1 if there is one."""
    from argentry.desk.book import check_book

    found = check_book(studio_path(ctx), address)
    if as_json:
        emit_json(found)
    else:
        click.echo(found.where)
        click.echo(HOLDS.format(h=found))
        for sentence in found.faults:
            click.echo(FAULT.format(sentence=sentence))
        for sentence in found.advice:
            click.echo(CARE.format(sentence=sentence))
        if found.ok:
            click.echo(SOUND)
    if not found.ok:
        ctx.exit(1)


@book.command("withdraw-run")
@click.argument("run", metavar="RUN")
@click.option("--why", default="", metavar="WORDS", help="Why, in words.")
@click.option("--by", default="", metavar="NAME", help="Who says so.")
@studio_option
@book_option
@json_option
@click.pass_context
def withdraw_run(
    ctx: click.Context, run: str, why: str, by: str, address: str | None, as_json: bool
) -> None:
    """Withdraw a run opened by mistake: nothing is erased, and it counts for nothing.

    RUN is its name, or the first letters of its id. One plate of it: argentry plate withdraw.
    """
    from argentry.desk.plates import mistakes

    done = mistakes.withdraw_run(studio_path(ctx), run, address, why=why, by=by)
    if as_json:
        emit_json(done)
    else:
        click.echo(WITHDRAWN.format(title=done.title, plates=", ".join(done.plates)))


@book.command("backup")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@studio_option
@book_option
@json_option
@click.pass_context
def backup(ctx: click.Context, target: Path, address: str | None, as_json: bool) -> None:
    """Copy the book, its pictures and the studio file into a new folder under DIR.

    A run can continue during the backup. Use a different disk from the book's if you can.
    """
    from argentry.desk.book import backup_book

    made = backup_book(studio_path(ctx), target, address)
    if as_json:
        emit_json(made)
        return
    click.echo(WROTE.format(folder=made.folder, megabytes=made.bytes / 1e6))
    click.echo(HOLDS.format(h=made))


@book.command("restore")
@click.argument("saved", metavar="DIR", type=click.Path(path_type=Path))
@studio_option
@book_option
@json_option
@click.pass_context
def restore(ctx: click.Context, saved: Path, address: str | None, as_json: bool) -> None:
    """Replace the book with the backup in DIR; the old book is kept next to it.

    Stop the server and every bench first.
    """
    from argentry.desk.book import restore_book

    done = restore_book(studio_path(ctx), saved, address)
    if as_json:
        emit_json(done)
        return
    console().print(RESTORED.format(folder=saved), soft_wrap=True, markup=False)
    click.echo(HOLDS.format(h=done))
    if done.aside:
        click.echo(ASIDE.format(folder=done.aside))


book.add_command(export)
book.add_command(import_)
