"""What is known of weather services: terms, consent, what is kept, what troubled."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from argentry.errors import BadInput
from argentry.exchange.services import kept
from argentry.exchange.services.known import SERVICES
from argentry.keeping.forecast.consent import WeatherTerms, terms_of
from argentry.keeping.forecast.fetch import fetch
from argentry.keeping.forecast.outlook import age_words, kept_weather
from argentry.keeping.forecast.record import record_words, records_of
from argentry.keeping.weather import WeatherFile, weather_summary
from argentry.records.studio import Studio
from argentry.records.weather import ForecastRecord


@dataclass(frozen=True)
class ServiceState:
    """One weather service, as this studio stands with it.

    Attributes
    ----------
    terms : WeatherTerms
        What is sent, on which terms, and whether the maker agreed.
    used : bool
        True for the source that the studio file names.
    fetched, fresh_until : datetime or None
        Of the kept forecast; null without one.
    age : str
        How old it is, in words; empty without one.
    fresh : bool
        False when a newer one is due.
    credit : str
        Attribution and licence of its data.
    holds : WeatherFile or None
        What the kept forecast holds; null without one.
    trouble : str
        Why the last question had no good answer; empty when it had.
    record : ForecastRecord or None
        How its forecasts did against the light read here; null without any.
    record_words : str
        The same in a sentence; empty without any.
    """

    terms: WeatherTerms
    used: bool
    fetched: datetime | None
    fresh_until: datetime | None
    age: str
    fresh: bool
    credit: str
    holds: WeatherFile | None
    trouble: str
    record: ForecastRecord | None
    record_words: str


@dataclass(frozen=True)
class WeatherServices:
    """The weather services, and how this studio stands with each.

    Attributes
    ----------
    source : str
        Service that forecasts come from by themselves, or none.
    services : tuple of ServiceState
        Each of them.
    """

    source: str
    services: tuple[ServiceState, ...]


@dataclass(frozen=True)
class Fetched:
    """What fetching a forecast came to.

    Attributes
    ----------
    asked : bool
        False when the kept forecast still holds, so that nothing was sent.
    service : ServiceState
        The service, with what is kept of it now.
    """

    asked: bool
    service: ServiceState


def service_states(folder: Path, studio: Studio, now: datetime | None = None) -> WeatherServices:
    """Return how a studio stands with each weather service; nothing is sent."""
    moment = now or datetime.now(UTC)
    found = tuple(_state(folder, studio, key, moment) for key in SERVICES)
    return WeatherServices(studio.weather.source, found)


def fetch_now(folder: Path, studio: Studio, key: str | None = None) -> Fetched:
    """Fetch from a service unless its kept answer still holds.

    Parameters and errors as of `argentry.keeping.forecast.fetch.fetch`.
    """
    answer, asked = fetch(folder, studio, key)
    return Fetched(asked, _state(folder, studio, answer.service, datetime.now(UTC)))


def _state(folder: Path, studio: Studio, key: str, now: datetime) -> ServiceState:
    site, trouble = studio.site, kept.trouble_with(folder, key)
    record = records_of(folder).get(key)
    told = "" if trouble is None else trouble.sentence
    try:
        one = kept_weather(folder, studio, key, now)
    except BadInput as error:
        one, told = None, str(error)
    return ServiceState(
        terms=terms_of(studio, key),
        used=studio.weather.asked == key,
        fetched=None if one is None else one.kept.fetched,
        fresh_until=None if one is None else one.kept.expires,
        age="" if one is None else age_words(now - one.kept.fetched),
        fresh=one is not None and one.fresh,
        credit=SERVICES[key].credit,
        holds=None
        if one is None
        else weather_summary(one.weather, site.latitude_deg, site.longitude_deg),
        trouble=told,
        record=record,
        record_words=record_words(key, record),
    )
