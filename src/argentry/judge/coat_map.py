"""From colours beside bare silver to thickness: every coat that may be, and its map.

Film, lossy layer, camera and tone curve are the same for the whole picture, and so are their
errors: a hundred fields know the coat no better than one. So the middle colour tells the coat, with
all that doubt; the fields tell how it goes over the plate, by how they differ from that colour.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.judge.evenness import telling
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
_ONE_COAT_NM = 15.0  # tops nearer than this are one coat by two layers or curves
_FINE = 121  # thicknesses tried of a field
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
        How well the light on the coat and its colour are known beside those on the silver, as
        standard deviations of logarithms. [1]
    camera : ndarray, shape (251, 3, 3), or None
        How far cameras differ in the logarithms of these colours, as covariances [1]; None: it is
        known.

    Returns
    -------
    list of Coat
        Weights add up to 1; empty where the colour is that of no coat.
    float
        Logarithm of the evidence, to compare lights by.
    """
    seen: Truth = np.asarray(np.isfinite(fields).all(axis=2))
    log = np.log(np.clip(fields[seen], 0.005, 3.0)) @ _PARTS.T
    middle = np.median(log, axis=0)
    slopes = [1.0 + one * trade.value("seeing", "curve_sd") for one in _CURVES]
    ways = list(product([(w, np.log(look)) for w, look in looks if w > 0.0], slopes))
    models = np.stack([slope * look for (_, look), slope in ways]) @ _PARTS.T
    each = _likelihood(middle, models, doubts, camera)
    fits = -2.0 * float(each.max()) <= trade.value("seeing", "coat_misfit")
    each += np.log([weight for (weight, _), _ in ways])[:, None]
    each -= np.tile(np.square(_CURVES), len(ways) // len(_CURVES))[:, None] / 2
    whole = _log_sum(each)
    if expected is not None:
        mean, sd = expected
        whole = whole - ((GRID_NM - mean) / sd) ** 2 / 2
    evidence = float(_log_sum(whole[:, None])[0])
    if not fits:
        return [], evidence
    made = []
    for top, start, stop, weight in _hills(whole):
        if weight < _LEAST_WEIGHT:
            continue
        density = np.exp(whole[start:stop] - whole[top])
        density /= density.sum()
        nm = float(density @ GRID_NM[start:stop])
        spread = float(density @ (GRID_NM[start:stop] - nm) ** 2)
        likely = each[:, min(round(nm / STEP_NM), GRID_NM.size - 1)]
        shares = np.exp(likely - _log_sum(likely[:, None])[0])
        model = np.einsum("w,wij->ij", shares, models)
        # about the least of its blue a gold read a little too thin hides a thin edge, which then
        # looks thicker: it shows at the ends of the middle third of what the coat may be
        thirds = np.interp((1 / 3, 2 / 3), np.cumsum(density), GRID_NM[start:stop])
        maps = [_map(log - middle, seen, model, at) for at in (nm, *thirds)]
        nm = float(np.nanmean(maps[0]))
        found = telling([one * nm / np.nanmean(one) for one in maps])
        half = Z80 * np.sqrt(spread + (trade.value("seeing", "model_sd_share") * nm) ** 2)
        made.append(Coat(nm, max(0.0, nm - half), min(250.0, nm + half), weight, found))
    total = sum(one.weight for one in made)
    made = [replace(one, weight=one.weight / total) for one in made]
    return sorted(made, key=lambda one: -one.weight), evidence


def _map(apart: Floats, seen: Truth, model: Floats, nm: float) -> Floats:
    """Return the map of a plate whose middle colour is that of a coat."""
    found = np.full(seen.shape, np.nan)
    found[seen] = _by_field(apart, model, nm)
    return smoothed(found)


def _by_field(apart: Floats, model: Floats, nm: float) -> Floats:
    """Return the thickness of each field by how its colour differs from the plate's middle one.

    Parameters
    ----------
    apart : ndarray, shape (fields, 3)
        Colours of the fields less the middle one, as in `_PARTS`.
    model : ndarray, shape (251, 3)
        Colours of coats on `GRID_NM`.
    nm : float
        The coat of the middle colour. [nm]
    """
    reach = max(trade.value("seeing", "field_reach_sd") * nm, STEP_NM)
    lowest, highest = max(0.0, nm - 3.0 * reach), min(float(GRID_NM[-1]), nm + 3.0 * reach)
    grid = np.linspace(lowest, highest, _FINE)
    own, fine = (
        np.stack([np.interp(at, GRID_NM, model[:, k]) for k in range(3)], axis=-1)
        for at in (nm, grid)
    )
    chroma, light = (trade.value("seeing", f"field_{key}_sd") for key in ("chroma", "light"))
    off = (apart[:, None, :] - (fine - own)) / np.array([chroma, chroma, light])
    prior = (grid - nm) / reach
    like = -((off**2).sum(axis=2) + prior**2) / 2
    share = np.exp(like - like.max(axis=1, keepdims=True))
    return np.asarray(share @ grid / share.sum(axis=1))


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
    seen: Floats, models: Floats, doubts: tuple[float, float], camera: Floats | None
) -> Floats:
    """Return the logarithm of the likelihood of each thickness, for each way it may look.

    By how far the colour lies off each coat's in its own doubt, and by that alone: weighed by the
    width of that doubt as well, coats would be preferred that all cameras see alike, the pale ones.
    """
    floor = np.array([doubts[1], doubts[1], doubts[0]])
    own = np.hypot(floor, trade.value("seeing", "chroma_slope_sd") * models) ** 2
    cover = own[..., None] * np.eye(3)
    if camera is not None:
        cover = cover + _PARTS @ camera @ _PARTS.T
    off = seen - models
    return np.asarray(-np.einsum("wni,wnij,wnj->wn", off, np.linalg.inv(cover), off) / 2.0)


def _log_sum(logs: Floats) -> Floats:
    top = logs.max(axis=0)
    return np.asarray(np.log(np.exp(logs - top).sum(axis=0)) + top)


def _hills(log: Floats) -> list[tuple[int, int, int, float]]:
    """Return top, both ends and share of each hill of exp(log), near ones as one."""
    density = np.exp(log - log.max())
    tops, cuts = tops_and_cuts(log)
    hills: list[tuple[int, int, int]] = []
    for top, start, stop in zip(tops, [0, *cuts], [*cuts, log.size], strict=True):
        hill = (top, start, stop)
        if hills and top - hills[-1][0] <= _ONE_COAT_NM / STEP_NM:
            before, first, _ = hills.pop()
            hill = (before if log[before] > log[top] else top, first, stop)
        hills.append(hill)
    whole = density.sum()
    return [(t, a, b, float(density[a:b].sum() / whole)) for t, a, b in hills]


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
