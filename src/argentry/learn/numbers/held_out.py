"""How far the studio's plates stray from what was said of each before it was made.

The parts of a doubt are judged before any plate. If they are right, what a plate did lies from what
the plates before it foresaw by one of the whole doubt, on average: its standardised residual has a
spread of one. The spread that these residuals have is learned here, in order of time and each from
the plates before it alone, with a belief about one that a few plates hardly move. The ranges of the
same kind are then made so much wider or narrower.

What is wanted is the range that holds four plates in five. Some plates go astray by far more than
the rest; their residuals are therefore taken to follow Student's law, whose long tails do not let a
few of them widen that range. Its scale is counted so that 1 leaves the range as it was.

The end of a development is called by an eye, early or late, and what the eye is wrong by is no
doubt of when the plate is ripe. The books tell the two apart, for they hold the plates that the eye
spoilt: the more of the scatter is the eye's, the more of them there are and the farther they lie
from the ripe ends, which are a selected sample [4]_. How far the eye strays, and how far off a
plate is spoilt, are therefore learned with the scatter, and it is told without the eye.

References
----------
.. [1] A. P. Dawid, Statistical theory: the prequential approach, Journal of the Royal Statistical
   Society A 147 (1984) 278-292: a forecaster is judged, and mended, by forecasts made in turn.
.. [2] T. Gneiting, F. Balabdaoui and A. E. Raftery, Probabilistic forecasts, calibration and
   sharpness, Journal of the Royal Statistical Society B 69 (2007) 243-268.
.. [3] K. L. Lange, R. J. A. Little and J. M. G. Taylor, Robust statistical modeling using the t
   distribution, Journal of the American Statistical Association 84 (1989) 881-896: four degrees of
   freedom where the data are too few to tell.
.. [4] J. J. Heckman, Sample selection bias as a specification error, Econometrica 47 (1979)
   153-161: what is normal, and of which those within bounds of another normal are seen.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot, log
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.numbers.box_and_dose import box_factor, doses_in_turn
from argentry.learn.numbers.box_doubt import same_instruments_log_sd
from argentry.learn.numbers.called_ends import late_by_eye
from argentry.learn.numbers.exposure_belief import half_normal, likelihood, quantiles
from argentry.learn.numbers.light_seen import as_meant
from argentry.learn.numbers.speed import in_turn
from argentry.physics.stops import SHARES_80, Z80
from argentry.records.decision import Learned

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from argentry.arrays import Floats
    from argentry.learn.numbers.exposure_belief import Belief, GradedExposure


SCATTER = "scatter"
STEP = 0.2
TIMES = np.exp(STEP * np.arange(-5, 6))  # the spreads of residuals that are looked at [1]
FINE = np.exp(np.linspace(-1.0, 1.0, 201))
THIN = 4  # of the grid of speeds every so many are taken together
FREEDOM = 4.0  # of Student's law
T90 = 1.5332  # its 90 % mark, of four degrees of freedom (any table)
SCALE = Z80 / T90  # of Student's law that has the 80 % range of the normal of spread 1
# Student's law is normal laws of many spreads together: sqrt(f / chi squared of f)
STRAYS = STEP * np.arange(-4, 8)
_CHI = FREEDOM * np.exp(-2.0 * STRAYS)
SHARES = _CHI ** (FREEDOM / 2.0) * np.exp(-0.5 * _CHI)
SHARES /= SHARES.sum()
# how far off its ripe end a plate is spoilt is not known: evenly in ratio, on either side alone
SPOILT = log(2.0) * np.geomspace(0.1, 2.0, 7)
ALONE = np.ones(1)  # what hangs on nothing else
# plates may never go far astray, either: Student's law and one normal law, as likely as each other
SPREADS = np.append(SCALE * np.exp(STRAYS), 1.0)
LAWS = np.array([[*SHARES, 0.0], [0.0] * SHARES.size + [1.0]])


def exposure_scatter(
    plates: Sequence[GradedExposure], before: Belief | None = None
) -> tuple[Learned, ...]:
    """Return how far graded exposures strayed, by the kind of light they were made in.

    Parameters
    ----------
    plates : sequence of GradedExposure
        In order of time.
    before : Belief, optional
        What was believed before them; else the trade's word.

    Returns
    -------
    tuple of Learned
        ``scatter`` [1], for each group of the plates.
    """
    walk = list(in_turn(as_meant(plates), before))
    if not walk:
        return ()
    # latitude and noise are those of the ranges that are made so much wider: learned from all
    widths = walk[-1][2].weight.sum(axis=0)
    seen = [
        (plate, _said(replace(belief, weight=belief.marginal(0)[:, None, None] * widths), plate))
        for belief, plate, _ in walk
    ]
    return tuple(
        _learned(
            group,
            [said for plate, said in seen if plate.group == group],
            [plate.day for plate, _ in seen if plate.group == group],
        )
        for group in sorted({plate.group for plate in plates if plate.group})
    )


def _said(belief: Belief, plate: GradedExposure) -> Floats:
    """Return the chance of what a plate showed, for each spread of all that was not known."""
    cuts = np.arange(0, belief.shift.size, THIN)
    weight = np.add.reduceat(belief.weight, cuts, axis=0)
    share = weight.sum(axis=(1, 2))
    shift = np.add.reduceat(belief.marginal(0) * belief.shift, cuts) / np.maximum(share, 1e-300)
    kept = share > 1e-9
    few = replace(belief, shift=shift[kept], weight=weight[kept])
    spreads = SCALE * np.exp(STEP * np.arange(-9, 13))
    normal = np.array([_chance(few, belief.mean, plate, times) for times in spreads])
    return np.convolve(normal, SHARES[::-1], mode="valid")


def _chance(belief: Belief, mean: float, plate: GradedExposure, times: float) -> float:
    spread = replace(belief, shift=mean + times * (belief.shift - mean), noise=times * belief.noise)
    strayed = replace(plate, light_sd=min(times * plate.light_sd, 3.0))
    return float((likelihood(spread, strayed) * belief.weight).sum())


def scatter(
    of: str, seen: Sequence[float], foreseen: Sequence[tuple[float, float]], days: Sequence[date]
) -> Learned:
    """Return how far measured plates strayed from what was foreseen of each.

    Parameters
    ----------
    of : str
        Of which quantity.
    seen : sequence of float
        What each plate showed. [any unit]
    foreseen : sequence of (float, float)
        What the plates before it let expect: middle and standard deviation. [the same]
    days : sequence of date
        When.

    Returns
    -------
    Learned
        ``scatter`` [1].
    """
    scale = SCALE * TIMES
    said = [
        (1.0 + ((value - middle) / (sd * scale)) ** 2 / FREEDOM) ** (-0.5 * (FREEDOM + 1.0)) / scale
        for value, (middle, sd) in zip(seen, foreseen, strict=True)
    ]
    return _learned(of, said, days)


def end_scatter(
    doses_kj_m2: Sequence[float],
    ends: Sequence[str],
    light_sds: Sequence[float],
    days: Sequence[date],
    believed_kj_m2: float | None = None,
) -> Learned:
    """Return how far the end points of developments strayed from what those before them taught.

    Parameters
    ----------
    doses_kj_m2, ends, days, believed_kj_m2
        As of `argentry.learn.numbers.box_and_dose.development_dose`, in order of time.
    light_sds : sequence of float
        How well the light of each is known. [stops]

    Returns
    -------
    Learned
        ``scatter`` [1], without what the eye is wrong by when it calls an end.
    """
    each = trade.value("decide", "end_point_log_sd")
    # the trade's word is of ends as an eye calls them: the eye may have a part in it, or as likely
    # none
    eyes, shares = half_normal(each)
    shares = 0.5 * (shares + (eyes == 0.0))
    said = []
    known = doses_in_turn(doses_kj_m2, ends, believed_kj_m2)
    for dose, end, light_sd, foreseen in zip(doses_kj_m2, ends, light_sds, known, strict=True):
        sd = hypot(_log_sd(foreseen), each, log(2.0) * light_sd)
        said.append(end_chances(log(dose / foreseen.value), sd, end, eyes))
    return _learned("development", said, days, np.repeat(shares, len(LAWS) * SPOILT.size**2))


def end_chances(off: float, sd: float, end: str, eyes: Floats) -> Floats:
    """Return the chance of an end where it was, and of how the plate came out.

    What lies between the foreseen end and the plate's own follows one of `LAWS`, and the eye calls
    it early or late by a normal one. How late, given where the end lies, is normal again for each
    of the normal laws that Student's is made of.

    Parameters
    ----------
    off : float
        The end against what was foreseen, of their logarithms. [1]
    sd : float
        What was foreseen of the plate's own end, as a standard deviation. [1]
    end : str
        As of `argentry.learn.numbers.box_and_dose.development_dose`.
    eyes : NDArray (e,)
        How far the eye may stray, as a standard deviation. [1]

    Returns
    -------
    NDArray, shape (t, e * l * s * s)
        For each spread of `TIMES`, by eye, law, and how late and how early a plate is spoilt.
    """
    own = (sd * TIMES[:, None, None] * SPREADS) ** 2
    eye = eyes[:, None] ** 2
    whole = own + eye
    here = np.exp(-0.5 * off**2 / whole) / np.sqrt(whole)
    below, early = (
        LAWS @ (here[..., None] * late_by_eye(off, own**0.5, eye**0.5, limit))
        for limit in (SPOILT, -SPOILT)
    )
    all_of_it = (LAWS @ here[..., None])[..., None]  # (t, e, law, 1, 1)
    unspoilt, unripe = np.broadcast_arrays(below[..., :, None], early[..., None, :])
    fogged, slip = (trade.value("decide", key) for key in ("other_fog", "misread_share"))
    chance = {
        "ripe": (1.0 - fogged) * (unspoilt - unripe),
        "unripe": (1.0 - fogged) * unripe,
        "too long": all_of_it - (1.0 - fogged) * unspoilt,
    }[end]
    told = (1.0 - slip) * chance + slip / 3.0 * all_of_it
    return np.asarray(told.reshape(TIMES.size, -1))


def coat_scatter(
    measured_seconds: Sequence[float],
    computed_seconds: Sequence[float],
    each_log_sds: Sequence[float],
    days: Sequence[date],
) -> Learned:
    """Return how far timed coats strayed from what those before them taught of the box.

    Parameters
    ----------
    measured_seconds, computed_seconds, days
        As of `argentry.learn.numbers.box_and_dose.box_factor`, in order of time.
    each_log_sds : sequence of float
        How far each was expected to lie off the next, of its logarithm. [1]

    Returns
    -------
    Learned
        ``scatter`` [1].
    """
    foreseen = []
    for at, each in enumerate(each_log_sds):
        known = box_factor(measured_seconds[:at], computed_seconds[:at])
        sd = hypot(same_instruments_log_sd(known), each)
        foreseen.append((log(known.value * computed_seconds[at]), sd))
    return scatter("fuming", [log(one) for one in measured_seconds], foreseen, days)


def _log_sd(number: Learned) -> float:
    return log(number.high / number.low) / (2.0 * Z80)


def _learned(
    of: str, said: Sequence[Floats], days: Sequence[date | None], shares: Floats = ALONE
) -> Learned:
    """Return the scatter from the chances of what plates showed, one row of `TIMES` for each.

    Where they hang on something else too, by its values, whose `shares` stand for what is not
    known of it.
    """
    last = max((day for day in days if day), default=None)
    earlier = [row for row, day in zip(said, days, strict=True) if day != last]
    low, middle, high = _posterior(said, shares)
    then = _posterior(())
    return Learned(
        what=SCATTER, value=middle, low=low, high=high, unit="1", plates=len(said), day=last,
        believed=then[1], believed_low=then[0], believed_high=then[2],
        mostly_prior=bool(np.log(high / low) > np.sqrt(0.5) * np.log(then[2] / then[0])), of=of,
        before=None if last is None else _posterior(earlier, shares)[1],
    )  # fmt: skip


def _posterior(said: Sequence[Floats], shares: Floats = ALONE) -> tuple[float, float, float]:
    sd = trade.value("decide", "scatter_log_sd")
    each = np.zeros((TIMES.size, shares.size))
    for chances in said:
        each += np.log(np.maximum(chances.reshape(TIMES.size, -1), 1e-300))
    total = np.logaddexp.reduce(each + np.log(shares), axis=1)
    score = np.interp(np.log(FINE), np.log(TIMES), total) - 0.5 * (np.log(FINE) / sd) ** 2
    low, middle, high = np.exp(quantiles(np.log(FINE), np.exp(score - score.max()), SHARES_80))
    return float(low), float(middle), float(high)
