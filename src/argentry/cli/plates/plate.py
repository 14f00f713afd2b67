"""``argentry plate``: put plates into the book, list and show them, note work, grade, defects."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import fill
from typing import Any

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_day,
    read_time,
    say,
)
from argentry.cli.plates.plate_picture import picture
from argentry.errors import BadInput, unknown
from argentry.out.wording import looks
from argentry.records.plate import GRADES, Plate

SPOKEN_OF = "Noted of {words}."
NOT_GRADED = "none"
RENAMED = "Plate {old} is now called {new}."

by_option = click.option("--by", default="", metavar="NAME", help="Who says so.")


def which_making(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --by, --day and --making: who says it, and of which making of the plate."""
    for option in (
        click.option(
            "--making", "number", type=int, metavar="N",
            help="Which making of the plate, 1 for its first.",
        ),
        click.option(
            "--day", metavar="DATE", callback=lambda _ctx, _option, text: read_day("--day", text),
            help="Which day's making, as 2026-06-21 (default: the newest).",
        ),
        by_option,
    ):  # fmt: skip
        command = option(command)
    return command


@click.group()
def plate() -> None:
    """Plates of the book: new ones, a list, one in full, work on them, grades and defects.

    A plate may be made again and again: each time is a making of its own.
    """


@plate.command("new")
@click.argument("labels", metavar="LABEL...", nargs=-1, required=True)
@click.option("--size", help="Plate size, for example quarter (default: the studio's usual).")
@click.option("--made", metavar="DATE", help="When it was silvered or bought, as 2026-06-21.")
@click.option("--silver-um", type=float, help="Silver thickness in micrometres.")
@click.option("--from", "silver_source", default="", metavar="NAME", help="Who silvered it.")
@click.option("--remark", default="", help="Anything else.")
@of_book
def new(
    call: BookCall,
    labels: tuple[str, ...],
    size: str | None,
    made: str | None,
    silver_um: float | None,
    silver_source: str,
    remark: str,
) -> None:
    """Put plates into the book, each by what is scratched on its back."""
    from argentry.keeping.plates.plates import new_plates

    done = new_plates(
        call.folder,
        labels,
        call.address,
        size=size,
        made_on=read_day("--made", made),
        silver_um=silver_um,
        silver_source=silver_source,
        remark=remark,
    )
    if call.emitted(done):
        return
    for one in done.plates:
        click.echo(f"Plate {one.label}: {one.size}{_silver(one)}")
    if done.thin:
        from argentry.out.stock_words import thin_plates

        say(thin_plates(done.thin, silver_um or 0.0))


@plate.command("list")
@click.option("--grade", help="Only plates of this grade; none for those not graded.")
@of_book
def list_(call: BookCall, grade: str | None) -> None:
    """List the plates with what came of each last."""
    from argentry.keeping.plates.plates import PlateList, list_plates

    rows = list_plates(call.folder, call.address).plates
    if grade is not None:
        if grade not in (*GRADES, NOT_GRADED):
            raise unknown("--grade", "grade", grade, (*GRADES, NOT_GRADED))
        rows = tuple(row for row in rows if (row.grade or NOT_GRADED) == grade)
    if call.emitted(PlateList(rows)):
        return
    if not rows:
        click.echo("No plates. Add one: argentry plate new LABEL")
        return
    _table(
        ("Plate", "Size", "Silver", "Made on", "Made", "Grade", "Exposure", "Defects"),
        [
            (
                row.label,
                row.size,
                "" if row.silver_um is None else f"{row.silver_um:g} µm",
                str(row.day or ""),
                f"{row.makings} ×" if row.makings > 1 else "",
                row.grade or "",
                row.verdict or "",
                looks(key for key, _ in row.defects),
            )
            for row in rows
        ],
    )


@plate.command("show")
@click.argument("label")
@of_book
def show(call: BookCall, label: str) -> None:
    """Show the record of one plate: every making against plan, and how it came out."""
    _print_record(call, label)


@plate.command("grade")
@click.argument("label")
@click.argument("grade", required=False)
@click.option(
    "--verdict", metavar="WORD", help="The exposure: blank, under, right, over, solarised."
)
@click.option(
    "--stage",
    "stages",
    multiple=True,
    metavar="STAGE=ok|fault",
    help="A stage, for example coat=fault; may be repeated.",
)
@which_making
@of_book
def grade(
    call: BookCall,
    label: str,
    grade: str | None,
    verdict: str | None,
    stages: tuple[str, ...],
    **which: Any,
) -> None:
    """Grade the newest making of a plate: lost, study, good or fine; none takes it back.

    What was said before stays in the book; the last word counts. Name an older making with --making
    or --day.
    """
    from argentry.keeping.plates.grades import grade_plate

    told = grade_plate(
        call.folder,
        label,
        call.address,
        grade=grade,
        verdict=verdict,
        stages=_stages(stages),
        **which,
    )
    _print_record(call, label, SPOKEN_OF.format(words=told.words))


@plate.command("work")
@click.argument("label")
@click.argument("kind", metavar="KIND")
@click.option("--at", metavar="TIME", help="When, in the studio's zone (default: now).")
@click.option("--by", default="", metavar="NAME", help="Who did it.")
@click.option("--remark", default="", help="Anything else, such as what was used and how long.")
@of_book
def work(call: BookCall, label: str, kind: str, at: str | None, by: str, remark: str) -> None:
    """Note work on a plate: plated, polished, polished_back or recoated.

    A plate polished back can be used again; its repolish count goes up by one.
    """
    from argentry.keeping.plates.plates import note_work

    moment = None if at is None else read_time("--at", at)
    note_work(call.folder, label, kind, call.address, at=moment, by=by, remark=remark)
    _print_record(call, label)


