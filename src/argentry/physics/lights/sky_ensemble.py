"""Plausible minute skies about an hourly forecast: many days, each as it may really turn out.

The sun at a minute is a cloud field cut at a level. On the normal scale the field is

    mean of the hour  +  what the hour strays from it  +  what the minute strays from the hour,

and the beam passes where it is above zero, with an edge of finite width. The parts live on
different times (all day, hours, ten minutes), which gives what measured skies show and a chain
that jumps between sun and cloud from minute to minute cannot: most spells last minutes, yet half
of all sunny minutes lie in spells of two hours and more.

Strays of the hour at a known cloud amount have one spread on this scale for all oktas
(``hour_sd``), so the measured 10th, 50th and 90th percentiles of the okta table come out of its
means alone.
"""

from __future__ import annotations

import hashlib
import math
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.lights import cloud

DARKEST, CLEAREST = 0.001, 0.999  # shares beyond these are not surer than these
HOUR_MINUTES = 60.0
FARTHEST = 2.0  # spreads of its light: no cloud is told brighter or darker than that
KEPT_MOMENTS = 300_000  # skies of more are not kept: 2.4 MB each way
KEPT = 2  # exposure, development and light of one day ask for the same skies
_KEPT: dict[bytes, tuple[Floats, Floats]] = {}


@cache
def _normal_table() -> tuple[Floats, Floats]:
    x = np.linspace(-6.0, 6.0, 2401)
    return x, np.array([*map(NormalDist().cdf, x.tolist())])


def normal_share(x: ArrayLike) -> Floats:
    """Return the normal distribution function by a table (error below 2e-6)."""
    table_x, table_p = _normal_table()
    step = table_x[1] - table_x[0]
    place = np.clip((np.asarray(x, np.float64) - table_x[0]) / step, 0.0, table_x.size - 1.000001)
    below = place.astype(np.intp)
    here = table_p[below]
    return np.asarray(here + (place - below) * (table_p[below + 1] - here))


def normal_level(share: ArrayLike) -> Floats:
    """Return the level below which `share` of a normal distribution lies."""
    table_x, table_p = _normal_table()
    return np.interp(np.asarray(share, np.float64), table_p, table_x)


def wander(
    rng: np.random.Generator, n: int, steps: int, step_minutes: float, memory_minutes: float
) -> Floats:
    """Return `n` random walks that forget: mean 0, sd 1, correlation ``exp(-t/memory)``.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    n, steps : int
        Number of walks and of their steps.
    step_minutes, memory_minutes : float
        Length of a step; time after which the correlation is 1/e. [min]

    Returns
    -------
    Floats, shape (steps, n)
        Exact at any step length.
    """
    keep = math.exp(-step_minutes / memory_minutes)
    new = math.sqrt(1.0 - keep * keep)
    out = rng.standard_normal((steps, n))
    out[1:] *= new
    if n == 1:  # plain numbers are ten times as fast as arrays of one
        now, walk = 0.0, out[:, 0].tolist()
        for i, step in enumerate(walk):
            walk[i] = now = step + keep * now
        return np.array(walk)[:, None]
    for i in range(1, steps):
        out[i] += keep * out[i - 1]
    return out


def _stray(
    rng: np.random.Generator, n: int, steps: int, step_minutes: float, memory_h: float, part: float
) -> Floats:
    """Return a unit-variance stray: `part` of its variance for the day, the rest by the hour."""
    day = rng.standard_normal(n)
    hours = wander(rng, n, steps, step_minutes, 60.0 * memory_h)
    return np.asarray(math.sqrt(part) * day + math.sqrt(1.0 - part) * hours)


