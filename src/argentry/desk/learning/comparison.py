"""A planned comparison of two settings: its plates, its chance to decide, what pairs say so far."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from argentry import trade
from argentry.desk.learning.next_trial import check_setting, settings_now
from argentry.desk.numbers.fitted import fitted
from argentry.desk.numbers.makings import Gathered
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.pairs import (
    PairsSaid,
    PlannedPlate,
    chances_to_decide,
    judge_pairs,
    pairs_made,
    plan_pairs,
    share_won,
)
from argentry.learn.deciding.trials import reachable
from argentry.learn.odds.fitting import Fitted
from argentry.learn.odds.odds import all_stages_ok, draws_by_stage
from argentry.learn.stages.derived_conditions import value_of
from argentry.learn.stages.table import succeeded
from argentry.physics.stops import with_range
from argentry.records.plate import Making
from argentry.trade.conditions import Condition, conditions
from argentry.trade.decide import settings

PAIRS = 10  # unless the maker says otherwise; docs/decisions/deciding.md has what they can tell
DRAWS = 200  # of what is believed, over which the chance to decide is spread
NOT_WRITTEN = (
    "No plate has its {condition} written down: so far both settings count as equally good."
)
LARGE_STEP = (
    "From {old:g} {unit}, argentry next would go only to {low:g} {unit} or {high:g} {unit} in one "
    "go: this is a larger change."
)


@dataclass(frozen=True)
class PairsMade(PairsSaid):
    """What the pairs say that there are already, both graded, in one session, neither promised.

    Attributes
    ----------
    pairs : int
        How many.
    share : float
        Share of the pairs that differ which the new setting wins; above 0.5 it is better. [1]
    share_low, share_high : float
        Ends of its 80 % range. [1]
    """

    pairs: int
    share: float
    share_low: float
    share_high: float


@dataclass(frozen=True)
class Believed:
    """What is believed of two settings before they are compared.

    Attributes
    ----------
    chance_old : float
        That a plate is good with old, by the model. [1]
    chance_old_low, chance_old_high : float
        Ends of its 80 % range. [1]
    chance_new : float
        That a plate is good with new, by the model. [1]
    chance_new_low, chance_new_high : float
        Ends of its 80 % range. [1]
    better : float
        That new is better, as now believed. [1]
    decides : float
        Chance that so many pairs decide for the better setting, over what is now believed. [1]
    decides_low, decides_high : float
        Ends of its 80 % range. [1]
    """

    chance_old: float
    chance_old_low: float
    chance_old_high: float
    chance_new: float
    chance_new_low: float
    chance_new_high: float
    better: float
    decides: float
    decides_low: float
    decides_high: float


@dataclass(frozen=True)
class Comparison(Believed):
    """A planned comparison of two settings, in pairs of plates.

    Attributes
    ----------
    compare : str
        The condition that is compared.
    title : str
        In words.
    stage : str
        Stage it acts on.
    unit : str
        Unit of the settings and limits.
    old : float
        One setting. [of unit]
    new : float
        The other setting. [of unit]
    limit_low : float
        Below it nothing may be tried. [of unit]
    limit_high : float
        Above it nothing may be tried. [of unit]
    limit_reason : str
        Why there.
    pairs : int
        Pairs to make.
    plan : tuple of PlannedPlate
        The plates, in the order of the work; never plates that are promised.
    certainty : float
        From which a comparison is called decided. [1]
    made : PairsMade
        What the pairs say that there are already.
    plates : int
        Plates behind what is believed.
    mostly_prior : bool
        True while it rests on belief more than on plates.
    source : str
        Where the plates come from.
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    compare: str
    title: str
    stage: str
    unit: str
    old: float
    new: float
    limit_low: float
    limit_high: float
    limit_reason: str
    pairs: int
    plan: tuple[PlannedPlate, ...]
    certainty: float
    made: PairsMade
    plates: int
    mostly_prior: bool
    source: str
    notes: tuple[str, ...]


