"""Fit the log: a posterior for each stage, and the running score against the base rate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot, prod, sqrt

import numpy as np

from argentry.arrays import Floats, Truth
from argentry.learn.causes.guilty_stage import WholePlate, unbooked
from argentry.learn.causes.studio_causes import StageView, stage_views, why_studio
from argentry.learn.odds.left_out import left_out
from argentry.learn.odds.set_reading import DRAWS as SET_DRAWS
from argentry.learn.odds.set_reading import SetReading, misfit_of, set_reading, shown
from argentry.learn.odds.unexplained import PROBIT, by_stage, of_whole, unexplained
from argentry.learn.stages.assumed import Assumed, of_trade
from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.model import StageModel, middle_and_doubt, model_of
from argentry.learn.stages.posterior import Draws, climb, walk
from argentry.learn.stages.running_score import predict_in_order
from argentry.learn.stages.scores import base_rates, brier_score, log_score
from argentry.learn.stages.table import StageTable, in_order, stage_tables, standardised, succeeded
from argentry.learn.stages.unknowns import DRIFT_MEMORY, rows_of, session_root
from argentry.records.causes import StudioCauses
from argentry.records.learned import RunningScore
from argentry.records.plate import Making


@dataclass(frozen=True)
class StageFit:
    """One stage as learned.

    Attributes
    ----------
    table : StageTable
        Its plates.
    model : StageModel
        Its density.
    draws : Draws
        Of the unknowns.
    moments : tuple of ndarray
        Mean and variance by which a condition that is not known is taken, for the columns seen.
    places : ndarray (t,)
        Where drift is kept, as session numbers.
    drift : float
        Standard deviation of the drift between sessions. [probit]
    strength : float
        How much conditions matter here against what the trade believes. [1]
    sets : SetReading
        The stage read a second way.
    misfit : float
        As by `misfit_of`, and what happened beyond it (`unexplained`). [probit]
    luck : ndarray (s,)
        Unit normals, one for each second draw.
    """

    table: StageTable
    model: StageModel
    draws: Draws
    moments: tuple[Floats, Floats]
    places: Floats
    drift: float
    strength: float
    sets: SetReading[StageView]
    misfit: float
    luck: Floats

    def chances(
        self,
        known: Mapping[str, float | str],
        session: int,
        *,
        averaged: bool = False,
        by_sets: bool = False,
    ) -> Floats:
        """Return draws of P(ok) of one plate, half by the chain and half by the sets; (s,).

        Luck, and what is not known, are drawn: a range holds this plate's chance, not a mean.

        Parameters
        ----------
        known : Mapping[str, float or str]
            What is known of it, by column of the table of plates.
        session : int
            As in `probability`.
        averaged : bool
            True: of many such plates, luck averaged, as for a setting that is kept.
        by_sets : bool
            True: both halves by the sets.
        """
        sets = self.sets.chances(known, averaged=averaged)
        if by_sets:
            return np.concatenate([sets, sets])
        x = standardised(self.table.conditions, known)
        luck, left = self.luck_of(session)
        rows = rows_of(self.model.unknowns, x[None, self.table.seen], *self.moments, luck[None])
        at = self.draws.points[:: self.draws.points.shape[0] // self.luck.size]
        eta, doubt = middle_and_doubt(self.model.unknowns, rows, at)
        chain = shown(eta[:, 0], doubt[:, 0] + left, self.misfit, None if averaged else self.luck)
        return np.concatenate([chain, sets])

    def probability(self, x: Floats, session: int, points: Floats | None = None) -> Floats:
        """Return P(ok) of one plate for each draw (or each of `points`); (s,).

        Parameters
        ----------
        x : ndarray (p,)
            Its conditions; NaN if not known. What no plate of the log knows counts for nothing.
        session : int
            Its session, numbered as in the table; one not seen is taken from its neighbour before.
        points : ndarray (s, d), optional
            Other values of the unknowns, such as draws of the prior.
        """
        luck, doubt_of_luck = self.luck_of(session)
        rows = rows_of(self.model.unknowns, x[None, self.table.seen], *self.moments, luck[None])
        at = self.draws.points if points is None else points
        eta, doubt = middle_and_doubt(self.model.unknowns, rows, at)
        return normal_cdf(eta[:, 0] / np.sqrt(1.0 + doubt[:, 0] + doubt_of_luck))

    def of_usual(self, session: int, believed: bool) -> Floats:
        """Return P(ok) of a plate of which nothing is known, luck averaged; (s,).

        Parameters
        ----------
        session : int
            As in `probability`.
        believed : bool
            By draws of what was believed before any plate, instead of the plates.
        """
        prior, points = self.model.prior, None
        if believed:
            size = (self.draws.points.shape[0], prior.mean.size)
            points = prior.mean + prior.sd * np.random.default_rng(1).standard_normal(size)
        return self.probability(np.full(len(self.table.conditions), np.nan), session, points)

    def luck_of(self, session: int) -> tuple[Floats, float]:
        """Return a session's drift in terms of the fitted ones, and the variance left."""
        if not self.places.size:
            return np.zeros(0), self.drift**2
        before = max(int(np.searchsorted(self.places, session, side="right")) - 1, 0)
        stay = DRIFT_MEMORY ** abs(session - float(self.places[before]))
        root = session_root(self.places)
        return self.drift * stay * root[before], self.drift**2 * (1.0 - stay**2)