def _minutes(
    rng: np.random.Generator, n: int, steps: int, step_minutes: float, fact: dict[str, float]
) -> Floats:
    """Return what minutes stray from their hour: unit variance, mean near 0 over any hour."""
    memory = fact["minute_memory"]
    stray = wander(rng, n, steps, step_minutes, memory)
    x = HOUR_MINUTES / memory
    left = 2.0 * (x - 1.0 + math.exp(-x)) / x**2  # variance that its mean over an hour has
    half = round(0.5 * HOUR_MINUTES / step_minutes)
    if half < 1:
        return stray
    running = np.zeros((steps + 1, n))
    np.cumsum(stray, axis=0, out=running[1:])
    here = np.arange(steps)
    low, high = np.maximum(here - half, 0), np.minimum(here + half + 1, steps)
    mean = (running[high] - running[low]) / (high - low)[:, None]
    return np.asarray((stray - mean) / math.sqrt(1.0 - left))


def air_mass(elevation_deg: ArrayLike) -> Floats:
    """Return the relative air mass (Kasten and Young 1989), held at its horizon value [1]."""
    e = np.maximum(np.asarray(elevation_deg, dtype=np.float64), 0.0)
    return np.asarray(1.0 / (np.sin(np.radians(e)) + 0.50572 * (e + 6.07995) ** -1.6364))


def sky_ensemble(
    beam_share: ArrayLike,
    global_share: ArrayLike,
    elevation_deg: ArrayLike,
    *,
    n: int,
    seed: int,
    step_minutes: float = 1.0,
    okta_sd: float = 0.0,
    usual_cloud: float | None = None,
    hour_sd: ArrayLike = 0.0,
    clear_diffuse_share: ArrayLike = 0.2,
    haze_aod: float = 0.1,
    haze_ln_sd: float = 0.0,
    minutes: bool = True,
    of: tuple[int, slice] | None = None,
) -> tuple[Floats, Floats]:
    """Return `n` plausible days of minute skies about the hourly shares.

    Parameters
    ----------
    beam_share, global_share : array_like, shape (m,) or (n, m)
        Hourly shares as forecast or measured, brought to the day's steps. [1]
    elevation_deg : array_like, shape (m,) or (n, m)
        Elevation of the sun. [deg]
    n : int
        Number of days.
    seed : int
        The same seed gives the same days.
    step_minutes : float
        Length of a step. [min]
    okta_sd : float
        How far the forecast misses the cloud amount, standard deviation. [okta]
        0 when the hours are measured.
    usual_cloud : float or None
        Mean share of the sky under cloud at the place and season, to which a forecast is held
        (`argentry.physics.lights.cloud.okta_by_rank`); None: taken at its word. [1]
    hour_sd : array_like, shape (), (m,) or (n, m)
        How far an hour strays at a known cloud amount, on the normal scale: the trade's
        ``hour_sd`` when only clouds are known, 0 when direct light is measured. [1]
    clear_diffuse_share : array_like, shape (), (m,) or (n, m)
        Diffuse over global light of the clear sky. [1]
    haze_aod : float
        Usual aerosol optical depth at 500 nm. [1]
    haze_ln_sd : float
        Spread of its logarithm from day to day; 0 when the hours are measured. [1]
    minutes : bool
        False: each step is the mean about it, not one minute of it.
    of : tuple of (int, slice), optional
        The steps are this part of so many: the days are those of all of them.

    Returns
    -------
    beam_share, global_share : Floats, shape (n, m)
        [1]

    Notes
    -----
    The measured figures behind every part are in ``trade/data/cloud.toml``; the comparison with a
    measured month is ``benchmarks/skies.py``.
    """
    arrays = tuple(
        np.atleast_2d(np.asarray(a, np.float64))
        for a in (beam_share, global_share, hour_sd, elevation_deg, clear_diffuse_share)
    )
    of = of or (arrays[3].shape[-1], slice(None))
    asked = (n, seed, float(step_minutes), okta_sd, usual_cloud, haze_aod, haze_ln_sd, minutes, of)
    if n * arrays[3].shape[-1] > KEPT_MOMENTS:
        return _drawn(arrays, *asked)
    told = hashlib.sha256(repr((asked, [a.shape for a in arrays])).encode())
    for a in arrays:
        told.update(a.tobytes())
    found = _KEPT.get(told.digest())
    if found is None:
        found = _drawn(arrays, *asked)
        for oldest in list(_KEPT)[: 1 - KEPT]:
            _KEPT.pop(oldest, None)
        _KEPT[told.digest()] = found
    return found


