"""``argentry need``: how many plates to begin for so many good ones by a day."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
    read_date,
    working,
)
from argentry.cli.learning.learn_options import gathered, plates_option


@click.command()
@click.argument("good", metavar="N", type=int)
@click.option("--by", metavar="DATE", required=True, help="The last day, as 2026-09-30.")
@click.option(
    "--from", "first", metavar="DATE", default="tomorrow", help="First day (default: tomorrow)."
)
@click.option("--certainty", type=float, help="How sure, 0.5 to 0.99 (default: 0.9).")
@click.option("--a-day", type=int, help="Plates on one day at most (default: as usual here).")
@click.option(
    "--weekdays",
    metavar="DAYS",
    default="mon,tue,wed,thu,fri,sat,sun",
    show_default=True,
    help="Days that are worked.",
)
@click.option(
    "--climate",
    "--weather",
    "weather",
    metavar="FILE",
    help="Typical or measured years (default: that of studio.toml, else the clouds usual here).",
)
@plates_option
@of_book
def need(
    call: BookCall,
    good: int,
    by: str,
    first: str,
    certainty: float | None,
    a_day: int | None,
    weekdays: str,
    weather: str | None,
    table: str | None,
) -> None:
    """Show how many plates to start so that N are good by a date: on which days, at what cost."""
    from argentry.desk.learning.batch import plates_needed
    from argentry.keeping.weather import read_climate

    plates = gathered(call, table)
    zone = plates.studio.site.time_zone if plates.studio else "UTC"
    start, end = read_date("--from", first, zone), read_date("--by", by, zone)
    years = None if weather is None else read_climate(Path(weather))
    with working("calculating"):
        told = plates_needed(
            plates,
            good,
            start,
            end,
            certainty=certainty,
            a_day=a_day,
            weekdays=[day.strip().lower() for day in weekdays.split(",") if day.strip()],
            weather=years,
        )
    if call.emitted(told):
        return
    from argentry.out.learning.tables import print_need

    print_need(told, console())
