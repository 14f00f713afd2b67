"""The odds of one plate and what to do with it now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from argentry.desk.learning.check_answers import checks_here
from argentry.desk.learning.stage_draws import shares_to_come, stage_draws
from argentry.desk.learning.standing import SHOWS_ALL, Asked, check_known, known_after, standing_of
from argentry.desk.numbers.fitted import fitted
from argentry.learn.deciding.checkpoints import advise
from argentry.learn.deciding.stage_work import usual_work
from argentry.learn.odds.odds import NO_PLATE, all_stages_ok, odds
from argentry.learn.odds.trust import trust
from argentry.records.learned import OddsShown, RunningScore, Share
from argentry.records.plate import STAGES
from argentry.trade.decide import known_checks
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.desk.learning.standing import Standing
    from argentry.desk.numbers.makings import Gathered
    from argentry.records.decision import Option
    from argentry.records.learned import StageOdds


FINISHED, ALL_DONE = "nothing is left to decide", "Every stage is done."
NO_OTHER = "Starting values: no other plate of this studio has been graded yet."


@dataclass(frozen=True)
class StageNow(Share):
    """The odds of one stage of this plate.

    Attributes
    ----------
    stage : str
        Which.
    done : bool
        Whether it is behind this plate.
    check : str or None
        Answer of its check: right, doubtful or wrong; null without one.
    came : str or None
        How it came out, where that was seen: ok or fault; null where its chance is estimated.
    known : tuple of str
        Conditions that are known.
    unknown : tuple of str
        Conditions that are not, and are taken as usual here.
    """

    stage: str
    done: bool
    check: str | None
    came: str | None
    known: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class Judged(OddsShown):
    """Odds that a plate is good, and what to do with it now.

    Attributes
    ----------
    advice : str
        What to do: continue, redo, stop or check; finished when nothing is left to do.
    worth : float
        Good plates gained today over the next best thing to do. [plates]
    worth_low, worth_high : float
        Ends of its 80 % range. [plates]
    sureness : float
        Share of what is believed of this plate under which the advice is best. [1]
    words : str
        The advice in words.
    rule : str
        The rule behind it with its numbers, one sentence.
    needed : float or None
        Least probability at which going on is as good as stopping; null when time is too short or
        it never pays. [1]
    price_per_hour : float
        What an hour is worth: good plates that another plate would give. [plates/h]
    minutes_left : float
        Minutes of the day that are left. [min]
    options : tuple of Option
        Everything that can be done, best first.
    stage : str or None
        The stage just finished; null before the first.
    grade : str or None
        Its grade, when it is finished.
    base_rate : Share
        Share of good plates among those that came as far.
    running : RunningScore
        Figures of each plate by the other sessions against their share of good ones.
    stages : tuple of StageNow
        Each stage of this plate.
    """

    advice: str
    worth: float
    worth_low: float
    worth_high: float
    sureness: float
    words: str
    rule: str
    needed: float | None
    price_per_hour: float
    minutes_left: float
    options: tuple[Option, ...]
    stage: str | None
    grade: str | None
    base_rate: Share
    running: RunningScore
    stages: tuple[StageNow, ...]


@dataclass(frozen=True)
class ToldThen:
    """What could be told of a finished plate on its way, and what came of it.

    Attributes
    ----------
    stage : str
        The stage just finished then.
    probability, low, high : float
        That the plate would be good, by the other plates and what was known by then; as it was
        told then where it was on the bench. [1]
    told : bool
        True where it was told then.
    happened : str or None
        How the stage came out: ok or fault; null where nobody noted it.
    check : str or None
        Answer of its check: right, doubtful or wrong; null without one.
    """

    stage: str
    probability: float
    low: float
    high: float
    told: bool
    happened: str | None
    check: str | None


@dataclass(frozen=True)
class PlateOdds(Judged):
    """Odds that a plate is good, and what to do with it now.

    Attributes
    ----------
    plate : str
        The plate.
    looked_back : tuple of ToldThen
        Of a finished plate, at each checkpoint; empty for others.
    source : str
        Where the plates come from.
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    plate: str
    looked_back: tuple[ToldThen, ...]
    source: str
    notes: tuple[str, ...]


def plate_odds(
    gathered: Gathered, label: str, asked: Asked | None = None, now: datetime | None = None
) -> PlateOdds:
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
    if standing.grade and said.reason == NO_PLATE:
        said = replace(said, reason=NO_OTHER)
    return PlateOdds(
        **vars(said),
        plate=label,
        looked_back=_looked_back(standing) if standing.grade and asked == Asked() else (),
        source=gathered.source,
        notes=(*standing.notes, *gathered.notes),
    )


