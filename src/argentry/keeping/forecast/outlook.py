"""A fresh forecast of a service, else the last one kept, and what is said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from argentry.errors import BadInput
from argentry.exchange.services import kept
from argentry.exchange.services.kept import Kept
from argentry.exchange.services.known import SERVICES
from argentry.keeping.forecast import beside
from argentry.keeping.forecast.consent import ask_of, need_consent
from argentry.keeping.forecast.no_forecast import climate_outlook
from argentry.keeping.forecast.record import record_words, records_of
from argentry.records.studio import NO_SERVICE, Studio
from argentry.records.weather import Outlook, Weather, WeatherOrigin
from argentry.sky.place import resolve_place

LONGEST_AHEAD = timedelta(days=16)  # no service looks farther
FETCHED = "{title}, fetched {time:%a} {time.day} {time:%b %H:%M}"
OLD = "The forecast of {title} is {age} old: {why}."
COMING = "a newer one is being fetched for the next plan"
NONE_KEPT = "No forecast covers this day: {why}."
FETCHING = "{title} is being asked, plan again in a minute"
TOO_FAR = "no service looks that far ahead"
IT_ENDS = "that of {title} ends on {day}"
DIFFER = 0.1  # of a clear day's light
UNLIKE = (
    "The forecasts differ: {title}, used here, leaves {share:.0f} % of a clear day's light, "
    "{other} {as_other:.0f} %."
)
LEFT_OPEN = "that of {title} leaves bright hours of it open"
NO_BETTER = "that of {title} is no better than the season's clouds"
INSTEAD = "The forecast of {title} is used instead of that of {missing}: {why}."


@dataclass(frozen=True)
class Candidate:
    """A kept forecast.

    Attributes
    ----------
    kept : Kept
        As received.
    weather : Weather
        What it says.
    fresh : bool
        True while nothing newer is to be asked for.
    """

    kept: Kept
    weather: Weather
    fresh: bool


def age_words(age: timedelta) -> str:
    """Return an age in words: 25 min, 7 h, 3 days."""
    minutes = max(age.total_seconds(), 0.0) / 60.0
    if minutes < 100:
        return "{minutes:.0f} min".format(minutes=minutes)
    if minutes < 48 * 60:
        return "{hours:.0f} h".format(hours=minutes / 60.0)
    return "{days:.0f} days".format(days=minutes / 1440.0)


def kept_weather(folder: Path, studio: Studio, key: str, now: datetime) -> Candidate | None:
    """Return the kept forecast of a service for this place; None where there is none.

    Raises
    ------
    BadInput
        If the kept answer cannot be understood.
    """
    answer, ask = kept.kept_answer(folder, key), ask_of(studio, key, now)
    if answer is None or not answer.is_for(ask.latitude_deg, ask.longitude_deg):
        return None
    time = answer.fetched.astimezone(ZoneInfo(studio.site.time_zone))
    source = FETCHED.format(title=SERVICES[key].title, time=time)
    record = records_of(folder).get(key)
    weather = replace(
        answer.weather(),
        source=source,
        issued_utc=np.datetime64(answer.fetched.astimezone(UTC).replace(tzinfo=None), "s"),
        widened=1.0 if record is None else record.widened,
        cloudier=0.0 if record is None else record.cloudier,
    )
    return Candidate(answer, weather, now < answer.expires)


def light_of_day(weather: Weather, studio: Studio, day: date, now: datetime | None) -> float | None:
    """Return the share of a clear day's light that a forecast leaves to a day's hours [1].

    None where it leaves a bright hour of them open.
    """
    from argentry.day.day_clock import clock_of
    from argentry.sky.sky_day import sky_day
    from argentry.sky.weather.days import hourly_sky

    times = clock_of(studio, day, now).times_utc()[::15]
    clear = sky_day(resolve_place(studio), np.asarray(times))
    try:
        likely = hourly_sky(weather, clear)
    except BadInput:
        return None
    whole = float(clear.global_w_m2.sum())
    return float(likely.global_share @ clear.global_w_m2) / whole if whole > 0.0 else 0.0


def outlook_of(folder: Path, studio: Studio, day: date, now: datetime | None = None) -> Outlook:
    """Return what a day is planned by; never waits for a service.

    A service is asked in the background when its kept answer is outdated and it may be asked.

    Parameters
    ----------
    folder : Path
        The studio folder.
    studio : Studio
        As its file is now.
    day : date
        In the studio's zone.
    now : datetime or None
        The moment; None: now.
    """
    own, now = studio.weather, now or datetime.now(UTC)
    if own.source == NO_SERVICE:
        return climate_outlook(folder, studio, day, wanted=False)
    try:
        need_consent(studio, own.source)
    except BadInput as error:
        return climate_outlook(folder, studio, day, str(error), wanted=False)
    today = now.astimezone(ZoneInfo(studio.site.time_zone)).date()
    if not today <= day <= today + LONGEST_AHEAD:
        far = (NONE_KEPT.format(why=TOO_FAR),) if day > today else ()
        return climate_outlook(folder, studio, day, *far, wanted=day > today)
    found: dict[str, Candidate] = {}
    light: dict[str, float] = {}
    records = records_of(folder)
    worse: list[str] = []
    ends: list[str] = []
    due = True
    others = tuple(key for key in own.agreed if key != own.source)
    for key in (own.source, *others):
        one = _readable(folder, studio, key, now)
        if one is None:
            continue
        if key == own.source:
            due = not one.fresh
        share = light_of_day(one.weather, studio, day, now)
        if share is not None and key in records and records[key].worse:
            worse.append(record_words(key, records[key]))
            ends.append(NO_BETTER.format(title=SERVICES[key].title))
        elif share is not None:
            found[key], light[key] = one, share
        else:
            ends.append(_open(one.weather, SERVICES[key].title, day))
    why = _asked_again(folder, own.source, now) if due else ""
    fresh = [key for key, one in found.items() if one.fresh]
    chosen = next(iter([*fresh, *sorted(found, key=lambda key: -_fetched(found[key]))]), None)
    if chosen is None:
        coming = [why or FETCHING.format(title=SERVICES[own.source].title)] if due else []
        none = () if worse else (NONE_KEPT.format(why="; ".join([*ends, *coming])),)
        return climate_outlook(folder, studio, day, *worse, *none)
    if not due and chosen != own.source:
        why = ends[0]
    said = differing(chosen, {key: light[key] for key in fresh})
    made = _outlook(found[chosen], own.source, why or COMING, now)
    return replace(made, said=(*worse, *made.said, *said))


def differing(chosen: str, light: Mapping[str, float]) -> tuple[str, ...]:
    """Return a sentence where fresh forecasts differ by more than `DIFFER` of a clear day's light.

    Parameters
    ----------
    chosen : str
        Service that the day is planned by.
    light : Mapping[str, float]
        Of each service, the share of a clear day's light. [1]
    """
    own = light.get(chosen)
    others = [key for key in light if key != chosen]
    if own is None or not others:
        return ()
    far = max(others, key=lambda key: abs(light[key] - own))
    if abs(light[far] - own) <= DIFFER:
        return ()
    title, other = SERVICES[chosen].title, SERVICES[far].title
    return (
        UNLIKE.format(title=title, share=100.0 * own, other=other, as_other=100.0 * light[far]),
    )


def kept_path(folder: Path, outlook: Outlook) -> Path | None:
    """Return the file of a service's forecast, for a run that is planned by it."""
    return None if outlook.origin is None else kept.kept_file(folder, outlook.origin.service)


