"""Colour of a coat under a light, and the thickness from a measured colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.physics.coat import coat_words, colour, film
from argentry.physics.coat.colour import Light
from argentry.physics.coat.interlayer import Interlayer
from argentry.physics.ranges import checked

_STEP_NM = 0.5  # of the search; the true place is found between its points
_LEAST_WEIGHT = 1e-6  # hills below it are the far ends of the range, not candidates


@dataclass(frozen=True)
class Candidate:
    """One coat that may show the measured colour.

    Attributes
    ----------
    thickness_nm : float
        Most likely thickness of this candidate. [nm]
    low_nm, high_nm : float
        Shortest 80 % range of thickness, given that this candidate is the right one. [nm]
    weight : float
        Share of the likelihood; all candidates together 1. [1]
    delta_e : float
        CIEDE2000 between the measured and the computed colour, over the layer that suits best. [1]
    """

    thickness_nm: float
    low_nm: float
    high_nm: float
    weight: float
    delta_e: float


def coat_lab(
    thickness_nm: ArrayLike,
    source: Light,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> Floats:
    """Return CIELAB of coats under a light, relative to a white card in the same light.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250. [nm]
    source : Light
        The light.
    angle_deg, layer
        As in `film.reflectance`.

    Returns
    -------
    ndarray, shape (thickness, 3)
        L*, a*, b*. [1]

    Raises
    ------
    BadInput
        As in `film.reflectance`.
    """
    spectra = film.reflectance(colour.WAVELENGTH_NM, thickness_nm, angle_deg=angle_deg, layer=layer)
    return colour.lab(colour.xyz(spectra, source), colour.white(source))


def check_lab(values: Floats) -> None:
    """Refuse L*, a*, b* that no coat can have.

    Raises
    ------
    BadInput
        If L* is not within 0-100 or a*, b* not within -128-128.
    """
    for name, value, low, high in zip(
        ("L*", "a*", "b*"), values, (0, -128, -128), (100, 128, 128), strict=True
    ):
        check_range(name, float(value), low, high, "")


def candidates(
    measured_lab: ArrayLike,
    source: Light,
    *,
    noise: float | None = None,
    cycle: int | None = None,
    prior_nm: tuple[float, float] | None = None,
    angle_deg: float = 0.0,
    layers: Sequence[tuple[float, Interlayer | None]] = ((1.0, None),),
) -> list[Candidate]:
    """Return every coat that may show a measured colour, the likeliest first.

    Each thickness from 0 to 250 nm has a normal likelihood: about the mean colour of the lossy
    layers that the plate may have, as wide as their spread and the noise together, times the prior
    when there is one. Each of its hills is a candidate, and the area of the hill its weight. Thin
    and thick coats share colours, so one number alone would often be wrong.

    Parameters
    ----------
    measured_lab : array_like, shape (3,)
        L*, a*, b* relative to a white card in the same light. [1]
    source : Light
        The light the plate was seen in.
    noise : float, optional
        Standard deviation of each of L*, a*, b*, reading and model together. [1] The trade's
        value when not given.
    cycle : int, optional
        Keep only thicknesses of that cycle.
    prior_nm : (float, float), optional
        Mean and standard deviation of thickness expected from the fuming time. [nm]
    angle_deg : float
        Angle of view. [deg]
    layers : sequence of (float, Interlayer), optional
        The lossy layers that the plate may have, with their weights (`interlayer.likely`); the
        trade's seed alone when not given.

    Returns
    -------
    list of Candidate
        By falling weight; the weights add up to 1 (those below one in a million are left out).

    Raises
    ------
    BadInput
        If the colour, noise, prior or cycle cannot be.
    """
    measured = np.asarray(measured_lab, dtype=np.float64)
    check_lab(measured)
    noise = trade.value("film", "lab_noise") if noise is None else noise
    noise = float(checked("noise", noise, "film", "lab_noise"))
    high = trade.value("film", "thickness_high_nm")
    low = 0.0
    if cycle is not None:
        own = [one for one in coat_words.bands() if one.cycle == cycle]
        if not own:
            raise BadInput("cycle", "there is no cycle {cycle}", "give 1, 2 or 3", cycle=cycle)
        low, high = own[0].low_nm, own[-1].high_nm
    grid = np.linspace(low, high, round((high - low) / _STEP_NM) + 1)

    weights = [weight for weight, _ in layers]
    looks = np.stack(
        [coat_lab(grid, source, angle_deg=angle_deg, layer=layer) for _, layer in layers]
    )
    log = _likelihood(measured, np.average(looks, 0, weights), _spread(looks, weights), noise)
    if prior_nm is not None:
        mean, sd = prior_nm
        check_range("expected thickness", mean, 0, trade.value("film", "thickness_high_nm"), "nm")
        check_range("its spread", sd, 0, 250, "nm", open_low=True)
        log = log - (grid - mean) ** 2 / (2 * sd**2)
    hills = [hill for hill in _hills(grid, log) if hill[3] > _LEAST_WEIGHT]
    seen = looks[:, [int(np.argmin(np.abs(grid - hill[0]))) for hill in hills]]
    differ = colour.delta_e_2000(seen, measured).min(axis=0)
    found = [
        Candidate(*hill, delta_e=float(difference))
        for hill, difference in zip(hills, differ, strict=True)
    ]
    return sorted(found, key=lambda one: one.weight, reverse=True)


def _spread(looks: Floats, weights: Sequence[float]) -> Floats:
    """Return the covariance of colours over lossy layers, shape (thickness, 3, 3)."""
    off = looks - np.average(looks, axis=0, weights=weights)
    return np.asarray(np.einsum("l,lti,ltj->tij", weights, off, off))


def _likelihood(measured: Floats, mean: Floats, spread: Floats, noise: float) -> Floats:
    """Return the logarithm of the normal likelihood of a colour at each thickness."""
    cover = spread + noise**2 * np.eye(3)
    off = mean - measured
    pull = np.linalg.solve(cover, off[..., None])[..., 0]
    return np.asarray(-((off * pull).sum(axis=1) + np.linalg.slogdet(cover)[1]) / 2)


def tops_and_cuts(log: Floats) -> tuple[list[int], list[int]]:
    """Return the places of all tops, and of the lowest point between each two that parts them."""
    inner = np.arange(1, log.size - 1)
    tops = list(inner[(log[inner] > log[inner - 1]) & (log[inner] >= log[inner + 1])])
    tops += [i for i, j in ((0, 1), (log.size - 1, log.size - 2)) if log[i] > log[j]]
    tops = sorted(int(one) for one in tops)
    return tops, [int(a + np.argmin(log[a:b])) for a, b in pairwise(tops)]


def _hills(grid: Floats, log: Floats) -> list[tuple[float, float, float, float]]:
    """Return peak, both ends of the 80 % range and share of each hill of exp(log)."""
    density = np.exp(log - log.max())
    tops, cuts = tops_and_cuts(log)
    starts, stops = [0, *cuts], [*cuts, log.size - 1]
    areas = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)])
    out = []
    for top, start, stop in zip(tops, starts, stops, strict=True):
        share = (areas[stop] - areas[start]) / areas[-1]
        piece = areas[start : stop + 1] - areas[start]
        left, right = grid[top], grid[top]
        if piece[-1] > 0:
            left, right = _shortest(grid[start : stop + 1], piece / piece[-1])
        out.append((_summit(grid, log, top), float(left), float(right), float(share)))
    return out


def _shortest(grid: Floats, share: Floats) -> tuple[float, float]:
    """Return the shortest range with 80 %: at bare silver all of the doubt lies on one side."""
    below = np.linspace(0.0, 0.2, 41)
    left, right = (np.interp(below + part, share, grid) for part in (0.0, 0.8))
    best = int(np.argmin(right - left))
    return float(left[best]), float(right[best])


def _summit(grid: Floats, log: Floats, top: int) -> float:
    """Return the top of the parabola through a grid maximum and its neighbours."""
    if top in (0, log.size - 1):
        return float(grid[top])
    left, here, right = log[top - 1 : top + 2]
    bend = left - 2 * here + right
    return float(grid[top] + 0.5 * (left - right) / bend * (grid[1] - grid[0]))
