"""How well the light of a moment is known, part by part: the air, cloud, the place, a meter."""

from __future__ import annotations

import numpy as np

from argentry import trade
from argentry.physics.lights.light import cloud_exponent
from argentry.physics.picture import exposure
from argentry.records.answers.doubt import DoubtPart

MODEL, HAZE, CLOUD, PLACE, METER = "light model", "haze", "cloud", "subject's place", "meter"


def light_doubt(
    elevation_deg: float,
    *,
    haze_named: bool,
    under_cloud: float = 0.0,
    plane: str = "sun",
    metered: bool = False,
) -> tuple[DoubtPart, ...]:
    """Return how well exposure light is known.

    Parameters
    ----------
    elevation_deg : float
        Of the sun. [deg]
    haze_named : bool
        True when the haze was given, not assumed, or varies in skies that are drawn.
    under_cloud : float
        Share of the beam that cloud takes, as far as known. [1]
    plane : str
        Plane of the light: in shade or beside a window it hangs on how much sky the place sees.
    metered : bool
        True when a meter was read at the subject at that time.
    """
    parts = [DoubtPart(MODEL, exposure.light_sigma_stops(elevation_deg))]
    if not haze_named:
        parts.append(DoubtPart(HAZE, trade.value("exposure", "light_sigma_haze")))
    # measured of all light on level ground; what cloud takes of the violet differs by less
    violet = float(cloud_exponent(np.array(elevation_deg)))
    cloud = violet * trade.value("light", "overcast_sigma")
    parts.append(DoubtPart(CLOUD, cloud * min(max(under_cloud, 0.0), 1.0)))
    place = trade.facts("exposure").get(f"place_sigma_{plane}")
    if place is not None:
        parts.append(DoubtPart(PLACE, place.value))
    return when_metered(tuple(parts)) if metered else tuple(parts)


def when_metered(parts: tuple[DoubtPart, ...]) -> tuple[DoubtPart, ...]:
    """Return what a meter's reading at the subject leaves of the doubts of light.

    It takes cloud and place out; of the air it sees the visible light only, not the violet.

    Parameters
    ----------
    parts : tuple of DoubtPart
        Of light, from `light_doubt`.
    """
    left = trade.value("decide", "metered_clear_share")
    kept = tuple(
        DoubtPart(part.cause, left * part.sigma_stops)
        for part in parts
        if part.cause in (MODEL, HAZE)
    )
    return (*kept, DoubtPart(METER, trade.value("decide", "meter_sd")))
