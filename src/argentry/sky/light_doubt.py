"""How well the light of a moment is known: clear, under cloud, or with a meter's word."""

from __future__ import annotations

import numpy as np

from argentry import trade
from argentry.physics import exposure


def light_doubt_stops(
    elevation_deg: float, *, haze_named: bool, under_cloud: float = 0.0, metered: bool = False
) -> float:
    """Return how well exposure light is known, as a standard deviation. [stops].

    Parameters
    ----------
    elevation_deg : float
        Of the sun. [deg]
    haze_named : bool
        True when the haze was given, not assumed.
    under_cloud : float
        Share of the beam that cloud takes, as far as known. [1]
    metered : bool
        True when a meter was read at that time: it takes cloud and most of the model out of it.
    """
    clear = exposure.light_sigma_stops(elevation_deg, haze_named=haze_named)
    if metered:
        left = trade.value("decide", "metered_clear_share") * clear
        return float(np.hypot(trade.value("decide", "meter_sd"), left))
    cloud = trade.value("light", "overcast_sigma") * min(max(under_cloud, 0.0), 1.0)
    return float(np.hypot(clear, cloud))
