"""Plate speed and latitude from graded exposures, as numbers the next day plan takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.learn.numbers.drift import wandered
from argentry.learn.numbers.exposure_belief import (
    Belief,
    GradedExposure,
    believed,
    drifts_believed,
    likelihood_kept,
    likelihood_moved,
    quantiles,
)
from argentry.learn.numbers.light_seen import as_meant, as_meant_twice
from argentry.physics.stops import SHARES_80, Z80
from argentry.records.decision import Learned

NEVER = 1e-12  # no drift is ruled out for good
FINE = 801  # places between the few points on which speed, latitude and noise are known


def light_given(dose_j_m2: float, needed_j_m2: float) -> float:
    """Return the light given, against what the starting speed asks for.

    Parameters
    ----------
    dose_j_m2, needed_j_m2 : float
        Exposure light on the plate, by the day's physics: given, and asked for at the starting
        speed with this coat. [J/m2]

    Returns
    -------
    float
        [stops]

    Raises
    ------
    BadInput
        If either is not positive.

    Examples
    --------
    >>> light_given(8.0, 2.0)
    2.0
    """
    check_range("exposure given", dose_j_m2, 0.0, 1e12, "J/m2", open_low=True)
    check_range("exposure needed", needed_j_m2, 0.0, 1e12, "J/m2", open_low=True)
    return float(np.log2(dose_j_m2 / needed_j_m2))


def learn_exposure(plates: Sequence[GradedExposure], before: Belief | None = None) -> Belief:
    """Return what graded exposures teach, in order of time.

    Parameters
    ----------
    plates : sequence of GradedExposure
        In order of time; between sessions the speed wanders.
    before : Belief, optional
        What was believed; else the trade's word.

    Returns
    -------
    Belief
        Of the speed in the last session.
    """
    prior = believed() if before is None else before
    each = [_learned(reading, prior) for reading in as_meant_twice(plates)]
    if len(each) == 1:
        return each[0]
    weight = np.mean([one.weight for one in each], axis=0)
    drift = np.mean([one.drift for one in each if one.drift is not None], axis=0)
    return replace(each[0], weight=weight, drift=drift)


def _learned(plates: Sequence[GradedExposure], belief: Belief) -> Belief:
    for _, _, after in in_turn(plates, belief):
        belief = after
    return belief


def in_turn(
    plates: Sequence[GradedExposure], before: Belief | None = None
) -> Iterator[tuple[Belief, GradedExposure, Belief]]:
    """Yield each graded exposure between what is believed before and after it.

    Parameters
    ----------
    plates : sequence of GradedExposure
        In order of time, with their light as of `as_meant`.
    before : Belief, optional
        As of `learn_exposure`.

    Yields
    ------
    tuple of (Belief, GradedExposure, Belief)
        The belief before has wandered since the last session. How far it wanders is learned with
        it: drifts under which the plates were more likely count for more.
    """
    after, session, opened = believed() if before is None else before, None, ""
    drifts, share = drifts_believed()
    jumps = np.full(drifts.size, trade.value("decide", "bottle_jump"))
    each = np.repeat(after.weight[None], drifts.size, axis=0)  # what is believed under each drift
    for plate in plates:
        if session is not None and plate.session != session:
            each = wandered(each, after.shift, drifts)
        if opened and plate.opened not in ("", opened):
            each = wandered(each, after.shift, jumps)
        opened = plate.opened or opened
        earlier = replace(after, weight=np.tensordot(share, each, 1))
        each = each * likelihood_kept(earlier, plate)
        chances = each.sum(axis=(1, 2, 3))
        each /= chances[:, None, None, None]
        share = np.maximum(share * chances / (share @ chances), NEVER)
        share, session = share / share.sum(), plate.session
        after = replace(
            earlier,
            weight=np.tensordot(share, each, 1),
            plates=earlier.plates + 1,
            day=max((d for d in (earlier.day, plate.day) if d), default=None),
            drift=share,
        )
        yield earlier, plate, after


def last_change(
    plates: Sequence[GradedExposure], before: Belief | None = None
) -> tuple[GradedExposure, float, float, float, int] | None:
    """Return what the last new bottle did to the light that plates ask for.

    Parameters
    ----------
    plates, before
        As of `learn_exposure`.

    Returns
    -------
    tuple or None
        The first plate with it; how many stops more plates ask for since, with its 80 % range; how
        many plates that rests on. None while there was no other bottle.
    """
    opened, found, then, now, count = "", None, None, None, 0
    for earlier, plate, after in in_turn(as_meant(plates), before):
        if opened and plate.opened not in ("", opened):
            found, then, count = plate, now, 0
        opened, now, count = plate.opened or opened, after, count + 1
        del earlier
    if found is None or then is None or now is None:
        return None
    more, doubt = now.mean - then.mean, Z80 * float(np.hypot(now.sd, then.sd))
    return found, more, more - doubt, more + doubt, count


def drift_number(belief: Belief) -> Learned:
    """Return how far the speed wanders from session to session, beside what was believed.

    Parameters
    ----------
    belief : Belief
        Learned.

    Returns
    -------
    Learned
        ``speed_drift`` [stops]; its value is the root of the mean square, as spreads add.
    """
    drifts, before = drifts_believed()
    share = before if belief.drift is None else belief.drift
    (low, _, high), (then_low, _, then_high) = (
        quantiles(drifts, weight, SHARES_80) for weight in (share, before)
    )
    return Learned(
        what="speed_drift", value=float(np.sqrt(share @ drifts**2)), low=float(low),
        high=float(high), unit="stops", plates=belief.plates, day=belief.day,
        believed=float(np.sqrt(before @ drifts**2)), believed_low=float(then_low),
        believed_high=float(then_high),
        mostly_prior=bool(high - low > np.sqrt(0.5) * (then_high - then_low)),
    )  # fmt: skip


def found(belief: Belief) -> bool:
    """Return whether the speed is known well enough to make pictures rather than test plates."""
    close = trade.value("decide", "close_enough")
    return belief.near(close) >= trade.value("decide", "sure_enough")


def speed_numbers(
    belief: Belief, start_speed_iso: float, before: Belief | None = None
) -> tuple[Learned, Learned, Learned]:
    """Return plate speed, half latitude and plate noise, each beside what was believed.

    Parameters
    ----------
    belief : Belief
        Learned.
    start_speed_iso : float
        Speed to which 0 stops belong. [ISO]
    before : Belief, optional
        What was assumed before any plate; else the trade's word.

    Returns
    -------
    tuple of Learned
        ``plate_speed`` [ISO], ``half_latitude`` and ``plate_noise`` [stops]. S stops more light
        than the starting exposure means a speed of start / 2^S.

    Raises
    ------
    BadInput
        If the starting speed is out of range.
    """
    check_range("starting plate speed", start_speed_iso, 1e-6, 10.0, "ISO")
    prior = believed() if before is None else before
    rows = []
    for axis, (what, unit) in enumerate(
        (("plate_speed", "ISO"), ("half_latitude", "stops"), ("plate_noise", "stops"))
    ):
        now, then = (_three(b, axis) for b in (belief, prior))
        if axis == 0:
            now, then = (start_speed_iso * 2.0 ** -q[::-1] for q in (now, then))
        rows.append(
            Learned(
                what=what,
                value=float(now[1]),
                low=float(now[0]),
                high=float(now[2]),
                unit=unit,
                plates=belief.plates,
                day=belief.day,
                believed=float(then[1]),
                believed_low=float(then[0]),
                believed_high=float(then[2]),
                mostly_prior=bool(_spread(belief, axis) > np.sqrt(0.5) * _spread(prior, axis)),
            )
        )
    return rows[0], rows[1], rows[2]


def offsets(belief: Belief, plates: Sequence[GradedExposure]) -> tuple[Learned, ...]:
    """Return how far each kind of light or coat lies off the rest.

    Parameters
    ----------
    belief : Belief
        Learned from all plates.
    plates : sequence of GradedExposure
        With their groups; plates without one are left out.

    Returns
    -------
    tuple of Learned
        One ``offset`` for each group: stops more than physics and the common speed ask for. The
        speed is taken as the other groups show it; the belief beforehand is tight about 0.
    """
    sd = trade.value("decide", "group_offset_sd")
    z = np.linspace(-3.0, 3.0, 25)
    believed = np.exp(-0.5 * z**2)
    out = []
    plates = as_meant(plates)
    for group in sorted({plate.group for plate in plates if plate.group}):
        mine = [plate for plate in plates if plate.group == group]
        others = _learned([plate for plate in plates if plate.group != group], _vague(belief))
        total = np.repeat(others.weight[None], z.size, axis=0)
        for plate in mine:
            total *= likelihood_moved(others, plate, sd * z)
            total /= total.max()  # the product of many would leave nothing
        weight = total.sum(axis=(1, 2, 3)) * believed
        low, middle, high = quantiles(sd * z, weight, SHARES_80)
        before = quantiles(sd * z, believed, SHARES_80)
        doubt = float(
            np.sqrt(weight @ (sd * z - weight @ (sd * z) / weight.sum()) ** 2 / weight.sum())
        )
        days = [plate.day for plate in mine if plate.day]
        out.append(
            Learned(
                what="offset",
                value=float(middle),
                low=float(low),
                high=float(high),
                unit="stops",
                plates=len(mine),
                day=max(days, default=None),
                believed=float(before[1]),
                believed_low=float(before[0]),
                believed_high=float(before[2]),
                mostly_prior=bool(doubt > np.sqrt(0.5) * sd),
                of=group,
            )
        )
    return tuple(out)


def _vague(belief: Belief) -> Belief:
    """Return the trade's word on the same grid of speeds."""
    centre = 0.5 * float(belief.shift[0] + belief.shift[-1])
    return believed(centre, float(belief.shift[-1] - belief.shift[0]) / 8.0)


