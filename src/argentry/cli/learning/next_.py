"""``argentry next``: what to change on the next plate, and what it would teach."""

from __future__ import annotations

from typing import Any

import click

from argentry.cli.common import (
    BookCall,
    console,
    of_book,
)
from argentry.cli.learning.learn_options import gathered, plates_option
from argentry.errors import BadInput


@click.command("next")
@click.option("--commissioned", is_flag=True, help="The plate is promised: try nothing on it.")
@click.option(
    "--about", metavar="WHAT", help="exposure or conditions (default: the exposure until found)."
)
@click.option(
    "--fixed", metavar="COLUMN", multiple=True, help="Cannot be changed now; may be repeated."
)
@click.option(
    "--compare",
    metavar="COLUMN=OLD,NEW",
    help="Plan a comparison of two settings in pairs, and judge the pairs made so far.",
)
@click.option("--pairs", type=int, metavar="N", help="How many pairs (default: 10).")
@plates_option
@of_book
def next_(
    call: BookCall,
    commissioned: bool,
    about: str | None,
    fixed: tuple[str, ...],
    compare: str | None,
    pairs: int | None,
    table: str | None,
) -> None:
    """Change one thing on the next plate: what, from where to where, and what it teaches.

    Or, with --compare, plan a comparison of two settings, for example --compare coat_nm=25,32.
    """
    if compare is not None:
        if about is not None:
            raise BadInput("--about", "a comparison is about its own column", "leave it out")
        how = {"commissioned": commissioned, "fixed": fixed}
        _compare(call, compare, pairs, how, table)
        return
    if pairs is not None:
        right = "name two settings with --compare COLUMN=OLD,NEW"
        raise BadInput("--pairs", "nothing is compared", right)
    from argentry.desk.learning.next_trial import next_plate

    told = next_plate(gathered(call, table), commissioned=commissioned, fixed=fixed, about=about)
    if call.emitted(told):
        return
    from argentry.out.learning.tables import print_next

    print_next(told, console())


def _compare(
    call: BookCall, asked: str, pairs: int | None, how: dict[str, Any], table: str | None
) -> None:
    from argentry.desk.learning.comparison import PAIRS, compare_settings

    column, old, new = _two_settings(asked)
    count = PAIRS if pairs is None else pairs
    told = compare_settings(gathered(call, table), column, old, new, pairs=count, **how)
    if call.emitted(told):
        return
    from argentry.out.learning.words import print_compare

    print_compare(told, console())


def _two_settings(text: str) -> tuple[str, float, float]:
    """Return column and settings of ``coat_nm=25,32``."""
    column, _, values = text.partition("=")
    try:
        old, new = (float(value) for value in values.split(","))
    except ValueError:
        right = "write it as coat_nm=25,32"
        raise BadInput(
            "--compare", "{text!r} is not a column with two numbers".format(text=text[:60]), right
        ) from None
    return column.strip(), old, new
