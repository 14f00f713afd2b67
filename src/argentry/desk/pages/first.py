"""What the desk's pages show: runs, latest readings, plates."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry.desk.house import House, run_rows
from argentry.desk.pages.waiting import waiting_for_grade
from argentry.desk.plates.mistakes import rename_run, withdraw_opened
from argentry.desk.readings.at_house import latest_readings

if TYPE_CHECKING:
    from argentry.book.plate_list import PlateLine

RUNS_SHOWN = 12
PLATES_SHOWN = 12
ROWS_OF_A_PAGE = 100


def today(house: House) -> date:
    """Return the studio's date now."""
    return house.clock.now().astimezone(ZoneInfo(house.studio.site.time_zone)).date()


def first_page(house: House) -> dict[str, Any]:
    """Return what the first page shows.

    Returns
    -------
    dict
        ``runs``, ``waiting`` (for a grade), ``readings``, ``plates``, ``today`` and ``tomorrow``
        (ISO 8601).
    """
    from argentry.book.plate_list import last_made

    zone = ZoneInfo(house.studio.site.time_zone)
    day = today(house)
    runs = [
        {
            **row,
            "opened_here": _here(row["opened"], zone),
            "state": "open" if row["closed"] is None else "closed",
        }
        for row in run_rows(house, RUNS_SHOWN)
        if not row["withdrawn"]
    ]
    return {
        "runs": runs,
        "waiting": waiting_for_grade(house.book),
        "readings": [_shown(row) for row in latest_readings(house).values()],
        "plates": [_plate(line) for line in last_made(house.book, PLATES_SHOWN)],
        "find": "",
        "today": day.isoformat(),
        "tomorrow": (day + timedelta(days=1)).isoformat(),
    }


def plates_page(house: House, find: str, start: int) -> dict[str, Any]:
    """Return one page of plates.

    Parameters
    ----------
    house : House
        The open studio.
    find : str
        Part of a label.
    start : int
        Rows passed over.

    Returns
    -------
    dict
        ``plates``, ``total``, ``find``, and ``before`` and ``after``: where the pages
        beside it start, None at an end.
    """
    from argentry.book.plate_list import plate_page

    find = find.strip()
    lines, total = plate_page(house.book, find, start, ROWS_OF_A_PAGE)
    after = start + ROWS_OF_A_PAGE
    return {
        "plates": [_plate(line) for line in lines],
        "total": total,
        "find": find,
        "before": None if start == 0 else max(0, start - ROWS_OF_A_PAGE),
        "after": after if after < total else None,
    }


def _here(text: str, zone: ZoneInfo) -> str:
    return f"{datetime.fromisoformat(text).astimezone(zone):%Y-%m-%d %H:%M}"


def _plate(line: PlateLine) -> dict[str, Any]:
    return {
        "label": line.label,
        "size": line.size,
        "making": line.making,
        "day": line.day,
        "grade": line.grade,
        "defects": [name.replace("_", " ") for name in line.defects],
    }


def _shown(row: dict[str, Any]) -> dict[str, Any]:
    minutes = row["age_s"] / 60.0
    if minutes < 1.5:
        ago = "now"
    elif minutes < 90:
        ago = f"{minutes:.0f} min ago"
    elif minutes < 48 * 60:
        ago = f"{minutes / 60:.0f} h ago"
    else:
        ago = f"{minutes / 1440:.0f} days ago"
    return {**row, "ago": ago, "shown": f"{row['value']:.6g} {row['unit']}"}


def run_page(house: House, run: str) -> dict[str, Any] | None:
    """Return what the page of a run shows: ``run``, as on the first page; None without it."""
    row = next((one for one in run_rows(house) if one["run"] == run), None)
    if row is None:
        return None
    zone = ZoneInfo(house.studio.site.time_zone)
    state = "open" if row["closed"] is None else "closed"
    return {"run": {**row, "opened_here": _here(row["opened"], zone), "state": state}}


def rename(house: House, run: str, title: str, by: str) -> None:
    """Give a run another name."""
    rename_run(house.book, run, title, by=by or "host", at=house.clock.now())


def withdraw(house: House, run: str, why: str, by: str) -> None:
    """Say that a run was opened by mistake."""
    withdraw_opened(house.book, run, why, by=by or "host", at=house.clock.now())
