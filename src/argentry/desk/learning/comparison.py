"""A planned comparison of two settings: its plates, its chance to decide, what pairs say so far."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any
from zlib import crc32

import numpy as np

from argentry import trade
from argentry.desk.learning.next_trial import check_setting, settings_now
from argentry.desk.numbers.fitted import fitted
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.pairs import (
    chances_to_decide,
    judge_pairs,
    pairs_made,
    plan_pairs,
    share_won,
)
from argentry.learn.deciding.trials import reachable
from argentry.learn.stages.derived_conditions import value_of
from argentry.learn.stages.odds import draws_by_stage, whole
from argentry.learn.stages.table import succeeded
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from argentry.desk.numbers.makings import Gathered
    from argentry.learn.stages.fitting import Fitted
    from argentry.records.plate import Making
    from argentry.trade.conditions import Condition

    Floats = NDArray[np.float64]

PAIRS = 10  # unless the maker says otherwise; docs/decisions/deciding.md has what they can tell
DRAWS = 200  # of what is believed, over which the chance to decide is spread


def compare_settings(
    gathered: Gathered,
    key: str,
    old: float,
    new: float,
    *,
    pairs: int = PAIRS,
    commissioned: bool = False,
    fixed: Collection[str] = (),
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        ``compare``, ``old``, ``new``, ``plan`` (plates with ``pair``, ``order``, ``to``), the
        chances with each setting, ``decides`` and ``made``: `docs/json.md`.

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
        raise BadInput("--compare", f"{key} cannot be changed now, says --fixed", right)
    condition = next(one for one in conditions() if one.key == key)
    for value in (old, new):
        _check_limits(condition, value)
    check_range("--pairs", pairs, 1, 100, "pairs")
    if old == new:
        raise BadInput("--compare", f"{old:g} and {new:g} are the same", "give two that differ")
    plan = plan_pairs(old, new, pairs, _seed(key, old, new))
    fit = fitted(gathered.makings)
    graded = sum(succeeded(one) is not None for one in gathered.makings)
    setting = settings()[key]
    return {
        "compare": key,
        "title": condition.title,
        "stage": condition.stage,
        "unit": condition.unit,
        "old": old,
        "new": new,
        "limit_low": setting.low,
        "limit_high": setting.high,
        "limit_reason": setting.source,
        "pairs": pairs,
        "plan": [asdict(plate) for plate in plan],
        **_believed(gathered, fit, condition, old, new, pairs),
        "certainty": trade.value("decide", "pair_certainty"),
        "made": _made(gathered.makings, condition, old, new),
        "plates": graded,
        "mostly_prior": graded < trade.value("causes", "plates_to_name"),
        "source": gathered.source,
        "notes": [*_notes(gathered, condition, old, new), *gathered.notes],
    }


def _check_limits(condition: Condition, value: float) -> None:
    """Refuse a setting that no trial may take, in the words of its limits."""
    setting, unit = settings()[condition.key], condition.unit
    if not setting.low <= value <= setting.high:
        raise BadInput(
            f"--compare {condition.key}",
            f"{value:g} {unit} is beyond what may be tried: {setting.source}",
            f"give two settings from {setting.low:g} to {setting.high:g} {unit}",
        )


def _seed(key: str, old: float, new: float) -> int:
    """Return the seed of the drawn order: the same question has the same plan, day after day."""
    return crc32(f"{key} {old!r} {new!r}".encode())


def _believed(
    gathered: Gathered, fit: Fitted, condition: Condition, old: float, new: float, pairs: int
) -> dict[str, Any]:
    """Return the chance of a good plate with each setting, and that so many pairs decide."""
    now = settings_now(gathered.studio, fit)
    before, after = (
        whole(draws_by_stage(fit, {**now, condition.key: value})) for value in (old, new)
    )
    each = np.linspace(0, before.size - 1, min(DRAWS, before.size)).astype(int)
    decide = chances_to_decide(before[each], after[each], pairs)
    # draws that the setting leaves as they are speak for neither
    better = float((after > before).mean() + 0.5 * (after == before).mean())
    return {
        **_spread("chance_old", before),
        **_spread("chance_new", after),
        "better": better,
        **_spread("decides", decide),
    }


def _spread(key: str, draws: Floats) -> dict[str, float]:
    """Return the mean of draws and the range that holds four in five of them, and the mean."""
    mean = float(draws.mean())
    low, high = (float(end) for end in np.quantile(draws, [0.1, 0.9]))
    return {key: mean, f"{key}_low": min(low, mean), f"{key}_high": max(high, mean)}


def _made(
    makings: Sequence[Making], condition: Condition, old: float, new: float
) -> dict[str, Any]:
    """Return what the pairs say that there are already."""
    said = judge_pairs(*pairs_made(makings, condition, old, new))
    share, low, high = share_won(said)
    return {
        "pairs": said.won + said.lost + said.alike,
        **asdict(said),
        "share": share,
        "share_low": low,
        "share_high": high,
    }


def _notes(gathered: Gathered, condition: Condition, old: float, new: float) -> list[str]:
    """Return what to know of this comparison, beside what is known of the plates."""
    notes = []
    key, column = condition.key, condition.columns[0]
    if all(value_of(key, one.conditions, column) is None for one in gathered.makings):
        notes.append(
            f"Of no plate the {condition.title} is written down: so far both settings count as "
            "equally good."
        )
    near = reachable(condition, settings()[key], old)
    if near.size and not near.min() <= new <= near.max():
        notes.append(
            f"From {old:g} argentry next would go no further at once than {near.min():g} to "
            f"{near.max():g} {condition.unit}: this is a larger change."
        )
    return notes
