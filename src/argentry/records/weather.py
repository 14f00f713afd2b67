"""What a weather file says, once read: intervals in UTC with what was given and nothing guessed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import numpy as np

    from argentry.arrays import Floats, Times


@dataclass(frozen=True)
class Weather:
    """A forecast, a typical year or measured hours.

    Every array has one value per interval; NaN where the file says nothing.

    Attributes
    ----------
    start_utc : NDArray[datetime64[s]], shape (n,)
        Start of each interval, UTC.
    step_s : float
        Length of each interval. [s]
    ghi_w_m2, dni_w_m2, dhi_w_m2 : Floats, shape (n,)
        Mean global horizontal, direct normal, diffuse horizontal irradiance. [W/m2]
    cloud_share : Floats, shape (n,)
        Share of the sky under cloud, 0 to 1. [1]
    sunshine_share : Floats, shape (n,)
        Share of the interval with sunshine, 0 to 1. [1]
    temperature_c, relative_humidity_pct, haze_aod : Floats, shape (n,)
        Air temperature [°C], relative humidity [%], aerosol optical depth at 500 nm [1].
    kind : str
        ``"forecast"``, ``"typical year"``, ``"measured"``, or ``"climate"``: the days about a date,
        of many years, as its members.
    source : str
        File name and form, or the service, for the sheets.
    credit : str
        Attribution and licence of a service's data; empty for a file.
    issued_utc : datetime64 or None
        When a service gave it, UTC; None: not known, taken as a day ahead.
    widened : float
        How far it misses over what is usual at its lead, by its own record. [1]
    cloudier : float
        How much cloudier the place is than its latitude, by what the service said there; a share
        of the sky. [1]
    members : Mapping[str, Floats], each of shape (k, n)
        Of an ensemble, by field of this record: what each of its forecasts says, the fields above
        being the first of them; empty where there is one forecast only.
    """

    start_utc: Times
    step_s: float
    ghi_w_m2: Floats
    dni_w_m2: Floats
    dhi_w_m2: Floats
    cloud_share: Floats
    sunshine_share: Floats
    temperature_c: Floats
    relative_humidity_pct: Floats
    haze_aod: Floats
    kind: str
    source: str
    credit: str = ""
    issued_utc: np.datetime64 | None = None
    widened: float = 1.0
    cloudier: float = 0.0
    members: Mapping[str, Floats] = field(default_factory=dict)


@dataclass(frozen=True)
class ForecastRecord:
    """How well a source's forecasts did against the light that was read here.

    Attributes
    ----------
    days : int
        Days on which light was read that it had spoken of.
    widened : float
        How far it misses over what is usual at its lead. [1]
    brier, brier_season : float or None
        Brier score of "at least half of the clear light", its own and that of the season's clouds:
        0 is perfect; null without a day. [1]
    worse : bool
        True when it is worse than the season's clouds: then it is not used.
    cloudier : float
        How much cloudier it says the place is than its latitude, a share of the sky. [1]
    """

    days: int
    widened: float
    brier: float | None
    brier_season: float | None
    worse: bool
    cloudier: float = 0.0


@dataclass(frozen=True)
class WeatherOrigin:
    """Where a forecast that came by itself is from.

    Attributes
    ----------
    service : str
        open-meteo, open-meteo-ensemble, met-norway or bright-sky.
    fetched : datetime
        When it was fetched, or confirmed by the service.
    age_minutes : float
        How old it was when the day was planned. [min]
    fresh : bool
        False when a newer one was due.
    credit : str
        Attribution and licence of the data, to be shown with them.
    """

    service: str
    fetched: datetime
    age_minutes: float
    fresh: bool
    credit: str


@dataclass(frozen=True)
class LightRead:
    """What the light was last read to be, against what was expected of it.

    Attributes
    ----------
    at : datetime
        When, UTC: of several readings close together the last.
    until : datetime
        When a tenth of it still counts, UTC: it is not used later.
    beam_share, global_share : float
        Of the clear sky's beam, and of all its light on level ground. [1]
    sigma_stops : float
        How well it is known. [stops]
    of_expected : float
        What the instrument read over what it was expected to read. [1]
    sentence : str
        The same for the maker.
    """

    at: datetime
    until: datetime
    beam_share: float
    global_share: float
    sigma_stops: float
    of_expected: float
    sentence: str


@dataclass(frozen=True)
class Outlook:
    """What a day is planned by, and what is said of it.

    Attributes
    ----------
    weather : Weather or None
        A file's or a service's; None when neither is there.
    said : tuple of str
        Loud notes: its age, why there is none.
    origin : WeatherOrigin or None
        Of a service's forecast.
    usual : bool
        True where a forecast was wanted and there is none: the season's clouds stand in, not a
        clear sky.
    read : LightRead or None
        What the light of the day was last read to be.
    """

    weather: Weather | None = None
    said: tuple[str, ...] = ()
    origin: WeatherOrigin | None = None
    usual: bool = False
    read: LightRead | None = None

    @property
    def varied(self) -> bool:
        """True where the sky may turn out otherwise; else it is taken as clear."""
        return self.weather is not None or self.usual or self.read is not None

    @property
    def notes(self) -> tuple[str, ...]:
        """What is said of it, and whose data a service's forecast is."""
        return self.said if self.origin is None else (*self.said, self.origin.credit)


NO_OUTLOOK = Outlook()
