"""What is assumed of a studio before any plate of its own: by the trade and by other studios."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from argentry import trade
from argentry.trade.conditions import Condition, StagePrior, conditions, stage_priors


@dataclass(frozen=True)
class Assumed:
    """Starting assumptions.

    Attributes
    ----------
    conditions : tuple of Condition
        With their effects.
    stages : Mapping[str, StagePrior]
        Share of each stage that comes out ok.
    good : tuple of float
        Beta of the share of good plates.
    numbers : Mapping[str, tuple of float]
        By number (``plate_speed``, ``box_factor`` ...): natural logarithm of its middle and the
        standard deviation of that. One left out is the trade's.
    """

    conditions: tuple[Condition, ...]
    stages: Mapping[str, StagePrior]
    good: tuple[float, float] = (1.0, 1.0)
    numbers: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@cache
def of_trade() -> Assumed:
    """Return what the trade believes."""
    good = trade.value("day", "good_alpha"), trade.value("day", "good_beta")
    return Assumed(conditions(), stage_priors(), good)
