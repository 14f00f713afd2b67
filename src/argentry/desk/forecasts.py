"""The forecasts of several services for one day, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from argentry.desk.wishes import plan_day
from argentry.errors import BadInput
from argentry.exchange.services.known import SERVICES
from argentry.keeping.forecast.outlook import age_words, differing, kept_weather, light_of_day
from argentry.keeping.forecast.record import record_words, records_of
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook

SEASON, SIMULATED = "season", 200
SEASON_TITLE = "The clouds usual at the season"
NOT_KEPT = "no forecast is kept"
NOT_COVERED = "it does not cover this day"


@dataclass(frozen=True)
class OneForecast:
    """What one forecast makes of a day.

    Attributes
    ----------
    service, title : str
        Key and name; season for the usual clouds.
    age : str
        How old it is, in words; empty where there is none.
    fresh : bool
        False when a newer one is due.
    clear_light_share : float or None
        Share of a clear day's light over the day's hours; null where it says nothing. [1]
    light_odds : float or None
        Probability that there is enough light to expose and develop one plate; null likewise. [1]
    why_not : str
        Why it says nothing of the day; empty when it does.
    credit : str
        Attribution and licence of its data.
    record_words : str
        How its forecasts did against the light read here; empty without any.
    """

    service: str
    title: str
    age: str
    fresh: bool
    clear_light_share: float | None
    light_odds: float | None
    why_not: str
    credit: str
    record_words: str = ""


@dataclass(frozen=True)
class ForecastsCompared:
    """Forecasts of one day, side by side; the last is the season's.

    Attributes
    ----------
    date : date
        The day.
    used : str
        Service that the day is planned by, or none.
    forecasts : tuple of OneForecast
        Of every service that was agreed to.
    said : tuple of str
        Where they differ by more than a tenth of a clear day's light.
    """

    date: date
    used: str
    forecasts: tuple[OneForecast, ...]
    said: tuple[str, ...]


def compare(
    folder: Path, studio: Studio, day: date, now: datetime | None = None
) -> ForecastsCompared:
    """Return the kept forecasts of a day side by side; nothing is sent. Takes some seconds."""
    moment, own = now or datetime.now(UTC), studio.weather
    rows = [_one(folder, studio, key, day, moment) for key in SERVICES if key in own.agreed]
    shares = {
        row.service: row.clear_light_share
        for row in rows
        if row.fresh and row.clear_light_share is not None
    }
    odds = _odds(studio, day, moment, NO_OUTLOOK)
    season = OneForecast(SEASON, SEASON_TITLE, "", True, None, odds, "", "")
    records = records_of(folder)
    good = [key for key in shares if key not in records or not records[key].worse]
    used = own.asked if own.asked in good else next(iter(good), "none")
    return ForecastsCompared(day, used, (*rows, season), differing(used, shares))


def _odds(studio: Studio, day: date, now: datetime, outlook: Outlook) -> float:
    plan = plan_day(studio, day, plates=1, outlook=outlook, now=now, simulated_days=SIMULATED)
    return plan.light_odds


def _one(folder: Path, studio: Studio, key: str, day: date, now: datetime) -> OneForecast:
    service = SERVICES[key]
    try:
        kept, why = kept_weather(folder, studio, key, now), NOT_KEPT
    except BadInput as error:
        kept, why = None, str(error)
    if kept is None:
        return OneForecast(key, service.title, "", False, None, None, why, service.credit)
    age = age_words(now - kept.kept.fetched)
    share, odds, why = light_of_day(kept.weather, studio, day, now), None, NOT_COVERED
    if share is not None:
        odds, why = _odds(studio, day, now, Outlook(kept.weather)), ""
    words = record_words(key, records_of(folder).get(key))
    return OneForecast(key, service.title, age, kept.fresh, share, odds, why, service.credit, words)
