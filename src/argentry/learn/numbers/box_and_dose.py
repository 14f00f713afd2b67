"""The studio's own box factor, development dose and veil, from timed coats and end points.

All are quantities whose logarithm scatters about an unknown middle. The scatter is taken as the
trade has it and corrected by what is seen, as if the trade's word were a few plates. What an end of
a development tells, called by an eye, stands in `called_ends`.

References
----------
.. [1] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, sections 2.5 (normal mean) and
   2.6 (scaled inverse chi-squared for its variance).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product
from math import exp, hypot, log, sqrt

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.numbers.called_ends import REACH, Evidence, clock_chance
from argentry.learn.numbers.exposure_belief import quantiles
from argentry.learn.stages.likelihood import normal_cdf
from argentry.physics.stops import SHARES_80, Z80
from argentry.records.decision import Learned

END_POINTS = ("unripe", "ripe", "too long")
# how far a plate was taken out by its own look, and not when plates usually are
WATCHED = (0.0, 0.5, 0.9)
LEAST_CLOCK = 1e-3  # a chance of ends by the clock under which nothing is changed by it
SWANSON = (0.3, 0.4, 0.3)  # weights of the 10, 50 and 90 % marks of what is not known (from memory)
GRID = np.linspace(-REACH, REACH, 801)  # of the middle [standard deviations of what is believed]


def box_factor(
    measured_seconds: Sequence[float],
    computed_seconds: Sequence[float],
    days: Sequence[date | None] = (),
    box: str = "",
    before: tuple[float, float] | None = None,
) -> Learned:
    """Return the factor of one iodine box from coats timed to a known colour.

    Parameters
    ----------
    measured_seconds, computed_seconds : sequences of float
        Seconds over iodine to the colour, and those computed for that colour and day with a
        factor of 1. [s]
    days : sequence of date or None
        When.
    box : str
        Its name.
    before : tuple of float, optional
        Logarithm of what is believed before any coat, and its standard deviation; else the trade's.

    Returns
    -------
    Learned
        ``box_factor`` [1]; with no coat what is believed: 1.

    Raises
    ------
    BadInput
        If the sequences differ in length or a number is not positive.
    """
    if len(measured_seconds) != len(computed_seconds):
        raise BadInput("timed coats", "measured and computed differ in number", "give pairs")
    for seconds in (*measured_seconds, *computed_seconds):
        check_range("seconds over iodine", seconds, 0.0, 1e6, "s", open_low=True)
    logs = np.log(
        np.asarray(measured_seconds, dtype=float) / np.asarray(computed_seconds, dtype=float)
    )
    middle, prior_sd = before or (0.0, trade.value("decide", "box_factor_log_sd"))
    error = trade.value("decide", "coat_time_log_sd")
    doubts = _Doubts(prior_sd, error, trade.value("decide", "box_shared_log_sd"))
    score, logs = np.zeros(GRID.size), logs - middle
    if logs.size:  # the squares about each value are those about their mean, but for a constant
        worth = logs.size / _scatter(logs, error) ** 2
        score = -0.5 * worth * (logs.mean() - prior_sd * GRID) ** 2
    return _told("box_factor", "1", exp(middle), doubts, score, days, box, logs.size)


def development_dose(
    doses_kj_m2: Sequence[float],
    ends: Sequence[str],
    days: Sequence[date | None] = (),
    believed_kj_m2: float | None = None,
    before: tuple[float, float] | None = None,
    log_sds: Sequence[float] = (),
    minutes: Sequence[float] = (),
) -> Learned:
    """Return the development dose from plates taken out of the frame.

    Parameters
    ----------
    doses_kj_m2 : sequence of float
        Development light behind the filter until it was taken out. [kJ/m2]
    ends : sequence of str
        ``"ripe"``: taken out at the end point; ``"unripe"``: before it, so the dose is more;
        ``"too long"``: after it, so the dose is less.
    days : sequence of date or None
        When.
    believed_kj_m2 : float, optional
        What was believed before; else the trade's value. [kJ/m2]
    before : tuple of float, optional
        Logarithm of what is believed, and its standard deviation, instead.
    log_sds : sequence of float
        How well each dose itself is known, beside what differs from plate to plate, as the standard
        deviation of its logarithm: above 0 where pictures told it. None given: all 0. [1]
    minutes : sequence of float
        How long each lay behind the filter: much the same in all light tells of a clock. None
        given: an eye called every end. [min]

    Returns
    -------
    Learned
        ``development_dose`` [kJ/m2].

    Raises
    ------
    BadInput
        If the sequences differ in length, a dose is not positive or an end is unknown.
    """
    if len(doses_kj_m2) != len(ends):
        raise BadInput("end points", "doses and ends differ in number", "give one end for each")
    if len(minutes) not in (0, len(ends)):
        raise BadInput("end points", "minutes and ends differ in number", "give one for each")
    for dose in doses_kj_m2:
        check_range("development dose", dose, 0.0, 1e6, "kJ/m2", open_low=True)
    for end in ends:
        if end not in END_POINTS:
            raise BadInput(
                "end point",
                "{end!r} is not an end point",
                "use one of {end_points}",
                end=end,
                end_points=", ".join(END_POINTS),
            )
    middle, prior_sd = _dose_believed(believed_kj_m2, before)
    logs = np.log(np.asarray(doses_kj_m2, dtype=float) / middle)
    kinds, own = np.array(ends, dtype="U8"), np.asarray(log_sds or np.zeros(logs.size), dtype=float)
    seen = own == 0.0
    lay = np.asarray(minutes, dtype=float)[seen] if minutes else np.array([])
    clock = clock_chance(lay) if lay.size else 0.0
    scores = []
    for by_clock in (False, True)[: 1 + (clock > LEAST_CLOCK)]:
        evidence = Evidence(prior_sd, by_clock=by_clock)
        for end in END_POINTS:
            evidence.add(logs[(kinds == end) & seen], end)
        evidence.add_pictures(logs[~seen], own[~seen])
        scores.append(evidence.at(prior_sd * GRID))
    return _dose(_mixed(scores, clock), middle, prior_sd, days, logs.size)


def doses_in_turn(
    doses_kj_m2: Sequence[float], ends: Sequence[str], believed_kj_m2: float | None = None
) -> Iterator[Learned]:
    """Yield the development dose as it was known before each of some plates.

    Parameters
    ----------
    doses_kj_m2, ends, believed_kj_m2
        As in `development_dose`, in order of time.
    """
    middle, prior_sd = _dose_believed(believed_kj_m2, None)
    evidence = Evidence(prior_sd, rough=True)
    for before, (dose, end) in enumerate(zip(doses_kj_m2, ends, strict=True)):
        yield _dose(evidence.at(prior_sd * GRID), middle, prior_sd, (), before)
        evidence.add(np.log(np.array([dose]) / middle), end)


def _dose_believed(
    believed_kj_m2: float | None, before: tuple[float, float] | None
) -> tuple[float, float]:
    """Return what is believed of the dose, and the standard deviation of its logarithm."""
    middle = trade.value("development", "dose") if believed_kj_m2 is None else believed_kj_m2
    sd = trade.value("development", "dose_sigma") * log(2.0)
    middle, sd = (middle, sd) if before is None else (exp(before[0]), before[1])
    check_range("believed development dose", middle, 0.0, 1e6, "kJ/m2", open_low=True)
    return middle, sd


def _mixed(scores: Sequence[Floats], clock: float) -> Floats:
    """Return a score on `GRID` of what is so by either, as likely as each is."""
    if len(scores) == 1:
        return scores[0]
    weights = [np.exp(-0.5 * GRID**2 + one - one.max()) for one in scores]
    called, by_clock = (weight / weight.sum() for weight in weights)
    mixed = np.maximum((1.0 - clock) * called + clock * by_clock, 1e-300)
    return np.asarray(np.log(mixed) + 0.5 * GRID**2)


def _dose(
    score: Floats, middle: float, prior_sd: float, days: Sequence[date | None], plates: int
) -> Learned:
    # of the same light: what is wrong with all of it is met again by the next plate
    doubts = _Doubts(prior_sd, trade.value("decide", "end_point_log_sd"), 0.0)
    return _told("development_dose", "kJ/m2", middle, doubts, score, days, "", plates)


def veil_ratio(
    doses_kj_m2: Sequence[float],
    ends: Sequence[str],
    dose: Learned,
    days: Sequence[date | None] = (),
) -> Learned:
    """Return the light at which plates veil over the ripe dose, from those that did and did not.

    A plate left too long veiled by the light it got, or other light or heat fogged it
    (`other_fog`); any other had not veiled yet. A plate that got more than usual may have needed
    more, where its maker watched it: then the light it got says little of its veil. How far that
    is so, and how far the veil strays from plate to plate, is not known: three values of each
    stand for it, weighed by the plates.

    Parameters
    ----------
    doses_kj_m2, ends, days
        As in `development_dose`.
    dose : Learned
        What these plates taught of the ripe dose.

    Returns
    -------
    Learned
        ``veil_ratio`` [1].
    """
    fact, each = (trade.facts("development")[name] for name in ("veil_ratio", "veil_sigma"))
    doubts = _Doubts(log(fact.high / fact.low) / (2.0 * Z80), each.value * log(2.0), 0.0)
    own = log(dose.high / dose.low) / (2.0 * Z80)
    kinds, other = np.array(ends, dtype="U8"), trade.value("decide", "other_fog")
    ratio = log(fact.value) + doubts.before * GRID
    over = np.log(np.asarray(doses_kj_m2, dtype=float) / dose.value)[:, None]
    scores = []
    strays = zip((each.low, each.value, each.high), SWANSON, strict=True)
    for (stops, share), own_part in product(strays, WATCHED):
        rest = sqrt(1.0 - own_part) * trade.value("decide", "end_point_log_sd")
        spread = hypot(stops * log(2.0), rest, own)
        clear = (1.0 - other) * normal_cdf((ratio - (1.0 - own_part) * over) / spread)
        told = np.where(kinds[:, None] == "too long", 1.0 - clear, clear)
        scores.append(log(share) + np.log(np.maximum(told, 1e-300)).sum(axis=0))
    score = np.logaddexp.reduce(scores, axis=0)
    if kinds.size:
        score = np.where(ratio > 0.0, score, -np.inf)  # no good plate is veiled before it is ripe
    return _told("veil_ratio", "1", fact.value, doubts, score, days, "", len(kinds))


@dataclass(frozen=True)
class _Doubts:
    """Standard deviations of a logarithm.

    Attributes
    ----------
    before : float
        Of the middle before any plate.
    each : float
        From one plate to the next.
    shared : float
        Of what is wrong with all plates alike (the thermometer, the rule for cloud): no number of
        plates lowers it. The middle stays: with the same thermometer it is what is met again.
    """

    before: float
    each: float
    shared: float


def _told(
    what: str,
    unit: str,
    middle: float,
    doubts: _Doubts,
    score: Floats,
    days: Sequence[date | None],
    of: str,
    plates: int,
) -> Learned:
    """Return what is known of a middle whose values on `GRID` plates made so likely, as a log."""
    at = doubts.before * GRID
    weight = np.exp(-0.5 * GRID**2 + score - score.max())
    low, mid, high = middle * np.exp(quantiles(at, weight, SHARES_80))
    then = middle * np.exp(quantiles(at, np.exp(-0.5 * GRID**2), SHARES_80))
    mean = weight @ at / weight.sum()
    sd = float(np.sqrt(weight @ (at - mean) ** 2 / weight.sum()))
    if plates:
        low = mid * exp(-hypot(log(mid / low), Z80 * doubts.shared))
        high = mid * exp(hypot(log(high / mid), Z80 * doubts.shared))
    return Learned(
        what=what, value=float(mid), low=float(low), high=float(high), unit=unit,
        plates=plates, day=max((d for d in days if d), default=None),
        believed=middle, believed_low=float(then[0]), believed_high=float(then[2]),
        mostly_prior=bool(sd > np.sqrt(0.5) * doubts.before), of=of,
    )  # fmt: skip


def _scatter(logs: Floats, error: float) -> float:
    """Return the scatter: the trade's word and what is seen, weighed by plates."""
    if logs.size < 2:
        return error
    worth = trade.value("decide", "error_plates")
    seen = float(((logs - logs.mean()) ** 2).sum())
    return float(np.sqrt((worth * error**2 + seen) / (worth + logs.size - 1)))
