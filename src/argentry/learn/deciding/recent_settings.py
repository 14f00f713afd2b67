"""What is usual in a studio now: its settings of late, and its odds as a function of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from argentry.learn.deciding.trials import set_by_hand
from argentry.trade.decide import settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from argentry.learn.stages.table import StageTable

    Floats = NDArray[np.float64]
    Chance = Callable[[str, Mapping[str, float | str]], Floats]

    class StageLearned(Protocol):
        """One stage as learned: its plates, and P(ok) by draw."""

        @property
        def table(self) -> StageTable: ...
        def chances(
            self, known: Mapping[str, float | str], session: int, *, averaged: bool = False
        ) -> Floats: ...

    class AllLearned(Protocol):
        """What `argentry.learn.odds.odds.fit` returns."""

        @property
        def stages(self) -> Mapping[str, StageLearned]: ...
        @property
        def sessions(self) -> tuple[str, ...]: ...


__all__ = ["chance_of", "usual_settings"]

LAST = 12  # plates that show what is usual now


def chance_of(fitted: AllLearned) -> Chance:
    """Return the odds of a stage as a function of what is known, over the luck of many sessions.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    Callable
        What `next_change` asks for.
    """

    def chance(stage: str, known: Mapping[str, float | str]) -> Floats:
        return fitted.stages[stage].chances(known, len(fitted.sessions), averaged=True)

    return chance


def usual_settings(fitted: AllLearned) -> dict[str, float | str]:
    """Return the settings of late: the median of the last dozen plates on which each was known.

    Parameters
    ----------
    fitted : Fitted
        As learned from the log.

    Returns
    -------
    dict
        Key of a condition to its value [unit]; one never written down is left out.
    """
    out: dict[str, float | str] = {}
    for learned in fitted.stages.values():
        for column, condition in enumerate(learned.table.conditions):
            seen = learned.table.x[:, column]
            seen = seen[~np.isnan(seen)][-LAST:]
            if condition.key in settings() and seen.size:
                off = float(np.median(seen)) * condition.width
                doubled = condition.scale == "doublings"
                value = condition.centre * 2.0**off if doubled else condition.centre + off
                out[condition.key] = set_by_hand(value)
    return out
