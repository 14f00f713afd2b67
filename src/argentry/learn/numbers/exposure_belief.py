"""What is believed of plate speed, latitude and plate-to-plate noise, as weights on a grid.

A plate given x stops more than the starting exposure answers x + e, e normal noise that all strips
of one plate share. It is under below S - L, right within L of S, over up to a few stops above, and
solarised beyond. S (how many stops more than the starting exposure are right), L and the noise are
unknown; their weights are multiplied by what each graded plate says, exactly, on a grid.

References
----------
.. [1] C. I. Bliss, The calculation of the dosage-mortality curve, Annals of Applied Biology 22
   (1935) 134-167.
.. [2] A. B. Watson and D. G. Pelli, QUEST: a Bayesian adaptive psychometric method, Perception &
   Psychophysics 33 (1983) 113-120: the posterior on a grid.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.learn.numbers.drift import still, wandered
from argentry.learn.stages.likelihood import normal_cdf
from argentry.records.plate import VERDICTS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from argentry.arrays import Floats


PLACE = {"blank": 0, "under": 0, "right": 1, "over": 2, "solarised": 3}
SHARED = np.linspace(-2.4, 2.4, 9)  # shared noise of a strip plate [standard deviations]
SHARED_CHANCE = np.exp(-0.5 * SHARED**2) / np.exp(-0.5 * SHARED**2).sum()  # of each of them [1]


@dataclass(frozen=True)
class GradedExposure:
    """One plate whose exposure was judged.

    Attributes
    ----------
    stops : tuple of float
        Light given against the starting exposure, one for each strip, or a single one. [stops]
    verdicts : tuple of str
        What each shows: blank, under, right, over or solarised.
    light_sd : float
        How well that light is known. [stops]
    session : str
        Plates of one session share the speed; it wanders between sessions.
    day : date or None
        When.
    group : str
        Kind of light or coat, for offsets.
    opened : str
        The bottle or lot in use, by the maker's own name; another one may change the speed at once.
    """

    stops: tuple[float, ...]
    verdicts: tuple[str, ...]
    light_sd: float = 0.0
    session: str = ""
    day: date | None = None
    group: str = ""
    opened: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be read."""
        if len(self.stops) != len(self.verdicts) or not self.stops:
            raise BadInput("graded exposure", "verdicts and exposures differ in number",
                           "give one verdict for each")  # fmt: skip
        for verdict in self.verdicts:
            if verdict not in PLACE:
                raise BadInput(
                    "verdict",
                    "{verdict!r} is not a verdict",
                    "use {verdicts}",
                    verdict=verdict,
                    verdicts=", ".join(VERDICTS),
                )
        for stops in self.stops:
            check_range("light given", stops, -15.0, 15.0, "stops")
        check_range("doubt of the light", self.light_sd, 0.0, 3.0, "stops")


@dataclass(frozen=True)
class Belief:
    """Weights on the grid of speed, half latitude and noise.

    Attributes
    ----------
    shift : NDArray (a,)
        S: stops more than the starting exposure that are right. [stops]
    half : NDArray (b,)
        L: half latitude. [stops]
    noise : NDArray (c,)
        Spread from plate to plate. [stops]
    weight : NDArray (a, b, c)
        Probability of each. [1]
    plates : int
        Plates that it rests on.
    day : date or None
        Of the last of them.
    drift : NDArray (d,) or None
        Probability of each drift of `drifts_believed`, as learned; None before any plate. [1]
    """

    shift: Floats
    half: Floats
    noise: Floats
    weight: Floats
    plates: int = 0
    day: date | None = None
    drift: Floats | None = None

    def marginal(self, axis: int) -> Floats:
        """Return the probability of each value of one unknown: 0 S, 1 L, 2 noise."""
        return np.asarray(self.weight.sum(axis=tuple(i for i in range(3) if i != axis)))

    @property
    def mean(self) -> float:
        """Return the mean of S. [stops]."""
        return float(self.marginal(0) @ self.shift)

    @property
    def sd(self) -> float:
        """Return the standard deviation of S. [stops]."""
        return float(np.sqrt(self.marginal(0) @ (self.shift - self.mean) ** 2))

    def near(self, stops: float) -> float:
        """Return the probability that S lies within `stops` of its mean."""
        within = np.abs(self.shift - self.mean) <= stops + 1e-9
        return float(self.marginal(0)[within].sum())