@plate.command("give-up")
@click.argument("label")
@click.option("--stage", required=True, help="Stage at which it stands, for example coat.")
@click.option("--fault", metavar="DEFECT", help="What was wrong with it: a defect of the list.")
@click.option(
    "--outward",
    metavar="REASON",
    help="No fault of the plate: no_time, light_gone, sitter_left or other.",
)
@click.option("--why", default="", metavar="WORDS", help="The reason, in words.")
@by_option
@of_book
def give_up(
    call: BookCall,
    label: str,
    stage: str,
    fault: str | None,
    outward: str | None,
    why: str,
    by: str,
) -> None:
    """Give up a plate that is on the bench, for a fault or for an outward reason.

    A fault teaches, with its stage and defect. An outward reason teaches nothing of the stages that
    were not reached, and is counted apart.
    """
    from argentry.keeping.plates import grades

    told = grades.give_up(
        call.folder,
        label,
        call.address,
        stage=stage,
        defect=fault,
        outward=outward,
        why=why,
        by=by,
    )
    _print_record(call, label, SPOKEN_OF.format(words=told.words))


@plate.command("rename")
@click.argument("old")
@click.argument("new")
@by_option
@of_book
def rename(call: BookCall, old: str, new: str, by: str) -> None:
    """Give a plate another label; its work history keeps the old one."""
    from argentry.keeping.plates.mistakes import rename_plate

    plate = rename_plate(call.folder, old, new, call.address, by=by)
    said = RENAMED.format(old=old, new=plate.label)
    _print_record(call, plate.label, said)


@plate.command("withdraw")
@click.argument("label")
@click.option("--why", default="", metavar="WORDS", help="Why, in words.")
@which_making
@of_book
def withdraw(call: BookCall, label: str, why: str, **which: Any) -> None:
    """Withdraw a plate from a run it was put into by mistake; nothing is erased.

    It is the last run the plate was in, unless --making or --day names another.
    """
    from argentry.keeping.plates.mistakes import withdraw_plate

    said = withdraw_plate(call.folder, label, call.address, why=why, **which)
    _print_record(call, label, said)


@plate.command("defect")
@click.argument("label", required=False)
@click.argument("defect", metavar="DEFECT", required=False)
@click.option("--from", "origin", default="", metavar="STEP", help="Step or stage it came from.")
@click.option("--withdraw", is_flag=True, help="Take it back.")
@click.option("--list", "listed", is_flag=True, help="List every defect known here.")
@which_making
@of_book
def defect(
    call: BookCall,
    label: str | None,
    defect: str | None,
    origin: str,
    withdraw: bool,
    listed: bool,
    **which: Any,
) -> None:
    """Note a defect of a plate and where it came from.

    For example: argentry plate defect P012 fog --from develop
    """
    if listed:
        _catalogue(call)
        return
    if label is None or defect is None:
        raise BadInput(
            "argentry plate defect", "plate or defect is missing", "name both, or use --list"
        )
    from argentry.keeping.plates.grades import note_defect

    told = note_defect(
        call.folder,
        label,
        defect,
        call.address,
        origin=origin,
        withdraw=withdraw,
        **which,
    )
    _print_record(call, label, SPOKEN_OF.format(words=told.words))


plate.add_command(picture)


def _catalogue(call: BookCall) -> None:
    from argentry.keeping.plates.grades import defect_catalogue

    found = defect_catalogue()
    if call.emitted(found):
        return
    _table(
        ("Defect", "Looks like", "Comes from", "First seen"),
        [(one.key, one.look, ", ".join(one.stages), one.first_seen) for one in found.defects],
    )


def _print_record(call: BookCall, label: str, said: str = "") -> None:
    from argentry.desk.learning.kept_plates import kept_plate, kept_plates
    from argentry.desk.pages.plate_record import show_record

    record = show_record(call.folder, label, call.address)
    if call.emitted(record):
        return
    from argentry.out.plates.words import record_lines

    screen = console()
    kept = kept_plate(kept_plates(call.folder), label)
    plain = not screen.encoding.startswith("utf")
    lines = record_lines(record, kept, width=screen.width, plain=plain)
    for line in [said, *lines] if said else lines:
        margin = " " * (len(line) - len(line.lstrip()) + 2)
        screen.print(fill(line, screen.width, subsequent_indent=margin), markup=False)


def _silver(one: Plate) -> str:
    thick = (
        "" if one.silver_um is None else ", {silver_um:g} µm silver".format(silver_um=one.silver_um)
    )
    return thick + (f" by {one.silver_source}" if one.silver_source else "")


def _stages(pairs: tuple[str, ...]) -> dict[str, str]:
    out = {}
    for pair in pairs:
        stage, equals, state = pair.partition("=")
        if not equals:
            raise BadInput(
                "--stage",
                "{pair!r} is not a stage and its outcome",
                "write it as coat=fault",
                pair=pair,
            )
        out[stage.strip()] = state.strip()
    return out


def _table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    from rich.box import SIMPLE
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=SIMPLE, pad_edge=False)
    told = [place for place in range(len(head)) if any(row[place] for row in rows)]
    for name in (head[place] for place in told):
        kept = name in (head[0], "Made on")
        table.add_column(name, no_wrap=kept, overflow="fold", min_width=len(name))
    for row in rows:
        table.add_row(*(escape(row[place]) for place in told))
    console().print(table)
