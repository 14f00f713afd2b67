"""The working days of the invented year: when, how cloudy, how warm and how damp."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, pi

from argentry import trade
from argentry.demo.chance import happens, normal, weighted
from argentry.demo.plate_story import day_of, fact, within

COLDEST_DAY, DAMPEST_DAY = 20, 310  # days of the year
MORNING = 9.0  # hour at which the room is stated [h]


@dataclass(frozen=True)
class Session:
    """One working day.

    Attributes
    ----------
    number : int
        From 1.
    day : date
        On the wall clock.
    plates : int
        How many are begun, when the light allows.
    morning_okta, evening_okta : float
        Cloud at the ends of the day; even between. [okta]
    room_c, room_rh_pct : float
        At nine. [°C, %]
    hygrometer : bool
        False on days on which it did not work.
    """

    number: int
    day: date
    plates: int
    morning_okta: float
    evening_okta: float
    room_c: float
    room_rh_pct: float
    hygrometer: bool

    def room_at(self, hour: float) -> float:
        """Return the room's air at an hour of the wall clock, in °C."""
        return self.room_c + fact("room_rise") * (hour - MORNING)

    def humidity_at(self, hour: float) -> float:
        """Return the room's relative humidity at an hour, in %: it falls as the room warms."""
        return min(max(self.room_rh_pct - 0.7 * (hour - MORNING), 15.0), 97.0)


def season(day: date, peak: int) -> float:
    """Return +1 on day `peak` of the year, -1 half a year away, a cosine between."""
    return cos(2.0 * pi * (day.timetuple().tm_yday - peak) / 365.25)


def sessions() -> tuple[Session, ...]:
    """Return every working day of the year, in order."""
    return tuple(_session(number, day) for number, day in enumerate(_days(), start=1))


def _days() -> Iterator[date]:
    first = day_of("first_week")
    for week in range(int(trade.toml("demo")["dates"]["weeks"])):
        saturday = first + timedelta(days=7 * week)
        if within(saturday, "away") or happens(fact("skipped_share"), week, "skipped"):
            continue
        wednesday = saturday - timedelta(days=3)
        if 4 <= saturday.month <= 9 and happens(fact("midweek_share"), week, "midweek"):
            yield wednesday
        sunday = saturday + timedelta(days=1)
        # the maker takes the brighter day of the weekend, when free to choose
        brighter = sunday if _okta(sunday) < _okta(saturday) else saturday
        day = brighter if happens(0.7, week, "free") else saturday
        if _okta(day) < fact("stay_home_okta") or happens(0.25, week, "tries all the same"):
            yield day


def _okta(day: date) -> float:
    winter, summer = fact("week_cloud_winter"), fact("week_cloud_summer")
    mean = 0.5 * (winter + summer) + 0.5 * (winter - summer) * season(day, COLDEST_DAY)
    return min(max(mean + fact("day_cloud_sd") * normal(day, "cloud"), 0.0), 8.0)


def _session(number: int, day: date) -> Session:
    okta = _okta(day)
    turn = normal(day, "turn of the weather")
    room = (
        fact("room_mean")
        - fact("room_swing") * season(day, COLDEST_DAY)
        + fact("room_day_sd") * normal(day, "room")
    )
    damp = (
        fact("damp_mean")
        + fact("damp_swing") * season(day, DAMPEST_DAY)
        + fact("damp_day_sd") * normal(day, "damp")
        + fact("damp_per_okta") * (okta - 4.0)
    )
    return Session(
        number=number,
        day=day,
        plates=weighted({1: 0.16, 2: 0.34, 3: 0.36, 4: 0.14}, day, "plates"),
        morning_okta=min(max(okta - turn, 0.0), 8.0),
        evening_okta=min(max(okta + turn, 0.0), 8.0),
        room_c=room,
        room_rh_pct=damp,
        hygrometer=not happens(0.06, day, "hygrometer"),
    )
