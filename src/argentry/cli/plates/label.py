"""``argentry label``: labels of bottles and plates, sleeves, and the sheets of the workshop."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from argentry.cli.common import BookCall, as_one_paper, of_book, say, writable

WROTE = "Wrote {file}"
MOST = 100


def _paper(*papers: str) -> Callable[..., Any]:
    return click.option(
        "--paper",
        default="a4",
        show_default=True,
        callback=as_one_paper,
        help="Paper: " + ", ".join(papers) + "; letter is us-letter.",
    )


def _pdf(default: str) -> Callable[..., Any]:
    return click.option(
        "--pdf", default=default, show_default=True, metavar="FILE", help="File to write."
    )


SHEETS = ("a4", "us-letter")
ANY_PAPER = (*SHEETS, "roll-62", "38x21")
BASE = click.option(
    "--address",
    "base",
    default="",
    metavar="URL",
    help="Address of argentry serve, to which the codes lead (default: no codes).",
)
COPIES = click.option(
    "--copies",
    type=click.IntRange(1, MOST),
    default=1,
    show_default=True,
    help="How many of each label.",
)
SKIP = click.option(
    "--skip",
    type=click.IntRange(0, 64),
    default=0,
    show_default=True,
    help="Labels of the sheet that are used already.",
)


def _labels(default: str) -> Callable[..., Any]:
    """Return what gives a command the options of whatever is printed as labels.

    Each kind has a file of its own: labels of plates must not take the place of those of bottles.
    """

    def given(command: Callable[..., Any]) -> Callable[..., Any]:
        for option in (of_book, SKIP, COPIES, BASE, _pdf(default), _paper(*ANY_PAPER)):
            command = option(command)
        return command

    return given


@click.group()
def label() -> None:
    """Print labels and sheets as PDF: of bottles, plates, baths, the room, a plate's condition."""


@label.command("bottle")
@click.argument("names", nargs=-1, metavar="[BATH|LOT]...")
@_labels("bottles.pdf")
def bottle(call: BookCall, **how: Any) -> None:
    """Print labels of baths in use and of lots, to the GHS; without names, of every bath."""
    _print(call, "bottle", **how)


@label.command("plate")
@click.argument("names", nargs=-1, metavar="PLATE...")
@_labels("plates.pdf")
def plate(call: BookCall, **how: Any) -> None:
    """Print labels of plates."""
    _print(call, "plate", **how)


@label.command("sleeve")
@click.argument("names", nargs=-1, metavar="PLATE...")
@_paper(*SHEETS)
@_pdf("sleeves.pdf")
@BASE
@of_book
def sleeve(call: BookCall, **how: Any) -> None:
    """Print paper sleeves for plates, to cut and fold."""
    _print(call, "sleeve", **how)


@label.command("handover")
@click.argument("names", nargs=-1, metavar="PLATE...")
@_paper(*SHEETS)
@_pdf("handover.pdf")
@of_book
def handover(call: BookCall, **how: Any) -> None:
    """Print a list of plates that leave the house, to be signed by both sides."""
    _print(call, "handover", **how)


@label.command("wall")
@click.argument("names", nargs=-1, metavar="PLATE...")
@click.option(
    "--title",
    "titles",
    multiple=True,
    metavar="TEXT",
    help="Title of the picture; once for each plate, in their order (default: Untitled).",
)
@click.option(
    "--maker", default="", metavar="NAME", help="Who made it (default: the studio's name)."
)
@click.option("--place", default="", metavar="TEXT", help="Where it was taken (default: not said).")
@_paper(*SHEETS)
@_pdf("wall.pdf")
@BASE
@of_book
def wall(call: BookCall, **how: Any) -> None:
    """Print labels to hang beside pictures: title, maker, day and place, size, how it was made."""
    _print(call, "wall", **how)


@label.command("mixing")
@click.argument("recipes", nargs=-1, metavar="[RECIPE]...")
@click.option("--plates", type=int, metavar="N", help="Plates of tomorrow (default: a usual day).")
@_paper(*SHEETS)
@_pdf("mixing.pdf")
@of_book
def mixing(call: BookCall, **how: Any) -> None:
    """Print what is mixed the evening before, in large type with boxes to tick."""
    _print(call, "mixing", names=(), **how)


@label.command("room")
@_paper(*SHEETS)
@_pdf("room.pdf")
@of_book
def room(call: BookCall, **how: Any) -> None:
    """Print the safety card for the room, from what is really in stock."""
    _print(call, "room", names=(), **how)


@label.command("waste")
@_paper(*SHEETS)
@_pdf("waste.pdf")
@of_book
def waste(call: BookCall, **how: Any) -> None:
    """Print the waste sheet for whoever collects it or asks."""
    _print(call, "waste", names=(), **how)


@label.command("condition")
@click.argument("name", metavar="PLATE")
@click.option("--picture", metavar="SHA256", help="Its first digits (default: the one read last).")
@click.option("--by", default="", metavar="NAME", help="Who judged the plate by eye.")
@_paper(*SHEETS)
@_pdf("condition.pdf")
@of_book
def condition(call: BookCall, name: str, **how: Any) -> None:
    """Print a plate's condition: its picture with findings numbered, changes, your word on them."""
    _print(call, "condition", names=(name,), **how)


def _print(call: BookCall, kind: str, *, pdf: str, **how: Any) -> None:
    from argentry.out.materials.printing import printed

    target = writable("--pdf", pdf)
    data, answer = printed(call.folder, call.address, kind, how.pop("names"), **how)
    if target is not None:
        target.write_bytes(data)
    if not call.emitted(answer):
        say(WROTE.format(file=pdf))