def believed(
    centre: float = 0.0,
    sd: float | None = None,
    half: tuple[float, float] | None = None,
    noise: tuple[float, float] | None = None,
) -> Belief:
    """Return what is believed before any plate.

    Parameters
    ----------
    centre, sd : float
        S, normal; without `sd` the trade's doubt of plate speed. [stops]
    half, noise : tuple of float, optional
        Median [stops] and standard deviation of the logarithm; else the trade's.

    Returns
    -------
    Belief
        On a grid of four standard deviations either side of `centre`.

    Raises
    ------
    BadInput
        If a number is out of range.
    """
    spread = trade.value("exposure", "plate_speed_sigma") if sd is None else sd
    check_range("doubt of the speed", spread, 0.0, 5.0, "stops", open_low=True)
    middle = check_range("starting exposure", centre, -15.0, 15.0, "stops")
    z = np.linspace(-4.0, 4.0, 97)
    first = np.exp(-0.5 * z**2)
    widths, width_weight = _log_normal("half_latitude", half, 9, reach=3.0)
    noises, noise_weight = _log_normal("plate_noise", noise, 5)
    weight = first[:, None, None] * width_weight[:, None] * noise_weight
    return Belief(middle + spread * z, widths, noises, weight / weight.sum())


def _log_normal(
    key: str, given: tuple[float, float] | None, count: int, *, reach: float = 2.0
) -> tuple[Floats, Floats]:
    """Return grid points to `reach` standard deviations either side, and their weights."""
    median, sd = given or (trade.value("decide", key), trade.value("decide", f"{key}_log_sd"))
    check_range(key.replace("_", " "), median, 0.0, 5.0, "stops", open_low=True)
    z = np.linspace(-reach, reach, count)
    return median * np.exp(sd * z), np.exp(-0.5 * z**2)


def grade_chances(
    belief: Belief, stops: Floats, light_sd: float = 0.0, shared: Floats | None = None
) -> Floats:
    """Return the chance of each verdict (under, right, over, solarised) on the whole grid.

    Parameters
    ----------
    belief : Belief
        Its grid; its weights are not used.
    stops : NDArray (m,)
        Exposures. [stops]
    light_sd : float
        Doubt of the light. [stops]
    shared : NDArray (m, e), optional
        Noise that is given for each, instead of drawn again. [standard deviations]

    Returns
    -------
    NDArray, shape (4, m, a, b, c), or (4, m, a, b, c, e) with `shared`
        Slips of eye and pen included.
    """
    below = [_below(belief, edge, stops, light_sd, shared) for edge in range(3)]
    return _with_slips(np.diff(np.stack(below), axis=0, prepend=0.0, append=1.0))


def grade_chance(
    belief: Belief, place: int, stops: Floats, light_sd: float, shared: Floats | None = None
) -> Floats:
    """Return one of `grade_chances`, which is less work: that of `place`, as of `PLACE`."""
    low = _below(belief, place - 1, stops, light_sd, shared) if place else 0.0
    high = _below(belief, place, stops, light_sd, shared) if place < 3 else 1.0
    return _with_slips(np.asarray(high - low))


def _below(
    belief: Belief, edge: int, stops: Floats, light_sd: float, shared: Floats | None
) -> Floats:
    """Return the chance of an exposure below an edge between two verdicts, on the grid."""
    s, half, noise = belief.shift[:, None, None], belief.half[:, None], belief.noise
    edges = s - half if edge == 0 else s + half if edge == 1 else s + half + _beyond()
    away = edges - stops[:, None, None, None]
    spread = np.sqrt(noise**2 + light_sd**2)
    if shared is None:
        return normal_cdf(away / spread)
    return normal_cdf((away[..., None] - spread[:, None] * shared) / _strip_noise())


def _with_slips(chance: Floats) -> Floats:
    """Return chances with those of a slip of eye or pen."""
    slip = trade.value("decide", "misread_share")
    return np.asarray((1.0 - slip) * chance + slip / 4.0)


@cache
def _beyond() -> float:
    return trade.value("decide", "solarised_above")


@cache
def _strip_noise() -> float:
    return trade.value("decide", "strip_noise")


def weigh(belief: Belief, plate: GradedExposure) -> Belief:
    """Return the belief after one graded plate.

    Parameters
    ----------
    belief : Belief
        Before.
    plate : GradedExposure
        A whole plate, or strips that share their plate's noise.

    Returns
    -------
    Belief
        With weights multiplied by what the plate says.
    """
    like = likelihood(belief, plate)
    weight = belief.weight * like
    day = max((d for d in (belief.day, plate.day) if d), default=None)
    return replace(belief, weight=weight / weight.sum(), plates=belief.plates + 1, day=day)