def compare_settings(
    gathered: Gathered,
    key: str,
    old: float,
    new: float,
    *,
    pairs: int = PAIRS,
    commissioned: bool = False,
    fixed: Collection[str] = (),
) -> Comparison:
    """Plan a comparison of two settings in pairs within a session, and judge the pairs there are.

    Parameters
    ----------
    gathered : Gathered
        The plates.
    key : str
        Condition that is set.
    old, new : float
        The two settings. [unit of the condition]
    pairs : int
        Pairs to plan, 1 to 100.
    commissioned : bool
        True when the plates are promised: then nothing is compared on them.
    fixed : collection of str
        Conditions that cannot be changed now.

    Raises
    ------
    BadInput
        If the condition cannot be set, a setting lies beyond its hard limits, or the plates are
        promised.
    """
    if commissioned:
        right = "compare on plates that nobody waits for"
        raise BadInput("--compare", "nothing is tried on a plate that is promised", right)
    check_setting("--compare", key)
    for other in fixed:
        check_setting("--fixed", other)
    if key in fixed:
        right = "leave it out of --fixed, or compare another"
        raise BadInput(
            "--compare", "{key} cannot be changed now, says --fixed".format(key=key), right
        )
    condition = next(one for one in conditions() if one.key == key)
    for value in (old, new):
        _check_limits(condition, value)
    check_range("--pairs", pairs, 1, 100, "pairs")
    if old == new:
        raise BadInput(
            "--compare",
            "{old:g} and {new:g} are the same",
            "give two that differ",
            old=old,
            new=new,
        )
    plan = plan_pairs(old, new, pairs, _seed(key, old, new))
    fit = fitted(gathered.makings, gathered.assumed)
    graded = sum(succeeded(one) is not None for one in gathered.makings)
    setting = settings()[key]
    return Comparison(
        **vars(_believed(gathered, fit, condition, old, new, pairs)),
        compare=key,
        title=condition.title,
        stage=condition.stage,
        unit=condition.unit,
        old=old,
        new=new,
        limit_low=setting.low,
        limit_high=setting.high,
        limit_reason=setting.source,
        pairs=pairs,
        plan=tuple(plan),
        certainty=trade.value("decide", "pair_certainty"),
        made=_made(gathered.makings, condition, old, new),
        plates=graded,
        mostly_prior=graded < trade.value("causes", "plates_to_name"),
        source=gathered.source,
        notes=(*_notes(gathered, condition, old, new), *gathered.notes),
    )


def _check_limits(condition: Condition, value: float) -> None:
    """Refuse a setting that no trial may take, in the words of its limits."""
    setting, unit = settings()[condition.key], condition.unit
    if not setting.low <= value <= setting.high:
        raise BadInput(
            "--compare {key}".format(key=condition.key),
            "{value:g} {unit} is beyond what may be tried: {source}",
            "give two settings from {low:g} to {high:g} {unit}",
            value=value,
            unit=unit,
            source=setting.source,
            low=setting.low,
            high=setting.high,
        )


def _seed(key: str, old: float, new: float) -> int:
    """Return the seed of the drawn order: the same question has the same plan, day after day."""
    return crc32(f"{key} {old!r} {new!r}".encode())


def _believed(
    gathered: Gathered, fit: Fitted, condition: Condition, old: float, new: float, pairs: int
) -> Believed:
    """Return the chance of a good plate with each setting, and that so many pairs decide."""
    now = settings_now(gathered.studio, fit)
    before, after = (
        all_stages_ok(draws_by_stage(fit, {**now, condition.key: value})) for value in (old, new)
    )
    each = np.linspace(0, before.size - 1, min(DRAWS, before.size)).astype(int)
    decide = chances_to_decide(before[each], after[each], pairs)
    # draws that the setting leaves as they are speak for neither
    better = float((after > before).mean() + 0.5 * (after == before).mean())
    return Believed(*with_range(before), *with_range(after), better, *with_range(decide))


def _made(makings: Sequence[Making], condition: Condition, old: float, new: float) -> PairsMade:
    """Return what the pairs say that there are already."""
    said = judge_pairs(*pairs_made(makings, condition, old, new))
    share, low, high = share_won(said)
    count = said.won + said.lost + said.alike
    return PairsMade(**vars(said), pairs=count, share=share, share_low=low, share_high=high)


def _notes(gathered: Gathered, condition: Condition, old: float, new: float) -> list[str]:
    """Return what to know of this comparison, beside what is known of the plates."""
    notes = []
    key, column = condition.key, condition.columns[0]
    if all(value_of(key, one.conditions, column) is None for one in gathered.makings):
        notes.append(NOT_WRITTEN.format(condition=condition.title))
    near = reachable(condition, settings()[key], old)
    if near.size and not near.min() <= new <= near.max():
        low, high = near.min(), near.max()
        notes.append(LARGE_STEP.format(old=old, low=low, high=high, unit=condition.unit))
    return notes