def _open(weather: Weather, title: str, day: date) -> str:
    """Return why a forecast does not cover a day."""
    last = weather.start_utc[-1].astype("datetime64[D]").astype(date)
    return (IT_ENDS if last < day else LEFT_OPEN).format(title=title, day=last)


def _fetched(one: Candidate) -> float:
    return one.kept.fetched.timestamp()


def _readable(folder: Path, studio: Studio, key: str, now: datetime) -> Candidate | None:
    try:
        return kept_weather(folder, studio, key, now)
    except BadInput:  # by a newer argentry, or damaged: it is fetched again
        return None


def _asked_again(folder: Path, key: str, now: datetime) -> str:
    """Ask a service in the background unless it may not be asked yet; return what troubled it."""
    trouble = kept.trouble_with(folder, key)
    if trouble is None or now >= trouble.not_before:
        beside.start(folder, key)
    return "" if trouble is None else trouble.sentence.rstrip(".")


def _outlook(one: Candidate, wanted: str, why: str, now: datetime) -> Outlook:
    service, age = SERVICES[one.kept.service], now - one.kept.fetched
    said = [one.kept.note] if one.kept.note else []
    if service.key != wanted:
        missing = SERVICES[wanted].title
        said.append(INSTEAD.format(title=service.title, missing=missing, why=why))
    if not one.fresh:
        said.append(OLD.format(title=service.title, age=age_words(age), why=why))
    origin = WeatherOrigin(
        service=service.key,
        fetched=one.kept.fetched,
        age_minutes=round(max(age.total_seconds(), 0.0) / 60.0, 1),
        fresh=one.fresh,
        credit=service.credit,
    )
    return Outlook(one.weather, tuple(said), origin)
