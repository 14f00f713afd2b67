"""A season in words and tables, the same on the terminal, the page and paper."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from argentry.records.answers.season import Season, SeasonPlace, SeasonWeek
    from argentry.records.day import Range

Heads = tuple[str, ...]
Rows = list[tuple[str, ...]]

HEAD = "{place}, {first} to {last}: {days} with a plate, {plates} plates in all."
YEARS = "{count} weather years: {climate}."
MONTHS = ("month", "days with a plate", "plates a day", "shortest pose")
PLACES = ("place", "days with a plate", "plates", "best for sittings", "best for a workshop")
WEEKS = (
    "week from",
    "plates",
    "days with a plate",
    "five such days",
    "hours for sittings",
    "shortest pose",
)
OF_DAYS = "{range} of {days}"
SITTINGS = (
    "Best weeks for sittings, by the hours of a day at which a sitter can be posed and the plate "
    "finished: {weeks}."
)
WORKSHOPS = "Best weeks for a workshop, by the plates of its seven days: {weeks}."
SITTING = "{week} ({hours:.1f})"
WORKSHOP = "{week} ({plates})"

NO_WEEK = "No week of it holds a plate."
NEVER, SELDOM = "none", "mostly none"
EIGHTY = "Ranges hold four weather years of five."


def day_words(day: date) -> str:
    """Return a date as 3 Mar."""
    return f"{day.day} {day:%b}"


def week_words(first: date) -> str:
    """Return a week as 1–7 Jun, or 29 Jun–5 Jul."""
    last = first + timedelta(days=6)
    begin = f"{first.day}" if first.month == last.month else day_words(first)
    return f"{begin}–{day_words(last)}"


def range_words(found: Range) -> str:
    """Return a range of whole things: 12, or 12–15."""
    low, high = f"{found.low:.0f}", f"{found.high:.0f}"
    return low if low == high else f"{low}–{high}"


def pose_words(minutes: float | None, days: Range) -> str:
    """Return a pose as it is said: none, or none on most of the days though some hold a plate."""
    if minutes is None:
        return SELDOM if days.high > 0.0 else NEVER
    if minutes < 2.0:
        return f"{round(60.0 * minutes, -1):.0f} s"
    return f"{minutes:.1f} min" if minutes < 10.0 else f"{minutes:.0f} min"


def place_head(season: Season, place: SeasonPlace) -> str:
    """Return a season at a place in a line."""
    return HEAD.format(
        place=place.place,
        first=f"{day_words(season.first)} {season.first.year}",
        last=f"{day_words(season.last)} {season.last.year}",
        days=OF_DAYS.format(range=range_words(place.plate_days), days=len(place.days)) + " days",
        plates=range_words(place.plates),
    )


def month_rows(place: SeasonPlace) -> tuple[Heads, Rows]:
    """Return heads and rows of a table of the months."""
    rows: Rows = [
        (
            f"{month.first:%B %Y}",
            OF_DAYS.format(range=range_words(month.plate_days), days=month.days),
            f"{month.plates_a_day:.1f}",
            pose_words(month.pose_minutes, month.plate_days),
        )
        for month in place.months
    ]
    return MONTHS, rows


def week_rows(place: SeasonPlace) -> tuple[Heads, Rows]:
    """Return heads and rows of a table of all weeks."""
    rows: Rows = [
        (
            week_words(week.first),
            range_words(week.plates),
            range_words(week.plate_days),
            f"{100.0 * week.five_days_odds:.0f} %",
            f"{week.sitter_hours:.1f} h",
            pose_words(week.pose_minutes, week.plate_days),
        )
        for week in place.weeks
    ]
    return WEEKS, rows


def best_lines(place: SeasonPlace) -> list[str]:
    """Return the best weeks in lines."""
    by = {week.first: week for week in place.weeks}
    if not place.workshop_weeks and not place.sitting_weeks:
        return [NO_WEEK]
    return [
        SITTINGS.format(weeks=", ".join(_sitting(by[first]) for first in place.sitting_weeks)),
        WORKSHOPS.format(weeks=", ".join(_workshop(by[first]) for first in place.workshop_weeks)),
    ]


def _sitting(week: SeasonWeek) -> str:
    return SITTING.format(week=week_words(week.first), hours=week.sitter_hours)


def _workshop(week: SeasonWeek) -> str:
    return WORKSHOP.format(week=week_words(week.first), plates=range_words(week.plates))


def compared(season: Season) -> tuple[Heads, Rows]:
    """Return heads and rows of a table of the places."""
    rows: Rows = [
        (
            place.place,
            range_words(place.plate_days),
            range_words(place.plates),
            week_words(place.sitting_weeks[0]) if place.sitting_weeks else NEVER,
            week_words(place.workshop_weeks[0]) if place.workshop_weeks else NEVER,
        )
        for place in season.places
    ]
    return PLACES, rows


def notes_of(place: SeasonPlace) -> list[str]:
    """Return what must be said of a season at a place: its weather first."""
    return [YEARS.format(count=len(place.years), climate=place.climate), *place.notes, EIGHTY]
