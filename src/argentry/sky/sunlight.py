"""The light of one day around a moment, minute by minute, for exposing and developing.

The series runs from that day's sunrise to its sunset on a grid of minutes that holds the moment;
for a plane that faces the sun it ends with the last sight of the sun over the skyline. Until then
the light of the sky counts wherever the skyline hides the sun, as the plan of a day counts it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.errors import BadInput
from argentry.physics.lights.light import check_plane
from argentry.physics.lights.sun import SunPath, horizon_elevation_deg, sun_path
from argentry.physics.picture.development import light_end_index
from argentry.records.weather import NO_OUTLOOK
from argentry.sky.place import to_local
from argentry.sky.sky_day import TRADE_FILTER, sky_day
from argentry.sky.weather.cover import interval_at, need_cover
from argentry.sky.weather.days import place_under, run_around
from argentry.sky.weather.whole_day import skies_known

if TYPE_CHECKING:
    from argentry.arrays import Times, Truth
    from argentry.physics.lights.light import LightSeries
    from argentry.records.weather import Outlook, Weather
    from argentry.sky.place import Place
    from argentry.sky.sky_day import Filter, SkyDay


STEP_S = 60.0
BEFORE, AFTER = 18 * 60, 24 * 60  # minutes looked at on both sides of the moment
HALF_MINUTE = np.timedelta64(30, "s")
NO_WEATHER = "No weather file: a clear sky is assumed; cloud makes everything longer."
NO_WEATHER_OVERCAST = "No weather file: an overcast sky is assumed, of the usual thickness."
SKY_ALONE = "The sun is behind the skyline until {time}: only the sky gives light."


@dataclass(frozen=True)
class Sunlight:
    """The day's light.

    Attributes
    ----------
    start_utc : datetime
        Start of the first step.
    start_index : int
        Step edge at which the moment asked about stands.
    series : LightSeries
        The likely light in each step, (m,).
    days : LightSeries or None
        The same for many skies as the day may bring, (k, m); None for a clear sky.
    over_skyline : Truth, shape (m,)
        Whether the sun is seen over the skyline.
    note : str
        Where the weather comes from.
    warnings : tuple of str
        Loud notes.
    """

    start_utc: datetime
    start_index: int
    series: LightSeries
    days: LightSeries | None
    over_skyline: Truth
    note: str
    warnings: tuple[str, ...]

    @property
    def last_index(self) -> int:
        """Step edge at which the light ends."""
        return len(self.over_skyline)

    @property
    def seconds_left(self) -> float:
        """From the moment asked about to the end of the light, in seconds."""
        return (self.last_index - self.start_index) * STEP_S

    def at(self, index: float) -> datetime | None:
        """Return the moment at a step edge, UTC, to the minute; None when it is not finite."""
        if not np.isfinite(index):
            return None
        exact = self.start_utc + timedelta(seconds=float(index) * STEP_S)
        return (exact + timedelta(seconds=30)).replace(second=0, microsecond=0)


def sunlight(
    where: str,
    place: Place,
    moment_utc: datetime,
    *,
    plane: str = "sun",
    through: Filter = TRADE_FILTER,
    weather: Weather | None = None,
    outlook: Outlook = NO_OUTLOOK,
) -> Sunlight:
    """Return the light of the day that holds `moment_utc`.

    Parameters
    ----------
    where : str
        Name of the option that gave the moment, for the sentence.
    place : Place
        Where.
    moment_utc : datetime
        Must be by day; with the plane ``"sun"`` the sun must be seen then or later that day.
    plane : str
        Plane of both exposure and development light.
    through : (float or Curve or None, float or None)
        The development filter, as `argentry.sky.sky_day.sky_day` takes it.
    weather : Weather or None
        None means a clear sky.
    outlook : Outlook
        The same with what else is known of the sky; `weather` goes before it.

    Raises
    ------
    BadInput
        If it is dark then, the sun is no longer seen that day, or the weather file does not say.
    """
    check_plane(plane, "--plane")
    if weather is not None:
        outlook = replace(outlook, weather=weather)
    weather = outlook.weather
    moment_utc = moment_utc.astimezone(UTC)
    edges, path = minutes_around(np.datetime64(moment_utc.replace(tzinfo=None), "s"), place)
    up = path.elevation_deg > 0.0
    if not up[BEFORE]:
        raise _dark(where, place, moment_utc, edges, up, float(path.elevation_deg[BEFORE]))
    skyline = horizon_elevation_deg(path.azimuth_deg, place.horizon)
    seen = up & (path.elevation_deg > skyline)
    rise, fall = first, last = run_around(up, BEFORE)
    warnings: list[str] = []
    if plane == "sun" and not seen[BEFORE]:
        later = np.flatnonzero(seen[BEFORE:fall])
        if not later.size:
            heights = float(path.elevation_deg[BEFORE]), float(skyline[BEFORE])
            raise _hidden(where, place, edges, seen, *heights)
        warnings.append(SKY_ALONE.format(time=_clock(edges[BEFORE + later[0]], place)[-5:]))
    if plane == "sun":  # after the last sight of the sun nothing is counted on
        last = first + int(light_end_index(seen[first:last], BEFORE - first))
    if weather is not None:
        first, last = _covered(weather, edges, first, last, warnings, place)
    cut = slice(rise, fall)
    known = SunPath(path.elevation_deg[cut], path.azimuth_deg[cut], path.distance_factor[cut])
    times = edges[cut] + HALF_MINUTE
    day = sky_day(place_under(weather, place, times), times, (through,), path=known)
    series, days, note = _light(day, plane, through, outlook, BEFORE - rise, warnings)
    series = series.part(first - rise, last - rise)
    days = None if days is None else days.part(first - rise, last - rise)
    return Sunlight(
        start_utc=moment_utc + timedelta(minutes=first - BEFORE),
        start_index=BEFORE - first,
        series=series,
        days=days,
        over_skyline=seen[first:last],
        note=note,
        warnings=tuple(warnings),
    )


def minutes_around(moment: np.datetime64, place: Place) -> tuple[Times, SunPath]:
    """Return where the minutes around a moment begin, the one at `BEFORE` with it, and their sun.

    Returns
    -------
    begins : Times, shape (n,)
        UTC.
    path : SunPath
        The sun at the middle of each.
    """
    begins = moment + np.arange(-BEFORE, AFTER) * np.timedelta64(60, "s")
    where = (place.latitude_deg, place.longitude_deg, place.elevation_m)
    return begins, sun_path(begins + HALF_MINUTE, *where)


def _light(
    day: SkyDay,
    plane: str,
    through: Filter,
    outlook: Outlook,
    moment: int,
    warnings: list[str],
) -> tuple[LightSeries, LightSeries | None, str]:
    planes: dict[str, Any] = {"exposure_plane": plane, "development_plane": plane}
    if not outlook.varied:
        overcast = plane == "overcast"
        warnings.append(NO_WEATHER_OVERCAST if overcast else NO_WEATHER)
        return day.light(through, **planes), None, "overcast sky" if overcast else "clear sky"
    skies = skies_known(outlook, day, moment, slice(moment, moment + 1))
    warnings.extend(_sentence(text) for text in skies.warnings)
    days = day.light(
        through, beam_share=skies.beam_share, global_share=skies.global_share, **planes
    )
    likely = day.light(
        through, beam_share=skies.middle_beam, global_share=skies.middle_global, **planes
    )
    return likely, days, skies.note


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith(".") else ".")


def _covered(
    weather: Weather,
    edges: Times,
    first: int,
    last: int,
    warnings: list[str],
    place: Place,
) -> tuple[int, int]:
    """Cut the day to what the weather file covers; the moment itself must be covered."""
    need_cover(weather, edges[BEFORE : BEFORE + 1], "the start")
    run = run_around(interval_at(weather, edges) >= 0, BEFORE)
    if run[1] < last:
        end = edges[run[1]].astype("datetime64[s]").item()
        local = to_local(end.replace(tzinfo=UTC), place)
        warnings.append(
            "{source} ends at {local:%H:%M}, before the sun sets: "
            "no light is counted on after it.".format(source=weather.source, local=local)
        )
    return max(first, run[0]), min(last, run[1])


def _dark(
    where: str,
    place: Place,
    moment_utc: datetime,
    edges: Times,
    up: Truth,
    elevation_deg: float,
) -> BadInput:
    local = to_local(moment_utc, place)
    told = (
        "the middle of the sun is {down_deg:.1f} degrees below the horizon at "
        "{local:%Y-%m-%d %H:%M}".format(down_deg=abs(elevation_deg), local=local)
    )
    rises = np.flatnonzero(up & (np.arange(len(up)) > BEFORE))
    if not rises.size:
        return BadInput(where, told, "it does not rise in the next 24 hours: choose another day")
    first = int(rises[0])
    last = first + int(np.argmax(~up[first:])) if not up[first:].all() else len(up) - 1
    return BadInput(
        where,
        told,
        "choose a time while half of it is up, {first} to {last}".format(
            first=_clock(edges[first], place), last=_clock(edges[last], place)
        ),
    )


def _hidden(
    where: str,
    place: Place,
    edges: Times,
    seen: Truth,
    elevation_deg: float,
    skyline_deg: float,
) -> BadInput:
    later = np.flatnonzero(seen & (np.arange(len(seen)) > BEFORE))
    told = (
        "the sun is behind the skyline then (its height {elevation_deg:.1f}, "
        "the skyline's {skyline_deg:.1f} degrees)".format(
            elevation_deg=elevation_deg, skyline_deg=skyline_deg
        )
    )
    if not later.size:
        return BadInput(where, told, "it is not seen in the next 24 hours: choose another day")
    return BadInput(
        where,
        told,
        "half of it is seen again at {edges}".format(edges=_clock(edges[later[0]], place)),
    )


def _clock(edge: np.datetime64, place: Place) -> str:
    utc: datetime = edge.astype("datetime64[s]").item()
    return f"{to_local(utc.replace(tzinfo=UTC), place):%Y-%m-%d %H:%M}"
