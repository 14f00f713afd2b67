"""What is usual in a studio now: its settings of late, and its odds as a function of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from argentry.learn.deciding.trials import WholePlate, set_by_hand
from argentry.trade.decide import settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from argentry.arrays import Floats
    from argentry.learn.stages.table import StageTable
    from argentry.records.causes import StudioCause, StudioCauses

    Chance = Callable[[str, Mapping[str, float | str]], Floats]

    class StageLearned(Protocol):
        """One stage as learned: its plates, and P(ok) by draw."""

        @property
        def table(self) -> StageTable: ...
        def chances(
            self,
            known: Mapping[str, float | str],
            session: int,
            *,
            averaged: bool = False,
            by_sets: bool = False,
        ) -> Floats: ...

    class PlateLearned(Protocol):
        """The plate read as one stage: its suspects, and P(good) by draw."""

        @property
        def view(self) -> Any: ...
        @property
        def effect(self) -> Floats: ...
        def chances(
            self, known: Mapping[str, float | str], *, averaged: bool = False
        ) -> Floats: ...

    class AllLearned(Protocol):
        """What `argentry.learn.odds.odds.fit` returns."""

        @property
        def stages(self) -> Mapping[str, StageLearned]: ...
        @property
        def sessions(self) -> tuple[str, ...]: ...
        @property
        def named(self) -> frozenset[str]: ...
        @property
        def causes(self) -> StudioCauses: ...
        @property
        def whole(self) -> PlateLearned | None: ...
        @property
        def unbooked(self) -> float: ...


__all__ = ["chance_of", "plate_of", "settings_spread", "stages_named", "usual_settings"]

SPREAD = (np.arange(6) + 0.5) / 6.0  # the middles of six sixths of plates: a cliff is seen
LAST = 12  # plates that show what is usual now
RENEWED = 36  # the same where a bath ages and is renewed: a dozen may all be of one
SEED = 1839  # of the order of draws


def chance_of(fitted: AllLearned) -> Chance:
    """Return the odds of a stage as a function of what is known, over the luck of many sessions.

    Where a cause of the stage is named, the reading that names it is believed alone: `why` and
    `next` then speak of one studio.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    Callable
        What `next_change` asks for.
    """
    named = fitted.named

    def chance(stage: str, known: Mapping[str, float | str]) -> Floats:
        now = len(fitted.sessions)
        return fitted.stages[stage].chances(known, now, averaged=True, by_sets=stage in named)

    return chance


def plate_of(fitted: AllLearned) -> WholePlate | None:
    """Return the odds of a good plate as a function of a setting, where faults are not booked.

    A fault that nobody booked is shared out over the stages, and what a setting does to one of them
    is told as if it spoilt that share alone. The plate read as one stage has all of it. It is asked
    of a setting that is named as a cause. That it matters to the plate is at least as likely as
    that it matters at its stage, of which looks speak too.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    WholePlate or None
        What `next_change` asks for; None where every fault is booked.
    """
    whole = fitted.whole
    if whole is None:
        return None
    named = _named(fitted)

    def chance(key: str, known: Mapping[str, float | str]) -> Floats:
        return whole.chances(known, averaged=True)[_as_likely(whole, key, named[key].probability)]

    return WholePlate(chance, named, fitted.unbooked)


def stages_named(fitted: AllLearned) -> dict[str, str]:
    """Return the stage that each condition spoils, of those that are named as a cause.

    The trade puts a condition to one stage; the plates may name it at another.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.
    """
    return {key: row.stage for key, row in _named(fitted).items()}


def _named(fitted: AllLearned) -> dict[str, StudioCause]:
    """Return the likeliest cause that is named for each condition that it works through."""
    rows = sorted((r for r in fitted.causes.causes if r.named), key=lambda r: r.probability)
    return {key: row for row in rows for key in row.conditions}


def _as_likely(whole: PlateLearned, key: str, least: float) -> NDArray[np.intp]:
    """Return draws in which a condition matters at least so often, in an order of no meaning."""
    conditions = whole.view.table.conditions
    sides = [j for j, side in enumerate(whole.view.sides)
             if side.column >= 0 and conditions[side.column].key == key]  # fmt: skip
    matters = (whole.effect[:, sides] != 0.0).any(axis=1)
    some, none = np.flatnonzero(matters), np.flatnonzero(~matters)
    count = max(round(least * matters.size), some.size) if some.size else 0
    at = np.concatenate([np.resize(some, count), np.resize(none, matters.size - count)])
    return np.random.default_rng(SEED).permutation(at)


def usual_settings(fitted: AllLearned) -> dict[str, float | str]:
    """Return the settings of late: the median of the last plates on which each was known.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    dict
        Key of a condition to its value [unit]; one never written down is left out.
    """
    return {key: set_by_hand(float(np.median(late))) for key, late in _of_late(fitted).items()}


def settings_spread(fitted: AllLearned) -> dict[str, Floats]:
    """Return how settings lay on plates of late: on the last on which each was known.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    dict
        Key of a condition to values [unit], each in the middle of a sixth of plates.
    """
    return {key: np.quantile(late, SPREAD) for key, late in _of_late(fitted).items()}


def _of_late(fitted: AllLearned) -> dict[str, Floats]:
    out: dict[str, Floats] = {}
    for learned in fitted.stages.values():
        for column, condition in enumerate(learned.table.conditions):
            seen = learned.table.x[:, column]
            setting = settings().get(condition.key)
            if setting is None:
                continue
            last = RENEWED if setting.renews else LAST
            off = seen[~np.isnan(seen)][-last:] * condition.width
            if off.size:
                doubled = condition.scale == "doublings"
                out[condition.key] = (
                    condition.centre * 2.0**off if doubled else (condition.centre + off)
                )
    return out
