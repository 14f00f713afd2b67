"""Clouds: from what a forecast or an observer says to shares of clear-sky light.

Two shares describe a cloudy moment: ``beam_share`` is direct normal light over its clear-sky
value, ``global_share`` is global horizontal light over its clear-sky value. Both are 1 under a
clear sky; either may exceed 1 on a day cleaner than the clear-sky model, and the global share also
beside bright cloud.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats

LEVELS_SEED = 1
TOLD_OKTA = np.linspace(0.0, 8.0, 33)  # cloud amounts that a forecast may say
RANKS = np.linspace(0.0, 1.0, 201)
LOWEST_SUN_DEG = 3.0  # below it both light and clear-sky model are too uncertain for a ratio


@dataclass(frozen=True)
class Shares:
    """Shares of clear-sky light, with how sure the beam is.

    Attributes
    ----------
    beam_share, global_share : Floats
        See the module's head; NaN where nothing is known. [1]
    hour_sd : Floats
        How far the true hourly beam may stray from `beam_share`, as a standard deviation on the
        normal scale (see `argentry.physics.lights.sky_ensemble`): 0 where the beam was given. [1]
    """

    beam_share: Floats
    global_share: Floats
    hour_sd: Floats


@dataclass(frozen=True)
class Oktas:
    """The okta table, made ready: shares over their cloudless means, falling with cloud.

    Attributes
    ----------
    okta : Floats, shape (9,)
        Cloud amount, 0 to 8. [okta]
    beam_share : Floats, shape (9,)
        Mean share of the beam. [1]
    cloud_light : Floats, shape (9,)
        Mean of global share less beam share: light that cloud sends down. [1]
    light_ln_sd : Floats, shape (9,)
        Spread of the logarithm of the diffuse light from hour to hour. [1]
    """

    okta: Floats
    beam_share: Floats
    cloud_light: Floats
    light_ln_sd: Floats


@cache
def okta_table() -> Oktas:
    """Return the measured means by cloud amount (table ``okta_sky``).

    Oktas 0 and 1 do not differ in the measured hours; both get the trade's ``clear_beam_mean``
    or a hair less, so that the table can be read backwards.
    """
    columns = trade.table("okta_sky").columns
    clear = trade.value("cloud", "clear_beam_mean")
    beam = columns["beam_mean"] / columns["beam_mean"][0]
    whole = columns["global_mean"] / columns["global_mean"][0]
    cloud_light = np.maximum(whole - beam, 0.0)
    beam = np.minimum(beam, clear - 0.005 * (columns["okta"] >= 1))
    return Oktas(columns["okta"], beam, cloud_light, columns["light_ln_sd"])


def beam_at_okta(okta: ArrayLike) -> Floats:
    """Return the mean beam share at a cloud amount [okta], linear between whole oktas [1]."""
    table = okta_table()
    return np.interp(np.asarray(okta, np.float64), table.okta, table.beam_share)


def okta_at_beam(beam_share: ArrayLike) -> Floats:
    """Return the cloud amount [okta] whose mean beam share is `beam_share` [1]."""
    table = okta_table()
    return np.interp(np.asarray(beam_share, np.float64), table.beam_share[::-1], table.okta[::-1])


def cloud_light_at_okta(okta: ArrayLike) -> Floats:
    """Return mean global share less mean beam share at a cloud amount [okta] as share [1]."""
    table = okta_table()
    return np.interp(np.asarray(okta, np.float64), table.okta, table.cloud_light)


@cache
def cloud_levels(mean: float) -> Floats:
    """Return shares of cloud in equal steps of their probability, for a mean share."""
    steadiness = trade.value("cloud", "climate_steadiness")
    rng = np.random.default_rng(LEVELS_SEED)
    draws = rng.beta(mean * steadiness, (1.0 - mean) * steadiness, 100_001)
    draws.sort()
    return np.asarray(draws[::100])


@lru_cache
def _okta_by_rank(miss_okta: float, usual_share: float) -> Floats:
    """Return the cloud amount by what was forecast and by rank, (told, ranks). [okta]."""
    levels = 8.0 * cloud_levels(usual_share)
    away = (TOLD_OKTA[:, None] - levels) / miss_okta
    weight = np.exp(-0.5 * (away**2 - (away**2).min(axis=1, keepdims=True)))
    for row, side in ((0, away[0]), (-1, -away[-1])):  # what lies beyond an end is told as that end
        tail = np.array([math.erfc(-part / math.sqrt(2.0)) for part in side])
        if tail.any():
            weight[row] = tail
    rank = np.cumsum(weight, axis=1) - 0.5 * weight
    rank /= weight.sum(axis=1, keepdims=True)
    return np.stack([np.interp(RANKS, row, levels) for row in rank])


def okta_by_rank(okta: ArrayLike, rank: ArrayLike, miss_okta: float, usual_share: float) -> Floats:
    """Return the cloud amount that a forecast leaves, by its rank among all that it leaves.

    A forecast that swings as the sky does has to be held to the clouds that are usual at the place:
    by Bayes' rule the chance of an amount is that of its coming at all, times that of a miss which
    makes it the amount that was told.

    Parameters
    ----------
    okta : array_like
        What was told. [okta]
    rank : array_like
        Share of the amounts that are lower. [1]
    miss_okta : float
        How far the forecast misses, standard deviation. [okta]
    usual_share : float
        Mean share of the sky under cloud at the place and season. [1]
    """
    table = _okta_by_rank(max(round(miss_okta, 2), 0.01), round(usual_share, 2))
    row = np.clip(np.asarray(okta, np.float64), 0.0, 8.0) * ((TOLD_OKTA.size - 1) / 8.0)
    column = np.asarray(rank, np.float64) * (RANKS.size - 1)
    low = np.minimum(row.astype(np.intp), TOLD_OKTA.size - 2)
    left = np.clip(column.astype(np.intp), 0, RANKS.size - 2)
    up, right = row - low, column - left
    lower = table[low, left] * (1.0 - right) + table[low, left + 1] * right
    upper = table[low + 1, left] * (1.0 - right) + table[low + 1, left + 1] * right
    return np.asarray(lower + up * (upper - lower))


def kasten_global_share(cloud_share: ArrayLike) -> Floats:
    """Return the global share under a cloud share.

    Parameters
    ----------
    cloud_share : array_like
        Share of the sky under cloud, 0 to 1. [1]

    Returns
    -------
    Floats
        ``1 - 0.75 c^3.4``. [1]

    References
    ----------
    .. [1] F. Kasten, G. Czeplak, "Solar and terrestrial radiation dependent on the amount and
       type of cloud", Solar Energy 24 (1980) 177-189.

    Examples
    --------
    >>> kasten_global_share([0.5, 0.75, 1.0]).round(3)
    array([0.929, 0.718, 0.25 ])
    """
    share = np.asarray(cloud_share, dtype=np.float64)
    loss, power = trade.value("cloud", "kasten_loss"), trade.value("cloud", "kasten_power")
    return np.asarray(1.0 - loss * share**power)


def middle_global_share(okta: ArrayLike) -> Floats:
    """Return the share of the clear sky's light on level ground that half of all hours exceed.

    The mean of Kasten and Czeplak is above it: the light of cloud spreads by factors, and a few
    bright hours lift the mean.

    Parameters
    ----------
    okta : array_like
        Cloud amount. [okta]

    Returns
    -------
    Floats
        [1]

    Examples
    --------
    >>> middle_global_share([0.0, 8.0]).round(2)
    array([1.  , 0.21])
    """
    amount = np.asarray(okta, dtype=np.float64)
    beam, table = beam_at_okta(amount), okta_table()
    sd = np.interp(amount, table.okta, table.light_ln_sd)
    by_cloud = np.maximum(kasten_global_share(amount / 8.0) - beam, 0.0)
    return np.asarray(beam + by_cloud * np.exp(-0.5 * sd**2))


def erbs_diffuse_fraction(clearness: ArrayLike) -> Floats:
    """Return diffuse over global light from the clearness index.

    Parameters
    ----------
    clearness : array_like
        Global horizontal over extraterrestrial horizontal irradiance. [1]

    Returns
    -------
    Floats
        Diffuse share of global light, hourly means. [1]

    References
    ----------
    .. [1] D. G. Erbs, S. A. Klein, J. A. Duffie, "Estimation of the diffuse radiation fraction
       for hourly, daily and monthly-average global radiation", Solar Energy 28 (1982) 293-302.
    """
    k = np.asarray(clearness, dtype=np.float64)
    middle = 0.9511 - 0.1604 * k + 4.388 * k**2 - 16.638 * k**3 + 12.336 * k**4
    return np.asarray(np.where(k <= 0.22, 1.0 - 0.09 * k, np.where(k <= 0.8, middle, 0.165)))


def from_irradiance(
    ghi_w_m2: ArrayLike,
    dni_w_m2: ArrayLike,
    dhi_w_m2: ArrayLike,
    clear_ghi_w_m2: ArrayLike,
    clear_dni_w_m2: ArrayLike,
    elevation_deg: ArrayLike,
    distance_factor: ArrayLike = 1.0,
) -> Shares:
    """Return the shares from irradiance, the best input first, each hour by itself.

    The beam comes from direct normal light where given, else from global less diffuse, else from
    global light by the Erbs split. Global light comes from itself, else from beam and diffuse,
    else from the okta table at that beam.

    Parameters
    ----------
    ghi_w_m2, dni_w_m2, dhi_w_m2 : array_like
        Global horizontal, direct normal, diffuse horizontal; NaN where not given. [W/m2]
    clear_ghi_w_m2, clear_dni_w_m2 : array_like
        What a clear sky would give over the same interval. [W/m2]
    elevation_deg : array_like
        Elevation of the sun. [deg]
    distance_factor : array_like
        Sunlight outside the air over its yearly mean, (r0/r)^2. [1]

    Returns
    -------
    Shares
        NaN where nothing is given or the sun is below 3 degrees.
    """
    ghi, dni, dhi, clear_ghi, clear_dni, elevation, distance = np.broadcast_arrays(
        *(
            np.asarray(a, dtype=np.float64)
            for a in (
                ghi_w_m2,
                dni_w_m2,
                dhi_w_m2,
                clear_ghi_w_m2,
                clear_dni_w_m2,
                elevation_deg,
                distance_factor,
            )
        )
    )
    up = elevation > LOWEST_SUN_DEG
    height = np.where(up, np.sin(np.radians(elevation)), np.nan)
    clear_dni = np.where(up & (clear_dni > 0.0), clear_dni, np.nan)
    clear_ghi = np.where(up & (clear_ghi > 0.0), clear_ghi, np.nan)

    outside = trade.value("cloud", "solar_constant") * distance * height
    split = ghi * (1.0 - erbs_diffuse_fraction(np.clip(ghi / outside, 0.0, 1.2))) / height
    by_difference = (ghi - dhi) / height
    measured = np.where(np.isnan(dni), by_difference, dni)
    beam = _within(np.where(np.isnan(measured), split, measured) / clear_dni, "beam_share_most")
    # Half way between sun and cloud the normal scale is sqrt(2 pi) per unit of share.
    split_sd = math.sqrt(2.0 * math.pi) * trade.value("cloud", "erbs_beam_sd")
    sd = np.where(
        np.isnan(beam),
        np.nan,
        np.where(np.isnan(measured), split_sd, 0.0),
    )
    summed = np.where(np.isnan(ghi), dni * height + dhi, ghi)
    whole = _within(summed / clear_ghi, "global_share_most")
    whole = np.where(np.isnan(whole), beam + cloud_light_at_okta(okta_at_beam(beam)), whole)
    return Shares(beam, whole, sd)


def from_cloud_share(cloud_share: ArrayLike) -> Shares:
    """Return the shares from the share of sky under cloud.

    Global light by Kasten and Czeplak 1980, the beam by the okta table's means. What is left
    unknown is large: at 8 oktas the light of one hour in ten is a fifth of that of another.

    Parameters
    ----------
    cloud_share : array_like
        0 to 1; NaN where not given. [1]
    """
    share = np.asarray(cloud_share, dtype=np.float64)
    okta = 8.0 * share
    beam = beam_at_okta(okta)
    return Shares(beam, kasten_global_share(share), _cloud_sd(beam))


def from_sunshine(sunshine_share: ArrayLike) -> Shares:
    """Return the shares from the share of the interval with sunshine.

    A model's sunshine is mean direct light over a threshold in a grid box, so "half an hour of
    sun" is taken as half the beam, not as half an hour of free sun; the light of the cloud is that
    of the okta table at this beam.

    Parameters
    ----------
    sunshine_share : array_like
        0 to 1; NaN where not given. [1]
    """
    share = np.asarray(sunshine_share, dtype=np.float64)
    beam = share * okta_table().beam_share[0]
    return Shares(beam, beam + cloud_light_at_okta(okta_at_beam(beam)), _cloud_sd(beam))


def first_known(*choices: Shares) -> Shares:
    """Return, for each interval by itself, the first of `choices` that knows its beam."""
    beam, whole, sd = (
        np.array(a) for a in (choices[0].beam_share, choices[0].global_share, choices[0].hour_sd)
    )
    for choice in choices:
        empty = np.isnan(beam)
        beam[empty] = choice.beam_share[empty]
        whole[empty] = choice.global_share[empty]
        sd[empty] = choice.hour_sd[empty]
    return Shares(beam, whole, sd)


def _cloud_sd(beam_share: Floats) -> Floats:
    return np.where(np.isnan(beam_share), np.nan, trade.value("cloud", "hour_sd"))


def _within(share: Floats, most: str) -> Floats:
    return np.asarray(np.clip(share, 0.0, trade.value("cloud", most)))
