"""The odds of a good plate: of one, and the share of many to come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.desk.numbers.fitted import fitted
from argentry.learn.odds.odds import odds
from argentry.learn.stages.fault_share import outward
from argentry.learn.stages.table import succeeded
from argentry.plan.batch_odds import BetaChance, DrawnChance, chance_range
from argentry.records.learned import GoodOdds, Share

if TYPE_CHECKING:
    from argentry.desk.numbers.makings import Gathered
    from argentry.learn.odds.odds import Fitted
    from argentry.records.learned import Odds


def chance_of_plates(gathered: Gathered) -> BetaChance | DrawnChance:
    """Return the chance of plates to come: the model's draws while it predicts well, else counts.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio; those given up for an outward reason do not count.
    """
    fit = fitted(gathered.makings, gathered.assumed)
    return _chance(gathered, fit, odds(fit, {}))


def good_odds(gathered: Gathered) -> tuple[GoodOdds, bool]:
    """Return the odds of a good plate, and whether they rest on belief."""
    fit = fitted(gathered.makings, gathered.assumed)
    one = odds(fit, {})
    chance = _chance(gathered, fit, one)
    many = Share(*chance_range(chance), float(chance.plates))
    share = Share(one.probability, one.low, one.high, float(one.plates))
    return GoodOdds(share, many), one.mostly_prior


def _chance(gathered: Gathered, fit: Fitted, told: Odds) -> BetaChance | DrawnChance:
    came = [
        ok for one in gathered.makings if not outward(one) and (ok := succeeded(one)) is not None
    ]
    if came and told.model_used:
        return DrawnChance(fit.batch, len(came), told.mostly_prior)
    good, bad = fit.assumed.good
    return BetaChance(good + sum(came), bad + len(came) - sum(came), len(came))
