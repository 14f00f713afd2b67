"""A maker's own light meter against the two lights over a day, and what to write on its back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from argentry import trade
from argentry.book.times import day_begins
from argentry.errors import unknown
from argentry.keeping.studio import load_studio
from argentry.needs.camera import lens_transmission
from argentry.needs.named_files.spectra import read_spectrum
from argentry.physics.lights import meter as meters
from argentry.physics.lights.light import LightSeries, light_bands, light_under
from argentry.physics.lights.sky import clear_skies
from argentry.physics.lights.sun import SunPath, sun_path
from argentry.records.answers.meter import MeterHour, MeterRow, MeterStory
from argentry.sky.place import resolve_place, to_local
from argentry.sky.sky_day import atmosphere_of
from argentry.trade.spectra import generic

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.arrays import Times
    from argentry.physics.lights.bands import Band
    from argentry.records.studio import Studio
    from argentry.sky.place import Place
    from argentry.sky.sky_day import Filter


USUAL = "generic eye-corrected meter"
HEIGHTS_DEG = (60.0, 45.0, 30.0, 20.0, 15.0, 10.0, 5.0)  # rows of the card
EVERY_MINUTES = 30


def meter_story(
    place: Place, day: date, studio: Studio | None = None, meter: str | None = None
) -> MeterStory:
    """Return a meter against the plate's light and the development light at a place.

    Parameters
    ----------
    place : Place
        Where.
    day : date
        In its zone.
    studio : Studio or None
        Its meter, first lens and first frame; None: the trade's usual ones.
    meter : str or None
        A file of two columns, or a generic spectrum: the meter's response; None: the studio's
        meter, else one that sees as the eye does.

    Raises
    ------
    BadInput
        If the meter cannot be read.
    """
    own = None if studio is None or meter is not None else studio.meter
    shown = own.spectrum if own is not None else None
    shown = shown or read_spectrum("--meter", meter or USUAL, "meter")
    assert shown is not None
    lens = lens_transmission(studio.lenses[0]) if studio else None
    through: Filter = studio.frames[0].through if studio else (None, None)
    violet, red, broad, _ = light_bands(lens, *through)
    sees = meters.response_band(shown.curve)
    bands = (violet, red, broad, sees)
    rows = _rows(place, bands)
    times = _times(place, day)
    path = sun_path(times, place.latitude_deg, place.longitude_deg, place.elevation_m)
    facing = _light(place, times, path, bands, "sun", horizon=place.horizon)
    return MeterStory(
        meter=own.name if own is not None else shown.name,
        spectrum=shown.name,
        place=place.name,
        invented=studio.invented if studio else False,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        time_zone=place.time_zone,
        date=day,
        agrees_at_deg=trade.value("light", "meter_reference_elevation"),
        rough_below_deg=trade.value("exposure", "very_low_sun"),
        hours=_hours(place, facing, bands),
        card=tuple(
            MeterRow(height, 1.0 / float(np.tan(np.radians(height))), *passed, *stops)
            for height, passed, stops in zip(
                HEIGHTS_DEG, _passes(place, times, path), rows, strict=True
            )
        ),
    )


def _times(place: Place, day: date) -> Times:
    """Return every minute of a local day, UTC."""
    zone = ZoneInfo(place.time_zone)
    first, after = (day_begins(day + timedelta(days=ahead), zone) for ahead in (0, 1))
    minutes = round((after - first).total_seconds() / 60.0)
    start = np.datetime64(first.replace(tzinfo=None), "s")
    return np.asarray(start + np.arange(minutes) * np.timedelta64(60, "s"))


def _light(
    place: Place,
    times: Times,
    path: SunPath,
    bands: tuple[Band, Band, Band, Band],
    plane: str,
    horizon: Sequence[tuple[float, float]] = (),
) -> LightSeries:
    """Return the lights on a plane; the meter's reading stands in the place of lux."""
    air = atmosphere_of(place)
    clear = clear_skies(path.elevation_deg, path.distance_factor, bands, air)
    return light_under(
        times,
        path,
        clear,
        bands,
        albedo=air.albedo,
        horizon=horizon,
        exposure_plane=plane,
        development_plane=plane,
    )


def _hours(
    place: Place, light: LightSeries, bands: tuple[Band, Band, Band, Band]
) -> tuple[MeterHour, ...]:
    violet, red, _, sees = bands
    reading = light.illuminance_lux
    columns = (
        light.elevation_deg,
        meters.meter_ev(reading, sees),
        meters.more_stops(light.exposure_w_m2, reading, violet, sees),
        meters.more_stops(light.development_w_m2, reading, red, sees),
    )
    return tuple(
        MeterHour(_local(place, light.times_utc[i]), *(float(column[i]) for column in columns))
        for i in range(0, len(reading), EVERY_MINUTES)
        if light.elevation_deg[i] >= HEIGHTS_DEG[-1] and np.isfinite(columns[2][i])
    )


def _rows(
    place: Place, bands: tuple[Band, Band, Band, Band]
) -> list[tuple[float, float, float, float]]:
    """Return the stops of the card by height of the sun: sun, shade, overcast, development."""
    heights = np.array(HEIGHTS_DEG)
    path = SunPath(heights, np.zeros_like(heights), np.ones_like(heights))
    times = np.zeros(len(heights), dtype="datetime64[s]")
    violet, red, _, sees = bands
    columns = []
    for plane in ("sun", "shade", "overcast"):
        light = _light(place, times, path, bands, plane)
        columns.append(meters.more_stops(light.exposure_w_m2, light.illuminance_lux, violet, sees))
        if plane == "sun":
            frame = meters.more_stops(light.development_w_m2, light.illuminance_lux, red, sees)
    return [tuple(row) for row in np.stack([*columns, frame], axis=1).tolist()]


def _passes(
    place: Place, times: Times, path: SunPath
) -> list[tuple[datetime | None, datetime | None]]:
    """Return when the sun rises and falls through each height of the card on this day."""
    out: list[tuple[datetime | None, datetime | None]] = []
    for height in HEIGHTS_DEG:
        over = path.elevation_deg >= height
        turns = np.flatnonzero(over[1:] != over[:-1]) + 1
        up = next((i for i in turns if over[i]), None)
        down = next((i for i in reversed(turns) if not over[i]), None)
        out.append(
            (
                None if up is None else _local(place, times[up]),
                None if down is None else _local(place, times[down]),
            )
        )
    return out


def _local(place: Place, moment: np.datetime64) -> datetime:
    return to_local(moment.astype("datetime64[s]").item().replace(tzinfo=UTC), place)


def generic_meters() -> tuple[str, ...]:
    """Return the names of the meters that are known without a file."""
    return tuple(name for name, row in generic().items() if row["of"] == "meter")


def meter_of_studio(folder: Path, day: date, meter: str = "") -> MeterStory:
    """Return a light meter over a day at a studio's place.

    Parameters
    ----------
    folder : Path
        The studio folder.
    day : date
        In its zone.
    meter : str
        Name of a generic meter; empty: the studio's own.

    Raises
    ------
    BadInput
        If there is no such meter, or the studio has mistakes.
    """
    if meter and meter not in generic_meters():  # a page reads no files
        raise unknown("meter", "meter", meter[:80], generic_meters())
    studio = load_studio(folder)
    return meter_story(resolve_place(studio), day, studio, meter or None)