def _three(belief: Belief, axis: int) -> Floats:
    if axis == 0:
        return _between(belief.shift, belief.marginal(0))
    values = (belief.half, belief.noise)[axis - 1]
    return np.exp(_between(np.log(values), belief.marginal(axis)))


def _between(points: Floats, weight: Floats) -> Floats:
    """Return the middle and the 80 % range of what is known on few points, evenly apart.

    Straight lines between points that lie farther apart than what is known is wide never tell less
    than about the distance of two of them, however many plates there are. So parabolas are laid
    through the logarithms of the weights: exact where what is known is normal.
    """
    step = points[1] - points[0]
    height = np.log(np.maximum(weight, 1e-300))
    fine = np.linspace(points[0], points[-1], FINE)
    middle = np.clip(np.rint((fine - points[0]) / step).astype(np.int64), 1, points.size - 2)
    off = (fine - points[middle]) / step
    before, here, after = (height[middle + n] for n in (-1, 0, 1))
    curve = here + 0.5 * off * (after - before) + 0.5 * off**2 * (after - 2.0 * here + before)
    return quantiles(fine, np.exp(curve - curve.max()), SHARES_80)


def _spread(belief: Belief, axis: int) -> float:
    values = (belief.shift, np.log(belief.half), np.log(belief.noise))[axis]
    weight = belief.marginal(axis)
    return float(np.sqrt(weight @ (values - weight @ values) ** 2))
