"""The light of every working day, minute by minute, under a sky drawn for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from argentry import trade
from argentry.physics.lights.cloud import beam_at_okta, cloud_light_at_okta
from argentry.physics.lights.sky_ensemble import sky_ensemble
from argentry.physics.lights.sun import horizon_elevation_deg
from argentry.physics.picture.dose import cumulative_j_m2
from argentry.sky.sky_day import sky_day

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.demo.days import Session
    from argentry.sky.place import Place


FIRST_HOUR, MINUTES = 8, 660  # the studio's hours, 08:00 to 19:00
PLANES = ("sun", "shade")
SKY_SEED = 1851


@dataclass(frozen=True)
class LitSession:
    """The light of one working day; minutes count from 08:00 on the wall clock.

    Attributes
    ----------
    begin : datetime
        08:00, local, with its offset.
    exposure : Mapping[str, Floats], each (661,)
        Running sum of exposure light by plane. [J/m2]
    lux : Mapping[str, Floats], each (661,)
        Running sum of illuminance by plane. [lx s]
    development : Floats, shape (661,)
        Running sum of development light behind the usual filter. [J/m2]
    elevation_deg : Floats, shape (660,)
        Of the sun. [deg]
    beam_minutes : tuple of (int, int)
        First and last minute at which the sun is over the skyline. [min]
    okta : Floats, shape (660,)
        Cloud that was meant. [okta]
    """

    begin: datetime
    exposure: Mapping[str, Floats]
    lux: Mapping[str, Floats]
    development: Floats
    elevation_deg: Floats
    beam_minutes: tuple[int, int]
    okta: Floats

    def at(self, minute: float) -> datetime:
        """Return the wall-clock time of a minute, with its offset."""
        return self.begin + timedelta(minutes=minute)


def between(running: Floats, start: float, end: float) -> float:
    """Return what a running sum gained from one minute to another."""
    edges = np.arange(running.size)
    return float(np.interp(end, edges, running) - np.interp(start, edges, running))


def lit_sessions(
    days: Sequence[Session], place: Place, cut_on_nm: float, transmission: float
) -> tuple[LitSession, ...]:
    """Return the light of every session, all computed at once.

    Parameters
    ----------
    days : sequence of Session
        The working days.
    place : Place
        Where.
    cut_on_nm, transmission : float
        The development filter. [nm, 1]
    """
    zone = ZoneInfo(place.time_zone)
    begins = [datetime.combine(s.day, time(FIRST_HOUR), tzinfo=zone) for s in days]
    minute = np.arange(MINUTES) * np.timedelta64(60, "s") + np.timedelta64(30, "s")
    times = np.stack(
        [np.datetime64(b.astimezone(UTC).replace(tzinfo=None), "s") + minute for b in begins]
    )
    through = np.linspace(0.0, 1.0, MINUTES)
    okta = np.stack([s.morning_okta + (s.evening_okta - s.morning_okta) * through for s in days])
    beam = beam_at_okta(okta)
    beam, level = sky_ensemble(
        beam,
        beam + cloud_light_at_okta(okta),
        np.full(MINUTES, 45.0),  # only haze would ask for the sun's height, and haze is steady here
        n=len(days),
        seed=SKY_SEED,
        hour_sd=trade.value("cloud", "hour_sd"),
    )
    glass = (cut_on_nm, transmission)
    clear = sky_day(place, times.ravel(), (glass,))
    series = {
        plane: clear.light(
            glass,
            exposure_plane=plane,
            beam_share=beam.ravel(),
            global_share=level.ravel(),
        )
        for plane in PLANES
    }
    sun = series["sun"]
    seen = sun.elevation_deg > horizon_elevation_deg(sun.azimuth_deg, place.horizon)

    def sums(values: Floats) -> Floats:
        return cumulative_j_m2(values.reshape(times.shape), 60.0)

    exposure = {plane: sums(one.exposure_w_m2) for plane, one in series.items()}
    lux = {plane: sums(one.illuminance_lux) for plane, one in series.items()}
    development, height = sums(sun.development_w_m2), sun.elevation_deg.reshape(times.shape)
    spans = [np.flatnonzero(row) for row in seen.reshape(times.shape)]
    return tuple(
        LitSession(
            begin=begin,
            exposure={plane: exposure[plane][i] for plane in PLANES},
            lux={plane: lux[plane][i] for plane in PLANES},
            development=development[i],
            elevation_deg=height[i],
            beam_minutes=(int(spans[i][0]), int(spans[i][-1])),
            okta=okta[i],
        )
        for i, begin in enumerate(begins)
    )
