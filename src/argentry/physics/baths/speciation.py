"""Silver, thiosulfate and iodide in a fixing bath: which complexes there are, and what it can hold.

The mass balances are the slope of a convex function of the logarithms of the three free ions, so
Newton's way with a bounded step ends from every start.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import log
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.halving import halved
from argentry.physics.ranges import within

Constants = Literal["in_bath", "log_beta"]
LEAST = 1e-30  # mol/L: a total below it is treated as this much
BOUND = 3.0  # largest step of a logarithm
ENOUGH = 1e-6  # share of each total within which its balance closes
ROUNDS = 200


@dataclass(frozen=True)
class Speciation:
    """What is dissolved in some baths, each an array of the baths' shape.

    Attributes
    ----------
    silver, thiosulfate, iodide : ndarray
        Free ions. [mol/L]
    complexes : ndarray
        The complexes of ``baths.toml`` along the first axis. [mol/L]
    saturation : ndarray
        Silver times iodide over the solubility product; above 1 silver iodide no longer dissolves.
        [1]
    """

    silver: Floats
    thiosulfate: Floats
    iodide: Floats
    complexes: Floats
    saturation: Floats


@cache
def complexes(constants: Constants = "in_bath") -> tuple[Floats, Floats]:
    """Return how many silver, thiosulfate and iodide each complex holds, and ln beta."""
    rows = [row for row in trade.toml("baths")["species"] if constants in row]
    holds = np.array([row["holds"] for row in rows], dtype=float)
    return holds, np.array([row[constants] for row in rows]) * log(10.0)


def speciation(
    silver: ArrayLike,
    thiosulfate: ArrayLike,
    iodide: ArrayLike,
    constants: Constants = "in_bath",
) -> Speciation:
    """Return what some baths hold, as if all of it stayed dissolved.

    Parameters
    ----------
    silver, thiosulfate, iodide : array_like
        Everything of each, free and bound. [mol/L] 0 to 10; shapes broadcast.
    constants : {"in_bath", "log_beta"}
        Those of a bath's own salt, or of thin solution.

    Raises
    ------
    BadInput
        Out of range, or the solution did not converge.

    Examples
    --------
    A bath of 100 g/L of crystals with 0.2 g/L of silver: a millionth of a millionth stays free.

    >>> found = speciation(0.2 / 107.87, 0.403, 0.2 / 107.87)
    >>> bool(found.silver < 1e-12), round(float(found.thiosulfate), 3)
    (True, 0.399)
    """
    given = {"silver": silver, "thiosulfate": thiosulfate, "iodide": iodide}
    known = (within(name, value, 0.0, 10.0, "mol/L") for name, value in given.items())
    wide = np.stack(np.broadcast_arrays(*known))
    totals, shape = np.maximum(wide.reshape(3, -1), LEAST), wide.shape[1:]
    free, bound = _newton(totals, constants)
    ksp = 10.0 ** trade.value("baths", "log_ksp_iodide")
    return Speciation(
        free[0].reshape(shape),
        free[1].reshape(shape),
        free[2].reshape(shape),
        bound.reshape(len(bound), *shape),
        (free[0] * free[2] / ksp).reshape(shape),
    )


def _newton(totals: Floats, constants: Constants) -> tuple[Floats, Floats]:
    """Return free ions and complexes, (3, n) and (k, n)."""
    holds, ln_beta = complexes(constants)
    pairs = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)]
    second = np.stack([holds[:, a] * holds[:, b] for a, b in pairs])
    x = np.log(totals)
    # a start: thiosulfate and iodide are free, and the silver is shared among all that binds it
    load = np.exp(ln_beta[:, None] + holds[:, 1:] @ x[1:])
    x[0] -= np.log1p((holds[:, :1] * load).sum(axis=0))
    for _ in range(ROUNDS):
        bound = np.exp(ln_beta[:, None] + holds @ x)
        free = np.exp(x)
        gap = totals - free - holds.T @ bound
        if (np.abs(gap) <= ENOUGH * totals).all():
            return free, bound
        curve = second @ bound
        curve[[0, 3, 5]] += free
        step = _solved(curve, gap)
        step *= np.minimum(1.0, BOUND / np.maximum(np.abs(step).max(axis=0), LEAST))
        x = x + step
    raise BadInput("bath", "its balance was not found", "check the amounts")


def _solved(curve: Floats, gap: Floats) -> Floats:
    """Return the Newton step of every bath: a symmetric 3 x 3 system by its factors L D L'."""
    a, b, c, d, e, f = curve
    l21, l31 = b / a, c / a
    d2 = np.maximum(d - l21 * b, 1e-12 * d)
    l32 = (e - l31 * b) / d2
    d3 = np.maximum(f - l31 * c - l32 * l32 * d2, 1e-12 * f)
    y1 = gap[0]
    y2 = gap[1] - l21 * y1
    y3 = gap[2] - l31 * y1 - l32 * y2
    z3 = y3 / d3
    z2 = y2 / d2 - l32 * z3
    return np.stack([y1 / a - l21 * z2 - l31 * z3, z2, z3])


def silver_held(thiosulfate: ArrayLike, constants: Constants = "in_bath") -> Floats:
    """Return how much silver a fresh bath can take from plates before silver iodide stays behind.

    Every silver comes with one iodide; the free ions stand at the solubility product.

    Parameters
    ----------
    thiosulfate : array_like
        All of it. [mol/L]
    constants : {"in_bath", "log_beta"}
        As in `speciation`.

    Returns
    -------
    ndarray
        [mol/L]

    Examples
    --------
    >>> round(float(silver_held(0.6)) * 107.87, 2)  # grams of silver in a litre
    1.78
    """
    total = within("thiosulfate", thiosulfate, 0.0, 10.0, "mol/L")
    holds, ln_beta = complexes(constants)
    flat = np.maximum(total.ravel(), LEAST)
    ln_ksp = trade.value("baths", "log_ksp_iodide") * log(10.0)

    def more_silver(ln_silver: Floats) -> Floats:
        silver, iodide = _at_saturation(ln_silver, ln_ksp, flat, holds, ln_beta)
        return silver - iodide

    found = halved(more_silver, 0.0, np.full(flat.shape, ln_ksp), np.zeros(flat.shape))
    silver, _ = _at_saturation(found, ln_ksp, flat, holds, ln_beta)
    return silver.reshape(total.shape)


def _at_saturation(
    ln_silver: Floats,
    ln_ksp: float,
    thiosulfate: Floats,
    holds: Floats,
    ln_beta: Floats,
) -> tuple[Floats, Floats]:
    """Return all silver and all iodide when so much silver is free beside solid silver iodide."""
    ln_iodide = ln_ksp - ln_silver
    fixed = ln_beta[:, None] + np.outer(holds[:, 0], ln_silver) + np.outer(holds[:, 2], ln_iodide)
    free = over = thiosulfate
    count = holds[:, 1:2]
    # a growing, convex sum: Newton from above comes down to its root
    while (np.abs(over) > ENOUGH * thiosulfate).any():
        bound = np.exp(fixed) * free**count
        over = free + (count * bound).sum(axis=0) - thiosulfate
        free = free - over / (1.0 + (count**2 * bound).sum(axis=0) / free)
    bound = np.exp(fixed) * free**count
    silver = np.exp(ln_silver) + (holds[:, :1] * bound).sum(axis=0)
    iodide = np.exp(ln_iodide) + (holds[:, 2:] * bound).sum(axis=0)
    return silver, iodide
