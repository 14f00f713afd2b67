"""``argentry judge survey``: a folder of pictures in, a table with a row for each out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from argentry.cli.common import emitted, json_option, say, studio_option, working, writable
from argentry.cli.seeing.judge_options import asked_plate, how_taken

WORKING = "{done} of {count} files"
SURVEYED = "{files} files, {judged} of them judged now; one row each in {table}."
SOME = "{key}: perhaps in {pictures} pictures"
NO_PLATE = "{count} pictures could not be judged; the table says why."
UNFIT = "{file}: {why}"


@click.command()
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option("--out", metavar="FILE", help="The CSV table (default: the folder's name, here).")
@click.option("--parquet", metavar="FILE", help="Write the whole table as Parquet as well.")
@click.option(
    "--processes", type=int, default=1, show_default=True, help="How many pictures at a time."
)
@how_taken
@studio_option
@json_option
def survey(
    folder: Path,
    out: str | None,
    parquet: str | None,
    processes: int,
    *,
    as_json: bool,
    **given: Any,
) -> None:
    """Judge every picture of a folder of finished plates, a row of a table for each.

    The options hold for all of them, as on a copy stand. Each row is on the disk as soon as its
    picture is judged: after a kill, the same command goes on where it was.
    """
    from argentry.keeping.seeing.many import survey as judge_all

    name = f"{folder.resolve().name or 'survey'}.csv"
    table, target = writable("--out", out or name), writable("--parquet", parquet)
    assert table is not None
    with working("reading the table") as tell:
        found = judge_all(
            folder, asked_plate(**given), table, processes=processes, parquet=target,
            progress=lambda done, count: tell(WORKING.format(done=done, count=count)),
        )  # fmt: skip
    if emitted(found, as_json):
        return
    say(SURVEYED.format(files=found.files, table=found.table, judged=found.judged))
    for one in found.findings:
        say(SOME.format(pictures=one.pictures, key=one.key))
    if found.no_plate:
        say(NO_PLATE.format(count=found.no_plate))
    for unfit in found.unfit:
        say(UNFIT.format(file=unfit.file, why=unfit.why))
