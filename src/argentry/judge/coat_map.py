"""From colours beside bare silver to thickness: every coat that may be, field by field.

The film, its lossy layer and the phone's curve are the same for the whole picture; the fields
share them, so each is weighed by how well all fields together bear it out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.physics.coat.coat_colour import tops_and_cuts
from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Truth


STEP_NM = 1.0
GRID_NM = np.arange(0.0, 250.0 + STEP_NM, STEP_NM)
GRID_NM.flags.writeable = False
_CURVES = (-1.5, -0.75, 0.0, 0.75, 1.5)  # of the curve's doubt, in standard deviations
_LEAST_WEIGHT = 0.01
# of logarithms of red, green and blue: two of ratios, which are the colour, and the lightness
_PARTS = np.array([[1.0, -1.0, 0.0], [0.0, -1.0, 1.0], [1 / 3, 1 / 3, 1 / 3]])
_DARKEST = 1e-3  # of a colour beside silver's


@dataclass(frozen=True)
class Coat:
    """One coat that the picture may show.

    Attributes
    ----------
    thickness_nm, low_nm, high_nm : float
        Its mean over the plate, and the 80 % range. [nm]
    weight : float
        Share of the likelihood. [1]
    fields_nm : ndarray
        By field; NaN where it is not seen. [nm]
    """

    thickness_nm: float
    low_nm: float
    high_nm: float
    weight: float
    fields_nm: Floats


def coats(
    fields: Floats,
    looks: Sequence[tuple[float, Floats]],
    expected: tuple[float, float] | None,
    doubts: tuple[float, float],
    camera: Floats | None = None,
) -> tuple[list[Coat], float]:
    """Return the coats that a picture may show, the likeliest first, and how well they fit.

    Parameters
    ----------
    fields : ndarray, shape (rows, columns, 3)
        Red, green and blue over those of bare silver; NaN where a field is not seen.
    looks : sequence of (float, ndarray of shape (251, 3))
        The same of coats on `GRID_NM`, for each lossy layer with its weight.
    expected : (float, float) or None
        Thickness and standard deviation by the seconds over iodine. [nm]
    doubts : (float, float)
        How well the light on a field and its colour are known beside those on the silver, as
        standard deviations of logarithms. [1]
    camera : ndarray, shape (251, 3, 3), or None
        How far cameras differ in the logarithms of these colours, as covariances [1]; None: it is
        known.

    Returns
    -------
    list of Coat
        Weights add up to 1.
    float
        Logarithm of the evidence, to compare lights by.
    """
    seen: Truth = np.asarray(np.isfinite(fields).all(axis=2))
    log = np.log(np.clip(fields[seen], 0.005, 3.0))
    ways = [(np.log(weight), look) for weight, look in looks if weight > 0.0]
    curves = [1.0 + one * trade.value("seeing", "curve_sd") for one in _CURVES]
    fits = []
    for (weight, look), (place, curve) in product(ways, zip(_CURVES, curves, strict=True)):
        like = _likelihood(log, curve * np.log(look), doubts, camera)
        fits.append((weight - place**2 / 2, like))
    spread = trade.value("seeing", "plate_spread_nm")
    kernel = np.exp(-(((GRID_NM[:, None] - GRID_NM) / spread) ** 2) / 2)
    kernel /= kernel.sum(axis=0)
    share = min(1.0, trade.value("seeing", "fields_that_count") / len(log))
    each = np.stack([base + share * _joint(one, kernel) for base, one in fits])
    whole = _log_sum(each)
    if expected is not None:
        mean, sd = expected
        whole = whole - ((GRID_NM - mean) / sd) ** 2 / 2
    evidence = float(_log_sum(whole[:, None])[0])
    made = []
    for top, start, stop, weight in _hills(whole):
        if weight < _LEAST_WEIGHT:
            continue
        made.append(_coat(whole, each, fits, seen, (top, start, stop), weight))
    total = sum(one.weight for one in made)
    made = [Coat(*(o.thickness_nm, o.low_nm, o.high_nm), o.weight / total, o.fields_nm)
            for o in made]  # fmt: skip
    return sorted(made, key=lambda one: -one.weight), evidence


def bent(look: Floats, bands: Floats) -> Floats:
    """Return the colours of coats on `GRID_NM` as the studio's own scale has them.

    Bands of known coats on one plate, by one phone under one lamp, bend the model of film, camera
    and lamp to what that pair shows: between two bands by both, beyond them by the nearest.

    Parameters
    ----------
    look : ndarray, shape (251, 3)
        By the model: red, green and blue over those of bare silver. [1]
    bands : ndarray, shape (n, 4)
        Thickness, rising [nm], and the same three of each band.
    """
    nm, seen = bands[:, 0], np.log(np.maximum(bands[:, 1:], _DARKEST))
    model = np.log(np.maximum(look, _DARKEST))
    off = [
        np.interp(GRID_NM, nm, seen[:, k] - np.interp(nm, GRID_NM, model[:, k])) for k in range(3)
    ]
    return np.asarray(np.exp(model + np.stack(off, axis=1)))


def as_sure_as(coat: Coat, bands: Floats) -> Coat:
    """Return a coat with the range of one read by the studio's own scale.

    Film, camera and lamp are those of the scale; what is left is how well its bands are known and
    two pictures repeat. Beyond its bands the coat's own range stays.

    Parameters
    ----------
    coat : Coat
        As read by the model bent to the scale.
    bands : ndarray, shape (n, 4)
        As in `bent`.
    """
    nm = coat.thickness_nm
    if not bands[0, 0] <= nm <= bands[-1, 0]:
        return coat
    sd = np.hypot(
        trade.value("seeing", "scale_sd_nm"), trade.value("seeing", "scale_sd_share") * nm
    )
    half = Z80 * float(sd)
    return replace(coat, low_nm=max(0.0, nm - half), high_nm=nm + half)


def _likelihood(
    log: Floats, look: Floats, doubts: tuple[float, float], camera: Floats | None
) -> Floats:
    """Return the logarithm of the likelihood of each thickness at each field."""
    seen, model = log @ _PARTS.T, look @ _PARTS.T
    floor = np.array([doubts[1], doubts[1], doubts[0]])
    own = np.hypot(floor, trade.value("seeing", "chroma_slope_sd") * model) ** 2
    cover = own[:, :, None] * np.eye(3)
    if camera is not None:
        cover = cover + _PARTS @ camera @ _PARTS.T
    sharp = np.linalg.inv(cover)
    towards = np.einsum("nij,nj->ni", sharp, model)
    pairs = (seen[:, :, None] * seen[:, None, :]).reshape(-1, 9)
    off = pairs @ sharp.reshape(-1, 9).T - 2.0 * seen @ towards.T + (model * towards).sum(axis=1)
    return np.asarray(-(off + np.linalg.slogdet(cover)[1]) / 2.0)


def _joint(fits: Floats, kernel: Floats) -> Floats:
    """Return the logarithm of the likelihood of each mean thickness, all fields together."""
    top = fits.max(axis=1, keepdims=True)
    return np.asarray((np.log(np.exp(fits - top) @ kernel + 1e-300) + top).sum(axis=0))


def _log_sum(logs: Floats) -> Floats:
    top = logs.max(axis=0)
    return np.asarray(np.log(np.exp(logs - top).sum(axis=0)) + top)


def _hills(log: Floats) -> list[tuple[int, int, int, float]]:
    """Return top, both ends and share of each hill of exp(log)."""
    density = np.exp(log - log.max())
    tops, cuts = tops_and_cuts(log)
    ends = list(zip([0, *cuts], [*cuts, log.size], strict=True))
    whole = density.sum()
    return [(t, a, b, float(density[a:b].sum() / whole))
            for t, (a, b) in zip(tops, ends, strict=True)]  # fmt: skip


def _coat(
    whole: Floats,
    each: Floats,
    fits: Sequence[tuple[float, Floats]],
    seen: Truth,
    hill: tuple[int, int, int],
    weight: float,
) -> Coat:
    top, start, stop = hill
    density = np.exp(whole[start:stop] - whole[top])
    density /= density.sum()
    mean = float(density @ GRID_NM[start:stop])
    spread = float(density @ (GRID_NM[start:stop] - mean) ** 2)
    shares = np.exp(each[:, top] - _log_sum(each[:, top : top + 1])[0])
    near = ((GRID_NM - mean) / (2.0 * trade.value("seeing", "plate_spread_nm"))) ** 2 / 2
    by_field = np.zeros((len(fits[0][1]), GRID_NM.size))
    for share, (_, fit) in zip(shares, fits, strict=True):
        if share > 0.01:
            part = fit - near
            part = np.exp(part - part.max(axis=1, keepdims=True))
            by_field += share * part / part.sum(axis=1, keepdims=True)
    by_field /= by_field.sum(axis=1, keepdims=True)
    fields = np.full(seen.shape, np.nan)
    fields[seen] = by_field @ GRID_NM
    fields = smoothed(fields)
    mean = float(np.nanmean(fields))
    own = trade.value("seeing", "range_share") * (spread + 0.5)
    half = Z80 * np.sqrt(own + (trade.value("seeing", "model_sd_share") * mean) ** 2)
    return Coat(mean, max(0.0, mean - half), min(250.0, mean + half), weight, fields)


def smoothed(fields: Floats) -> Floats:
    """Return a map in which each field is the median of itself and pairs of opposite neighbours.

    A neighbour counts only where its opposite is seen too: so a slope is left as it is, also at
    the edge of what is seen.
    """
    out = np.full(fields.shape, np.nan)
    wide = np.pad(fields, 1, constant_values=np.nan)
    rows, columns = fields.shape
    around = np.stack([wide[i : i + rows, j : j + columns] for i in range(3) for j in range(3)])
    around[np.isnan(around[::-1])] = np.nan
    there = np.isfinite(fields)
    out[there] = np.nanmedian(around[:, there], axis=0)
    return out
