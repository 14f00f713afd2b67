"""The chance of each plate by the plates of other sessions alone, without fitting them again.

A plate to come belongs to a session of which nothing is known yet, so a session is left out as a
whole. Draws of the fit are weighed by one over the likelihood of what came in that session, which
is what the fit without it would have drawn [1]_. Few draws with much weight would say too little,
so no weight counts more than the root of the number of draws times their mean [2]_.

References
----------
.. [1] A. E. Gelfand, D. K. Dey and H. Chang, Bayesian Statistics 4 (1992) 147.
.. [2] E. L. Ionides, J. Comput. Graph. Stat. 17 (2008) 295.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from argentry import trade
from argentry.learn.causes.inclusion import log_cdf_and_ratio
from argentry.learn.causes.spreads import spread_out
from argentry.learn.stages.likelihood import interval_terms, normal_cdf
from argentry.learn.stages.model import cuts, middle_and_doubt
from argentry.learn.stages.unknowns import rows_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats, Whole
    from argentry.learn.causes.guilty_stage import WholePlate
    from argentry.learn.causes.studio_causes import StageView
    from argentry.learn.odds.set_reading import SetReading
    from argentry.learn.stages.model import StageModel
    from argentry.learn.stages.posterior import Draws
    from argentry.learn.stages.table import StageTable

    class StageLearned(Protocol):
        """One stage as learned: its plates, and draws of both its readings."""

        @property
        def table(self) -> StageTable:
            """Its plates."""

        @property
        def model(self) -> StageModel:
            """Its density."""

        @property
        def draws(self) -> Draws:
            """Of the unknowns."""

        @property
        def moments(self) -> tuple[Floats, Floats]:
            """Of what is not known."""

        @property
        def places(self) -> Floats:
            """Where drift is kept."""

        @property
        def sets(self) -> SetReading[StageView]:
            """The stage read a second way."""

        def luck_of(self, session: int) -> tuple[Floats, float]:
            """Return a session's drift, and the variance left."""


DRAWS = 384


def left_out(
    stages: Mapping[str, StageLearned],
    session: Whole,
    whole: SetReading[WholePlate] | None = None,
    unbooked: float = 0.0,
) -> Floats:
    """Return the chance that each plate is good, by the plates of other sessions, (m,).

    Parameters
    ----------
    stages : Mapping[str, StageLearned]
        Every stage as learned.
    session : ndarray (m,) of int
        Of each plate of the log.
    whole : SetReading or None
        The plate read as one stage.
    unbooked : float
        Share of the faults that nobody booked: the weight of that reading against either other.
    """
    chain, sets = np.ones((2, session.size))
    for stage in stages.values():
        chain *= without(*_by_chain(stage, session), session)
        sets *= without(*_by_sets(stage.sets, session.size), session)
    if whole is None:
        return np.asarray((chain + sets) / 2.0)
    one = without(*_by_sets(whole, session.size), session)
    return np.asarray((chain + sets + unbooked * one) / (2.0 + unbooked))


def without(ok: Floats, told: Floats, session: Whole) -> Floats:
    """Return the mean of a chance over draws, as if a plate's session had not been seen.

    Parameters
    ----------
    ok : ndarray (s, m)
        By draw, of each plate. [1]
    told : ndarray (s, m)
        Log likelihood of what came of it, by draw.
    session : ndarray (m,) of int
        Its session.
    """
    if not session.size:
        return np.zeros(0)
    of = np.zeros((session.size, int(session.max()) + 1))
    of[np.arange(session.size), session] = 1.0
    against = -(told @ of)
    weight = np.exp(against - against.max(axis=0))
    weight = np.minimum(weight, weight.mean(axis=0) * np.sqrt(len(weight)))
    weight = (weight / weight.sum(axis=0))[:, session]
    return np.asarray((weight * ok).sum(axis=0))


def _by_chain(stage: StageLearned, session: Whole) -> tuple[Floats, Floats]:
    model, table = stage.model, stage.table
    every = max(stage.draws.points.shape[0] // DRAWS, 1)
    at = stage.draws.points[::every]
    eta, doubt = middle_and_doubt(model.unknowns, model.rows, at)
    told = interval_terms(eta, doubt, cuts(model.unknowns, at), model.bounds).value * model.weight
    lucks = [stage.luck_of(number) for number in session]
    luck = np.array([one for one, _ in lucks]).reshape(session.size, stage.places.size)
    left = np.array([variance for _, variance in lucks])
    rows = rows_of(model.unknowns, table.every[:, table.seen], *stage.moments, luck)
    eta, doubt = middle_and_doubt(model.unknowns, rows, at)
    return normal_cdf(eta / np.sqrt(1.0 + doubt + left)), _summed(told, table.row, session.size)


def _by_sets(
    sets: SetReading[StageView] | SetReading[WholePlate], plates: int
) -> tuple[Floats, Floats]:
    view, every = sets.view, max(sets.base.size // DRAWS, 1)
    base, effect = sets.base[::every, None], sets.effect[::every]
    luck = trade.value("causes", "session_sd") ** 2

    def fault(x: Floats, unsure: Floats) -> Floats:
        return np.asarray((base + effect @ x.T) / np.sqrt(1.0 + luck + effect**2 @ unsure.T))

    x, unsure = sets.bad(spread_out(view.table.every, *sets.scale))
    seen, data = fault(view.data.x, view.data.doubt), view.data
    bad, ok = (log_cdf_and_ratio(sign * seen)[0] for sign in (1.0, -1.0))
    told = data.weight * (data.fault * bad + (1.0 - data.fault) * ok)
    return normal_cdf(-fault(x, unsure)), _summed(told, view.table.row, plates)


def _summed(told: Floats, row: Whole, plates: int) -> Floats:
    """Return the sum over the rows of each plate, (s, plates)."""
    of = np.zeros((row.size, plates))
    of[np.arange(row.size), row] = 1.0
    return np.asarray(told @ of)
