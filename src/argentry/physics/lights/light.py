"""Exposure and development light on the planes a maker uses, under clear and cloudy skies.

References
----------
.. [1] ISO 15469:2004 / CIE S 011, spatial distribution of daylight: the overcast sky.
.. [2] F. Kasten and G. Czeplak, "Solar and terrestrial radiation dependent on the amount and type
   of cloud", Solar Energy 24 (1980) 177-189.
.. [3] J. E. Hay, "Calculation of monthly mean solar radiation for horizontal and inclined
   surfaces", Solar Energy 23 (1979) 301-307.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Times, Truth
from argentry.errors import BadInput
from argentry.physics.lights.bands import (
    Band,
    broad_band,
    daylight_share,
    development_band,
    exposure_band,
    luminous_band,
)
from argentry.physics.lights.sky import SkyLight
from argentry.physics.lights.sun import SunPath, horizon_elevation_deg, sky_view
from argentry.trade.spectra import Curve

LOWEST_SINE = 0.01745  # of one degree: the beam's own stretch has no end at the horizon
PLANES = ("sun", "horizontal", "shade", "window", "overcast")


@dataclass(frozen=True)
class LightSeries:
    """Light at one place over time.

    With shares of shape (k, n) every light comes out as (k, n), one row per sky; else (n,).

    Attributes
    ----------
    times_utc : Times, shape (n,)
        As asked.
    elevation_deg, azimuth_deg : Floats, shape (n,)
        The sun, apparent height and direction from north through east. [deg]
    exposure_w_m2 : Floats
        Light in the exposure band on the exposure plane, behind the lens's glass. [W/m2]
    development_w_m2 : Floats
        Light behind the red filter on the development plane. [W/m2]
    ghi_w_m2 : Floats
        Whole solar spectrum on level ground, within the skyline. [W/m2]
    illuminance_lux : Floats
        What a lux meter reads on the exposure plane. [lx]
    """

    times_utc: Times
    elevation_deg: Floats
    azimuth_deg: Floats
    exposure_w_m2: Floats
    development_w_m2: Floats
    ghi_w_m2: Floats
    illuminance_lux: Floats

    def part(self, first: int, last: int) -> LightSeries:
        """Return the times from `first` up to `last`."""
        return LightSeries(
            *(getattr(self, field.name)[..., first:last] for field in fields(LightSeries))
        )


def on_plane(
    sky: SkyLight,
    elevation_deg: Floats,
    plane: str,
    *,
    albedo: float,
    sun_visible: Truth | bool = True,
    view: float = 1.0,
    pane: float | None = None,
) -> Floats:
    """Return the light on a plane.

    The violet sky is taken as even, which it nearly is. Of the red sky's light, and of what a lux
    meter sees, a share s comes from around the sun (`sky_on_tilt`). With B the beam, D diffuse and
    G all light on level ground, h the sun's height, a the ground's albedo:

    - ``"sun"``, square to it: B + (s / sin h + (1 - s) (1 + sin h) / 2) D + (1 - sin h) a G / 2
    - ``"horizontal"``: B sin h + D
    - ``"shade"``, a wall in open shade: D / 2 + a G / 2
    - ``"window"``, beside a window without sun: pane x view of the window x D
    - ``"overcast"``, a wall under the CIE overcast sky [1]: (0.396 + a / 2) D, without any sun

    Parameters
    ----------
    sky : SkyLight
        Beam and diffuse light. [W/m2 or lx]
    elevation_deg : Floats
        The sun. [deg]
    plane : str
        One of `PLANES`.
    albedo : float
        Share of light the ground throws back. [1]
    sun_visible : Truth or bool
        Whether the sun is over the skyline.
    view : float
        Share of the sky's light left by the skyline, `argentry.physics.lights.sun.sky_view`. [1]
    pane : float or None
        Transmission of the window pane in this band; None: the trade's violet value. [1]

    Returns
    -------
    Floats
        As `sky`. [W/m2 or lx]
    """
    check_plane(plane)
    sine = np.sin(np.radians(np.maximum(elevation_deg, 0.0)))
    beam = sky.beam_normal_w_m2 * sun_visible
    diffuse = sky.diffuse_horizontal_w_m2 * view
    if plane == "window":
        pane = trade.value("light", "window_pane_violet") if pane is None else pane
        return np.asarray(diffuse * (pane * trade.value("light", "window_view")))
    level = beam * sine + diffuse
    if plane == "horizontal":
        return np.asarray(level)
    if plane == "sun":
        around_sun = beam * sky.around_sun_per_beam
        seen = diffuse * sky_on_tilt(around_sun, sine, cos_incidence=1.0, cos_tilt=sine)
        return np.asarray(beam + seen + level * ((0.5 - 0.5 * sine) * albedo))
    if plane == "shade":
        return np.asarray(0.5 * diffuse + (0.5 * albedo) * level)
    return np.asarray((trade.value("light", "sky_vertical_overcast") + 0.5 * albedo) * diffuse)


def sky_on_tilt(
    around_sun: Floats, sine: Floats, *, cos_incidence: float, cos_tilt: Floats | float
) -> Floats:
    """Return the sky's light on a tilted plane, as a share of its light on level ground.

    What comes from around the sun falls on the plane as the beam does, the rest as from an even sky
    [3]_.

    Parameters
    ----------
    around_sun : Floats
        Share of the sky's light on level ground that comes from around the sun. [1]
    sine : Floats
        Sine of the sun's height. [1]
    cos_incidence : float
        Cosine of the angle between the sun and the plane's normal. [1]
    cos_tilt : Floats or float
        Cosine of the angle between the plane and level ground. [1]

    Returns
    -------
    Floats
        [1]
    """
    share = np.minimum(around_sun, 1.0)
    stretched = cos_incidence / np.maximum(sine, LOWEST_SINE)
    return np.asarray(share * stretched + (1.0 - share) * (0.5 + 0.5 * cos_tilt))


def check_plane(plane: str, where: str = "plane") -> str:
    """Return `plane` when it is one of `PLANES`."""
    if plane not in PLANES:
        raise BadInput(
            where,
            "{plane!r} is not a plane",
            "use one of {planes}",
            plane=plane,
            planes=", ".join(PLANES),
        )
    return plane


def cloud_exponent(elevation_deg: Floats) -> Floats:
    """Return p in: violet share of clear light = (share of clear light)^p.

    Cloud scatters violet back into itself less than the air it hides did, so violet loses less, the
    more so at low sun. Straight between 15, 30 and 60 degrees, constant beyond. [1]
    """
    heights = (15.0, 30.0, 60.0)
    values = [trade.value("light", f"cloud_exponent_{h:.0f}") for h in heights]
    return np.asarray(np.interp(elevation_deg, heights, values))


def clouded(
    clear: SkyLight,
    elevation_deg: Floats,
    beam_share: Floats | float,
    global_share: Floats | float,
    *,
    violet: bool,
) -> SkyLight:
    """Return the light under cloud from the clear sky's.

    Cloud droplets are grey to the beam. All light on level ground is the clear sky's times
    ``global_share ** p``, with p from `cloud_exponent` for violet and 1 for red and for lux. What
    is not beam is diffuse, with a floor.

    Parameters
    ----------
    clear : SkyLight
        Of the clear sky, arrays (n,).
    elevation_deg : Floats, shape (n,)
        Sun height. [deg]
    beam_share, global_share : Floats or float
        Beam, and all light on level ground, as shares of the clear sky's: (n,) or (k, n). [1]
    violet : bool
        True for the exposure band.

    Returns
    -------
    SkyLight
        Arrays of the shape of the shares.
    """
    sine = np.sin(np.radians(np.maximum(elevation_deg, 0.0)))
    beam = clear.beam_normal_w_m2 * beam_share
    level = clear.beam_normal_w_m2 * sine + clear.diffuse_horizontal_w_m2
    share = np.asarray(global_share)
    dimmed = level * (np.power(share, cloud_exponent(elevation_deg)) if violet else share)
    least = trade.value("light", "diffuse_floor") * clear.diffuse_horizontal_w_m2
    diffuse = np.maximum(dimmed - beam * sine, least)
    return SkyLight(np.asarray(beam), diffuse, clear.around_sun_per_beam)


def light_bands(
    lens_transmission: float | None = None,
    passes: float | Curve | None = None,
    filter_transmission: float | None = None,
) -> tuple[Band, Band, Band, Band]:
    """Return the bands of a `LightSeries`: exposure, development, whole spectrum, lux."""
    if passes is None:
        passes = trade.value("light", "filter_cut_on")
    return (
        exposure_band(lens_transmission),
        development_band(passes, filter_transmission),
        broad_band(),
        luminous_band(),
    )


def light_under(
    times_utc: Times,
    path: SunPath,
    clear: Mapping[Band, SkyLight],
    bands: tuple[Band, Band, Band, Band],
    *,
    albedo: float,
    horizon: Sequence[tuple[float, float]] = (),
    exposure_plane: str = "sun",
    development_plane: str = "sun",
    beam_share: Floats | None = None,
    global_share: Floats | None = None,
    window: Curve | None = None,
) -> LightSeries:
    """Return the light over time of a sun's path and a clear sky that are known already.

    Parameters
    ----------
    times_utc, path : Times, SunPath
        Times and the sun at them, (n,).
    clear : Mapping
        The clear sky's light by band, at least those of `bands`.
    bands : tuple of Band
        From `light_bands`.
    albedo : float
        Share of light the ground throws back. [1]
    horizon, exposure_plane, development_plane, beam_share, global_share
        Planes as of `on_plane`; an exposure plane ``"overcast"`` without shares means that the
        whole sky is (fact ``overcast_global_share``), for development and GHI too. Shares, (n,) or
        (k, n), are what cloud leaves of the clear beam and of its light on level ground. [1]
    window : Curve or None
        Spectrum of the pane of a plane ``"window"``; None: the trade's panes. [nm, 1]

    Raises
    ------
    BadInput
        For an impossible plane, or when only one share is given.
    """
    if (beam_share is None) != (global_share is None):
        raise BadInput("shares", "only one of beam and global share is given", "give both")
    check_plane(exposure_plane)
    check_plane(development_plane)
    violet, red, broad, lux = bands
    visible: Truth | bool = (
        path.elevation_deg > horizon_elevation_deg(path.azimuth_deg, horizon) if horizon else True
    )
    view = sky_view(horizon) if horizon else 1.0
    usual = trade.value("light", "window_pane_visible")

    def of(band: Band, plane: str, *, is_violet: bool = False) -> Floats:
        pane = None if is_violet else usual
        if window and plane == "window":
            pane = daylight_share(band, window)
        beam, level = beam_share, global_share
        if beam is None and "overcast" in (plane, exposure_plane):
            beam, level = np.array(0.0), np.array(trade.value("light", "overcast_global_share"))
        light = clear[band]
        if beam is not None and level is not None:
            light = clouded(light, path.elevation_deg, beam, level, violet=is_violet)
        return on_plane(
            light,
            path.elevation_deg,
            plane,
            albedo=albedo,
            sun_visible=visible,
            view=view,
            pane=pane,
        )

    return LightSeries(
        times_utc=np.asarray(times_utc),
        elevation_deg=path.elevation_deg,
        azimuth_deg=path.azimuth_deg,
        exposure_w_m2=of(violet, exposure_plane, is_violet=True),
        development_w_m2=of(red, development_plane),
        ghi_w_m2=of(broad, "horizontal"),
        illuminance_lux=of(lux, exposure_plane),
    )
