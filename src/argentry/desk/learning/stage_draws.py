"""Draws of the chance that a stage of a plate is sound: now, and done once more."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.desk.learning.check_answers import ANSWERS
from argentry.learn.deciding.plate_to_come import like_to_come
from argentry.learn.deciding.stage_work import posterior
from argentry.learn.odds.odds import SUREST, draws_by_stage, odds
from argentry.physics.stops import Z80
from argentry.records.plate import STAGES
from argentry.trade.decide import known_checks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from argentry.arrays import Floats
    from argentry.desk.learning.standing import Standing
    from argentry.learn.deciding.stage_work import Check
    from argentry.learn.odds.odds import Fitted
    from argentry.records.learned import Odds


def stage_draws(
    fit: Fitted,
    standing: Standing,
    told: Odds,
    stages: Mapping[str, str],
    checks: Mapping[str, Check],
    follow: float,
) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Return for each stage draws of the probability that it is, or comes out, sound.

    The second are those of the stage done once more, as they differ from a usual plate's. What was
    seen of it speaks of its cause too: where a fault was likely, it is likely again. What it says
    of the studio and this session holds for any other plate too, so it decides nothing.

    Where the share of good plates is shown in place of the model, it is parted over the stages in
    proportion to how often each goes wrong in this studio; an answered check tells of its stage.
    A step ended far too soon, of which nobody has seen what came, leaves little but that slip.
    `follow` weighs the plate's own odds by the model, the rest is a usual plate's (`trust`).
    """
    if told.model_used:
        draws = draws_by_stage(fit, standing.known, standing.session)
        usual = draws_by_stage(fit, {}, standing.session)
        mean = {stage: float(of.mean()) for stage, of in usual.items()}
        draws = {stage: mean[stage] + follow * (of - mean[stage]) for stage, of in draws.items()}
    else:
        draws = usual = _of_base_rate(fit, told, stages)
    again = dict(draws)

    def learn(stage: str, weight: Floats) -> None:
        often = _as_often(weight)
        lost = usual[stage].mean() / max(float(usual[stage][often].mean()), 1e-9)
        again[stage] = np.minimum(again[stage][often] * lost, 1.0)

    for stage, answer in standing.answers.items():
        known = next((c for c in known_checks() if c.stage == stage), None)
        if known is not None and stage not in stages:
            weights, sound = posterior(checks[known.key], draws[stage])
            seen = ANSWERS.index(answer)
            learn(stage, weights[seen])
            draws[stage] = sound[seen]
    for stage in {*standing.unseen_short} - {*stages}:
        # sound only where the end was a slip of the hand
        draws[stage] = draws[stage] * trade.value("decide", "misread_share")
    for stage, came in stages.items():
        if stage in again and came == "fault":
            learn(stage, 1.0 - again[stage])
        draws[stage] = np.full(1, float(came == "ok"))
    return draws, again


def _as_often(weight: Floats) -> NDArray[np.intp]:
    """Return the places of draws, each as often as its weight says, in their order."""
    if weight.sum() <= 0.0:
        return np.arange(weight.size)
    even = (np.arange(weight.size) + 0.5) / weight.size
    at = np.searchsorted(np.cumsum(weight) / weight.sum(), even)
    return np.minimum(at, weight.size - 1)


def _of_base_rate(fit: Fitted, told: Odds, stages: Mapping[str, str]) -> dict[str, Floats]:
    open_ = [stage for stage in STAGES if stage not in stages] or list(STAGES)
    parts = np.array([-np.log(fit.usual[stage].mean()) for stage in open_])
    share = told.base_rate if "fault" in stages.values() else told  # told: one plate of such
    even = (np.arange(200) + 0.5) / 200.0
    normal, width = NormalDist(), 2.0 * Z80
    ends = [normal.inv_cdf(min(max(p, 1e-6), 1.0 - 1e-6)) for p in (share.low, share.high)]
    spread = (ends[1] - ends[0]) / width
    middle = normal.inv_cdf(min(max(share.probability, 1e-4), 1.0 - 1e-4))
    middle *= float(np.hypot(1.0, spread))  # so that the draws have that mean
    rng = np.random.default_rng(7)
    whole = np.array(
        [normal.cdf(middle + spread * normal.inv_cdf(q)) for q in rng.permutation(even)]
    )
    return {s: whole ** (w / parts.sum()) for s, w in zip(open_, parts, strict=True)}


def usual_shares(fit: Fitted, told: Odds) -> dict[str, float]:
    """Return the share of each stage that comes out ok on a usual plate of this studio.

    By the same word as the plate's own odds, so that a plate of which nothing is known does not
    seem worse, or better, than a usual one.
    """
    if not told.model_used:
        whole = _of_base_rate(fit, odds(fit, {}), {})
        return {stage: float(draws.mean()) for stage, draws in whole.items()}
    return {stage: float(draws.mean()) for stage, draws in fit.usual.items()}


def shares_to_come(
    fit: Fitted, told: Odds, known: Mapping[str, float | str], follow: float
) -> dict[str, float]:
    """Return the share of each stage that comes out ok on the plate that would be begun next.

    What lasts from plate to plate, such as a hot room, is as it is on this plate (`like_to_come`):
    who gives a plate up does not get rid of it. The rest is as on a usual plate. `follow` as in
    `stage_draws`.
    """
    usual = usual_shares(fit, told)
    pairs = like_to_come(fit.makings, known) if told.model_used else []
    if not pairs:
        return usual
    before, then = (dict.fromkeys(usual, 0.0) for _ in range(2))
    for pair in pairs:
        for sums, settings in zip((before, then), pair, strict=True):
            for stage, draws in draws_by_stage(fit, settings).items():
                sums[stage] += float(draws.mean())
    return {
        stage: share + follow * (min(share * then[stage] / before[stage], SUREST) - share)
        for stage, share in usual.items()
    }
