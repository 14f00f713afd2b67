"""The studio with what its plates have taught put in the place of what was believed."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, log2
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError
from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.decision import Learned, OwnNumbers
    from argentry.records.learned import Share
    from argentry.records.studio import Studio

    Good = Callable[[], Share | None]


def with_learned(studio: Studio, numbers: OwnNumbers) -> Studio:
    """Return the studio with its own numbers put in the place of what was believed.

    Parameters
    ----------
    studio : Studio
        As ``studio.toml`` has it.
    numbers : OwnNumbers
        Learned; one without a plate behind it changes nothing.
    """
    habits: dict[str, Any] = {}
    speed, noise = numbers.of("plate_speed"), numbers.of("plate_noise")
    if speed is not None:
        doubt = log2(speed.high / speed.low) / (2.0 * Z80)
        habits["plate_speed"] = speed.value
        habits["plate_speed_sigma_stops"] = hypot(doubt, noise.value if noise else 0.0)
    dose = numbers.of("development_dose")
    if dose is not None:
        habits["development_dose_kj_m2"] = dose.value
    factor = numbers.of("box_factor")
    boxes = studio.boxes
    if factor is not None:
        boxes = (replace(boxes[0], box_factor=factor.value), *boxes[1:])
    return replace(studio, habits=replace(studio.habits, **habits), boxes=boxes)


FOR_THE_DAY = ("plate_speed", "plate_noise", "box_factor", "development_dose")


def used_numbers(numbers: OwnNumbers) -> tuple[Learned, ...]:
    """Return the numbers that a day plan takes: those with a plate behind them."""
    found = (numbers.of(what) for what in FOR_THE_DAY)
    return tuple(one for one in found if one is not None)


def day_numbers(
    folder: Path | None, address: str | None = None
) -> tuple[OwnNumbers | None, Good, tuple[str, ...]]:
    """Return the numbers for a day plan from the studio's plates, and what to warn of.

    A book that cannot be read does not keep anybody from planning: the sheet says so.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    address : str, optional
        Of a PostgreSQL book.

    Returns
    -------
    numbers : OwnNumbers or None
        At once; perhaps still without the odds.
    good : callable
        Odds that a plate comes out good. Where plates are new they are worked out beside the
        planning, which does not need them before its end and mostly waits for the solver.
    warnings : tuple of str
        Sentences.
    """
    from concurrent.futures import ThreadPoolExecutor

    from argentry.desk.numbers.kept import kept_numbers, own_numbers
    from argentry.desk.numbers.makings import gather

    try:
        plates = gather(folder, address)
    except ArgentryError as error:
        said = str(error).rstrip(".")
        warning = f"Nothing learned is used, the plates cannot be read: {said}."
        return None, lambda: None, (warning,)
    kept = kept_numbers(plates, folder)
    if kept is not None:
        return kept, lambda: kept.good, ()
    numbers = own_numbers(plates, folder, with_odds=False)
    beside = ThreadPoolExecutor(1)
    whole = beside.submit(own_numbers, plates, folder)
    beside.shutdown(wait=False)
    return numbers, lambda: whole.result().good, ()


def taught_studio(book: Book, studio: Studio) -> Studio:
    """Return a studio with its own numbers as its book teaches them, for the lengths at the bench.

    Parameters
    ----------
    book : Book
        Open.
    studio : Studio
        As ``studio.toml`` has it.
    """
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import from_book

    try:
        numbers = own_numbers(from_book(book, studio), book.folder, with_odds=False)
        return with_learned(studio, numbers)
    except ArgentryError:  # plates nobody can make sense of keep no bench from opening
        return studio
