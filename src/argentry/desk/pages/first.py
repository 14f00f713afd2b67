"""What the desk's pages show: runs, latest readings, plates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from argentry.book.plate_list import PlateLine, last_made, made_in, plate_page
from argentry.desk.house import House
from argentry.desk.readings.at_house import latest_readings
from argentry.desk.runs import run_heads
from argentry.keeping.plates.mistakes import rename_run, withdraw_opened
from argentry.keeping.sensors.intake import ReadingNow
from argentry.needs.numbers import NAMES, numbers_in_use
from argentry.records.event import RunHead
from argentry.records.needs import NumberInUse

ROWS_SHOWN = 12  # of runs and of plates, on the first page
ROWS_OF_A_PAGE = 100


@dataclass(frozen=True)
class ShownRun(RunHead):
    """A run as a page shows it.

    Attributes
    ----------
    opened_here : str
        When it was opened, by the studio's clock.
    state : str
        open or closed.
    """

    opened_here: str
    state: str


@dataclass(frozen=True)
class RunPage(ShownRun):
    """A run with what was made in it.

    Attributes
    ----------
    made : sequence of PlateLine
        Its makings, in its order.
    not_made : list of str
        Labels of its plates that no hand has begun.
    """

    made: Sequence[PlateLine]
    not_made: list[str]


@dataclass(frozen=True)
class ShownReading(ReadingNow):
    """A reading as a page shows it.

    Attributes
    ----------
    ago : str
        How old it is, in words.
    shown : str
        Value and unit.
    """

    ago: str
    shown: str


@dataclass(frozen=True)
class RunsPage:
    """What the page of runs shows.

    Attributes
    ----------
    runs : list of ShownRun
        The one opened last first.
    readings : list of ShownReading
        The latest of each quantity.
    plates : sequence of PlateLine
        Those made last.
    find : str
        Empty: nothing is looked for.
    numbers : tuple of NumberInUse
        What the next day plan goes by.
    """

    runs: list[ShownRun]
    readings: list[ShownReading]
    plates: Sequence[PlateLine]
    find: str
    numbers: tuple[NumberInUse, ...]


@dataclass(frozen=True)
class PlatesPage:
    """One page of plates.

    Attributes
    ----------
    plates : sequence of PlateLine
        The plates.
    total : int
        How many there are in all.
    find : str
        Part of a label that is looked for.
    before, after : int or None
        Where the pages beside it start, None at an end.
    """

    plates: Sequence[PlateLine]
    total: int
    find: str
    before: int | None
    after: int | None


def runs_page(house: House) -> RunsPage:
    """Return what the page of runs shows."""
    return RunsPage(
        runs=[_run(house, row) for row in run_heads(house, ROWS_SHOWN) if not row.withdrawn],
        readings=[_reading(row) for row in latest_readings(house).values()],
        plates=last_made(house.book, ROWS_SHOWN),
        find="",
        numbers=numbers_in_use(house.live.now, *NAMES),
    )


def plates_page(house: House, find: str, start: int) -> PlatesPage:
    """Return one page of plates."""
    find = find.strip()
    lines, total = plate_page(house.book, find, start, ROWS_OF_A_PAGE)
    after = start + ROWS_OF_A_PAGE
    return PlatesPage(
        plates=lines,
        total=total,
        find=find,
        before=None if start == 0 else max(0, start - ROWS_OF_A_PAGE),
        after=after if after < total else None,
    )


def _run(house: House, row: RunHead) -> ShownRun:
    opened = row.opened.astimezone(ZoneInfo(house.studio.site.time_zone))
    state = "open" if row.closed is None else "closed"
    return ShownRun(**vars(row), opened_here=f"{opened:%Y-%m-%d %H:%M}", state=state)


def _reading(row: ReadingNow) -> ShownReading:
    minutes = row.age_s / 60.0
    if minutes < 1.5:
        ago = "now"
    elif minutes < 90:
        ago = "{minutes:.0f} min ago".format(minutes=minutes)
    elif minutes < 48 * 60:
        ago = "{hours:.0f} h ago".format(hours=minutes / 60)
    else:
        ago = "{days:.0f} days ago".format(days=minutes / 1440)
    return ShownReading(**vars(row), ago=ago, shown=f"{row.value:.6g} {row.unit}")


def run_page(house: House, run: str) -> RunPage | None:
    """Return a run as its page shows it; None without it."""
    row = next((one for one in run_heads(house) if one.run == run), None)
    if row is None:
        return None
    made = made_in(house.book, run)
    begun = {line.label for line in made}
    not_made = [label for label in row.plates if label not in begun]
    return RunPage(**vars(_run(house, row)), made=made, not_made=not_made)


def rename(house: House, run: str, title: str, by: str) -> None:
    """Give a run another name."""
    rename_run(house.book, run, title, by=by or "host", at=house.clock.now())


def withdraw(house: House, run: str, why: str, by: str) -> None:
    """Say that a run was opened by mistake."""
    withdraw_opened(house.book, run, why, by=by or "host", at=house.clock.now())
