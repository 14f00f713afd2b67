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


def chance_of_plates(gathered: Gathered) -> BetaChance | DrawnChance:
    """Return the chance of plates to come: the model's draws while it predicts well, else counts.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio; those given up for an outward reason do not count.
    """
    came = [
        ok for one in gathered.makings if not outward(one) and (ok := succeeded(one)) is not None
    ]
    fit = fitted(gathered.makings, gathered.assumed)
    told = odds(fit, {})
    if came and told.model_used:
        return DrawnChance(fit.batch, len(came), told.mostly_prior)
    good, bad = fit.assumed.good
    return BetaChance(good + sum(came), bad + len(came) - sum(came), len(came))


def good_odds(gathered: Gathered) -> tuple[GoodOdds, bool]:
    """Return the odds of a good plate, and whether they rest on belief.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio.
    """
    one = odds(fitted(gathered.makings, gathered.assumed), {})
    chance = chance_of_plates(gathered)
    many = Share(*chance_range(chance), float(chance.plates))
    share = Share(one.probability, one.low, one.high, float(one.plates))
    return GoodOdds(share, many), one.mostly_prior
