"""What the first page shows: runs that go on, what the book knows of the day, the day to plan."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from argentry.book.baths import materials_mark
from argentry.book.makings import what_teaches
from argentry.book.times import day_begins
from argentry.desk.pages.run_plan import PlateByPlan, run_plan
from argentry.desk.pages.waiting import Waiting, waiting_for_grade
from argentry.desk.runs import run_heads
from argentry.keeping.stock.baths import BathNow, baths_of
from argentry.keeping.stock.before_day import with_materials
from argentry.keeping.stock.lots import Stock, stock_of
from argentry.keeping.studio import load_studio
from argentry.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.desk.house import House
    from argentry.desk.numbers.studio_numbers import Good
    from argentry.desk.wishes import Wished
    from argentry.records.day import DayPlan
    from argentry.records.decision import OwnNumbers
    from argentry.records.event import RunHead
    from argentry.records.run import RunState

    Taught = tuple[OwnNumbers | None, Good]

DAYS_AHEAD = 11  # tomorrow and the ten days after it
QUARTER_MINUTES = 15  # how long a plan of today holds that leaves out what is gone of it
LIGHT_MINUTES = 5  # how long a plan of today may pass over a new reading of the light
GOING = timedelta(days=2)  # a run opened longer ago was left open
DAYS_FILE = "days.json"
FEW_DAYS = 80  # simulated days behind a first plan, and behind a day seen in little


@dataclass(frozen=True)
class GoingRun:
    """A run that goes on.

    Attributes
    ----------
    run, title : str
        Its id and name.
    plates : tuple of PlateByPlan
        What each wants of the hands, the most pressing first.
    next : str
        The step that its plan gives the hands next; empty without a plan.
    offer : tuple of str
        What a new plan changes that waits for an answer.
    state : RunState
        It now, with its plan.
    """

    run: str
    title: str
    plates: tuple[PlateByPlan, ...]
    next: str
    offer: tuple[str, ...]
    state: RunState


@dataclass(frozen=True)
class TodayInBook:
    """What the book knows of the day.

    Attributes
    ----------
    runs : tuple of GoingRun
        Those that are open, the one opened last first.
    left_open : int
        How many others were opened days ago and never closed.
    waiting : tuple of Waiting
        What waits for a grade.
    stock : Stock
        What is left.
    tired : tuple of BathNow
        Baths that will not last.
    """

    runs: tuple[GoingRun, ...]
    left_open: int
    waiting: tuple[Waiting, ...]
    stock: Stock
    tired: tuple[BathNow, ...]


def today_in_book(house: House) -> TodayInBook:
    """Return what the book knows of the day."""
    now = house.clock.now()
    going = going_runs(house)
    found = []
    for one in going:
        plan = run_plan(house, one.run)
        found.append(GoingRun(one.run, one.title, plan.plates, plan.next, plan.offer, plan.state))
    return TodayInBook(
        runs=tuple(found),
        left_open=len(_open_runs(house)) - len(going),
        waiting=waiting_for_grade(house.book),
        stock=stock_of(house.book, house.studio_dir),
        tired=tuple(one for one in baths_of(house.book, now).baths if not one.lasts),
    )


def going_runs(house: House) -> list[RunHead]:
    """Return the runs that are open and not left open days ago, the one opened last first."""
    now = house.clock.now()
    return [one for one in _open_runs(house) if now - one.opened < GOING]


def _open_runs(house: House) -> list[RunHead]:
    return [one for one in run_heads(house) if one.closed is None and not one.withdrawn]


def local_now(house: House) -> datetime:
    """Return the studio's wall clock now."""
    return house.clock.now().astimezone(house.zone)


def day_to_plan(house: House) -> date:
    """Return the day that the first page plans: today, or tomorrow when its hours are over.

    While a run of today goes on the day to plan is the next one.
    """
    now = local_now(house)
    over = f"{now:%H:%M}" >= house.studio.hours.end
    return now.date() + timedelta(days=1 if over or _going_since(house, now) else 0)


def _going_since(house: House, now: datetime) -> datetime | None:
    """Return when the first run was opened that was opened today and is open."""
    begun = day_begins(now.date(), house.zone)
    return min((r.opened for r in _open_runs(house) if r.opened >= begun), default=None)


