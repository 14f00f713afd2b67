"""The public functions, for a notebook: each takes plain values and returns a frozen dataclass.

What an answer holds, with units, stands in its docstring and in docs/json.md; `plain` turns it into
dicts and lists. Bad input raises `BadInput`, one sentence with what would be right.

>>> import argentry
>>> argentry.coat(25).srgb
'#DBBD8C'
>>> told = argentry.plain(argentry.air(temperature_c=20, relative_humidity_pct=60))
>>> round(told["dew_point_c"], 1)
12.0
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, datetime
from inspect import signature
from pathlib import Path
from typing import Any

import numpy as np

from argentry.day.plan import make_day
from argentry.desk.learning import batch, causes, comparison, next_trial
from argentry.desk.learning import odds as odds_of
from argentry.desk.learning.standing import Asked
from argentry.desk.numbers.makings import Gathered, gather
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.desk.wishes import plan_day as plan_wished
from argentry.errors import BadInput, unknown
from argentry.given import checked, look
from argentry.keeping import studio as studios
from argentry.keeping import weather as weathers
from argentry.needs import air as airs
from argentry.needs import coat as coats
from argentry.needs import develop as development
from argentry.needs import expose as exposure
from argentry.needs import fume as fuming
from argentry.needs import light as lights
from argentry.needs.camera import Camera
from argentry.needs.frame import Frame
from argentry.needs.numbers import studio_now
from argentry.records.answers.develop import DevelopAnswer
from argentry.records.answers.expose import ExposeAnswer
from argentry.records.answers.fume import FumeAnswer
from argentry.records.day import DayPlan
from argentry.records.needs import StudioNow
from argentry.records.plain import plain
from argentry.records.studio import Studio
from argentry.records.weather import Outlook, Weather
from argentry.records.wishes import NOTHING_WISHED, Sitter, Wishes
from argentry.sky.meter_reading import MeterReading
from argentry.sky.place import Place, resolve_place, to_utc

NO_DATE, A_DATE = "{given!r} is not a date", "give one as 2026-06-21"
NO_TIME, A_TIME = "{given!r} is not a date with a time", "give both, as 2026-06-21T13:00"

__all__ = [
    "BadInput",
    "Sitter",
    "Wishes",
    "air",
    "coat",
    "coat_of_word",
    "coats_of_colour",
    "compare",
    "develop",
    "expose",
    "fume",
    "learned",
    "light",
    "load_plates",
    "load_studio",
    "next_plate",
    "odds",
    "plain",
    "plan_day",
    "plates_needed",
    "read_weather",
    "why",
    "why_studio",
]

load_studio = checked("load_studio")(studios.load_studio)
read_weather = checked("read_weather")(weathers.read_weather)
air = checked("air")(airs.room_air)
coat = checked("coat")(coats.coat_report)
coat_of_word = checked("coat_of_word")(coats.coat_for_word)
coats_of_colour = checked("coats_of_colour")(coats.coat_candidates)
light = checked("light", MeterReading)(lights.light_report)
compare = checked("compare")(comparison.compare_settings)
learned = checked("learned")(causes.learned)
next_plate = checked("next_plate")(next_trial.next_plate)
odds = checked("odds", Asked)(odds_of.plate_odds)
plates_needed = checked("plates_needed")(batch.plates_needed)
why = checked("why")(causes.why_failed)
why_studio = checked("why_studio")(causes.why_studio_wide)


@checked("load_plates")
def load_plates(studio: Path | str | None = None, table: Path | str | None = None) -> Gathered:
    """Return the plates to learn from: of a studio's book, or of a table of plates.

    Parameters
    ----------
    studio : Path or str, optional
        Studio folder.
    table : Path or str, optional
        CSV, ODS or XLSX; taken instead of the book.
    """
    folder = None if studio is None else Path(studio)
    return gather(folder, None, None if table is None else Path(table))


def _now(studio: Studio | None, plates: Gathered | None) -> StudioNow:
    if studio is None:
        return StudioNow()
    numbers = None if plates is None else learned_numbers(plates, with_odds=False)
    return studio_now(studio, numbers)


def _place(studio: Studio | None, lat: float | None, lon: float | None, tz: str | None) -> Place:
    return resolve_place(studio, lat, lon, tz=tz)


def _fields(kind: type[Any], how: dict[str, Any]) -> Any:
    """Return a record made of named values, each of its field's kind."""
    _look_at(how, {one.name: str(one.type) for one in fields(kind)})
    return kind(**how)


def _look_at(how: Mapping[str, Any], kinds: Mapping[str, str]) -> None:
    for name, value in how.items():
        if name not in kinds:
            raise unknown(name, "argument", name, tuple(kinds))
        look(name, value, kinds[name])


def _moment(where: str, when: datetime | str, place: Place) -> datetime:
    """Return a moment in UTC, also of its ISO text or of one of NumPy's."""
    read = when
    if isinstance(when, np.datetime64):
        finest = when.astype("datetime64[us]")  # what a datetime can hold
        read = (finest if np.datetime_data(when.dtype)[0] == "ns" else when).item()
    if isinstance(when, str):
        try:
            read = datetime.fromisoformat(when)
        except ValueError:
            raise _no_time(where, when) from None
    if not isinstance(read, datetime):
        raise _no_time(where, str(when))
    return to_utc(where, read, place.time_zone)


def _no_time(where: str, given: str) -> BadInput:
    return BadInput(where, NO_TIME, A_TIME, given=given[:40])


