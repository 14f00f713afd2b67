"""The option that commands which learn from plates share: where the plates come from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.cli.common import BookCall
    from argentry.desk.numbers.makings import Gathered

plates_option: Callable[[Any], Any] = click.option(
    "--plates",
    "table",
    metavar="FILE",
    help="Learn from this table of plates (CSV, ODS, XLSX) instead of the book; its columns are "
    "in docs/plates-csv.md; other columns count as conditions of your own.",
)


def gathered(call: BookCall, table: str | None, plate: str | None = None) -> Gathered:
    """Return the plates to learn from: a table, else the studio's book or its plates.csv."""
    from argentry.desk.numbers.makings import gather

    file = None if table is None else Path(table)
    return gather(call.folder, call.address, file, plate=plate)
