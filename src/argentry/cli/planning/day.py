"""`argentry day`: can I make a plate on this day, when do I start, how long is each step."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import click

from argentry.cli.common import (
    console,
    emitted,
    json_option,
    paper_option,
    read_date,
    say_clock,
    studio_needed,
    studio_option,
    studio_path,
    used_with,
    working,
    writable,
)
from argentry.cli.planning.place import learned_options
from argentry.errors import ArgentryError
from argentry.keeping.studio import load_studio

LARGEST_CALENDAR_BYTES = 1 << 20  # of a day it is a fiftieth of that


def wish_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that hold for one day only."""
    for option in reversed(
        (
            click.option("--from", "start", metavar="HH:MM", help="Begin then, this day only."),
            click.option("--until", "end", metavar="HH:MM", help="Be done by then, this day only."),
            click.option(
                "--break",
                "breaks",
                metavar="HH:MM-HH:MM",
                multiple=True,
                help="A break, this day only; may be repeated; none: no break.",
            ),
            click.option("--workers", metavar="N", help="Pairs of hands, this day only."),
            click.option("--frames", metavar="N", help="Frames of the first kind, this day only."),
            click.option("--boxes", metavar="N", help="Iodine boxes, this day only."),
            click.option("--cameras", metavar="N", help="Cameras, this day only."),
            click.option(
                "--sitter",
                "sitters",
                metavar="HH:MM ...",
                multiple=True,
                help="A sitter whose pose begins then; may be repeated. What is known may follow: "
                '"11:00 name=Anna, pose=40 s, f=4, size=quarter".',
            ),
            click.option(
                "--polished",
                metavar="N",
                help="N plates come polished from the evening before; only the final buff is left.",
            ),
            click.option(
                "--seal-later",
                flag_value="yes",
                help="Plates are inspected, sealed and labelled another day.",
            ),
            click.option(
                "--seal-today",
                "seal_later",
                flag_value="no",
                help="Against a habit of sealing later.",
            ),
            click.option(
                "--pose-under",
                metavar="LENGTH",
                help='Expose only when the camera time is under this, as "4 min".',
            ),
            click.option(
                "--lamp",
                metavar='"W at M"',
                help='A lamp over one more frame, this day only: "500 W at 0.3 m", "900 lx".',
            ),
        )
    ):
        command = option(command)
    return command


@click.command()
@click.argument("day", metavar="[DATE]", default="tomorrow")
@click.option(
    "--plates",
    type=int,
    metavar="N",
    help="How many plates, 1 to 12; else the most that are all finished on four days in five.",
)
@click.option(
    "--weather",
    metavar="FILE",
    help="Forecast or typical year: EPW, TMY3, CSV or JSON; none: no weather service either.",
)
@click.option("--mapping", metavar="FILE", help="Column mapping of a CSV or JSON forecast (TOML).")
@click.option("--haze", type=float, metavar="AOD", help="Aerosol optical depth at 500 nm.")
@click.option(
    "--pdf",
    metavar="FILE",
    help="Write the day sheet: the day on page one, steps and cautions after it.",
)
@paper_option
@click.option("--full", is_flag=True, help="Print hours, steps, cautions and proof as well.")
@click.option("--ics", metavar="FILE", help="Write the day as a calendar file.")
@wish_options
@click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    default=1,
    show_default=True,
    help="Random seed of the simulation.",
)
@learned_options
@studio_option
@json_option
@click.pass_context
def day(
    ctx: click.Context,
    /,
    day: str,
    plates: int | None,
    weather: str | None,
    mapping: str | None,
    haze: float | None,
    pdf: str | None,
    paper: str,
    full: bool,
    ics: str | None,
    seed: int,
    use_learned: bool,
    address: str | None,
    as_json: bool,
    **wished: Any,
) -> None:
    """Plan a day in the studio: DATE is 2026-06-21, today or tomorrow (default)."""
    from argentry.desk.bench.as_read import outlook_read
    from argentry.desk.numbers.studio_numbers import day_numbers, starting_odds
    from argentry.desk.wishes import past_note, plan_day, read_wishes
    from argentry.keeping.stock.before_day import with_materials

    used_with({"mapping": ("weather",)})
    path = studio_needed("argentry day", studio_path(ctx))
    wishes = read_wishes(wished)
    targets = [writable("--pdf", pdf), writable("--ics", ics)]
    studio = load_studio(path)
    date = read_date("DATE", day, studio.site.time_zone)
    outlook = outlook_read(path, studio, date, weather, mapping, address=address)
    with working("planning: what your plates taught") as say:
        numbers, good, warnings = (
            day_numbers(path, address) if use_learned else (None, lambda: starting_odds(path), ())
        )
        for warning in warnings:
            click.echo(f"! {warning}", err=True)
        if use_learned:
            _say_clock(path, address)
        plan = plan_day(
            studio,
            date,
            wishes,
            plates=plates,
            outlook=outlook,
            haze=haze,
            learned=numbers,
            as_written=not use_learned,
            good=good,
            seed=seed,
            now=datetime.now(UTC),
            progress=lambda words: say(f"planning: {words}"),
        )
        plan = with_materials(plan, path, address, datetime.now(UTC))
    if past := past_note(date, datetime.now(ZoneInfo(studio.site.time_zone))):
        click.echo(past, err=True)
    if targets[0] is not None:  # before what is printed: a reader that goes away takes no file
        from argentry.out.day.sheet_pdf import day_pdf

        targets[0].write_bytes(day_pdf(plan, paper=paper))
    if targets[1] is not None:
        from argentry.out.day.calendar import to_ics

        old = targets[1]
        known = old.exists() and old.stat().st_size <= LARGEST_CALENDAR_BYTES
        old.write_bytes(to_ics(plan, before=old.read_bytes() if known else b""))
    if not emitted(plan, as_json):
        from argentry.out.day.sheet_terminal import print_day

        print_day(plan, console(), full=full)
    if targets[0] is not None:
        click.echo("Day sheet written to {targets}.".format(targets=targets[0]), err=True)
    if targets[1] is not None:
        click.echo("Calendar written to {targets}.".format(targets=targets[1]), err=True)


def _say_clock(path: Path, address: str | None) -> None:
    from argentry.keeping.studio import has_book

    try:
        if has_book(path, address):
            from argentry.keeping.house_clock import book_clock

            say_clock(book_clock(path, address))
    except ArgentryError:  # a book that cannot be read is warned of where it is learned from
        return
