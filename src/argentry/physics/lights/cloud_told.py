"""The sun's beam of an hour of which both global light and cloud amount are told."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.physics.lights.cloud import Shares
from argentry.physics.lights.sky_ensemble import (
    CLEAREST,
    DARKEST,
    air_mass,
    normal_level,
    normal_share,
)

DEVIATIONS = np.linspace(-5.0, 5.0, 61)  # of hours at one cloud amount, on the normal scale
_WEIGHT = np.exp(-0.5 * DEVIATIONS**2)


def both_told(lit: Shares, covered: Shares, elevation_deg: ArrayLike, haze_aod: float) -> Shares:
    """Return the shares by global light, its beam held to the cloud amount told with it.

    Split from global light alone the beam of a cloudless hour reads as that of two oktas: half of
    such hours lie below. By Bayes' rule the beam is one of those at the cloud amount told,
    weighed by how far each lies from the beam that was split off. The split misses most half way
    between sun and cloud, and hardly at all where the sun is hidden. What the day's haze takes from
    it is not cloud: haze is drawn apart from clouds (`argentry.physics.lights.sky_ensemble`).

    Parameters
    ----------
    lit : Shares
        From irradiance.
    covered : Shares
        From the share of sky under cloud.
    elevation_deg : array_like
        Of the sun, one for each interval. [deg]
    haze_aod : float
        Usual aerosol optical depth at 500 nm. [1]

    Returns
    -------
    Shares
        As `lit` where no cloud amount is told, no global light, or the beam itself was given.
    """
    fact = {key: entry.value for key, entry in trade.facts("cloud").items()}
    hazy = fact["haze_beam_factor"] * haze_aod * fact["haze_ln_sd"] * air_mass(elevation_deg)
    beam, spread = np.array(lit.beam_share), np.array(lit.hour_sd)
    both = (spread > 0.0) & ~np.isnan(covered.beam_share)
    usual = np.clip(covered.beam_share[both], DARKEST, CLEAREST)
    strays = covered.hour_sd[both, None]
    level = np.sqrt(1.0 + strays**2) * normal_level(usual)[:, None] + strays * DEVIATIONS
    split = np.minimum(beam[both], 1.0)[:, None]  # more is cleaner air, of which cloud says nothing
    passes = np.clip(normal_share(level), DARKEST, CLEAREST)
    misses = np.hypot(
        2.0 * fact["erbs_beam_sd"] * np.sqrt(passes * (1.0 - passes)),
        passes * np.broadcast_to(hazy, beam.shape)[both, None],
    )
    weight = _WEIGHT / misses * np.exp(-0.5 * ((split - passes) / misses) ** 2)
    weight /= weight.sum(axis=-1, keepdims=True)
    mean = (weight * level).sum(axis=-1)
    sd = np.sqrt((weight * (level - mean[:, None]) ** 2).sum(axis=-1))
    cleaner = np.maximum(beam[both], 1.0)
    beam[both] = cleaner * normal_share(mean / np.sqrt(1.0 + sd**2))
    spread[both] = sd
    return Shares(beam, np.array(lit.global_share), spread)
