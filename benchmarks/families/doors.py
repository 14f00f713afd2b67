"""The doors through which a maker asks: what the benchmark wants of argentry is asked here."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import argentry
from argentry.desk.learning.standing import Asked
from argentry.desk.numbers.run_so_far import PlateSoFar
from benchmarks.families.draw import AFTER, draw_studio, write_table

ASKED = "ASKED"


def open_notebook(studio, folder=None, *, blank=True):
    """Return what `--plates FILE` reads of a notebook; `blank` adds a plate not yet begun."""
    with TemporaryDirectory() as place:
        path = Path(place) / "plates.csv"
        write_table(path, studio.rows, (ASKED,) if blank else ())
        return argentry.load_plates(studio=folder, table=path)


@lru_cache(maxsize=2)
def notebook(family, seed, plates):
    """Return a studio and what is read of its notebook: one for all that is asked of it."""
    studio = draw_studio(family, seed, plates, AFTER)
    return studio, open_notebook(studio)


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


def next_plate(book):
    """Ask `argentry next`."""
    return argentry.next_plate(book)


def need(book, good, first, by, certainty=0.9):
    """Ask `argentry need GOOD --by DATE`."""
    return argentry.plates_needed(book, good, first, by, certainty=certainty)


def learned(book):
    """Ask `argentry learn show`."""
    return argentry.learned(book)


def advice(book, values, done, answers, minutes_left):
    """Ask what the bench asks when a stage is over or its check answered; return the advice."""
    plate = PlateSoFar(
        run="run",
        plate=book.plate(ASKED),
        label=ASKED,
        state="open",
        known=as_typed(values),
        done=done,
        answers=dict(answers),
        checked=tuple(answers),
        now=None,
    )
    beside = replace(book, in_making={ASKED: plate})
    return argentry.odds(beside, ASKED, Asked(minutes_left=minutes_left)).advice


def open_studio(folder):
    """Return the plates of a studio folder, with whatever it has adopted."""
    return argentry.load_plates(studio=folder)


def can_pool():
    """Return whether there is `argentry learn share` and `argentry learn adopt`."""
    from argentry.cli.learning.learn import learn

    return {"share", "adopt"} <= set(learn.commands)


def share(folder, file):
    """Run `argentry learn share FILE`, saying yes to every line."""
    _command("learn", "share", str(file), "--studio", str(folder), "--yes")
    return file


def adopt(folder, files):
    """Run `argentry learn adopt FILE...`."""
    _command("learn", "adopt", *map(str, files), "--studio", str(folder), "--yes")


def _command(*words):
    from click.testing import CliRunner

    from argentry.cli.main import cli

    ended = CliRunner().invoke(cli, words, catch_exceptions=False)
    if ended.exit_code:
        raise RuntimeError(ended.output)
