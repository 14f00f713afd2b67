"""Which steps of which plates were done in some runs, from the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.book.engine import reading
from argentry.book.log import events_of_kinds
from argentry.book.runs.corrections import effective

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from argentry.book.engine import Book


def steps_done(
    book: Book, runs: Sequence[str], steps: Collection[str]
) -> dict[str, set[tuple[str, str]]]:
    """Return by run the plates and steps of those that were ended; one taken back is not.

    A run of which the log knows no step is not in it: its plates may be of an imported book.

    Parameters
    ----------
    book : Book
        The book.
    runs : sequence of str
        Ids of runs.
    steps : collection of str
        Keys of the steps asked for.
    """
    with reading(book) as connection:
        found = events_of_kinds(connection, runs, ("step_ended", "corrected"))
    return {
        run: {
            (event.plate, event.step)
            for event in effective(events)[0]
            if event.kind == "step_ended" and event.plate and event.step and event.step in steps
        }
        for run, events in found.items()
    }
