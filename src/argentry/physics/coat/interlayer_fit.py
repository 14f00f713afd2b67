"""The maker's own interlayer, found from the colours of a stepped fume plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.physics.coat.coat_colour import check_lab, coat_lab
from argentry.physics.coat.colour import Light
from argentry.physics.coat.interlayer import Interlayer


@dataclass(frozen=True)
class Fit:
    """The maker's own interlayer from a stepped fume plate.

    Attributes
    ----------
    interlayer_nm, interlayer_nm_sd : float
        Thickness of the lossy layer and its standard deviation. [nm]
    interlayer_silver, interlayer_silver_sd : float
        Share of silver in it and its standard deviation. [1]
    interlayer_growth_nm, interlayer_growth_nm_sd : float
        Coat over which it comes to 63 % of that thickness, and its standard deviation. [nm]
    nm_per_unit, nm_per_unit_sd : float
        Thickness per unit of the first column (1 and 0 when that is thickness itself).
        [nm per unit]
    rms : float
        Root mean square of what is left of L*, a*, b*. [1]
    steps : int
        Number of steps of the plate.
    """

    interlayer_nm: float
    interlayer_nm_sd: float
    interlayer_silver: float
    interlayer_silver_sd: float
    interlayer_growth_nm: float
    interlayer_growth_nm_sd: float
    nm_per_unit: float
    nm_per_unit_sd: float
    rms: float
    steps: int


def fit_interlayer(
    steps: ArrayLike,
    measured_lab: ArrayLike,
    source: Light,
    *,
    in_nm: bool = True,
    angle_deg: float = 0.0,
) -> Fit:
    """Return the interlayer that best explains a stepped fume plate, with its spread.

    Least squares over L*, a*, b* of all steps: a coarse search, then steps within the bounds.
    The coat over which the layer grows is found too, held weakly near the trade's seed: steps that
    are all thick tell nothing of it, and a fixed one would bias the rest on a plate of thin steps.
    When the plate's steps are known as seconds only, the thickness per second is found as well
    (growth in proportion to time).

    Parameters
    ----------
    steps : array_like, shape (n,)
        Thickness [nm], or seconds over iodine [s] when `in_nm` is False.
    measured_lab : array_like, shape (n, 3)
        L*, a*, b* of each step. [1]
    source : Light
        The light.
    in_nm : bool
        True when `steps` is thickness.
    angle_deg : float
        Angle of view. [deg]

    Returns
    -------
    Fit
        The interlayer. The spreads come from what is left over, so they hold only as far as the
        model does.

    Raises
    ------
    BadInput
        If there are fewer than four steps, or a value is out of range.
    """
    from scipy.optimize import least_squares

    x = np.asarray(steps, dtype=np.float64)
    y = np.asarray(measured_lab, dtype=np.float64)
    if x.size < 4:
        raise BadInput("stepped plate", "it has {size} steps", "give four or more", size=x.size)
    for row in y:
        check_lab(row)
    if not (np.isfinite(x).all() and (x >= 0).all() and x.max() > 0):
        raise BadInput("stepped plate", "a step is negative or not a number", "give 0 or more")
    top = trade.value("film", "thickness_high_nm")
    if in_nm:
        check_range("coat thickness", float(x.max()), 0, top, "nm")
    facts = trade.facts("film")
    keys = [facts[key] for key in ("interlayer_nm", "interlayer_silver", "interlayer_growth_nm")]
    low, high = (np.array([getattr(one, end) for one in keys]) for end in ("low", "high"))
    low[2], high[2] = np.log(low[2]), np.log(high[2])
    growth = np.log(keys[2].value)
    pull = facts["lab_noise"].value / facts["interlayer_growth_nm_spread"].value
    starts = [
        np.array([t, f, growth])
        for t in (3, 6, 9, 12, 16, 22, 30)
        for f in (0.2, 0.35, 0.5, 0.65, 0.8)
    ]
    if not in_nm:
        # the thickest step may lie anywhere from the first gold to the end of the model
        low, high = np.append(low, 10 / x.max()), np.append(high, top / x.max())
        rates = np.geomspace(15, top, 45) / x.max()
        starts = [np.append(s, r) for s in starts[::3] for r in rates]

    def left_over(p: Floats) -> Floats:
        thick = x * (1.0 if in_nm else p[3])
        layer = Interlayer(float(p[0]), float(p[1]), float(np.exp(p[2])))
        model = coat_lab(np.minimum(thick, top), source, angle_deg=angle_deg, layer=layer)
        return np.append((model - y).ravel(), pull * (p[2] - growth))

    ranked = sorted(starts, key=lambda p: float(np.sum(left_over(p) ** 2)))
    within = {"bounds": (low, high), "x_scale": "jac", "diff_step": 1e-4, "method": "dogbox"}
    tries = [least_squares(left_over, np.clip(p, low, high), **within) for p in ranked[:3]]
    found = min(tries, key=lambda one: float(one.cost))
    best, rest = found.x, found.fun
    cover = np.linalg.pinv(found.jac.T @ found.jac) * float(rest @ rest)
    cover /= rest.size - best.size
    sd = np.sqrt(np.diag(cover))
    grown = float(np.exp(best[2]))
    return Fit(
        interlayer_nm=float(best[0]),
        interlayer_nm_sd=float(sd[0]),
        interlayer_silver=float(best[1]),
        interlayer_silver_sd=float(sd[1]),
        interlayer_growth_nm=grown,
        interlayer_growth_nm_sd=grown * float(sd[2]),
        nm_per_unit=1.0 if in_nm else float(best[3]),
        nm_per_unit_sd=0.0 if in_nm else float(sd[3]),
        rms=float(np.sqrt(np.mean(rest[:-1] ** 2))),
        steps=int(x.size),
    )
