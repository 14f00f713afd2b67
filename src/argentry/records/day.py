"""A planned day: what the sheets show and what the bench will run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from datetime import date as calendar_date

from argentry.records.answers.doubt import Doubt
from argentry.records.decision import Learned
from argentry.records.needs import NumberInUse
from argentry.records.plain import Endless
from argentry.records.units import Units
from argentry.records.weather import LightRead, WeatherOrigin
from argentry.records.wishes import NOTHING_WISHED, Wishes

MOST_PLATES = 12  # of a day's plan, and of a run


def day_in_words(day: date, *, year: bool = True) -> str:
    """Return a day as 21 June 2026; without its year where that is known."""
    return f"{day.day} {day:%B %Y}" if year else f"{day.day} {day:%B}"


def weekday_and_date(day: date, *, year: bool = True) -> str:
    """Return a day as Sunday 21 June 2026; without its year where that is known."""
    return f"{day:%A} {day_in_words(day, year=year)}"


@dataclass(frozen=True)
class Range:
    """A middle value with the range that holds 80 % of the days.

    Attributes
    ----------
    low, middle, high : float
        10th, 50th and 90th percentile, in the unit its user names; null where it never ends. The
        middle of a number of plates is the mean: a median of 0 would hide good plates.
    """

    low: Endless
    middle: Endless
    high: Endless


END_OF = "the end of {step}"  # what a keeping limit runs from, where it is not ripeness
WITHIN = "within {minutes:.0f} min of {event}"
EVENT_MINUTES = 60.0  # a limit up to this is told by what it runs from, which may move [min]
URGENT_MINUTES = 30.0  # what has less of its keeping limit left than this goes first [min]
BREAK_GRACE_MINUTES = 10.0  # by which work that was begun may run into a break on the day [min]
IN_SECONDS = 150.0  # shorter steps are told in whole seconds, as the bench page does [s]
USUAL_UNITS = Units()
NOT_KNOWN = Range(float("nan"), float("nan"), float("nan"))


@dataclass(frozen=True)
class PlannedStep:
    """One step of one plate on the day.

    Attributes
    ----------
    plate : int
        Number of the plate in the day, from 1; 0 for a step that serves the whole day.
    step : str
        Key of the step in ``steps.toml``.
    title : str
        What the hands do, as printed.
    resource : str
        ``"hands"``, or the name of the box, camera or frame it also holds.
    attended : bool
        True when it needs hands all the time.
    start, end : datetime
        Planned, in the studio's zone.
    latest_start : datetime
        Latest start with nothing lost that day.
    float_minutes : float
        `latest_start` less `start`. [min]
    start_low, start_high : datetime
        Range of the start on 80 % of simulated days and more: it holds the planned start.
    minutes : Range
        Duration. [min]
    look_for : str
        The sign that it is right.
    check : str
        The cheap check, or an empty string when the step has none.
    cautions : tuple of str
        Shown before the step.
    event : str
        What its keeping limit runs from, in words; empty where nothing spoils before it.
    within_minutes : float or None
        That limit. [min]
    limit_first : bool
        True when that limit comes before the latest start that the rest of the day allows: then
        `latest_start` moves with what it runs from.
    doubt : Doubt or None
        What the range of an exposure or a development is made of; null for other steps.
    veiled : datetime or None
        When the shadows of a developing plate veil; null for other steps, and when the light ends
        before.
    """

    plate: int
    step: str
    title: str
    resource: str
    attended: bool
    start: datetime
    end: datetime
    latest_start: datetime
    float_minutes: float
    start_low: datetime
    start_high: datetime
    minutes: Range
    look_for: str
    check: str
    cautions: tuple[str, ...]
    event: str = ""
    within_minutes: float | None = None
    limit_first: bool = False
    doubt: Doubt | None = None
    veiled: datetime | None = None


def by_event(step: PlannedStep) -> bool:
    """Tell whether what ended before a step says when it must begin, rather than the clock."""
    return step.within_minutes is not None and (
        step.limit_first or step.within_minutes <= EVENT_MINUTES
    )


def within(step: PlannedStep) -> str:
    """Return the keeping limit of a step that has one: ``within 60 min of look``."""
    event = step.event.removeprefix(END_OF.format(step=""))
    return WITHIN.format(event=event, minutes=step.within_minutes)


@dataclass(frozen=True)
class HourLight:
    """Light and odds of one start hour.

    Attributes
    ----------
    time : datetime
        Start of the hour, studio's zone.
    sun_elevation_deg : float
        Height of the sun. [deg]
    exposure_w_m2, development_w_m2 : Range
        Light over the hour as the weather may turn. [W/m2]
    exposure_minutes : Range
        Minutes before the camera when begun at this hour; null where it cannot be done. [min]
    exposure_suffices : float
        Probability that an exposure begun at this hour ends within the longest allowed. [1]
    development_suffices : float
        Probability that a plate whose development begins at this hour is ripe by the deadline. [1]
    development_end : datetime or None
        When it is ripe on the middle day; null when it is not.
    """

    time: datetime
    sun_elevation_deg: float
    exposure_w_m2: Range
    development_w_m2: Range
    exposure_minutes: Range
    exposure_suffices: float
    development_suffices: float
    development_end: datetime | None


@dataclass(frozen=True)
class Proof:
    """What the solver can say about the plan.

    Attributes
    ----------
    finish_minutes : float
        From the day's start to the end of the last plate. [min]
    bound_minutes : float
        No plan can finish earlier than this. [min]
    optimal : bool
        True when a plan that finishes then was found.
    earliest_minutes : float
        End of the plan found that ends earliest; another may give more good plates. [min]
    first_plan_seconds, seconds : float
        Time to a first plan and in all. [s]
    """

    finish_minutes: Endless
    bound_minutes: Endless
    optimal: bool
    first_plan_seconds: Endless
    seconds: Endless
    earliest_minutes: Endless = float("nan")


@dataclass(frozen=True)
class Pause:
    """A time of the day without hands.

    Attributes
    ----------
    start, end : datetime
        From and to.
    """

    start: datetime
    end: datetime


@dataclass(frozen=True)
class Appointment:
    """A sitter of the day.

    Attributes
    ----------
    time : datetime
        When the pose is to begin.
    name : str
        Who; empty when not said.
    plate : int or None
        Number of the plate; null when none could be placed for this sitter.
    pose_start, pose_end : datetime or None
        The pose as planned.
    size : str
        Plate size asked for; empty: the usual one.
    f_number : float or None
        Opening asked for; null: the usual one. [1]
    """

    time: datetime
    name: str
    plate: int | None
    pose_start: datetime | None
    pose_end: datetime | None
    size: str = ""
    f_number: float | None = None


@dataclass(frozen=True)
class Amount:
    """What the day uses up of one material.

    Attributes
    ----------
    name : str
        What.
    amount : str
        How much, with its unit.
    """

    name: str
    amount: str


@dataclass(frozen=True)
class DayPlan:
    """A day, planned: steps with latest safe starts and ranges, odds by hour, what it rests on.

    Attributes
    ----------
    studio, place : str
        Name of the studio and name of the place.
    invented : bool
        True for the demo: place and people are invented.
    date : date
        The day.
    time_zone : str
        IANA name of the zone of every time.
    begin, end : datetime
        When hands come and when they leave.
    breaks : tuple of Pause
        When they are not there in between.
    sunrise, sunset : datetime or None
        Over and behind the skyline; null when the sun does not pass it.
    weather : str
        Where the weather came from, one line.
    warnings : tuple of str
        Loud notes: no weather file, night, dew, convection, leakage, light that may fail.
    plates_asked : int
        How many were wanted.
    plates_placed : int
        How many the plan holds.
    plates_most : int
        The most this day holds as far as found.
    plates_most_proved : bool
        True when one more is proved impossible.
    steps : tuple of PlannedStep
        Every step of every plate, in order of start.
    hours : tuple of HourLight
        Light and odds by hour of beginning.
    minutes_overlapped, minutes_one_by_one : float
        Length of the day with plates overlapped during development, and one after the other. [min]
    finished : Range
        Number of plates finished, its mean and range over the simulated days. [plates]
    all_finished_share : float
        Share of simulated days on which every placed plate was finished in time. [1]
    light_odds : float
        Share of simulated days on which no placed plate is missed for want of light. [1]
    good_share : Range
        Chance that a plate that is finished is good. [1]
    good_share_plates : int
        Plates behind it; 0 means that it is only the trade's starting value.
    good_plates : Range
        Good plates of the day, their mean and range. [plates]
    proof : Proof
        What the solver says.
    days_simulated : int
        Number of simulated days behind every range.
    materials : tuple of Amount
        What the day uses up.
    coat : Mapping[str, str]
        The coat aimed at, in words: thickness, colour, screen colour, time over iodine.
    cautions : tuple of str
        General cautions of the day; local codes and suppliers' safety data sheets decide.
    plates_one_by_one : int
        Plates the day holds when none is begun before the one before is done.
    learned : tuple of Learned
        The studio's own numbers that its plates taught and this plan was made with.
    over_iodine_seconds : Range
        Time over iodine, without the handling at the box. [s]
    numbers_in_use : tuple of NumberInUse
        The studio's own numbers behind the plan: learned or believed.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    units : Units
        In which the sheets are printed; every number here keeps the unit of its name.
    wishes : Wishes
        What was asked of this day alone.
    next_day : date or None
        Of a day that holds no plate, the next that does, as far as was looked; else null.
    polished : tuple of int
        Plates that come polished from the evening before.
    another_day : tuple of str
        What is left for another day: titles of the steps.
    appointments : tuple of Appointment
        Sitters who come at a set time.
    weather_file : bool
        True when a file says how the sky may turn; false: times are those of a clear sky.
    weather_origin : WeatherOrigin or None
        Service, age and licence of a forecast that came by itself; null for a file or none.
    light_read : LightRead or None
        What the light of the day was read to be, which goes before the forecast; null without.
    one_more : bool
        True when a plate more may be begun on days that go well: materials are counted for it too.
    lacking : tuple of str
        Of the warnings the first ones: which materials there is too little of for its plates.
    """

    studio: str
    place: str
    invented: bool
    date: date
    time_zone: str
    begin: datetime
    end: datetime
    breaks: tuple[Pause, ...]
    sunrise: datetime | None
    sunset: datetime | None
    weather: str
    warnings: tuple[str, ...]
    plates_asked: int
    plates_placed: int
    plates_most: int
    plates_most_proved: bool
    steps: tuple[PlannedStep, ...]
    hours: tuple[HourLight, ...]
    minutes_overlapped: Endless
    minutes_one_by_one: Endless
    finished: Range
    all_finished_share: float
    light_odds: float
    good_share: Range
    good_share_plates: int
    good_plates: Range
    proof: Proof
    days_simulated: int
    materials: tuple[Amount, ...]
    coat: Mapping[str, str]
    cautions: tuple[str, ...]
    plates_one_by_one: int = 0
    learned: tuple[Learned, ...] = ()
    over_iodine_seconds: Range = NOT_KNOWN
    numbers_in_use: tuple[NumberInUse, ...] = ()
    as_written: bool = False
    wishes: Wishes = NOTHING_WISHED
    units: Units = USUAL_UNITS
    next_day: calendar_date | None = None
    polished: tuple[int, ...] = ()
    another_day: tuple[str, ...] = ()
    appointments: tuple[Appointment, ...] = ()
    weather_file: bool = False
    weather_origin: WeatherOrigin | None = None
    light_read: LightRead | None = None
    one_more: bool = False
    lacking: tuple[str, ...] = ()
