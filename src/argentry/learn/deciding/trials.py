"""What to change next: one condition, within hard limits, on one plate in three.

A change is proposed only where it is sure enough to gain more than two points in a hundred plates
once its minutes, silver and gold are paid for; a trial only where it is likelier than not and a few
dozen plates would settle it. Otherwise the settings are kept. A change is judged by its whole
stage, or by the plate where nobody books faults, whatever its model's form.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from math import ceil, prod
from typing import NamedTuple

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.learn.deciding.trial_doubt import doubt_after, probit
from argentry.physics.stops import Z80, with_range
from argentry.records.decision import Trial
from argentry.records.plate import STAGES
from argentry.trade.conditions import Condition, conditions
from argentry.trade.decide import Setting, settings

Chance = Callable[[str, Mapping[str, float | str]], Floats]

Z80_ONE = 0.8416  # 80 % of a normal lie below
STEPS = 7  # values considered for each condition
TO_FIND_OUT = "It is {better} likely to be better; one plate in three is used to find out."
RAISES = (
    "It raises the chance of a sound {stage} from {before:.0f} to {mean:.0f} %, over plates "
    "as they came of late."
)
SETTLES = (
    "About {plates} plates with it and as many without would settle whether it gains "
    "{gain:.0f} in 100 plates."
)
KEEP = (
    "Keep the settings: no single change is sure enough to gain more than {gain:.0f} in 100 plates "
    "after its price in time, silver, gold and fixer."
)
PROMISED = "The plate is promised: keep the settings that you know."
UNKNOWN = "No setting is written down yet."
ONE_MORE = "One more plate at the usual settings."
NEAR = 0.05  # of the room between hard limits: nearer to one of them nothing is proposed


class Metal(NamedTuple):
    """What metal and baths are worth here, in good plates."""

    silver_um: float = 0.0  # a micrometre of silver off one plate
    gold: float = 0.0  # the gold in the bath of one plate
    fixer: float = 0.0  # a fixing bath, mixed


class WholePlate(NamedTuple):
    """Plates read as one stage, where faults are not booked."""

    chance: Chance  # draws of a good plate, by the condition in question
    asked: Collection[str]  # conditions of which this is asked
    share: float  # of the faults that nobody booked [1]


class _Offer(NamedTuple):
    """One change on offer: draws of the chance with and without it, and what it gains."""

    condition: Condition
    of: str  # stage whose chance it is, or the plate
    start: float
    to: float
    before: Floats
    after: Floats
    gain: Floats  # good plates in one, its price paid

    @property
    def sure(self) -> float:
        """Return how sure it is to gain enough."""
        return float((self.gain > trade.value("decide", "change_gain")).mean())

    @property
    def to_settle(self) -> int:
        """Return the plates with, and as many without, that would settle it: 80 % sure of 90 %."""
        p, gain = float(self.after.mean()), float((self.after - self.before).mean())
        return ceil((Z80 + Z80_ONE) ** 2 * 2.0 * p * (1.0 - p) / max(gain, 1e-3) ** 2)


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
    Floats
        Evenly on the condition's scale, within the limits, without the value of now; empty when
        there is no room. A value beyond a limit may come back to it at once, and a step further.
    """
    if not np.isfinite(now):
        return np.empty(0)
    reach = setting.step * condition.width
    held = min(max(now, setting.low), setting.high)
    if condition.scale == "doublings":
        held = max(held, 1e-6)
        low, high = held * 2.0**-reach, held * 2.0**reach
        low, high = max(low, setting.low), min(high, setting.high)
        if not 0.0 < low < high:
            return np.empty(0)
        values = np.geomspace(low, high, STEPS)
    else:
        low, high = max(held - reach, setting.low), min(held + reach, setting.high)
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
    commissioned: bool = False,
    plates: int = 0,
    minute: float = 0.0,
    metal: Metal = Metal(),  # noqa: B008 - a plain value that cannot change
    fixed: Collection[str] = (),
    spread: Mapping[str, Floats] | None = None,
    plate: WholePlate | None = None,
    stages: Mapping[str, str] | None = None,
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
    commissioned : bool
        True when the plate is promised: then nothing is changed.
    plates : int
        Plates behind it.
    minute : float
        What a minute of the day is worth. [good plates]
    metal : Metal
        What silver and gold are worth. [good plates]
    fixed : collection of str
        Conditions that cannot be changed now.
    spread : Mapping[str, NDArray], optional
        Values that each setting has from plate to plate, around the usual one; a change moves all
        of them, and is worth most on the plates that lie worst. None: every plate as usual. [unit]
    plate : WholePlate, optional
        How whole plates come out, where faults are not booked: a fault that is shared out over the
        stages tells less of each than it tells of the plate.
    stages : Mapping[str, str], optional
        Stage at which the plates name a condition as a cause; else it acts where the trade has it.

    Returns
    -------
    Trial
        With `change` empty when nothing is worth changing.

    Raises
    ------
    BadInput
        If a setting's value is not a number.
    """
    offers = _offers(chance, now, (minute, metal), set(fixed), spread or {}, plate, stages or {})
    if commissioned:
        return _stay(chance, now, plates, PROMISED)
    if not offers:
        return _stay(chance, now, plates, UNKNOWN)
    for least, tries in (("change_sure", False), ("trial_sure", True)):
        if tries and not exploring:
            continue
        worth = [o for o in offers if o.sure >= trade.value("decide", least)]
        if tries:
            worth = [o for o in worth if o.to_settle <= trade.value("decide", "trial_plates")]
        if worth:
            best = max(worth, key=lambda o: float(o.gain.mean()))
            return _trial(best, plates, explores=tries)
    return _stay(
        chance, now, plates, KEEP.format(gain=100.0 * trade.value("decide", "change_gain"))
    )


def _offers(
    chance: Chance,
    now: Mapping[str, float | str],
    worth: tuple[float, Metal],
    fixed: set[str],
    spread: Mapping[str, Floats],
    plate: WholePlate | None,
    stages: Mapping[str, str],
) -> list[_Offer]:
    free = []
    for condition in conditions():
        setting = settings().get(condition.key)
        if setting is None or condition.key in fixed or condition.key not in now:
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
        free.append((condition, setting, float(start)))
    offers = []
    usual = {stage: chance(stage, now) for stage in STAGES} if free else {}
    whole = np.prod(np.broadcast_arrays(*usual.values()), axis=0)
    for condition, setting, start in free:
        stage = stages.get(condition.key, condition.stage)
        rest = whole / np.maximum(usual[stage], 1e-9)
        plates = spread.get(condition.key, np.array([start]))
        tos = [
            float(to)
            for to in reachable(condition, setting, start)
            if not _hard_by(setting, start, float(to))
        ]
        each = [plates, *(_moved(condition, setting, plates, start, to) for to in tos)]
        draws = [_over(chance, stage, condition, now, values) for values in each]
        if plate is not None and condition.key in plate.asked:
            good = [_over(plate.chance, condition.key, condition, now, values) for values in each]
            draws = [
                _shared(rest * one, own, plate.share) for one, own in zip(draws, good, strict=True)
            ]
            stage, rest = "plate", np.ones(1)
        served = now.get(setting.counted_by, start)
        per = start if isinstance(served, str) else served
        before = draws[0]
        for to, after in zip(tos, draws[1:], strict=True):
            gain = rest * (after - before) - _price(setting, start, to, *worth, per)
            offers.append(_Offer(condition, stage, start, to, before, after, gain))
    return offers


def _moved(
    condition: Condition, setting: Setting, plates: Floats, start: float, to: float
) -> Floats:
    """Return plates' values after a change of the usual one; none is led beyond a hard limit.

    A plate that lies beyond one moves as far as the others, and no farther: a promise that rests
    on bringing it within the limit would be of another change.
    """
    moved = (
        plates * (to / start)
        if condition.scale == "doublings" and start > 0.0
        else plates + (to - start)
    )
    return np.clip(moved, np.minimum(plates, setting.low), np.maximum(plates, setting.high))


def _over(
    chance: Chance,
    of: str,
    condition: Condition,
    now: Mapping[str, float | str],
    values: Floats,
) -> Floats:
    """Return draws of a chance over plates that differ in one setting."""
    each = [chance(of, {**now, condition.key: float(v)}) for v in values]
    return np.asarray(np.mean(each, axis=0))


def _shared(by_stage: Floats, by_plate: Floats, share: float) -> Floats:
    """Return draws of both readings, a share of them by whole plates."""
    count = round(share * by_stage.size)
    return np.concatenate([by_stage[count:], np.resize(by_plate, by_stage.size)[:count]])


def _price(
    setting: Setting, start: float, to: float, minute: float, metal: Metal, served: float
) -> float:
    """Return what a change costs on each plate, of whose bath the mean one is the `served`-th.

    [good plates].
    """
    if to >= start:
        return (minute * setting.minutes + metal.silver_um * setting.silver_um) * (to - start)
    if setting.renews == "gold" and to > 0.0:
        return metal.gold * (start / to - 1.0)
    if setting.renews == "fixer":  # a bath of which the mean plate is the m-th serves 2 m + 1
        return metal.fixer * (1.0 / (2.0 * served * to / start + 1.0) - 1.0 / (2.0 * served + 1.0))
    return 0.0


def _hard_by(setting: Setting, start: float, to: float) -> bool:
    """Return whether a change leads into the last of the room before a hard limit."""
    edge = NEAR * (setting.high - setting.low)
    return to > max(start, setting.high - edge) or to < min(start, setting.low + edge)


def _sure(share: float) -> str:
    """Return a share of draws in percent; draws never make sure."""
    return ">99 %" if share > 0.99 else "<1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _trial(offer: _Offer, plates: int, *, explores: bool) -> Trial:
    probits = probit(offer.before), probit(offer.after)
    (mean, low, high), before = with_range(offer.after), float(offer.before.mean())
    reason = (
        TO_FIND_OUT.format(better=_sure(float((offer.gain > 0.0).mean())))
        if explores
        else RAISES.format(stage=offer.of, before=100.0 * before, mean=100.0 * mean)
    )
    return Trial(
        change=offer.condition.key,
        title=offer.condition.title,
        from_=offer.start,
        to=offer.to,
        unit=offer.condition.unit,
        steps=(),
        explores=explores,
        chance=mean,
        chance_low=low,
        chance_high=high,
        chance_before=before,
        doubt=float((probits[1] - probits[0]).std()),
        doubt_after=doubt_after(*probits),
        teaches=SETTLES.format(plates=offer.to_settle, gain=100.0 * (mean - before)),
        plates=plates,
        reason=reason,
    )


def _stay(chance: Chance, now: Mapping[str, float | str], plates: int, reason: str) -> Trial:
    stages = dict.fromkeys(condition.stage for condition in conditions())
    total = prod((chance(stage, now) for stage in stages), start=np.ones(1))
    mean, low, high = with_range(total)
    doubt = float(total.std())
    return Trial(
        change="", title="no change", from_=None, to=None, unit="", steps=(), explores=False,
        chance=mean, chance_low=low, chance_high=high,
        chance_before=mean, doubt=doubt, doubt_after=doubt,
        teaches=ONE_MORE, plates=plates, reason=reason,
    )  # fmt: skip


def set_by_hand(value: float) -> float:
    """Return a value as a maker sets it: two digits, three from 100 up."""
    if value == 0.0:
        return 0.0
    digits = 2 if abs(value) < 100.0 else 3
    return float(f"{value:.{digits}g}")
