"""The odds of one plate and what to do with it now."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.desk.learning.standing import SHOWS_ALL, Asked, check_known, standing_of
from argentry.desk.numbers.fitted import fitted
from argentry.learn.deciding.checkpoints import advise
from argentry.learn.deciding.stage_work import graded_check, posterior, usual_work
from argentry.learn.stages.odds import draws_by_stage, odds, whole
from argentry.physics.stops import Z80
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors
from argentry.trade.decide import known_checks
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from argentry.desk.learning.standing import Standing
    from argentry.desk.numbers.makings import Gathered
    from argentry.learn.stages.odds import Fitted
    from argentry.records.decision import Advice
    from argentry.records.learned import Odds

    Floats = NDArray[np.float64]

ANSWERS = ("right", "doubtful", "wrong")


def plate_odds(
    gathered: Gathered, label: str, asked: Asked | None = None, now: datetime | None = None
) -> dict[str, Any]:
    """Return the odds of a plate and what to do with it now.

    Parameters
    ----------
    gathered : Gathered
        The plates.
    label : str
        The plate asked about.
    asked : Asked, optional
        What else is known of it, or supposed.
    now : datetime, optional
        UTC; by the machine's clock when left out.

    Returns
    -------
    dict
        ``probability``, ``low``, ``high``, ``plates``, ``mostly_prior``, ``advice``, ``worth`` and
        more: `docs/json.md`.

    Raises
    ------
    BadInput
        If there is no such plate or a value cannot be.
    """
    asked = asked or Asked()
    check_known(gathered, asked.known)
    standing = standing_of(gathered, label, asked, now or datetime.now(UTC))
    size = gathered.size_of(gathered.plate(label))
    said = judged(standing, plate_size(size).area_cm2)
    return {"plate": label, "source": gathered.source, **said, "notes": [
        *standing.notes, *gathered.notes]}  # fmt: skip


def judged(standing: Standing, area_cm2: float) -> dict[str, Any]:
    """Return odds and advice of a plate that stands somewhere, as plain values.

    Parameters
    ----------
    standing : Standing
        Where it stands.
    area_cm2 : float
        Its area. [cm2]
    """
    fit = fitted(standing.others)
    stages = _settled(standing)
    told = odds(fit, standing.known, stages, standing.session)
    draws = _draws(fit, standing, told, stages)
    good = whole({stage: draws[stage] for stage in STAGES})
    probability = float(good.mean())
    low, high = (float(q) for q in np.quantile(good, [0.1, 0.9]))
    over = standing.done == STAGES[-1]
    usual = usual_work(area_cm2, _usual_shares(fit, told))
    advice = None if over else _advice(usual, draws, standing, told)
    return {
        "probability": probability,
        "low": min(low, probability),
        "high": max(high, probability),
        "plates": told.plates,
        "mostly_prior": told.mostly_prior,
        "advice": "continue" if advice is None else advice.advice,
        "worth": 0.0 if advice is None else advice.worth,
        **_advice_facts(advice),
        "stage": standing.done,
        "grade": standing.grade,
        "reason": told.reason,
        "model_used": told.model_used,
        "base_rate": asdict(told.base_rate),
        "running": {**asdict(told.running), "model_wins": told.running.model_wins},
        "stages": [
            {
                "stage": one.stage,
                "probability": float(draws[one.stage].mean()),
                "low": float(np.quantile(draws[one.stage], 0.1)),
                "high": float(np.quantile(draws[one.stage], 0.9)),
                "plates": one.share.plates,
                "done": one.done or _passed(one.stage, standing.done),
                "check": standing.answers.get(one.stage),
                "known": list(one.known),
                "unknown": list(one.unknown),
            }
            for one in told.by_stage
        ],
    }


def _advice_facts(advice: Advice | None) -> dict[str, Any]:
    if advice is None:
        return {
            "worth_low": 0.0,
            "worth_high": 0.0,
            "sureness": 1.0,
            "words": "finished: nothing is left to decide",
            "rule": "Every stage is done.",
            "needed": None,
            "price_per_hour": 0.0,
            "minutes_left": 0.0,
            "options": [],
        }
    return {
        "worth_low": advice.low,
        "worth_high": advice.high,
        "sureness": advice.sureness,
        "words": advice.options[0].words,
        "rule": advice.rule,
        "needed": advice.needed,
        "price_per_hour": advice.price_per_hour,
        "minutes_left": advice.minutes_left,
        "options": [asdict(option) for option in advice.options],
    }


def _passed(stage: str, done: str | None) -> bool:
    return done is not None and STAGES.index(stage) <= STAGES.index(done)


def _settled(standing: Standing) -> dict[str, str]:
    """Return the stages of which it is known how they came out."""
    stages = dict(standing.stages)
    shown = standing.answers.get(SHOWS_ALL)
    if shown == "right":
        for stage in STAGES[: STAGES.index(SHOWS_ALL) + 1]:
            stages.setdefault(stage, "ok")
    elif shown == "wrong":
        stages.setdefault(SHOWS_ALL, "fault")
    return stages


def _draws(
    fit: Fitted, standing: Standing, told: Odds, stages: Mapping[str, str]
) -> dict[str, Floats]:
    """Return for each stage draws of the probability that it is, or comes out, sound.

    Where the share of good plates is shown in place of the model, it is parted over the stages in
    proportion to how often each goes wrong by the trade; an answered check then tells of its stage.
    """
    if told.model_used:
        draws = draws_by_stage(fit, standing.known, standing.session)
    else:
        draws = _of_base_rate(told, stages)
    for stage, answer in standing.answers.items():
        check = next((c for c in known_checks() if c.stage == stage), None)
        if check is not None and stage not in stages:
            seen = graded_check(check.key, check.minutes, check.quality)
            draws[stage] = posterior(seen, draws[stage])[1][ANSWERS.index(answer)]
    for stage, came in stages.items():
        draws[stage] = np.full(1, float(came == "ok"))
    return draws


def _of_base_rate(told: Odds, stages: Mapping[str, str]) -> dict[str, Floats]:
    from statistics import NormalDist

    open_ = [stage for stage in STAGES if stage not in stages] or list(STAGES)
    parts = np.array([-np.log(stage_priors()[stage].ok_middle) for stage in open_])
    share, even = told.base_rate, (np.arange(200) + 0.5) / 200.0
    normal, width = NormalDist(), 2.0 * Z80
    middle = normal.inv_cdf(min(max(share.probability, 1e-4), 1.0 - 1e-4))
    ends = [normal.inv_cdf(min(max(p, 1e-6), 1.0 - 1e-6)) for p in (share.low, share.high)]
    spread = (ends[1] - ends[0]) / width
    rng = np.random.default_rng(7)
    whole = np.array(
        [normal.cdf(middle + spread * normal.inv_cdf(q)) for q in rng.permutation(even)]
    )
    return {s: whole ** (w / parts.sum()) for s, w in zip(open_, parts, strict=True)}


def _usual_shares(fit: Fitted, told: Odds) -> dict[str, float]:
    """Return the share of each stage that comes out ok on a usual plate of this studio.

    By the same word as the plate's own odds, lest a plate of which nothing is known seem worse, or
    better, than a usual one.
    """
    if not told.model_used:
        whole = _of_base_rate(odds(fit, {}), {})
        return {stage: float(draws.mean()) for stage, draws in whole.items()}
    return {stage: float(draws.mean()) for stage, draws in draws_by_stage(fit, {}).items()}


def _advice(usual: Any, draws: Mapping[str, Floats], standing: Standing, told: Odds) -> Advice:
    answered = [c.key for c in known_checks() if c.stage in standing.answers]
    return advise(
        usual,
        draws,
        standing.done,
        standing.minutes_left,
        checked=answered,
        overlap=standing.overlap,
        plates=told.plates,
    )
