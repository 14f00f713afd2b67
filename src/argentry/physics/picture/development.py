"""Under the red filter: the image builds up against the veil, and when the light has done both.

A plate under red light is ripe when the development light behind its filter has added up to a dose
that differs from plate to plate. The shadows build up too, more slowly, and veil it in the end, so
an end is a window from ripe to veiled (`window`). The light of a day ends with the sun behind the
skyline: what comes after is never counted on, and what is reached by then is told.

Range: doses 1 kJ/m2 to 1e5 kJ/m2. No constant of temperature is known for this step.

References
----------
.. [1] J. C. Bose, On the Strain Theory of Photographic Action, Proc. R. Soc. Lond. 70 (1902) 187,
   section 3: in a daguerreotype the latent image disappears in the course of several hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Truth
from argentry.errors import check_range
from argentry.physics.picture.dose import end_index, ends_of_days, latest_start_index
from argentry.physics.stops import SHARES_80, Z80, spread

MOST_STOPS = 3.0  # off the right exposure, beyond which no dose is told


@dataclass(frozen=True)
class Ripening:
    """What a plate comes to whose development begins at one moment.

    Attributes
    ----------
    end_index : float
        When the median plate is ripe, in steps; NaN when the light ends first. [1]
    low_index, high_index : float
        The same for the plates that need little and much light, 80 % between them. [1]
    suffices : bool
        True when the median plate is ripe in time.
    share : float
        Share of the median dose that has come in when time is up; may exceed 1. [1]
    ripe_share : float
        Probability that a plate is ripe when time is up. [1]
    latest_start_index : float
        Latest start that is ripe in time, in steps; NaN when no start is. [1]
    """

    end_index: float
    low_index: float
    high_index: float
    suffices: bool
    share: float
    ripe_share: float
    latest_start_index: float


def window(exposure_stops: float = 0.0, ratio: float | None = None) -> tuple[float, float]:
    """Return the doses at which a plate is ripe and veiled, over the ripe dose of a right exposure.

    The lights build up in proportion to the red light and to a power of the exposure; so do the
    shadows, as far as they had light in the camera, and by themselves::

        build = 2^(power stops)
        ripe = 1 / build
        veiled = ratio / (1 - part + part build)

    A longer exposure is ripe sooner and veiled sooner, and its window is shorter; an exposure far
    too short is ripe so late that the veil is near.

    Parameters
    ----------
    exposure_stops : float
        How much more than the right exposure the plate was given, -3 to 3. [stops]
    ratio : float, optional
        Veiled over ripe of a right exposure, where a studio knows it; else the trade's. [1]

    Returns
    -------
    ripe, veiled : float
        [1]

    References
    ----------
    R. Hunt, Researches on Light (1844), para. 618-619, p. 363: an image wholly developed under
    yellow glass; he doubts that the red end always continues what the blue began. Fizeau, as told
    in "An old discovery revived in photography", The Manufacturer and Builder (1870), no. 10: red
    light finishes a plate exposed too short, by a third at most. Neither gives a dose.

    Examples
    --------
    >>> [round(part, 2) for part in window()]
    [1.0, 2.5]
    >>> [round(part, 2) for part in window(1.0)]
    [0.84, 2.28]
    """
    check_range("exposure", exposure_stops, -MOST_STOPS, MOST_STOPS, "stops")
    facts = trade.facts("development")
    build = 2.0 ** (facts["exposure_power"].value * exposure_stops)
    part = facts["veil_of_exposure"].value
    ratio = facts["veil_ratio"].value if ratio is None else ratio
    return 1.0 / build, ratio / (1.0 - part + part * build)


def development_dose_j_m2(dose_kj_m2: float | None = None, exposure_stops: float = 0.0) -> float:
    """Return the median dose of development light behind the filter at which a plate is ripe.

    Parameters
    ----------
    dose_kj_m2 : float or None
        The maker's own; None means the trade's starting value. [kJ/m2]
    exposure_stops : float
        How much more than the right exposure the plate was given. [stops]

    Returns
    -------
    float
        [J/m2]

    Examples
    --------
    >>> development_dose_j_m2(500.0)
    500000.0
    """
    dose = trade.value("development", "dose") if dose_kj_m2 is None else dose_kj_m2
    check_range("dose", dose, 1.0, 1e5, "kJ/m2")
    return 1000.0 * dose * window(exposure_stops)[0]


def veiled_dose_j_m2(
    ripe_j_m2: float, exposure_stops: float = 0.0, ratio: float | None = None
) -> float:
    """Return the median dose at which a plate's shadows veil. [J/m2].

    Parameters
    ----------
    ripe_j_m2 : float
        Its median ripe dose, from `development_dose_j_m2` for the same exposure. [J/m2]
    exposure_stops, ratio
        As in `window`.
    """
    ripe, veiled = window(exposure_stops, ratio)
    return ripe_j_m2 * veiled / ripe


def fading_stops(waited_min: float) -> float:
    """Return how much exposure a latent image loses while the plate waits for its development.

    Parameters
    ----------
    waited_min : float
        From the end of the exposure to the start of development. [min]

    Returns
    -------
    float
        Even in time, that is a fall of the image as exp(-t/tau); at most three stops. [stops]

    References
    ----------
    Bose [1]_.
    """
    check_range("wait before development", waited_min, 0.0, 10000.0, "min")
    return min(trade.value("development", "fading_per_hour") * waited_min / 60.0, MOST_STOPS)


def dose_range_j_m2(median_j_m2: float, sigma_stops: float | None = None) -> Floats:
    """Return the doses of the plates that need little, the median and much light (10, 50, 90 %).

    Parameters
    ----------
    median_j_m2 : float
        [J/m2]
    sigma_stops : float or None
        Spread between plates; None means the trade's starting value. [stops]

    Returns
    -------
    Floats, shape (3,)
        [J/m2]
    """
    sigma = trade.value("development", "dose_sigma") if sigma_stops is None else sigma_stops
    return spread(median_j_m2, sigma)


def light_end_index(sun_over_skyline: Truth, start_index: float) -> float:
    """Return where the light of the day ends: the end of the last step with the sun in sight.

    A tower that hides the sun for a while does not end the day. The series must not reach into the
    next morning.

    Parameters
    ----------
    sun_over_skyline : Truth, shape (n,)
        Whether the sun stands over the skyline in each step.
    start_index : float
        Start, in steps. [1]

    Returns
    -------
    float
        In steps; `start_index` when the sun is not seen after it. [1]
    """
    seen = np.flatnonzero(sun_over_skyline)
    return max(float(seen[-1] + 1), start_index) if len(seen) else start_index


def ripening(
    cumulative: Floats, start_index: float, doses_j_m2: Floats, last_index: float
) -> Ripening:
    """Return when a plate begun at `start_index` is ripe, if it is by `last_index`.

    Parameters
    ----------
    cumulative : Floats, shape (n + 1,)
        Running integral of development light behind the filter. [J/m2]
    start_index : float
        When development begins, in steps. [1]
    doses_j_m2 : Floats, shape (3,)
        From `dose_range_j_m2`. [J/m2]
    last_index : float
        When time is up: the light ends, or the deadline. [1]

    Returns
    -------
    Ripening
        Ends after `last_index` are NaN.

    Raises
    ------
    BadInput
        If the start lies outside the series.
    """
    low, middle, high = (
        _by(end_index(cumulative, start_index, float(dose)), last_index) for dose in doses_j_m2
    )
    edges = np.arange(len(cumulative))
    received = float(
        np.interp(max(last_index, start_index), edges, cumulative)
        - np.interp(start_index, edges, cumulative)
    )
    return Ripening(
        end_index=middle,
        low_index=low,
        high_index=high,
        suffices=not np.isnan(middle),
        share=received / float(doses_j_m2[1]),
        ripe_share=ripe_share(received, doses_j_m2),
        latest_start_index=latest_start_index(cumulative, float(doses_j_m2[1]), last_index),
    )


def ripening_of_days(
    cumulative_days: Floats, start_index: float, doses_j_m2: Floats, last_index: float
) -> Ripening:
    """Return `ripening` where the day's light is not known either, only many days it may be.

    Parameters
    ----------
    cumulative_days : Floats, shape (k, n + 1)
        Running integral of development light on each possible day. [J/m2]
    start_index, last_index : float
        As in `ripening`. [1]
    doses_j_m2 : Floats, shape (k,)
        A plate's dose for each day. [J/m2]

    Returns
    -------
    Ripening
        Of the middle case; the latest start is the one that is ripe in half the cases.
    """
    ends = ends_of_days(cumulative_days, start_index, doses_j_m2)
    ends = np.where(ends <= last_index + 1e-9, ends, np.inf)
    latest = [
        latest_start_index(day, float(dose), last_index)
        for day, dose in zip(cumulative_days, doses_j_m2, strict=True)
    ]
    starts = np.nan_to_num(np.array(latest), nan=-np.inf)
    low, middle, high = (float(np.quantile(ends, share, method="nearest")) for share in SHARES_80)
    half = float(np.quantile(starts, 0.5, method="lower"))
    edges = np.arange(cumulative_days.shape[-1])
    received = [
        np.interp(max(last_index, start_index), edges, day) - np.interp(start_index, edges, day)
        for day in cumulative_days
    ]
    return Ripening(
        end_index=middle if np.isfinite(middle) else float("nan"),
        low_index=low if np.isfinite(low) else float("nan"),
        high_index=high if np.isfinite(high) else float("nan"),
        suffices=bool(np.isfinite(middle)),
        share=float(np.median(received) / np.median(doses_j_m2)),
        ripe_share=float(np.mean(np.isfinite(ends))),
        latest_start_index=half if np.isfinite(half) else float("nan"),
    )


def ripe_share(received_j_m2: float, doses_j_m2: Floats) -> float:
    """Return the probability that a plate is ripe after `received_j_m2`.

    Parameters
    ----------
    received_j_m2 : float
        [J/m2]
    doses_j_m2 : Floats, shape (3,)
        10, 50 and 90 % doses; the logarithm is taken as normal. [J/m2]

    Returns
    -------
    float
        [1]
    """
    if received_j_m2 <= 0.0:
        return 0.0
    above = float(np.log(received_j_m2 / doses_j_m2[1]))
    sigma = float(np.log(doses_j_m2[2] / doses_j_m2[1])) / Z80
    if sigma == 0.0:
        return 1.0 if above >= 0.0 else 0.0
    return NormalDist().cdf(above / sigma)


def _by(index: float, last_index: float) -> float:
    return index if index <= last_index + 1e-9 else float("nan")


def frame_warming_k(light_w_m2: float) -> float:
    """Return how much warmer than the air a frame in strong light may become.

    Parameters
    ----------
    light_w_m2 : float
        All light on the frame, visible or not. [W/m2]

    Returns
    -------
    float
        Absorbed share times light over heat transfer of both faces; a rough figure. [K]
    """
    absorbed = trade.value("development", "heat_absorbed")
    return absorbed * light_w_m2 / trade.value("development", "heat_transfer")


def looks_minutes(latest_minutes: float) -> list[float]:
    """Return when to look at the plate, in minutes from the start, up to the end of the range.

    Parameters
    ----------
    latest_minutes : float
        High end of the range. [min]

    Returns
    -------
    list of float
        [min]
    """
    first = trade.value("development", "look_first")
    every = trade.value("development", "look_every")
    if latest_minutes <= first:
        return [round(0.6 * latest_minutes)] if latest_minutes >= 5.0 else []
    looks = (first + every * i for i in range(12))
    return [minutes for minutes in looks if minutes <= latest_minutes]
