"""What to change next: one condition, within hard limits, on one plate in three.

A trial is found by drawing one belief about the studio and doing what would be best if it were
true: what is doubtful is tried about as often as it may be best. Other plates take the setting that
is best on average, or stay. A change is judged by its whole stage, whatever its model's form.

References
----------
.. [1] W. R. Thompson, On the likelihood that one unknown probability exceeds another in view of the
   evidence of two samples, Biometrika 25 (1933) 285-294.
"""

from __future__ import annotations

from math import comb
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.learn.stages.likelihood import normal_cdf
from argentry.records.decision import Trial
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

    from numpy.typing import NDArray

    from argentry.trade.conditions import Condition
    from argentry.trade.decide import Setting

    Floats = NDArray[np.float64]
    Chance = Callable[[str, Mapping[str, float | str]], Floats]


STEPS = 7  # values considered for each condition
TO_FIND_OUT = "It is {better} likely to be better; one plate in three is used to find out."
TEACHES = "One plate should take away {one} of the doubt about this change, ten plates {ten}."


class _Offer(NamedTuple):
    """One change on offer: draws of the stage's probit with and without it."""

    condition: Condition
    start: float
    to: float
    before: Floats
    after: Floats


def explores(plates_since_trial: int, *, commissioned: bool = False) -> bool:
    """Return whether the next plate may try something: one in three, never a promised one.

    Parameters
    ----------
    plates_since_trial : int
        Plates made since the last trial; at least as many as there are when none was made.
    commissioned : bool
        True when the plate is promised to somebody.
    """
    return not commissioned and plates_since_trial >= trade.value("decide", "explore_every") - 1


def reachable(condition: Condition, setting: Setting, now: float) -> Floats:
    """Return the values to which a condition may be changed at once.

    Parameters
    ----------
    condition : Condition
        The condition.
    setting : Setting
        Its hard limits and largest change.
    now : float
        Its value now. [unit]

    Returns
    -------
    NDArray[float64]
        Evenly on the condition's scale, within the limits, without the value of now; empty when
        there is no room.
    """
    if not np.isfinite(now):
        return np.empty(0)
    reach = setting.step * condition.width
    if condition.scale == "doublings":
        held = max(now, 1e-6)
        low, high = held * 2.0**-reach, held * 2.0**reach
        low, high = max(low, setting.low), min(high, setting.high)
        if not 0.0 < low < high:
            return np.empty(0)
        values = np.geomspace(low, high, STEPS)
    else:
        low, high = max(now - reach, setting.low), min(now + reach, setting.high)
        if not low < high:
            return np.empty(0)
        values = np.linspace(low, high, STEPS)
    rounded = np.array([set_by_hand(value) for value in values])
    kept = rounded[(rounded >= setting.low) & (rounded <= setting.high)]
    return np.unique(kept[np.abs(kept - now) > 0.02 * (high - low)])


def next_change(
    chance: Chance,
    now: Mapping[str, float | str],
    *,
    exploring: bool,
    plates: int = 0,
    fixed: Collection[str] = (),
    stock: Mapping[str, tuple[float, float]] | None = None,
    done: Collection[str] = (),
    seed: int = 1,
) -> Trial:
    """Return the one change to make on the next plate.

    Parameters
    ----------
    chance : Callable[[str, Mapping], NDArray]
        Draws of P(stage comes out ok) given what is known; the same number and order of draws in
        every call for a stage.
    now : Mapping[str, float or str]
        The usual settings; conditions without a value are not changed.
    exploring : bool
        True when this plate may try something (`explores`).
    plates : int
        Plates behind it.
    fixed : collection of str
        Conditions that cannot be changed now.
    stock : Mapping[str, tuple of float], optional
        Narrower limits of the day: what is in stock. [unit]
    done : collection of str
        Stages already finished on this plate.
    seed : int
        Of the draw.

    Returns
    -------
    Trial
        With `change` empty when nothing is worth changing.

    Raises
    ------
    BadInput
        If a setting's value is not a number.
    """
    offers = _offers(chance, now, set(fixed), stock or {}, set(done))
    if not offers:
        return _stay(chance, now, plates, "No setting is written down yet.")
    # stages multiply: what counts of a stage's chance is by what factor it rises
    gains = np.array([np.log(normal_cdf(o.after) / normal_cdf(o.before)) for o in offers])
    if not exploring:
        rise = [float(normal_cdf(o.after).mean() / normal_cdf(o.before).mean()) for o in offers]
        best = int(np.argmax(rise))
        if rise[best] < 1.0 + trade.value("decide", "least_gain"):
            reason = "No single change is likely to help: keep the settings."
            return _stay(chance, now, plates, reason)
        return _trial(offers[best], plates, explores=False)
    draw = int(np.random.default_rng(seed).integers(gains.shape[1]))
    best = int(np.argmax(gains[:, draw]))
    if gains[best, draw] <= 0.0:  # in this draw nothing helps: then what teaches most
        best = int(np.argmax([o.after.std() - doubt_after(o.before, o.after) for o in offers]))
    return _trial(offers[best], plates, explores=True)


