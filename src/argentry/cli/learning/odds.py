"""``argentry odds``: what the odds of a plate are now, and what to do with it."""

from __future__ import annotations

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
)
from argentry.cli.learning.learn_options import gathered, plates_option
from argentry.errors import BadInput, unknown
from argentry.records.plate import STAGES


@click.command()
@click.argument("plate")
@click.option(
    "--set",
    "settings",
    metavar="COLUMN=VALUE",
    multiple=True,
    help="Suppose a condition, such as --set room_rh_pct=62; may be repeated.",
)
@click.option("--ok", metavar="STAGE", multiple=True, help="This stage is known to be ok.")
@click.option("--fault", metavar="STAGE", multiple=True, help="This stage is known to be bad.")
@click.option(
    "--after",
    metavar="STAGE",
    help="As it stood after polish, coat, exposure, development or finish.",
)
@click.option(
    "--left", type=float, metavar="MIN", help="Minutes left today (default: by studio hours)."
)
@plates_option
@of_book
def odds(
    call: BookCall,
    plate: str,
    settings: tuple[str, ...],
    ok: tuple[str, ...],
    fault: tuple[str, ...],
    after: str | None,
    left: float | None,
    table: str | None,
) -> None:
    """Odds that PLATE will be good, and whether to continue, redo, stop or check."""
    from argentry.desk.learning.odds import plate_odds
    from argentry.desk.learning.standing import Asked

    supposed = dict(_setting(text) for text in settings)
    for option, named in (("--ok", ok), ("--fault", fault)):
        for stage in named:
            if stage not in STAGES:
                raise unknown(option, "stage", stage[:20], STAGES)
    stages = {**dict.fromkeys(ok, "ok"), **dict.fromkeys(fault, "fault")}
    both = set(ok) & set(fault)
    if both:
        raise BadInput(
            "--fault", "{pop!r} is also given as --ok", "say one of the two", pop=both.pop()
        )
    plates = gathered(call, table, plate)
    told = plate_odds(plates, plate, Asked(supposed, stages, after, left))
    if call.emitted(told):
        return
    from argentry.out.learning.words import print_odds

    print_odds(told, console())


def _setting(text: str) -> tuple[str, float | str]:
    name, equals, value = text.partition("=")
    if not (name.strip() and equals and value.strip()):
        raise BadInput(
            "--set", "{text!r} is not a setting", "write it as room_rh_pct=62", text=text
        )
    try:
        number = float(value)
    except ValueError:
        return name.strip(), value.strip()
    if number != number or number in (float("inf"), float("-inf")):  # noqa: PLR0124
        raise BadInput("--set", "{name} is not a number", "give a finite one", name=name.strip())
    return name.strip(), number
