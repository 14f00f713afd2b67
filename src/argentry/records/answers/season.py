"""A season at one or more places: what weather years make of its days, hours and weeks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as date_type

from argentry.records.day import Range


@dataclass(frozen=True)
class SeasonDay:
    """One day of a season.

    Attributes
    ----------
    date : date
        In the place's zone.
    plates : Range
        Plates that the day holds, over the weather years. [plates]
    some_plate : float
        Share of the weather years in which it holds one at least. [1]
    pose_minutes : float
        Shortest exposure within its hours, in the middle year; null where none is possible. [min]
    exposure_odds : tuple of float
        By full hour, see `SeasonPlace.hours`: share of the weather years in which the light is
        enough for an exposure begun then. [1]
    finished_odds : tuple of float
        By full hour: share of the years in which a plate exposed then is also ripe and taken out
        within the hours, and could be coated before. [1]
    """

    date: date_type
    plates: Range
    some_plate: float
    pose_minutes: float | None
    exposure_odds: tuple[float, ...]
    finished_odds: tuple[float, ...]


@dataclass(frozen=True)
class SeasonWeek:
    """Seven days from a Monday.

    Attributes
    ----------
    first : date
        Its Monday.
    plates : Range
        Plates that its days hold together, over the weather years. [plates]
    plate_days : Range
        Days of it that hold one at least. [d]
    five_days_odds : float
        Share of the weather years in which five days of it hold one at least. [1]
    sitter_hours : float
        Full hours in a day at which a sitter could be posed and the plate finished, on average.
        [h]
    pose_minutes : float
        Shortest exposure of a day, in the middle; null where none is possible. [min]
    """

    first: date_type
    plates: Range
    plate_days: Range
    five_days_odds: float
    sitter_hours: float
    pose_minutes: float | None


@dataclass(frozen=True)
class SeasonMonth:
    """The days of a season within one month.

    Attributes
    ----------
    first : date
        The first of them.
    days : int
        How many. [d]
    plate_days : Range
        Days that hold a plate at least, over the weather years. [d]
    plates_a_day : float
        Plates that a day holds, on average. [plates/d]
    pose_minutes : float
        Shortest exposure of a day, in the middle; null where none is possible. [min]
    """

    first: date_type
    days: int
    plate_days: Range
    plates_a_day: float
    pose_minutes: float | None


@dataclass(frozen=True)
class SeasonYear:
    """One weather year.

    Attributes
    ----------
    year : int
        The calendar year in which the season began, or the number of a drawn year.
    plates : int
        Plates that its days hold together.
    plate_days : int
        Days that hold one at least. [d]
    """

    year: int
    plates: int
    plate_days: int


@dataclass(frozen=True)
class SeasonPlace:
    """A season at one place.

    Attributes
    ----------
    place : str
        Its name.
    latitude_deg, longitude_deg : float
        [deg]
    time_zone : str
        IANA zone of its clock.
    climate : str
        Where its weather years are from.
    real_years : bool
        True for years as they were, False for years drawn from a climate.
    hours : tuple of str
        Full hours of the clock (HH:MM) that the odds of every day are told for.
    plates : Range
        Plates of the whole season, over the weather years. [plates]
    plate_days : Range
        Days of it that hold one at least. [d]
    days : tuple of SeasonDay
        Every day.
    weeks : tuple of SeasonWeek
        Every whole week.
    months : tuple of SeasonMonth
        Every month.
    years : tuple of SeasonYear
        Every weather year.
    sitting_weeks, workshop_weeks : tuple of date
        Mondays of the best weeks for sittings (most hours at which a sitter can be posed and the
        plate finished) and for a workshop (most plates in the year that is darker than nine in
        ten), the best first.
    notes : tuple of str
        What must be said of it.
    """

    place: str
    latitude_deg: float
    longitude_deg: float
    time_zone: str
    climate: str
    real_years: bool
    hours: tuple[str, ...]
    plates: Range
    plate_days: Range
    days: tuple[SeasonDay, ...]
    weeks: tuple[SeasonWeek, ...]
    months: tuple[SeasonMonth, ...]
    years: tuple[SeasonYear, ...]
    sitting_weeks: tuple[date_type, ...]
    workshop_weeks: tuple[date_type, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Season:
    """A season at one or more places.

    Attributes
    ----------
    studio : str
        Whose hours, instruments and numbers it is for.
    invented : bool
        True for the demo.
    first, last : date
        Its days.
    places : tuple of SeasonPlace
        Side by side, the studio's own first.
    notes : tuple of str
        What must be said of all.
    """

    studio: str
    invented: bool
    first: date_type
    last: date_type
    places: tuple[SeasonPlace, ...]
    notes: tuple[str, ...]