def _offers(
    chance: Chance,
    now: Mapping[str, float | str],
    fixed: set[str],
    stock: Mapping[str, tuple[float, float]],
    done: set[str],
) -> list[_Offer]:
    offers = []
    for condition in conditions():
        setting = settings().get(condition.key)
        if setting is None or condition.key in fixed or condition.key not in now:
            continue
        if condition.stage in done:
            continue
        start = now[condition.key]
        if isinstance(start, str) or not np.isfinite(start):
            raise BadInput(
                condition.key,
                "{start!r} is not a number",
                "give it in {unit}",
                start=start,
                unit=condition.unit,
            )
        before = _probit(chance(condition.stage, now))
        low, high = stock.get(condition.key, (setting.low, setting.high))
        for to in reachable(condition, setting, float(start)):
            if low <= to <= high:
                after = _probit(chance(condition.stage, {**now, condition.key: float(to)}))
                offers.append(_Offer(condition, float(start), float(to), before, after))
    return offers


def _probit(p: Floats) -> Floats:
    """Return the probit of probabilities, by halving: fine enough for draws."""
    held = np.clip(p, 1e-6, 1.0 - 1e-6)
    at = np.linspace(-5.0, 5.0, 4001)
    return np.interp(held, normal_cdf(at), at)


def doubt_after(before: Floats, after: Floats, plates: int = 1) -> float:
    """Return the doubt of a change's effect to be expected after plates made with it.

    Parameters
    ----------
    before, after : NDArray (s,)
        Draws of the stage's probit without and with the change.
    plates : int
        How many will be made, each ok or not, 1 to 100.

    Returns
    -------
    float
        Root of the mean variance over how many come out ok. [probit]

    Raises
    ------
    BadInput
        If the number of plates is out of range.
    """
    check_range("plates made with it", plates, 1, 100, "plates")
    gain, ok = after - before, normal_cdf(after)
    left = 0.0
    for good in range(plates + 1):
        weight = comb(plates, good) * ok**good * (1.0 - ok) ** (plates - good)
        mean = (weight @ gain) / max(weight.sum(), 1e-300)
        left += float(weight @ (gain - mean) ** 2) / gain.size
    return float(np.sqrt(left))


def _sure(share: float) -> str:
    """Return a share of draws in percent; draws never make sure."""
    return ">99 %" if share > 0.99 else "<1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _less(doubt: float, left: float) -> str:
    """Return the share of a doubt that is gone, in percent."""
    return _sure(1.0 - left / doubt) if doubt else "0 %"


def _trial(offer: _Offer, plates: int, *, explores: bool) -> Trial:
    chances = normal_cdf(offer.after)
    doubt = float((offer.after - offer.before).std())
    one, ten = (doubt_after(offer.before, offer.after, plates) for plates in (1, 10))
    low, high = np.quantile(chances, [0.1, 0.9])
    mean, before = float(chances.mean()), float(normal_cdf(offer.before).mean())
    unit = offer.condition.unit
    better = float((offer.after > offer.before).mean())
    reason = (
        TO_FIND_OUT.format(better=_sure(better))
        if explores
        else "It raises the chance of a sound {stage} from {before:.0f} to {mean:.0f} %.".format(
            stage=offer.condition.stage, before=100.0 * before, mean=100.0 * mean
        )
    )
    return Trial(
        change=offer.condition.key,
        title=offer.condition.title,
        from_=offer.start,
        to=offer.to,
        unit=unit,
        steps=(),
        explores=explores,
        chance=mean,
        chance_low=float(min(low, mean)),
        chance_high=float(max(high, mean)),
        chance_before=before,
        doubt=doubt,
        doubt_after=one,
        teaches=TEACHES.format(one=_less(doubt, one), ten=_less(doubt, ten)),
        plates=plates,
        reason=reason,
    )


def _stay(chance: Chance, now: Mapping[str, float | str], plates: int, reason: str) -> Trial:
    total: Floats = np.ones(1)
    for stage in dict.fromkeys(condition.stage for condition in conditions()):
        draws = chance(stage, now)
        total = total * draws if total.size in {1, draws.size} else total * draws.mean()
    low, high = np.quantile(total, [0.1, 0.9])
    mean = float(total.mean())
    doubt = float(total.std())
    return Trial(
        change="", title="no change", from_=None, to=None, unit="", steps=(), explores=False,
        chance=mean, chance_low=float(min(low, mean)), chance_high=float(max(high, mean)),
        chance_before=mean, doubt=doubt, doubt_after=doubt,
        teaches="One more plate at the usual settings.", plates=plates, reason=reason,
    )  # fmt: skip


def set_by_hand(value: float) -> float:
    """Return a value as a maker sets it: two digits, three from 100 up."""
    if value == 0.0:
        return 0.0
    digits = 2 if abs(value) < 100.0 else 3
    return float(f"{value:.{digits}g}")
