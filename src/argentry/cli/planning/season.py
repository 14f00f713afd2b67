"""`argentry season`: which days and weeks of a year are worth planning, and where."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    console,
    emitted,
    json_option,
    paper_option,
    read_day,
    studio_needed,
    studio_option,
    studio_path,
    table,
    used_with,
    working,
    writable,
)
from argentry.cli.planning.place import learned_options
from argentry.keeping.studio import load_studio

if TYPE_CHECKING:
    from argentry.records.answers.season import Season

WORKING = "weather years: {done} of {count} parts"


@click.command()
@click.option(
    "--from", "first", metavar="DATE", help="First day (default: the first of this month)."
)
@click.option(
    "--until",
    "--to",
    "last",
    metavar="DATE",
    help="Last day (default: a year from the first).",
)
@click.option(
    "--at",
    "beside",
    metavar="PLACE",
    multiple=True,
    help='Another place besides the studio, may be repeated: "Lima, lat=-12.05, lon=-77.04"; '
    "zone=America/Lima, height=150 m and climate=FILE may follow.",
)
@click.option(
    "--climate",
    metavar="FILE",
    help="Typical or measured years of the studio's place (default: that of studio.toml, else the "
    "clouds usual at its latitude).",
)
@click.option("--mapping", metavar="FILE", help="Column mapping of the climate file (TOML).")
@click.option(
    "--years",
    type=int,
    default=20,
    show_default=True,
    help="Weather years: drawn, or at most taken from a file of many.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    default=1,
    show_default=True,
    help="Random seed of the years that are drawn.",
)
@click.option(
    "--processes",
    type=int,
    metavar="N",
    help="How many processes share the work (default: as many as pay).",
)
@click.option(
    "--dask", "cluster", metavar="ADDRESS", help="A Dask scheduler that does the work instead."
)
@click.option("--pdf", metavar="FILE", help="Write the season as PDF, a place a page.")
@paper_option
@learned_options
@studio_option
@json_option
@click.pass_context
def season(
    ctx: click.Context,
    /,
    first: str | None,
    last: str | None,
    beside: tuple[str, ...],
    climate: str | None,
    mapping: str | None,
    years: int,
    seed: int,
    processes: int | None,
    cluster: str | None,
    pdf: str | None,
    paper: str,
    use_learned: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Show a season: odds of light and of a finished plate by day and hour, the best weeks."""
    from argentry.desk.numbers.studio_numbers import day_numbers
    from argentry.desk.season import coming_year, read_place, season_of_studio

    used_with({"mapping": ("climate",)})
    path = studio_needed("argentry season", studio_path(ctx))
    places, target = [read_place(text) for text in beside], writable("--pdf", pdf)
    begins, ends = coming_year(load_studio(path), datetime.now(UTC), read_day("--from", first))
    with working("what your plates taught") as tell:
        numbers, _, warnings = day_numbers(path, address) if use_learned else (None, None, ())
        for warning in warnings:
            click.echo(f"! {warning}", err=True)
        found = season_of_studio(
            path,
            begins,
            read_day("--until", last) or ends,
            climate=None if climate is None else Path(climate),
            mapping=None if mapping is None else Path(mapping),
            beside=places,
            learned=numbers,
            as_written=not use_learned,
            years=years,
            seed=seed,
            processes=processes,
            cluster=cluster,
            progress=lambda done, of: tell(WORKING.format(done=done, count=of)),
        )
    if target is not None:  # before what is printed: a reader that goes away takes no file with it
        from argentry.out.season.pdf import season_pdf

        target.write_bytes(season_pdf(found, paper=paper))
    if not emitted(found, as_json):
        _show(found)
    if target is not None:
        click.echo("Season written to {target}.".format(target=target), err=True)


def _show(found: Season) -> None:
    from argentry.out.season.words import (
        best_lines,
        compared,
        month_rows,
        notes_of,
        place_head,
    )

    out = console()

    def show(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
        made = table(*heads, right=heads[1:], tight=True)
        for row in rows:
            made.add_row(*row)
        out.print(made)

    if len(found.places) > 1:
        show(*compared(found))
    for place in found.places:
        out.print(place_head(found, place))
        show(*month_rows(place))
        for line in best_lines(place):
            out.print(line)
        for note in notes_of(place):
            out.print(note)
    for note in found.notes:
        out.print(note)
