"""``argentry plate picture``: keep a picture of a plate in the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, of_book

if TYPE_CHECKING:
    from argentry.keeping.plates.pictures import KeptPicture

KEPT = "Kept as {sha256} with plate {label}."
KNOWN = "Plate {label} has this picture already, as {sha256}."
CARRIES = "The original says {what}; nothing made from it does, but the archive holds the original."


@click.command("picture")
@click.argument("label")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--kind", default="plate", metavar="WORD",
    help="What it shows: plate, coat, development, wedge, scan or other (default: plate).",
)  # fmt: skip
@of_book
def picture(call: BookCall, label: str, file: Path, kind: str) -> None:
    """Keep a picture of a plate, untouched: a JPEG, PNG, TIFF, HEIC or DNG of up to 100 MB.

    The same file is kept once. It is looked into by a process of its own, so that a broken or
    hostile file does no harm.
    """
    from argentry.keeping.plates.pictures import add_picture_file

    made = add_picture_file(call.folder, label, file, call.address, kind=kind)
    if not call.emitted(made):
        _say(made)


def _say(made: KeptPicture) -> None:
    words = KNOWN if made.known else KEPT
    click.echo(words.format(sha256=made.picture.sha256, label=made.label))
    if made.picture.carries:
        from argentry.out.plates.words import PICTURE_TELLS

        click.echo(CARRIES.format(what=PICTURE_TELLS[made.picture.carries]))
