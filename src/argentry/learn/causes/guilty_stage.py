"""Which stage spoilt a plate whose fault nobody booked: shared out by what the other plates say.

A notebook without bookings says only that a plate was lost. Shared out by the trade's rates, a
fault blurs every stage. So each stage is read by its conditions, each plate's fault is shared out
again by how likely each stage was to fail on it, and the two steps take turns (expectation and
maximisation). Plates with a stage booked are left as they are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.inclusion import weigh
from argentry.learn.causes.suspects import suspects
from argentry.learn.stages.fault_share import open_stages
from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.table import in_order, stage_tables
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.learn.stages.table import StageTable
    from argentry.records.plate import Making

ROUNDS = 4


def guilty_shares(makings: Sequence[Making]) -> dict[str, dict[str, float]]:
    """Return for each spoilt plate without a booked fault how likely each stage spoilt it.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, in any order.

    Returns
    -------
    dict
        Id of the making to its stages; empty where every fault is booked.
    """
    ordered = in_order(makings)
    asked = {o.id: stages for o in ordered if len(stages := open_stages(o)) > 1}
    shares: dict[str, dict[str, float]] = {}
    for _ in range(ROUNDS if asked else 0):
        fails: dict[str, dict[str, float]] = {key: {} for key in asked}
        for stage, table in stage_tables(ordered, blame=shares).items():
            for key, chance in _chances(table).items():
                if key in fails and stage in asked[key]:
                    fails[key][stage] = chance
        shares = {key: _shared(one) for key, one in fails.items()}
    return shares


def _chances(table: StageTable) -> Mapping[str, float]:
    """Return the probability that the stage fails, by making."""
    data, _ = suspects(table)
    mean, sd = stage_priors()[table.stage].probit
    found = weigh(
        data, most=1, session_sd=trade.value("causes", "session_sd"), base_mean=-mean, base_sd=sd
    )
    eta = found.base[:, None] + found.effect @ data.x.T
    chance = found.weights() @ normal_cdf(eta)
    return dict(zip(table.ids, chance.tolist(), strict=True))


def _shared(fails: Mapping[str, float]) -> dict[str, float]:
    """Return how likely each stage was the first to fail, given that one did."""
    out, sound = {}, 1.0
    for stage in STAGES:
        if stage in fails:
            out[stage] = sound * fails[stage]
            sound *= 1.0 - fails[stage]
    total = float(np.sum(list(out.values())))
    return {stage: share / total for stage, share in out.items()}
