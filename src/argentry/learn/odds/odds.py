"""The odds of a good plate: every stage's posterior, multiplied at each checkpoint."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod, sqrt

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.learn.odds.fitting import Fitted, StageFit, fit
from argentry.learn.stages.table import standardised
from argentry.physics.stops import Z80, with_range
from argentry.records.learned import Odds, Share, StageOdds
from argentry.records.plate import STAGES
from argentry.trade.conditions import StagePrior

__all__ = ["Fitted", "StageFit", "fit", "odds"]

NO_PLATE = "Starting values: no plate of this studio has been graded yet."
NOT_BETTER = "The share of good plates so far: the model does not yet predict better than that."
BETTER = "From the conditions, which so far predict plates better than the share of good ones."
TOO_FEW = (
    "From the conditions, mostly as the trade knows them: too few plates to tell whether they "
    "predict better than the share of good ones."
)
SUREST = 0.999  # of starting assumptions, where no stage is left that could spoil a plate
FEW = 10  # plates under which every figure is called mostly prior


def odds(
    fitted: Fitted,
    known: Mapping[str, float | str],
    stages_done: Mapping[str, str] | None = None,
    session: str | None = None,
) -> Odds:
    """Return the odds of a good plate at any point of its making.

    Parameters
    ----------
    fitted : Fitted
        What has been learned.
    known : Mapping[str, float or str]
        Conditions known so far, by column of the table of plates.
    stages_done : Mapping[str, str], optional
        Stages behind it: ``"ok"``, or ``"fault"`` if seen to be bad.
    session : str, optional
        Its session; None: the one after the last.

    Returns
    -------
    Odds
        The model's figure while it predicts better than the base rate, else the base rate.

    Raises
    ------
    BadInput
        If a stage or what came of it is not known here.
    """
    done = dict(stages_done or {})
    for stage, came in done.items():
        if stage not in STAGES or came not in ("ok", "fault"):
            raise BadInput(
                "stages done",
                "{stage!r}: {came!r} is not understood",
                "say ok or fault of {stages}",
                stage=str(stage)[:20],
                came=str(came)[:20],
                stages=", ".join(STAGES),
            )
    drawn = draws_by_stage(fitted, known, session)
    each = [_stage(one, known, drawn[key], done.get(key)) for key, one in fitted.stages.items()]
    figures = prod((stage.draws for stage in each), start=np.ones(1))
    base = _base_rate(fitted, done)
    model = Share(*with_range(figures), fitted.running.plates)
    if "fault" in done.values():
        spoilt = _spoilt(fitted, [stage for stage, came in done.items() if came == "fault"])
        why = "A stage is known to be bad: this is how often such a plate still came out good."
        return _odds(fitted, spoilt, each, spoilt, base, why, prior=spoilt.plates < FEW, used=False)
    wins = fitted.running.model_wins
    few = fitted.running.plates < FEW
    if not wins:
        ahead = [draws for key, draws in fitted.many.items() if key not in done]
        one = _of_one_plate(base, figures, prod(ahead, start=np.ones(1)))
        why = NOT_BETTER if fitted.running.plates else NO_PLATE
        return _odds(fitted, one, each, model, base, why, prior=few, used=False)
    vague = few or fitted.vague
    why = TOO_FEW if few else BETTER
    return _odds(fitted, model, each, model, base, why, prior=vague, used=True)


@dataclass(frozen=True)
class _Stage:
    odds: StageOdds
    draws: Floats  # as they are shown


def _stage(
    fitted: StageFit, known: Mapping[str, float | str], draws: Floats, came: str | None
) -> _Stage:
    table = fitted.table
    x = standardised(table.conditions, known)
    given = tuple(table.names[i] for i in table.seen if not np.isnan(x[i]))
    lacking = tuple(table.names[i] for i in table.seen if np.isnan(x[i]))
    if came is not None:
        sure = float(came == "ok")
        share = Share(sure, sure, sure, table.plates)
        return _Stage(StageOdds(table.stage, share, done=True, known=given), np.full(1, sure))
    share = Share(*with_range(draws), table.plates)
    return _Stage(StageOdds(table.stage, share, False, given, lacking), draws)


def _odds(
    fitted: Fitted,
    shown: Share,
    each: Sequence[_Stage],
    model: Share,
    base: Share,
    why: str,
    *,
    prior: bool,
    used: bool,
) -> Odds:
    return Odds(
        probability=shown.probability,
        low=shown.low,
        high=shown.high,
        plates=int(shown.plates),
        mostly_prior=prior,
        model_used=used,
        reason=why,
        by_stage=tuple(stage.odds for stage in each),
        model=model,
        base_rate=base,
        running=fitted.running,
    )


def draws_by_stage(
    fitted: Fitted, known: Mapping[str, float | str], session: str | None = None
) -> dict[str, Floats]:
    """Return for each stage draws of the chance that it comes out ok, by the model alone.

    Parameters
    ----------
    fitted : Fitted
        What has been learned.
    known : Mapping[str, float or str]
        As in `odds`.
    session : str, optional
        As in `odds`.
    """
    if not known and session is None:
        return dict(fitted.usual)
    now = _session(fitted, session)
    return fitted.chances(known, now)


def all_stages_ok(by_stage: Mapping[str, Floats]) -> Floats:
    """Return draws of the chance that every stage comes out ok, of draws for each stage.

    Where stages have fewer draws than others they step evenly through theirs; the order is the
    same in every call.
    """
    count = max(one.size for one in by_stage.values())
    even = [one[(np.arange(count) * one.size) // count] for one in by_stage.values()]
    return np.asarray(np.prod(even, axis=0))


def _of_one_plate(base: Share, figures: Floats, alike: Floats) -> Share:
    """Return a share of plates as the chance of one: plates differ, by more than it is in doubt.

    What the figures doubt of all plates `alike`, the share's own range has already.
    """
    p = np.clip([base.low, base.probability, base.high], 1e-6, 1.0 - 1e-6)
    low, middle, high = np.log(p / (1.0 - p))
    apart = Z80 * sqrt(max(float(_logit(figures).var() - _logit(alike).var()), 0.0))
    ends = (middle - np.hypot(middle - low, apart), middle + np.hypot(high - middle, apart))
    low, high = (float(1.0 / (1.0 + np.exp(-end))) for end in ends)
    return Share(base.probability, low, high, base.plates)


def _session(fitted: Fitted, session: str | None) -> int:
    if session is None or session not in fitted.sessions:
        return len(fitted.sessions)
    return fitted.sessions.index(session)


def _base_rate(fitted: Fitted, done: Mapping[str, str]) -> Share:
    """Return the share of good plates among those on which the stages done were ok."""
    passed = [stage for stage, came in done.items() if came == "ok"]
    good = bad = 0
    for making, came in zip(fitted.makings, fitted.came, strict=True):
        # of a good plate every stage counts as ok, written down or not
        if came or (came is False and all(making.stages.get(s) == "ok" for s in passed)):
            good, bad = good + int(came), bad + int(not came)
    one, other = fitted.assumed.good
    share = (one / (one + other)) ** share_ahead(fitted.assumed.stages, passed)
    share = min(share, SUREST)
    return _beta(good, bad, share * (one + other), (1.0 - share) * (one + other))


def share_ahead(assumed: Mapping[str, StagePrior], passed: Sequence[str]) -> float:
    """Return how much of what spoils plates, by the starting assumptions, lies ahead. [1].

    Parameters
    ----------
    assumed : Mapping[str, StagePrior]
        By stage.
    passed : sequence of str
        Stages that came out sound.
    """
    parts = {stage: -np.log(prior.ok_middle) for stage, prior in assumed.items()}
    ahead = sum(part for stage, part in parts.items() if stage not in passed)
    return float(ahead / sum(parts.values()))


def _spoilt(fitted: Fitted, stages: Sequence[str]) -> Share:
    """Return the share of good plates among those with a fault at these stages."""
    came = [
        c
        for o, c in zip(fitted.makings, fitted.came, strict=True)
        if c is not None and any(o.stages.get(s) == "fault" for s in stages)
    ]
    share, worth = (
        trade.value("decide", "spoilt_good_share"),
        trade.value("decide", "spoilt_plates"),
    )
    return _beta(sum(came), len(came) - sum(came), share * worth, (1.0 - share) * worth)


def _beta(good: int, bad: int, one: float = 1.0, other: float = 1.0) -> Share:
    """Return mean and 80 % range of a Beta(one + good, other + bad)."""
    from scipy.special import betaincinv

    a, b = one + good, other + bad
    low, high = (float(betaincinv(a, b, share)) for share in (0.1, 0.9))
    return Share(a / (a + b), low, high, good + bad)


def _logit(draws: Floats) -> Floats:
    held = np.clip(draws, 1e-6, 1.0 - 1e-6)
    return np.asarray(np.log(held / (1.0 - held)))
