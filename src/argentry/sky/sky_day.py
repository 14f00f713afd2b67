"""The sun and the clear sky over a place at given times: worked out once, then handed on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.physics.lights.bands import broad_band
from argentry.physics.lights.cloud import from_cloud_share
from argentry.physics.lights.light import light_bands, light_under
from argentry.physics.lights.sky import Atmosphere, SkyLight, clear_skies
from argentry.physics.lights.sun import SunPath, horizon_elevation_deg, sun_path
from argentry.physics.room.air import pressure_at_elevation_pa

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike

    from argentry.arrays import Floats, Times, Truth
    from argentry.physics.lights.bands import Band
    from argentry.physics.lights.light import LightSeries
    from argentry.sky.place import Place
    from argentry.trade.spectra import Curve

    # edge [nm] or spectrum, and transmission [1]; None: the trade's
    Filter = tuple[float | Curve | None, float | None]

TRADE_FILTER: Filter = (None, None)


@dataclass(frozen=True)
class SkyDay:
    """The sun and the clear sky over a place at `m` times.

    Attributes
    ----------
    place : Place
        Where.
    times_utc : Times, shape (m,)
        UTC.
    path : SunPath
        The sun at these times.
    air : Atmosphere
        Air and ground.
    clear : Mapping[Band, SkyLight]
        The clear sky's light in every band that was asked for, (m,).
    """

    place: Place
    times_utc: Times
    path: SunPath
    air: Atmosphere
    clear: Mapping[Band, SkyLight]

    def part(self, first: int, last: int | None) -> SkyDay:
        """Return the times from `first` up to `last`, nothing worked out again."""
        cut = slice(first, last)
        return replace(
            self,
            times_utc=self.times_utc[cut],
            path=SunPath(
                self.path.elevation_deg[cut],
                self.path.azimuth_deg[cut],
                self.path.distance_factor[cut],
            ),
            clear={
                band: SkyLight(
                    light.beam_normal_w_m2[cut],
                    light.diffuse_horizontal_w_m2[cut],
                    np.broadcast_to(light.around_sun_per_beam, self.times_utc.shape)[cut],
                )
                for band, light in self.clear.items()
            },
        )

    @property
    def over_skyline(self) -> Truth:
        """Whether the sun's middle is seen over the skyline, shape (m,)."""
        skyline = horizon_elevation_deg(self.path.azimuth_deg, self.place.horizon)
        return np.asarray(self.path.elevation_deg > np.maximum(skyline, 0.0))

    @property
    def beam_w_m2(self) -> Floats:
        """Whole beam of the clear sky on a plane square to it. [W/m2]."""
        return self.clear[broad_band()].beam_normal_w_m2

    @property
    def level_beam_w_m2(self) -> Floats:
        """The same on level ground. [W/m2]."""
        height = np.sin(np.radians(np.maximum(self.path.elevation_deg, 0.0)))
        return np.asarray(self.beam_w_m2 * height)

    @property
    def global_w_m2(self) -> Floats:
        """All light of the clear sky on level ground. [W/m2]."""
        return self.level_beam_w_m2 + self.clear[broad_band()].diffuse_horizontal_w_m2

    @property
    def diffuse_share(self) -> Floats:
        """Diffuse over global light of the clear sky [1]; 1 at night."""
        whole, diffuse = self.global_w_m2, self.clear[broad_band()].diffuse_horizontal_w_m2
        share = np.divide(diffuse, whole, out=np.ones_like(whole), where=whole > 0.0)
        return np.asarray(np.clip(share, 0.05, 1.0))

    def light(
        self, through: Filter = TRADE_FILTER, *, lens_transmission: float | None = None, **rest: Any
    ) -> LightSeries:
        """Return exposure and development light, GHI and lux at these times.

        Parameters
        ----------
        through : (float or Curve or None, float or None)
            The red filter, one of those the day was asked for. [nm, 1]
        lens_transmission : float or None
            As the day was asked for. [1]
        **rest
            Planes and shares as `argentry.physics.lights.light.light_under` has them.
        """
        return light_under(
            self.times_utc,
            self.path,
            self.clear,
            light_bands(lens_transmission, *through),
            albedo=self.air.albedo,
            horizon=self.place.horizon,
            window=self.place.window,
            **rest,
        )


def sky_day(
    place: Place,
    times_utc: Times,
    filters: Sequence[Filter] = (TRADE_FILTER,),
    *,
    lens_transmission: float | None = None,
    path: SunPath | None = None,
) -> SkyDay:
    """Return the sun and the clear sky over a place.

    Parameters
    ----------
    place : Place
        Where.
    times_utc : Times, shape (m,)
        UTC.
    filters : sequence of (float or Curve or None, float or None)
        Red filters whose light will be asked; empty for the whole spectrum alone. [nm, 1]
    lens_transmission : float or None
        In the violet; None: the trade's. [1]
    path : SunPath or None
        The sun at these times, when it is known already.
    """
    if path is None:
        path = sun_path(times_utc, place.latitude_deg, place.longitude_deg, place.elevation_m)
    air = atmosphere_of(place)
    bands = {band: None for one in filters for band in light_bands(lens_transmission, *one)}
    wanted = tuple(bands) or (broad_band(),)
    clear = clear_skies(path.elevation_deg, path.distance_factor, wanted, air)
    return SkyDay(place, times_utc, path, air, clear)


def haze_of(place: Place) -> float:
    """Return the usual aerosol optical depth of a place, the trade's where it names none. [1]."""
    return trade.value("light", "haze_aod500") if place.haze_aod is None else place.haze_aod


def atmosphere_of(place: Place) -> Atmosphere:
    """Return the air and ground of a place."""
    pressure = float(pressure_at_elevation_pa(place.elevation_m))
    return Atmosphere(pressure, haze_of(place), place.albedo)


def okta_shares(okta: ArrayLike, times_utc: Times) -> tuple[Floats, Floats]:
    """Return what this much cloud leaves of the clear beam and of all its light on level ground.

    Parameters
    ----------
    okta : array_like
        Sky under cloud, for all times or for each, 0 to 8. [okta]
    times_utc : Times, shape (m,)
        The times.
    """
    share = np.asarray(okta, dtype=np.float64) / 8.0
    cloudy = from_cloud_share(np.broadcast_to(share, times_utc.shape))
    return cloudy.beam_share, cloudy.global_share
