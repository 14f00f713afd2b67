"""``argentry learn``: what the plates have taught, and learning from other studios."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from argentry.cli.common import BookCall, console, of_book, studio_needed
from argentry.cli.learning.learn_options import gathered, plates_option
from argentry.errors import BadInput

WRITE = "Write these {lines} lines to {file}?"
WRITTEN = "{file} is written: {figures} figures from {plates} plates."
ADOPT = "Assume this before your own plates count?"
KEPT = "{files} files are kept in {folder}; argentry learn show says what comes from them."
FORGOTTEN = "Nothing of other studios is assumed any more."
YES_NEEDED = "nobody is there to say yes"
SAY_YES = "read the lines above and add --yes"
NOT_DONE = "Nothing is changed."


@click.group()
def learn() -> None:
    """Show what the plates have taught; share it with other studios, or adopt theirs."""


@learn.command("show")
@click.option(
    "--all", "all_of_them", is_flag=True, help="Every condition, also those that tell little."
)
@plates_option
@of_book
def show(call: BookCall, all_of_them: bool, table: str | None) -> None:
    """Show what was learned next to what was assumed: odds, effects, speed, box, dose."""
    from argentry.desk.learning.causes import learned

    told = learned(gathered(call, table))
    if call.emitted(told):
        return
    from argentry.out.learning.tables import print_learned

    print_learned(told, console(), all_of_them=all_of_them)


@learn.command("share")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Write it without being asked.")
@plates_option
@of_book
def share(call: BookCall, file: Path, *, yes: bool, table: str | None) -> None:
    """Write what the plates taught to FILE, for other studios: no plate, person or place.

    Every line is shown first.
    """
    from argentry.desk.learning.sharing import what_to_share, write_shared

    told = what_to_share(gathered(call, table))
    if not call.as_json:
        click.echo(told.text)
    _agreed("argentry learn share", WRITE.format(lines=told.text.count("\n"), file=file), yes=yes)
    write_shared(file, told.text, call.folder if table is None else None)
    if not call.emitted(told):
        click.echo(WRITTEN.format(file=file, figures=told.figures, plates=told.plates))


@learn.command("adopt")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--none", "forget", is_flag=True, help="Forget all files adopted before.")
@click.option("--yes", is_flag=True, help="Adopt without being asked.")
@of_book
def adopt(call: BookCall, files: tuple[Path, ...], *, forget: bool, yes: bool) -> None:
    """Start from the FILES of other studios, in place of those adopted before.

    Every assumption that would change is shown first. A file that does not fit the others is left
    out.
    """
    from argentry.desk.learning.sharing import as_shown
    from argentry.desk.numbers.adopted import adopt as keep
    from argentry.desk.numbers.adopted import weighed
    from argentry.out.learning.shared import print_adopted

    folder = studio_needed("argentry learn adopt", call.folder)
    if bool(files) == forget:
        raise BadInput("learn adopt", "no file is named", "name files, or give --none")
    if not call.as_json and files:
        print_adopted(as_shown(weighed(files, folder)), console())
    if files:
        _agreed("argentry learn adopt", ADOPT, yes=yes)
    kept = as_shown(keep(folder, files))
    if call.emitted(kept):
        return
    click.echo(KEPT.format(files=len(files), folder=folder / "adopted") if files else FORGOTTEN)


def _agreed(where: str, question: str, *, yes: bool) -> None:
    if yes:
        return
    if not sys.stdin.isatty():
        raise BadInput(where, YES_NEEDED, SAY_YES)
    if not click.confirm(question, err=True):
        click.echo(NOT_DONE, err=True)
        raise click.exceptions.Exit(1)
