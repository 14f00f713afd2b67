"""What a studio's plates have taught, for every door: a command, a sheet, the bench, a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.errors import ArgentryError
from argentry.needs.numbers import studio_now

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.decision import OwnNumbers
    from argentry.records.learned import GoodOdds
    from argentry.records.needs import StudioNow
    from argentry.records.studio import Studio

    Good = Callable[[], GoodOdds | None]

NOT_READ = "Nothing learned is used because the plates cannot be read: {why}."


def day_numbers(
    folder: Path | None, address: str | None = None
) -> tuple[OwnNumbers | None, Good, tuple[str, ...]]:
    """Return the numbers for a day plan from the studio's plates, and what to warn of.

    A book that cannot be read does not keep anybody from planning: the sheet says so.

    Returns
    -------
    numbers : OwnNumbers or None
        At once; perhaps still without the odds.
    good : callable
        Odds that a plate is good. Where plates are new they are worked out beside the
        planning, which does not need them before its end and mostly waits for the solver.
    warnings : tuple of str
        Sentences.
    """
    from argentry.desk.numbers.kept import (
        files_of,
        kept_numbers,
        kept_of_files,
        note_files,
        own_numbers,
    )

    try:
        files = files_of(folder, address)
        same = kept_of_files(folder, files)
        if same is not None:
            return same, lambda: same.good, ()
        from argentry.desk.numbers.makings import gather

        plates = gather(folder, address)
    except ArgentryError as error:
        return None, lambda: starting_odds(folder), (NOT_READ.format(why=str(error).rstrip(".")),)
    kept = kept_numbers(plates, folder)
    if kept is not None:
        if files == files_of(folder, address):  # the table is the one that was read
            note_files(folder, files)
        return kept, lambda: kept.good, ()
    from concurrent.futures import ThreadPoolExecutor

    numbers = own_numbers(plates, folder, with_odds=False)
    beside = ThreadPoolExecutor(1)
    whole = beside.submit(own_numbers, plates, folder)
    beside.shutdown(wait=False)
    return numbers, lambda: whole.result().good, ()


def starting_odds(folder: Path | None) -> GoodOdds | None:
    """Return the odds of a good plate before any plate: what a new studio of this file is told."""
    from argentry.desk.numbers.makings import Gathered
    from argentry.desk.numbers.own_numbers import learned_numbers
    from argentry.keeping.studio import load_studio

    studio = None if folder is None else load_studio(folder)
    return learned_numbers(Gathered((), {}, {}, {}, "", (), studio)).good


def studio_of_folder(
    folder: Path, address: str | None = None, *, as_written: bool = False
) -> tuple[StudioNow, tuple[str, ...]]:
    """Return the studio of a folder as its plates have taught it, and what to warn of.

    Parameters
    ----------
    folder : Path
        Studio folder.
    address : str, optional
        Of a PostgreSQL book.
    as_written : bool
        True to leave learned numbers out; no book is opened then.

    Raises
    ------
    BadInput
        If the studio cannot be read; a book that cannot be read is only warned of.
    """
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import gather
    from argentry.keeping.studio import load_studio

    studio = load_studio(folder)
    if as_written:
        return studio_now(studio, None, as_written=True), ()
    try:
        numbers = own_numbers(gather(folder, address), folder, with_odds=False)
    except ArgentryError as error:
        return studio_now(studio, None), (NOT_READ.format(why=str(error).rstrip(".")),)
    return studio_now(studio, numbers), ()


def studio_of_book(book: Book, studio: Studio) -> StudioNow:
    """Return a studio as its open book teaches it."""
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import from_book

    try:
        numbers = own_numbers(from_book(book, studio), book.folder, with_odds=False)
    except ArgentryError:  # plates nobody can make sense of keep no bench from opening
        return studio_now(studio, None)
    return studio_now(studio, numbers)


def taught_studio(book: Book, studio: Studio) -> Studio:
    """Return the studio of `studio_of_book`, for the lengths at the bench."""
    now = studio_of_book(book, studio).studio
    assert now is not None
    return now
