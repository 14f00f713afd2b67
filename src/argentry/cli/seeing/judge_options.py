"""How a finished plate was photographed, as options of several commands."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from argentry.cli.common import BookCall, console
from argentry.records.answers.seen import PictureSeen, not_told_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.keeping.seeing.plate import AskedPlate

NO_PLATE = ("no plate is named to keep it with", "add --plate LABEL")
KEEP_WITH = click.option(
    "--plate", "label", metavar="LABEL", help="Keep picture and answer with this plate."
)
GREY = click.option(
    "--grey", metavar="X1,Y1,X2,Y2",
    help="Middles of the lightest and the darkest patch of a grey scale in pixels.",
)  # fmt: skip
GREY_DENSITIES = click.option(
    "--grey-densities", metavar="D1,D2,...",
    help="Densities of its patches, the lightest first (default: 20 from 0.05 to 1.95).",
)  # fmt: skip
AT = click.option(
    "--at", metavar="X,Y", help="A place on the plate that is meant, where several are in view.",
)  # fmt: skip
MARKED_EDGES = click.option(
    "--edge", "edges", metavar="X1,Y1,X2,Y2", multiple=True,
    help="A straight edge of the subject; two or more at different angles tell motion from focus.",
)  # fmt: skip
CURVE = click.option(
    "--curve", type=click.Path(path_type=Path),
    help="CSV of log_exposure,share, as 'judge wedge --curve-to' writes it; needs --grey.",
)  # fmt: skip


def keep(
    call: BookCall, label: str | None, file: Path, answer: PictureSeen, kind: str, **how: Any
) -> None:
    """Keep a picture and its answer with the plate that was named, if one was."""
    if label is not None:
        from argentry.keeping.seeing.kept import keep_answer

        keep_answer(call.folder, label, file, answer, call.address, kind=kind, **how)


def show_rest(answer: PictureSeen) -> None:
    """Show what is not told and why, each reason once, then what to mind and the notes."""
    out = console()
    for said in not_told_words(map(vars, answer.not_told), answer.line):
        out.print(said, markup=False)
    for note in (*answer.cautions, *answer.notes):
        out.print(note, markup=False)


def how_taken(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add what says how a finished plate was photographed, read by `asked_plate`."""
    made = command
    for option in (
        click.option("--smooth", metavar="X,Y,W,H", help="A part of the plate without details."),
        click.option(
            "--unlit", metavar="X,Y",
            help="A part of the plate that got no light, as under the lip of its holder, in "
            "pixels.",
        ),
        click.option("--trap", metavar="X,Y", help="A black hole in view, in pixels."),
        GREY_DENSITIES,
        GREY,
        click.option("--size", help="The plate's size, for example quarter."),
    ):  # fmt: skip
        made = option(made)
    return made


def asked_plate(
    *,
    size: str | None,
    grey: str | None,
    grey_densities: str | None,
    trap: str | None,
    unlit: str | None,
    smooth: str | None,
    edges: tuple[str, ...] = (),
    curve: Path | None = None,
    at: str | None = None,
) -> AskedPlate:
    """Return how a finished plate was photographed."""
    from argentry.keeping.seeing.curve import read_curve
    from argentry.keeping.seeing.picture import four, numbers, two
    from argentry.keeping.seeing.plate import AskedPlate

    return AskedPlate(
        size, four("--grey", grey), numbers("--grey-densities", grey_densities),
        two("--trap", trap), two("--unlit", unlit), four("--smooth", smooth),
        tuple(line for one in edges if (line := four("--edge", one)) is not None),
        None if curve is None else read_curve(curve), two("--at", at),
    )  # fmt: skip