@dataclass(frozen=True, eq=False)
class Fitted:
    """All that has been learned of the odds.

    Attributes
    ----------
    stages : Mapping[str, StageFit]
        By stage, in the order of the work.
    makings : tuple of Making
        The log, in order of time.
    came : tuple of bool or None
        Whether each came out good.
    sessions : tuple of str
        In order of time.
    running : RunningScore
        Model against base rate, each plate predicted by the other sessions.
    predicted : ndarray (stages, m)
        Chance that each stage of each plate comes out ok, before it was seen. [1]
    assumed : Assumed
        What was assumed before any plate.
    apart : tuple of float
        As by `unexplained`.
    by_others : ndarray (n,)
        Chance of each plate of which it is known how it came out, by the other sessions. [1]
    shares : ndarray (n,)
        The same by the share of good plates alone.
    whole : SetReading or None
        The plate read as one stage, where faults are not booked.
    unbooked : float
        Share of the faults that nobody booked. [1]
    """

    stages: Mapping[str, StageFit]
    makings: tuple[Making, ...]
    came: tuple[bool | None, ...]
    sessions: tuple[str, ...]
    running: RunningScore
    predicted: Floats
    assumed: Assumed
    apart: tuple[float, float]
    by_others: Floats
    shares: Floats
    whole: SetReading[WholePlate] | None = None
    unbooked: float = 0.0

    def chances(
        self, known: Mapping[str, float | str], session: int, *, averaged: bool = False
    ) -> dict[str, Floats]:
        """Return draws of P(ok) of each stage of one plate, as many for each.

        Where faults are not booked, stages are told apart by what little speaks of them, and what
        spoils plates is told with them. So a part of the draws is of the plate read as one stage,
        as many as of either reading of the stages where nothing is booked; its chance is parted
        over the stages as the others have it.

        Parameters
        ----------
        known, session, averaged
            As of `StageFit.chances`.
        """
        each = {key: one.chances(known, session, averaged=averaged)
                for key, one in self.stages.items()}  # fmt: skip
        if self.whole is None:
            return each
        whole = self.whole.chances(known, averaged=averaged)
        whole = whole[: round(self.unbooked * whole.size)]
        lost = {key: -np.log(max(float(draws.mean()), 1e-9)) for key, draws in each.items()}
        of = max(sum(lost.values()), 1e-9)
        return {
            key: np.concatenate([draws, whole ** (lost[key] / of)]) for key, draws in each.items()
        }

    @property
    def views(self) -> dict[str, StageView]:
        """Return each stage as weighed for the causes: odds and causes are of one state."""
        return {key: stage.sets.view for key, stage in self.stages.items()}

    @cached_property
    def causes(self) -> StudioCauses:
        """Return what explains the failures over all plates, without the charts of drift."""
        return why_studio(self.makings, charts=False, views=self.views)

    @property
    def named(self) -> frozenset[str]:
        """Return the stages of which a cause is named: there few conditions matter, and much."""
        return frozenset(row.stage for row in self.causes.causes if row.named)

    @cached_property
    def usual(self) -> dict[str, Floats]:
        """Return draws of P(ok) of each stage for the next plate, of which nothing is known."""
        return self.chances({}, len(self.sessions))

    @cached_property
    def many(self) -> dict[str, Floats]:
        """Return draws of the share of each stage that comes out ok, over many such plates."""
        return self.chances({}, len(self.sessions), averaged=True)

    @cached_property
    def batch(self) -> Floats:
        """Return draws of the share of good plates among many to come, for a batch; (s,).

        What tells plates apart evens out over many; what their weeks share does not.
        """
        whole = prod(self.many.values(), start=np.ones(1))
        p = np.clip(whole, 1e-6, 1.0 - 1e-6)
        shock = np.random.default_rng(3).standard_normal(p.size) * sqrt(self.apart[1])
        return np.asarray(1.0 / (1.0 + (1.0 / p - 1.0) * np.exp(-shock)))

    @cached_property
    def vague(self) -> bool:
        """Return whether the plates have not yet halved the variance of what was believed."""
        spread = []
        for believed in (False, True):
            each = [one.of_usual(len(self.sessions), believed) for one in self.stages.values()]
            p = np.clip(prod(each, start=np.ones(1)), 1e-6, 1.0 - 1e-6)
            spread.append(float(np.log(p / (1.0 - p)).std()))
        return spread[0] > 0.71 * spread[1]

    @cached_property
    def spoilt(self) -> Floats:
        """Return how likely each stage spoilt each plate; (stages, m)."""
        out = np.zeros_like(self.predicted)
        for number, stage in enumerate(self.stages.values()):
            bad = ~stage.table.ok
            np.add.at(out[number], stage.table.row[bad], stage.table.weight[bad])
        return out

    @property
    def settled(self) -> bool:
        """Return whether the walks of every stage agree."""
        return all(stage.draws.settled for stage in self.stages.values())