def inputs_mark(house: House, day: date) -> str:
    """Return another word whenever a plan of a day may come out otherwise than before.

    A plan of today leaves out what is gone of it, so it is made again every quarter of an hour; and
    when the light was read, but not at each of a sensor's readings. What a run of today takes from
    baths and stock counts when it is closed: a press at the bench moves no plan.
    """
    from argentry.desk.bench.as_read import light_today
    from argentry.exchange.services.kept import kept_file
    from argentry.keeping.stock.mixing import OWN_FILE
    from argentry.records.studio import NO_SERVICE
    from argentry.studio.file import FILE

    now = local_now(house)
    own = load_studio(house.studio_dir).weather
    files = [house.studio_dir / FILE, house.studio_dir / OWN_FILE]
    if own.source != NO_SERVICE:
        files += [kept_file(house.studio_dir, key) for key in own.agreed]
    times = map(stamp, files)
    quarter, read = -1, 0.0
    if day == now.date():
        quarter = (60 * now.hour + now.minute) // QUARTER_MINUTES
        seen = now - timedelta(
            minutes=now.minute % LIGHT_MINUTES, seconds=now.second, microseconds=now.microsecond
        )
        light = light_today(house.book, house.zone, seen.astimezone(UTC))
        read = light[-1].at.timestamp() if light else 0.0
    _, *judged = what_teaches(house.book)
    stock = materials_mark(house.book, _going_since(house, now) or now)
    return "-".join(map(str, (now.date(), quarter, read, *judged, *stock, *times)))


def kept_days(folder: Path) -> Mapping[str, Any]:
    """Return what `keep_days` was given last by this version; nothing when it cannot be read."""
    try:
        said = json.loads((folder / DAYS_FILE).read_text(encoding="utf-8"))
        return said["days"] if said["version"] == VERSION else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def keep_days(folder: Path, days: Mapping[str, Any]) -> None:
    """Keep days that were worked out beside the book; the file may be deleted at any time."""
    from argentry.desk.numbers.kept import ABOUT, write_kept

    write_kept(folder / DAYS_FILE, {"about": ABOUT, "version": VERSION, "days": days})


def taught_by(folder: Path, address: str | None) -> Taught:
    """Return what the plates of a studio teach a day's plan."""
    from argentry.desk.numbers.studio_numbers import day_numbers

    return day_numbers(folder, address)[:2]


def teaching_mark(folder: Path, book: Book) -> tuple[int, ...]:
    """Return numbers that are others whenever `taught_by` may return something else."""
    from argentry.keeping.studio import TABLE
    from argentry.studio.file import FILE

    return (*what_teaches(book), *map(stamp, (folder / FILE, folder / TABLE)))


def stamp(file: Path) -> int:
    """Return when a file was written last, 0 where it is not there. [ns]."""
    return file.stat().st_mtime_ns if file.exists() else 0


def plan_for_page(
    folder: Path,
    address: str | None,
    day: date,
    plates: int | None,
    wished: Wished,
    now: datetime,
    *,
    by_rule: bool = False,
    taught: Taught | None = None,
) -> DayPlan:
    """Return the plan of a day as `argentry day` makes it, or a first one by rules alone.

    Parameters
    ----------
    folder : Path
        Studio folder.
    address : str or None
        Of a PostgreSQL book.
    day : date
        In the studio's zone.
    plates : int or None
        How many; None: the most that are all finished on four days in five.
    wished : Mapping
        What is asked of this day alone.
    now : datetime
        The moment of planning.
    by_rule : bool
        True for a first plan.
    taught : tuple, optional
        What the plates teach, where it is known, see `taught_by`.
    """
    from argentry.desk.bench.as_read import outlook_read
    from argentry.desk.wishes import plan_day, read_wishes

    numbers, good = taught or taught_by(folder, address)
    studio = load_studio(folder)
    how: Mapping[str, Any] = {"by_rule": True, "simulated_days": FEW_DAYS} if by_rule else {}
    plan = plan_day(
        studio,
        day,
        read_wishes(wished),
        plates=plates,
        outlook=outlook_read(folder, studio, day, address=address, now=now),
        learned=numbers,
        good=good,
        now=now,
        **how,
    )
    return with_materials(plan, folder, address, now)
