"""Exposure and development light at a place and time, with doubt, notes and a meter's reading."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.camera import lens_transmission
from argentry.needs.doubt.compose import weather_part
from argentry.needs.doubt.exposure import light_doubts
from argentry.needs.named_files.spectra import read_spectrum
from argentry.physics.lights import meter
from argentry.physics.lights.bands import lens_share
from argentry.physics.lights.light import LightSeries, check_plane
from argentry.physics.lights.sun import horizon_elevation_deg, sky_view, sun_times
from argentry.physics.stops import Z80, even_draws
from argentry.records.answers.doubt import together
from argentry.records.answers.light import LightAnswer
from argentry.records.weather import NO_OUTLOOK
from argentry.sky.light_doubt import light_doubt
from argentry.sky.meter_reading import MeterReading, metered
from argentry.sky.place import happens_twice, resolve_place, to_local, to_utc
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.days import SEED, place_under, shares_at
from argentry.sky.weather.turns import skies_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats
    from argentry.records.answers.doubt import Doubt
    from argentry.records.studio import Studio
    from argentry.records.weather import Outlook
    from argentry.sky.place import Place
    from argentry.sky.sky_day import Filter, SkyDay


MOST_TIMES = 600_000  # a year by minutes, with room
CHUNK = 2000  # moments whose skies are drawn together
ASSUMED_CLEAR = "a clear sky is assumed: no weather file was named"
SEASON = "the clouds usual at this season"
ASSUMED_OVERCAST = "an overcast sky is assumed: no weather file was named"
SKYLINE = (
    "The skyline leaves {share:.0f} % of an even sky's light on level ground; it is highest, "
    "{height:.0f}°, at {azimuth:.0f}° from north. While the sun is behind it there is no direct "
    "light."
)
TWICE = "{time} happens twice in {zone}: the first is meant."
LOW_SUN = "Below {height:g} degrees of sun the light is known only roughly; meter it."
NO_SUN = "The sun is below the horizon: there is no light."
SUN_IS_UP = "{no_sun} On {day} it is up from {rise} to {fall}."


def ask_times(
    place: Place,
    at: datetime | None,
    start: datetime | None,
    end: datetime | None,
    step_minutes: float,
) -> list[datetime]:
    """Return the times asked about, UTC.

    Parameters
    ----------
    place : Place
        Its zone reads times without an offset.
    at : datetime or None
        One time, or else `start` and `end`, both included.
    start, end : datetime or None
        A span.
    step_minutes : float
        Between two times of the span. [min]

    Returns
    -------
    list of datetime
        Rising.

    Raises
    ------
    BadInput
        If no time or a mixture is given, the clock skips one, or the span is upside down or too
        long.
    """
    if at is not None:
        if start is not None or end is not None:
            raise BadInput("--at", "a span is given too", "give --at, or --from and --to")
        return [to_utc("--at", at, place.time_zone)]
    if start is None and end is None:
        raise BadInput("the time", "none is given", "give --at TIME, or --from TIME and --to TIME")
    if start is None or end is None:
        missing = "--from" if start is None else "--to"
        raise BadInput(missing, "half of the span is missing", "give both --from and --to")
    check_range("--step", step_minutes, 0.0, 1440.0, "min", open_low=True)
    first = to_utc("--from", start, place.time_zone)
    last = to_utc("--to", end, place.time_zone)
    if last < first:
        raise BadInput("--to", "it is before --from", "give the later time as --to")
    count = int((last - first).total_seconds() / (60.0 * step_minutes) + 1e-9) + 1
    if count > MOST_TIMES:
        what = "the span would give {count} times"
        raise BadInput("--step", what, "take a longer step", count=count)
    return [first + timedelta(minutes=i * step_minutes) for i in range(count)]


def light_report(
    studio: Studio | None,
    *,
    lat: float | None = None,
    lon: float | None = None,
    elevation_m: float | None = None,
    tz: str | None = None,
    haze: float | None = None,
    at: datetime | None = None,
    start: datetime | None = None,
    end: datetime | None = None,
    step_minutes: float = 60.0,
    plane: str = "sun",
    cut_on_nm: float | None = None,
    filter_spectrum: str | None = None,
    lens_spectrum: str | None = None,
    window: str | None = None,
    reading: MeterReading | None = None,
    outlook: Outlook = NO_OUTLOOK,
    skyline: Sequence[tuple[float, float]] | None = None,
    as_written: bool = False,
) -> LightAnswer:
    """Return exposure and development light at a place over time.

    Parameters
    ----------
    studio : Studio or None
        Its site, first lens and first frame are used where no option says otherwise.
    lat, lon, elevation_m, tz, haze : float, str or None
        See `argentry.sky.place.resolve_place`.
    at, start, end, step_minutes : datetime, float
        See `ask_times`.
    plane : str
        Plane of both lights, see `argentry.physics.lights.light.on_plane`.
    cut_on_nm : float or None
        Edge of the red filter; None: the studio's first frame, else the trade's. [nm]
    filter_spectrum, lens_spectrum, window : str or None
        Files of two columns, or generic spectra: what the red filter, the lens and the pane of
        a window pass; None: the studio's, else the trade's.
    reading : MeterReading or None
        A meter's reading; needs one single time.
    outlook : Outlook
        What is known of the sky.
    skyline : sequence of (float, float) or None
        Azimuth and height of the skyline; None: that of the place. [deg, deg]
    as_written : bool
        True when learned numbers are to be left out; light goes by none.

    Raises
    ------
    BadInput
        For anything impossible.
    """
    place = resolve_place(studio, lat, lon, elevation_m, tz, haze)
    if skyline is not None:
        place = replace(place, horizon=tuple(skyline))
    check_plane(plane, "--plane")
    if cut_on_nm is not None:
        check_range("--cut-on", cut_on_nm, 480.0, 690.0, "nm")
    times = ask_times(place, at, start, end, step_minutes)
    pane = read_spectrum("--window", window, "window")
    if pane is not None:
        place = replace(place, window=pane.curve)
    lens, through, edge = _glass(studio, cut_on_nm, filter_spectrum, lens_spectrum)
    stamps = np.array([t.replace(tzinfo=None) for t in times], dtype="datetime64[ms]")
    place = place_under(outlook.weather, place, stamps)
    sky = sky_day(place, stamps, (through,), lens_transmission=lens)
    beam, level, sky_note = _shares(outlook, sky, plane)
    series = sky.light(
        through,
        lens_transmission=lens,
        exposure_plane=plane,
        development_plane=plane,
        beam_share=beam,
        global_share=level,
    )
    glass = (through, lens)
    low, high, doubt = _range(series, sky, outlook, plane, glass)
    correction = meter.correction_stops(series.exposure_w_m2, series.illuminance_lux)
    means = None
    if reading is not None and reading.given():
        means = metered(reading, series, plane, sky.air, lens, weather=outlook.varied)
    return LightAnswer(
        time=tuple(to_local(t, place) for t in times),
        elevation_deg=_row(series.elevation_deg),
        azimuth_deg=_row(series.azimuth_deg),
        actinic_w_m2=_row(series.exposure_w_m2),
        actinic_low_w_m2=_row(low),
        actinic_high_w_m2=_row(high),
        development_w_m2=_row(series.development_w_m2),
        ghi_w_m2=_row(series.ghi_w_m2),
        illuminance_lux=_row(series.illuminance_lux),
        correction_stops=_known(correction),
        meter_overstates=_known(2.0**-correction),
        plane=plane,
        place=place.name,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        time_zone=place.time_zone,
        haze_aod500=sky.air.aod500,
        lens_transmission=lens,
        cut_on_nm=edge[0],
        filter_transmission=edge[1],
        sky=sky_note,
        notes=(
            *outlook.notes,
            *(() if outlook.read is None else (outlook.read.sentence,)),
            *_skyline(place.horizon),
            *_notes(studio, tz, [at, start, end], place, series, plane),
        ),
        meter=means,
        doubt=doubt,
        as_written=as_written,
    )


def _skyline(horizon: Sequence[tuple[float, float]]) -> list[str]:
    """Say what a skyline leaves of the sky; nothing of a free horizon."""
    if not horizon:
        return []
    highest = max(horizon, key=lambda point: point[1])
    return [SKYLINE.format(share=100.0 * sky_view(horizon), height=highest[1], azimuth=highest[0])]


def _row(values: Floats) -> tuple[float, ...]:
    return tuple(values.tolist())


def _known(values: Floats) -> tuple[float | None, ...]:
    """Return values, None where there is no light to speak of."""
    return tuple(value if np.isfinite(value) else None for value in values.tolist())


def _glass(
    studio: Studio | None,
    cut_on_nm: float | None,
    filter_spectrum: str | None,
    lens_spectrum: str | None,
) -> tuple[float, Filter, tuple[float, float]]:
    """Lens transmission in the violet, the red filter, and its edge [nm] and transmission."""
    lens = trade.value("light", "lens_transmission")
    if studio is not None:
        lens = lens_transmission(studio.lenses[0])
    if shown := read_spectrum("--lens-spectrum", lens_spectrum, "lens"):
        lens = lens_share(shown.curve)
    passes = read_spectrum("--filter", filter_spectrum, "filter")
    edge, red = (trade.value("light", f"filter_{key}") for key in ("cut_on", "transmission"))
    if studio is not None:
        edge, red = studio.frames[0].cut_on_nm, studio.frames[0].transmission
        if passes is None and cut_on_nm is None:
            passes = studio.frames[0].spectrum
    if passes is not None:
        edge, red = passes.half_way_nm, passes.most
        return lens, (passes.curve, red), (edge, red)
    edge = edge if cut_on_nm is None else cut_on_nm
    return lens, (edge, red), (edge, red)


def _shares(outlook: Outlook, day: SkyDay, plane: str) -> tuple[Floats | None, Floats | None, str]:
    if not outlook.varied:
        return None, None, ASSUMED_OVERCAST if plane == "overcast" else ASSUMED_CLEAR
    weather = outlook.weather
    note = SEASON if weather is None else "sky from {source}".format(source=weather.source)
    if weather is not None and outlook.read is None:
        return *shares_at(weather, day), note
    skies = skies_at(outlook, day)
    return skies.middle_beam, skies.middle_global, note


def _range(
    series: LightSeries,
    sky: SkyDay,
    outlook: Outlook,
    plane: str,
    glass: tuple[Filter, float],
) -> tuple[Floats, Floats, Doubt | None]:
    """Return the range that holds 80 % of the light, and for one moment what it is made of."""
    named = sky.place.haze_aod is not None or outlook.varied
    cloud = 1.0 if plane == "overcast" and not outlook.varied else 0.0
    heights = series.elevation_deg.tolist()
    parts = [
        light_doubt(height, haze_named=named, under_cloud=cloud, plane=plane) for height in heights
    ]
    sigma = np.array([together(one) for one in parts])
    one_moment = parts[0] if len(parts) == 1 and heights[0] > 0.0 else None
    if not outlook.varied:
        low, high = (series.exposure_w_m2 * 2.0 ** (side * Z80 * sigma) for side in (-1.0, 1.0))
        return low, high, None if one_moment is None else light_doubts(one_moment)
    low, high = np.empty_like(sigma), np.empty_like(sigma)
    for first in range(0, sigma.size, CHUNK):
        cut = slice(first, first + CHUNK)
        days = _under_skies(outlook, sky.part(cut.start, cut.stop), plane, glass)
        stray = np.log2(even_draws(1.0, 1.0, len(days), SEED))[:, None] * sigma[cut]
        low[cut], high[cut] = np.quantile(days * 2.0**stray, (0.1, 0.9), axis=0, method="nearest")
        if one_moment is not None:
            one_moment = (*one_moment, weather_part(days))
    return low, high, None if one_moment is None else light_doubts(one_moment)


def _under_skies(outlook: Outlook, sky: SkyDay, plane: str, glass: tuple[Filter, float]) -> Floats:
    """Return exposure light under the skies that there may be, (k, m). [W/m2]."""
    skies = skies_at(outlook, sky)
    beam, level = skies.beam_share, skies.global_share
    through, lens = glass
    return sky.light(
        through, lens_transmission=lens, exposure_plane=plane, beam_share=beam, global_share=level
    ).exposure_w_m2


def _notes(
    studio: Studio | None,
    tz: str | None,
    asked: list[datetime | None],
    place: Place,
    series: LightSeries,
    plane: str,
) -> list[str]:
    notes = []
    naive = [t for t in asked if t is not None and t.tzinfo is None]
    if naive and studio is None and tz is None:
        notes.append("Times without an offset are read as UTC: no studio and no --tz were given.")
    notes.extend(
        TWICE.format(time=t.isoformat(timespec="minutes"), zone=place.time_zone)
        for t in naive
        if happens_twice(t, place.time_zone)
    )
    height = series.elevation_deg
    down = height <= 0.0
    if down.all():
        notes.append(_dark(series, place))
    elif down.any():
        notes.append("The sun is down for part of the span: light comes from the sky alone then.")
    hidden = ~down & (height <= horizon_elevation_deg(series.azimuth_deg, place.horizon))
    if hidden.any():
        notes.append("The sun stands behind the skyline for all or part of this time.")
    low = ~down & (height < trade.value("exposure", "very_low_sun"))
    if low.any():
        notes.append(LOW_SUN.format(height=trade.value("exposure", "very_low_sun")))
    if plane == "overcast":
        notes.append("Overcast days differ by a factor of five: meter the light.")
    return notes


def _dark(series: LightSeries, place: Place) -> str:
    noon = series.times_utc[0].astype("datetime64[s]").item()
    local = to_local(noon.replace(tzinfo=UTC), place)
    rise, fall = sun_times(
        local.date(), place.latitude_deg, place.longitude_deg, place.elevation_m, place.horizon
    )
    if rise is None or fall is None:
        return NO_SUN

    def clock(moment: Any) -> str:
        return to_local(moment.item().replace(tzinfo=UTC), place).strftime("%H:%M")

    day = local.date().isoformat()
    return SUN_IS_UP.format(no_sun=NO_SUN, day=day, rise=clock(rise), fall=clock(fall))