def fit(
    makings: Sequence[Making],
    *,
    assumed: Assumed | None = None,
    extra: bool = True,
    seed: int = 1839,
) -> Fitted:
    """Return what a log of plates teaches.

    Parameters
    ----------
    makings : sequence of Making
        All plates, in any order; none at all is allowed.
    assumed : Assumed, optional
        Before any plate; None: by the trade.
    extra : bool
        Whether the maker's own columns count.
    seed : int
        Of the random walks: the same plates give the same figures.

    Returns
    -------
    Fitted
        For `odds`.
    """
    assumed = assumed or of_trade()
    loose = unbooked(makings, assumed)
    tables = stage_tables(makings, extra=extra, believed=assumed.conditions, blame=loose.blame)
    views = stage_views(makings, loose=loose, assumed=assumed)
    ordered = in_order(makings)
    sessions = tuple(dict.fromkeys(o.session for o in ordered))
    place = {name: index for index, name in enumerate(sessions)}
    at = np.array([place[o.session] for o in ordered], dtype=np.int64)
    predicted = np.ones((len(tables), len(ordered)))
    stages: dict[str, StageFit] = {}
    for number, (stage, table) in enumerate(tables.items()):
        passed = predict_in_order(table, assumed.stages[stage], at)
        predicted[number] = passed.probability
        model, moments, places = model_of(
            table, assumed.stages[stage], passed.drift, passed.strength
        )
        summit = climb(model, model.prior.mean)
        draws = walk(model, summit, seed=seed + number)
        told = middle_and_doubt(model.unknowns, model.rows, summit.point[None])[0][0]
        stages[stage] = StageFit(
            table,
            model,
            draws,
            moments,
            places,
            passed.drift,
            passed.strength,
            set_reading(views[stage], seed + 10 + number, passed.drift**2),
            misfit_of(told, table.weight),
            np.random.default_rng(seed + 20 + number).standard_normal(SET_DRAWS),
        )
    came = tuple(succeeded(o) for o in ordered)
    whole = None if loose.whole is None else set_reading(loose.whole, seed + 40)
    unbooked_share = loose.faults / loose.lost
    by_others = left_out(stages, at, whole, unbooked_share)
    seen = np.array([one is not None for one in came], dtype=bool)
    good = np.array([bool(one) for one in came], dtype=bool)[seen]
    shares = base_rates(good, at[seen], *assumed.good)
    running = _score(by_others[seen], shares, good)
    before, x = np.prod(predicted, axis=0), _conditions(stages)
    apart = unexplained(by_others[seen], before[seen], good.astype(np.float64), x[seen], at[seen])
    ok = {key: float(one.chances({}, len(sessions)).mean()) for key, one in stages.items()}
    stages = _widened(stages, by_stage(sqrt(sum(apart)), ok))
    if whole is not None:
        luck = (of_whole({key: one.drift for key, one in stages.items()}, ok) / PROBIT) ** 2
        misfit = hypot(whole.misfit, sqrt(sum(apart)) / PROBIT)
        whole = replace(whole, misfit=misfit, session=luck)
    return Fitted(
        stages, ordered, came, sessions, running, predicted, assumed, apart, by_others[seen],
        shares, whole, unbooked_share,
    )  # fmt: skip


def _conditions(stages: Mapping[str, StageFit]) -> Floats:
    """Return every condition of a log once, whatever stages it stands in; (m, p)."""
    once: dict[str, Floats] = {}
    for stage in stages.values():
        for name, values in zip(stage.table.names, stage.table.every.T, strict=True):
            once.setdefault(name, values)
    return np.stack(list(once.values()), axis=1) if once else np.zeros((0, 0))


def _widened(stages: Mapping[str, StageFit], each: float) -> dict[str, StageFit]:
    """Return stages whose plates scatter as far as what happened says; middles stay."""
    return {
        key: replace(
            one,
            misfit=hypot(one.misfit, each),
            sets=replace(one.sets, misfit=hypot(one.sets.misfit, each)),
        )
        for key, one in stages.items()
    }


def _score(own: Floats, usual: Floats, good: Truth) -> RunningScore:
    ours, base = log_score(own, good), log_score(usual, good)
    return RunningScore(
        plates=int(good.size),
        log_score=ours,
        base_log_score=base,
        brier=brier_score(own, good),
        base_brier=brier_score(usual, good),
        model_wins=good.size > 0 and ours > base,
    )