def _date(day: date | str) -> date:
    """Return a date, also of its ISO text."""
    if isinstance(day, str):
        try:
            return date.fromisoformat(day)
        except ValueError:
            raise BadInput("day", NO_DATE, A_DATE, given=day[:40]) from None
    if not isinstance(day, date):
        raise BadInput("day", NO_DATE, A_DATE, given=str(day)[:40])
    return day.date() if isinstance(day, datetime) else day


@checked("fume", fuming.Fuming)
def fume(
    thickness_nm: float,
    studio: Studio | None = None,
    *,
    plates: Gathered | None = None,
    **how: Any,
) -> FumeAnswer:
    """Return the seconds over iodine to a thickness.

    Parameters
    ----------
    thickness_nm : float
        Wanted coat. [nm]
    studio : Studio, optional
        Gives what `how` leaves open, else the trade does.
    plates : Gathered, optional
        What these taught is used.
    **how
        Fields of `argentry.needs.fume.Fuming`: ``box_temperature_c``, ``gap_mm``, ...

    Examples
    --------
    >>> import argentry
    >>> answer = argentry.fume(25, box_temperature_c=20, gap_mm=20)
    >>> low, high = answer.seconds_80
    >>> low < answer.seconds < high
    True
    """
    return fuming.fume(
        _fields(fuming.Fuming, {"thickness_nm": thickness_nm, **how}), _now(studio, plates)
    )


@checked("expose", Camera)
def expose(
    when: datetime | str,
    studio: Studio | None = None,
    *,
    lat: float | None = None,
    lon: float | None = None,
    tz: str | None = None,
    weather: Weather | None = None,
    plates: Gathered | None = None,
    **camera: Any,
) -> ExposeAnswer:
    """Return the minutes before the camera, and how still the sitter must be.

    Parameters
    ----------
    when : datetime or str
        When the lens is uncapped, also as ISO text; without an offset by the clock of the place.
    studio : Studio, optional
        Gives the place and what `camera` leaves open.
    lat, lon : float, optional
        The place instead. [deg]
    tz : str, optional
        Its time zone.
    weather : Weather, optional
        Of `read_weather`; a clear sky without.
    plates : Gathered, optional
        What these taught is used.
    **camera
        Fields of `argentry.needs.camera.Camera`: ``f_number``, ``plane``, ``pose``, ...

    Examples
    --------
    >>> import argentry
    >>> from datetime import datetime
    >>> noon = datetime(2026, 6, 21, 13, 0)
    >>> answer = argentry.expose(noon, lat=42, lon=-1, tz="Europe/Madrid", f_number=4)
    >>> answer.light_suffices, answer.minutes < answer.minutes_80[1]
    (True, True)
    """
    place = _place(studio, lat, lon, tz)
    moment = _moment("when", when, place)
    return exposure.expose(place, moment, _fields(Camera, camera), _now(studio, plates), weather)


@checked("develop", Frame)
def develop(
    start: datetime | str,
    studio: Studio | None = None,
    *,
    lat: float | None = None,
    lon: float | None = None,
    tz: str | None = None,
    weather: Weather | None = None,
    plates: Gathered | None = None,
    **frame: Any,
) -> DevelopAnswer:
    """Return when a plate put under its filter is ripe.

    Parameters
    ----------
    start : datetime or str
        When development begins, also as ISO text; without an offset by the clock of the place.
    studio, lat, lon, tz, weather, plates
        As `expose`.
    **frame
        Fields of `argentry.needs.frame.Frame`: ``cut_on_nm``, ``lamp_w``, ``lamp_m``, ...

    Examples
    --------
    >>> import argentry
    >>> from datetime import datetime
    >>> answer = argentry.develop(datetime(2026, 6, 21, 11, 0), lat=42, lon=-1, tz="Europe/Madrid")
    >>> answer.light_suffices
    True
    """
    place = _place(studio, lat, lon, tz)
    moment = _moment("start", start, place)
    now = _now(studio, plates)
    return development.develop(place, moment, _fields(Frame, frame), now, weather)


@checked("plan_day", Wishes, make_day)
def plan_day(
    studio: Studio,
    day: date | str,
    *,
    plates: int | None = None,
    weather: Weather | None = None,
    taught_by: Gathered | None = None,
    wishes: Wishes = NOTHING_WISHED,
    **how: Any,
) -> DayPlan:
    """Plan a day: every step with its latest safe start, light and odds by the hour.

    Parameters
    ----------
    studio : Studio
        Of `load_studio`.
    day : date or str
        The date, also as ISO text, in the studio's zone.
    plates : int, optional
        How many are wanted, 1 to 12; else the most that are all finished on four days in five.
    weather : Weather, optional
        Of `read_weather`; a clear sky without.
    taught_by : Gathered, optional
        Of `load_plates`: what they taught is used.
    wishes : Wishes, optional
        What is asked of this day alone: other hours, breaks, hands.
    **how
        As `argentry.day.plan.make_day`.
    """
    _look_at(
        how, {one.name: str(one.annotation) for one in signature(make_day).parameters.values()}
    )
    for sitter in wishes.sitters:
        look("sitters", sitter, "Sitter")
    numbers = None if taught_by is None else learned_numbers(taught_by)
    outlook = Outlook(weather)
    return plan_wished(
        studio, _date(day), wishes, plates=plates, outlook=outlook, learned=numbers, **how
    )
