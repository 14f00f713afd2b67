"""What the pages and the API ask of the studio: one studio, one open book, one steady clock.

Thin on purpose: each function joins the book and the bench and answers JSON-ready values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date as date_type
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry.book.makings import what_teaches
from argentry.errors import BadInput
from argentry.keeping.house_clock import clock_for, must_agree
from argentry.keeping.sensors.intake import Sensors
from argentry.keeping.stock.before_day import with_materials
from argentry.keeping.studio import load_studio

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.desk.wishes import Wished
    from argentry.keeping.clock import SteadyClock
    from argentry.records.day import DayPlan
    from argentry.records.needs import StudioNow
    from argentry.records.studio import Studio
    from argentry.records.weather import Outlook

FARTHEST_DAYS = 731  # a plan farther off is a slip of the pen


@dataclass
class Live:
    """What the plates of an open studio have taught: the newest result that is finished.

    Attributes
    ----------
    now : StudioNow
        The studio with its own numbers.
    book : tuple of int
        How far the book was then, see `book_so_far`.
    """

    now: StudioNow
    book: tuple[int, ...]


@dataclass(eq=False)
class House:
    """A studio that is open.

    Attributes
    ----------
    studio_dir : Path
        Its folder.
    studio : Studio
        Its values; others after `take_studio`.
    book : Book
        Its open book.
    clock : SteadyClock
        Never jumps, never goes back.
    sensors : Sensors
        What the sensors said last.
    live : Live
        What its plates have taught, kept fresh while it is open.
    """

    studio_dir: Path
    studio: Studio
    book: Book
    clock: SteadyClock
    sensors: Sensors
    live: Live

    @property
    def zone(self) -> ZoneInfo:
        """The studio's time zone."""
        return ZoneInfo(self.studio.site.time_zone)

    @property
    def taught(self) -> Studio:
        """The studio as its plates have taught it by now: for the lengths at the bench."""
        return self.live.now.studio or self.studio


def open_house(studio_dir: Path, book: Book) -> House:
    """Return the open studio, its clock set after the last event of the book.

    Raises
    ------
    BadInput
        If the studio cannot be read.
    """
    from argentry.desk.numbers.studio_numbers import studio_of_book

    clock = clock_for(book)
    studio = load_studio(studio_dir)
    so_far = _so_far(book, studio_dir)
    live = Live(studio_of_book(book, studio), so_far)
    return House(studio_dir, studio, book, clock, Sensors(book), live)


def take_studio(house: House) -> None:
    """Go by the studio file as it is now: it was changed while the studio is open.

    Raises
    ------
    BadInput
        If it cannot be read; the studio stays as it was.
    """
    from argentry.desk.numbers.studio_numbers import studio_of_book

    studio = load_studio(house.studio_dir)
    so_far = _so_far(house.book, house.studio_dir)
    house.studio, house.live.now, house.live.book = (
        studio,
        studio_of_book(house.book, studio),
        so_far,
    )


def book_so_far(house: House) -> tuple[int, ...]:
    """Return numbers that are others whenever book or adopted files may teach something else."""
    return _so_far(house.book, house.studio_dir)


def _so_far(book: Book, folder: Path) -> tuple[int, ...]:
    from argentry.desk.numbers.adopted import FOLDER

    adopted = folder / FOLDER  # each file kept or forgotten there gives it another time
    return (*what_teaches(book), adopted.stat().st_mtime_ns if adopted.is_dir() else 0)


def plates_to_keep(house: House) -> bool:
    """Return True when causes and odds of single plates are kept of another state of the book."""
    from argentry.desk.learning.kept_plates import is_fresh, kept_plates

    return not is_fresh(house.book, kept_plates(house.studio_dir))


def take_numbers(house: House, said: Mapping[str, Any]) -> bool:
    """Take numbers that were worked out elsewhere; the steps of open runs follow them.

    Parameters
    ----------
    house : House
        The open studio.
    said : Mapping
        Of `argentry.desk.numbers.kept.plain_numbers`.

    Returns
    -------
    bool
        True when they are others than before.
    """
    from argentry.desk.bench.run import refresh_learned
    from argentry.desk.numbers.kept import numbers_of
    from argentry.needs.numbers import studio_now

    now = studio_now(house.studio, numbers_of(said))
    if now == house.live.now:
        return False
    house.live.now = now
    refresh_learned(house.book, house.taught, house.clock)
    return True


def near_date(house: House, day: str) -> date_type:
    """Return a day that can be planned: a date, ``today`` or ``tomorrow`` in the studio's zone.

    Raises
    ------
    BadInput
        If the date cannot be read, or lies more than two years off, or the house's clock is wrong.
    """
    must_agree(house.clock, house.zone)
    today = house.clock.now().astimezone(house.zone).date()
    near = {"today": today, "tomorrow": today + timedelta(days=1)}
    try:
        date = near[day] if day in near else date_type.fromisoformat(day)
    except ValueError:
        date = None
    if date is None or abs((date - today).days) > FARTHEST_DAYS:
        raise BadInput(
            "date",
            "{day!r} is not a day that can be planned",
            "give one like 2026-06-21, within two years, or today or tomorrow",
            day=day,
        )
    return date


def day_outlook(house: House, day: date_type) -> Outlook:
    """Return the weather of a day by the studio file as it is now: its maker may have agreed."""
    from argentry.desk.bench.as_read import outlook_now
    from argentry.keeping.forecast.outlook import outlook_of

    studio, now = load_studio(house.studio_dir), house.clock.now()
    return outlook_now(house.book, outlook_of(house.studio_dir, studio, day, now), studio, day, now)


def planned_day(
    house: House,
    day: str,
    plates: int | None,
    wished: Wished | None = None,
    outlook: Outlook | None = None,
) -> DayPlan:
    """Return the plan of a day. Takes some seconds.

    Raises
    ------
    BadInput
        As `near_date`, or for a wish that is impossible.
    """
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import from_book
    from argentry.desk.wishes import plan_day, read_wishes

    learned = own_numbers(from_book(house.book, house.studio), house.studio_dir)
    date, now = near_date(house, day), house.clock.now()
    wishes, outlook = read_wishes(wished or {}), outlook or day_outlook(house, date)
    plan = plan_day(
        house.studio, date, wishes, plates=plates, learned=learned, now=now, outlook=outlook
    )
    return with_materials(plan, house.studio_dir, None, now, house.book)


def book_address(house: House) -> str | None:
    """Return the whole address of a PostgreSQL book, None for a file in the studio folder."""
    if house.book.kind == "sqlite":
        return None
    return str(house.book.engine.url.render_as_string(hide_password=False))


def book_of_studio(studio_dir: Path, url: str | None) -> Book:
    """Open the book of a studio: the file in its folder, or the one at an address.

    Raises
    ------
    ArgentryError
        If it cannot be opened.
    """
    from argentry.book.open import open_book

    return open_book(studio_dir) if url is None else open_book(url, folder=studio_dir)
