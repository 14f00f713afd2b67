"""The doors through which a maker asks: what the benchmark wants of argentry is asked here."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import argentry
from argentry.desk.learning.standing import Asked
from benchmarks.families.draw import write_table

ASKED = "ASKED"


def open_notebook(studio, folder=None):
    """Return what `argentry ... --plates FILE` reads of a notebook, and one blank plate in it."""
    with TemporaryDirectory() as place:
        path = Path(place) / "plates.csv"
        write_table(path, studio.rows, (ASKED,))
        return argentry.load_plates(studio=folder, table=path)


def as_typed(values):
    """Return values as `--set COLUMN=VALUE` hands them on: numbers, the rest as words."""
    return {
        column: float(value) if isinstance(value, int | float) else str(value)
        for column, value in values.items()
    }


def odds(book, values, *, minutes_left=0.0):
    """Ask `argentry odds PLATE --set COLUMN=VALUE ... --left 0` of a plate not yet begun."""
    return argentry.odds(book, ASKED, Asked(known=as_typed(values), minutes_left=minutes_left))


def causes(book):
    """Ask `argentry why --studio-wide`."""
    return argentry.why_studio(book)


def why(book, label):
    """Ask `argentry why PLATE`."""
    return argentry.why(book, label)