def _looked_back(standing: Standing) -> tuple[ToldThen, ...]:
    fit = fitted(standing.others, standing.assumed)
    out = []
    for stage in STAGES[:-1]:
        by_then = {key: v for key, v in standing.known.items() if known_after(key, stage)}
        then = odds(fit, by_then, {}, standing.session)
        figures = standing.told.get(stage, (then.probability, then.low, then.high))
        came, check = standing.came.get(stage), standing.checked.get(stage)
        out.append(ToldThen(stage, *figures, stage in standing.told, came, check))
    return tuple(out)


def judged(standing: Standing, area_cm2: float) -> Judged:
    """Return odds and advice of a plate that stands somewhere.

    Parameters
    ----------
    standing : Standing
        Where it stands.
    area_cm2 : float
        Its area. [cm2]
    """
    fit = fitted(standing.others, standing.assumed)
    stages = _settled(standing)
    told = odds(fit, standing.known, stages, standing.session)
    checks = checks_here(fit, standing.seen)
    draws, _ = stage_draws(fit, standing, told, stages, checks, 1.0)
    good = all_stages_ok({stage: draws[stage] for stage in STAGES})
    probability = float(good.mean())
    low, high = (float(q) for q in np.quantile(good, [0.1, 0.9]))
    if not (told.model_used or standing.answers or stages):
        # nothing was seen of it: the share as it is said at every door, not as its parts multiply
        probability, low, high = told.probability, told.low, told.high
    seen = {*standing.answers, *standing.unseen_short, *stages}
    # the share of good plates, parted over the stages, says nothing of a stage nobody looked at
    as_usual = () if told.model_used else set(STAGES) - seen
    over = standing.done == STAGES[-1] or (standing.grade is not None and standing.done is None)
    advice = None
    if not over:
        follow = trust(fit)
        drawn_in, again = stage_draws(fit, standing, told, stages, checks, follow)
        to_come = shares_to_come(fit, told, standing.known, follow)
        advice = advise(
            usual_work(area_cm2, to_come, checks=checks),
            drawn_in,
            standing.done,
            standing.minutes_left,
            checked=[c.key for c in known_checks() if c.stage in standing.answers],
            again=again,
            overlap=standing.overlap,
            plates=told.plates,
        )
    return Judged(
        probability=probability,
        low=min(low, probability),
        high=max(high, probability),
        plates=told.plates,
        mostly_prior=told.mostly_prior,
        advice=advice.advice if advice else "finished",
        worth=advice.worth if advice else 0.0,
        worth_low=advice.low if advice else 0.0,
        worth_high=advice.high if advice else 0.0,
        sureness=advice.sureness if advice else 1.0,
        words=advice.options[0].words if advice else FINISHED,
        rule=advice.rule if advice else ALL_DONE,
        needed=advice.needed if advice else None,
        price_per_hour=advice.price_per_hour if advice else 0.0,
        minutes_left=advice.minutes_left if advice else 0.0,
        options=advice.options if advice else (),
        stage=standing.done,
        grade=standing.grade,
        reason=told.reason,
        model_used=told.model_used,
        base_rate=told.base_rate,
        running=told.running,
        stages=tuple(
            _stage_now(
                one,
                None if one.stage in as_usual else draws[one.stage],
                standing,
                stages.get(one.stage),
            )
            for one in told.by_stage
        ),
    )


def _stage_now(
    one: StageOdds, draws: Floats | None, standing: Standing, came: str | None
) -> StageNow:
    """Return a stage by what was seen of it; without draws as every door has it."""
    share = one.share
    if draws is not None:
        low, high = (float(end) for end in np.quantile(draws, [0.1, 0.9]))
        share = Share(float(draws.mean()), low, high, one.share.plates)
    return StageNow(
        stage=one.stage,
        probability=share.probability,
        low=share.low,
        high=share.high,
        plates=one.share.plates,
        done=one.done or _passed(one.stage, standing.done),
        check=standing.answers.get(one.stage),
        came=came,
        known=one.known,
        unknown=one.unknown,
    )


def _passed(stage: str, done: str | None) -> bool:
    return done is not None and STAGES.index(stage) <= STAGES.index(done)


def _settled(standing: Standing) -> dict[str, str]:
    """Return the stages of which it is known how they came out.

    A look while the picture still comes up tells less than the picture when it is there.
    """
    stages = dict(standing.stages)
    shown = standing.answers.get(SHOWS_ALL)
    if shown == "right" and _passed(SHOWS_ALL, standing.done):
        for stage in STAGES[: STAGES.index(SHOWS_ALL) + 1]:
            stages.setdefault(stage, "ok")
    elif shown == "wrong":
        stages.setdefault(SHOWS_ALL, "fault")
    return stages
