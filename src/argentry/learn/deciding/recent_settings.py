"""What is usual in a studio now: its settings of late, and its odds as a function of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from argentry.learn.deciding.trials import set_by_hand
from argentry.trade.decide import settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from argentry.arrays import Floats
    from argentry.learn.stages.table import StageTable

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

    class AllLearned(Protocol):
        """What `argentry.learn.odds.odds.fit` returns."""

        @property
        def stages(self) -> Mapping[str, StageLearned]: ...
        @property
        def sessions(self) -> tuple[str, ...]: ...
        @property
        def named(self) -> frozenset[str]: ...


__all__ = ["chance_of", "settings_spread", "usual_settings"]

SPREAD = (np.arange(6) + 0.5) / 6.0  # the middles of six sixths of plates: a cliff is seen
LAST = 12  # plates that show what is usual now
RENEWED = 36  # the same where a bath ages and is renewed: a dozen may all be of one


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