def likelihood(belief: Belief, plate: GradedExposure) -> Floats:
    """Return the chance of what a plate shows, on the grid; (a, b, c)."""
    return np.asarray(likelihood_moved(belief, plate, np.zeros(1))[0])


def likelihood_kept(belief: Belief, plate: GradedExposure) -> Floats:
    """Return `likelihood`, kept: plates are gone through again for each day and kind of light."""
    grid = (belief.shift.tobytes(), belief.half.tobytes(), belief.noise.tobytes())
    return _on_grid(grid, plate.stops, plate.verdicts, plate.light_sd)


@lru_cache(maxsize=400)  # of some 15 kB
def _on_grid(
    grid: tuple[bytes, bytes, bytes],
    stops: tuple[float, ...],
    verdicts: tuple[str, ...],
    light_sd: float,
) -> Floats:
    shift, half, noise = (np.frombuffer(one) for one in grid)
    like = likelihood(
        Belief(shift, half, noise, np.ones(1)), GradedExposure(stops, verdicts, light_sd)
    )
    like.setflags(write=False)
    return like


def likelihood_moved(belief: Belief, plate: GradedExposure, off: Floats) -> Floats:
    """Return the chance of what a plate shows, had it needed some stops more than calculated.

    Parameters
    ----------
    belief : Belief
        Its grid; its weights are not used.
    plate : GradedExposure
        A whole plate, or strips that share their plate's noise.
    off : NDArray (m,)
        Light it needed beyond what was calculated. [stops]

    Returns
    -------
    NDArray, shape (m, a, b, c)
        On the grid, for each.
    """
    seen = [PLACE[verdict] for verdict in plate.verdicts]
    if len(seen) == 1:
        return grade_chance(belief, seen[0], plate.stops[0] - off, plate.light_sd)
    each = np.ones(1)
    for stops, place in zip(plate.stops, seen, strict=True):
        each = each * grade_chance(belief, place, stops - off, plate.light_sd, SHARED)
    return np.asarray(each @ SHARED_CHANCE)


def drifts_believed() -> tuple[Floats, Floats]:
    """Return drifts from session to session, and how likely each is before any plate.

    As likely none at all as some, and then half of a normal law; the root of the mean square is
    what the trade says. Without its own chance, no drift would be believed only after hundreds of
    plates, and until then the speed would be told as if it wandered.

    Returns
    -------
    drifts, chances : NDArray
        [stops, 1]
    """
    drifts, chances = half_normal(np.sqrt(2.0) * trade.value("decide", "speed_drift"))
    return drifts, 0.5 * (chances + (drifts == 0.0))


def half_normal(root_mean_square: float) -> tuple[Floats, Floats]:
    """Return values of a spread that may be none at all, and how likely each is.

    Half of a normal law from none on.

    Parameters
    ----------
    root_mean_square : float
        Of the spread, as spreads add. [any unit]

    Returns
    -------
    values, chances : NDArray (9,)
        [the same unit, 1]
    """
    z = np.linspace(0.0, 3.0, 9)
    chances = np.exp(-0.5 * z**2) * np.where(z == 0.0, 0.5, 1.0)  # the first is half as wide
    chances /= chances.sum()
    return root_mean_square * z / np.sqrt(chances @ z**2), chances


def wander(belief: Belief, sessions: float = 1.0, drift_stops: float | None = None) -> Belief:
    """Return the belief after sessions without a graded plate: the speed has wandered.

    Parameters
    ----------
    belief : Belief
        Before.
    sessions : float
        How many have passed.
    drift_stops : float, optional
        From each to the next; else the trade's. [stops]

    Returns
    -------
    Belief
        Its speed spread by the drift; on the same grid.
    """
    each = trade.value("decide", "speed_drift") if drift_stops is None else drift_stops
    sd = each * np.sqrt(sessions)
    if still(belief.shift, sd):
        return belief
    (weight,) = wandered(belief.weight[None], belief.shift, np.array([sd]))
    return replace(belief, weight=weight)


def quantiles(values: Floats, weight: Floats, shares: Sequence[float]) -> Floats:
    """Return weighted quantiles of ascending values, straight between them."""
    total = np.cumsum(weight) - 0.5 * weight
    return np.asarray(np.interp(shares, total / weight.sum(), values))