def _light_ln_sd(okta: Floats) -> Floats:
    """Return the spread of the logarithm of the diffuse light from hour to hour. [1]."""
    table = cloud.okta_table()
    return np.interp(okta, table.okta, table.light_ln_sd)


def _drawn(
    arrays: tuple[Floats, ...],
    n: int,
    seed: int,
    step: float,
    okta_sd: float,
    usual_cloud: float | None,
    haze_aod: float,
    haze_ln_sd: float,
    minutes: bool,
    of: tuple[int, slice],
) -> tuple[Floats, Floats]:
    rng = np.random.default_rng(seed)
    base, whole, spread, elevation, diffuse = (a.T for a in arrays)
    m, part = of
    fact = {key: entry.value for key, entry in trade.facts("cloud").items()}

    # Shares above 1 are a day cleaner than the clear-sky model; the cloud part stays below 1.
    cleaner = np.maximum(base, 1.0)
    middle = np.clip(base, DARKEST, CLEAREST)
    extra = np.maximum(whole - base, 0.02)  # light from cloud; never quite none
    if okta_sd > 0.0:
        okta = cloud.okta_at_beam(middle)
        miss = _stray(rng, n, m, step, fact["forecast_memory_h"], fact["forecast_day_part"])[part]
        if usual_cloud is None:
            missed = np.clip(okta + okta_sd * miss, 0.0, 8.0)
        else:
            missed = cloud.okta_by_rank(okta, normal_share(miss), okta_sd, usual_cloud)
        share = cloud.beam_at_okta(missed)
        # the forecast's own brightness of cloud, relative to the usual at that cloud amount, as far
        # as measured hours of it go
        usual = np.maximum(cloud.cloud_light_at_okta(okta), 0.02)
        farthest = np.exp(FARTHEST * _light_ln_sd(okta))
        own = np.clip(extra / usual, 1.0 / farthest, farthest)
        extra = np.maximum(cloud.cloud_light_at_okta(missed), 0.02) * own
    else:
        missed, share = cloud.okta_at_beam(middle), middle

    level = np.sqrt(1.0 + spread**2) * normal_level(share)
    if okta_sd == 0.0:  # a full beam that was measured, or a sky declared clear, has no cloud
        level = np.where((base >= 1.0) & (spread == 0.0), np.inf, level)
    if np.any(spread > 0.0):
        stray = _stray(rng, n, m, step, fact["hour_memory_h"], fact["hour_day_part"])[part]
        level = level + spread * stray
        light = _stray(rng, n, m, step, fact["light_memory_h"], fact["light_day_part"])[part]
        tie = fact["light_beam_correlation"]
        sd = _light_ln_sd(missed) * np.minimum(spread / fact["hour_sd"], 1.0)
        extra = extra * np.exp(sd * (tie * stray + math.sqrt(1 - tie**2) * light) - 0.5 * sd**2)

    open_share = hour_share = normal_share(level)
    if minutes:
        edge = fact["cloud_edge"]
        stray = _minutes(rng, n, m, step, fact)[part]
        open_share = normal_share((level + math.sqrt(1.0 - edge**2) * stray) / edge)

    haze = np.ones((1, 1))
    if haze_ln_sd > 0.0:
        change = haze_aod * (np.exp(haze_ln_sd * rng.standard_normal(n)) - 1.0)
        haze = np.exp(-fact["haze_beam_factor"] * air_mass(elevation) * change)
    beam = np.clip(cleaner * haze * open_share, 0.0, fact["beam_share_most"])
    kept = 1.0 + fact["haze_kept_part"] * (1.0 - haze) * (1.0 - diffuse) / diffuse
    total = (1.0 - diffuse) * beam + diffuse * kept * cleaner * hour_share + extra
    total = np.clip(total, 0.0, fact["global_share_most"])
    skies = np.ascontiguousarray(beam.T), np.ascontiguousarray(total.T)
    for shares in skies:  # they may be handed out again
        shares.flags.writeable = False
    return skies
