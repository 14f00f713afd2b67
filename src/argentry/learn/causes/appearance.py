"""What a fault looks like, as findings; and how looks speak for one cause against another.

Over many plates, a cause that works through a condition betrays itself twice: the stage fails more
often where the condition is bad, and those failures look the way this cause makes plates look. How
common a look is tells nothing by itself, for every studio has its usual accidents; so the shares of
the causes are first learned as if no condition mattered, and only then is it asked whether a look
falls on the plates on which its condition was bad.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.noisy_or import log_findings
from argentry.records.plate import STAGES
from argentry.trade.causes import known_causes
from argentry.trade.defects import defects
from argentry.trade.steps import stage_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from argentry.arrays import Floats, Truth
    from argentry.learn.causes.inclusion import Weighed
    from argentry.learn.causes.suspects import Side
    from argentry.records.plate import Making
    from argentry.trade.causes import KnownCause


_ROUNDS = 30
_FOLLOW = (0.2, 0.95)  # neither is ever quite given up
_MOST_BY_CONDITIONS = 0.95  # of one fault; something is always left to chance
LOOKS_STRENGTH = 4.0  # plates that what is assumed of looks counts for


def origin_stage(key: str, origin: str) -> str:
    """Return the stage a defect is put down to, or ``""`` where nobody knows.

    Parameters
    ----------
    key : str
        Defect.
    origin : str
        Stage or step as booked; may be anything in an old notebook.
    """
    if origin in STAGES:
        return origin
    if origin in stage_of():
        return stage_of()[origin]
    stages = defects()[key].stages if key in defects() else ()
    return stages[0] if len(stages) == 1 else ""


def stage_causes(stage: str) -> tuple[KnownCause, ...]:
    """Return the known causes of a stage."""
    return tuple(c for c in known_causes() if c.stage == stage)


def link_table(causes: Sequence[KnownCause], looks: Sequence[str]) -> Floats:
    """Return the trade's links, (causes, looks); 0 where a cause never makes a look."""
    return np.array([[c.links.get(d, 0.0) for d in looks] for c in causes]).reshape(
        len(causes), len(looks)
    )


def findings(making: Making, stage: str, looks: Sequence[str]) -> Floats:
    """Return which of `looks` were seen on a plate and may be put down to `stage`, (looks,).

    1 seen, 0 not; all NaN where nothing at all was written down of the stage: then nobody looked.
    """
    seen = {d for d, origin in making.defects if origin_stage(d, origin) in (stage, "")}
    out = np.array([float(d in seen) for d in looks])
    return out if out.any() else np.full(len(looks), np.nan)


@dataclass(frozen=True)
class Looks:
    """The looks of the faults of one stage.

    Attributes
    ----------
    causes : tuple of str
        Keys of the known causes of the stage, then ``""`` for chance.
    likelihood : Floats
        (faults, causes + 1) probability of each look if that cause made it, up to a factor.
    shares : Floats
        (causes + 1,) share of the faults, learned as if no condition mattered.
    follow : float
        Log of how much better the table tells the looks of each fault than the frequencies of the
        looks among the other faults do.
    """

    causes: tuple[str, ...]
    likelihood: Floats
    shares: Floats
    follow: float = 0.0


def stage_looks(stage: str, faults: Sequence[Making], weight: Floats) -> Looks:
    """Return how well each cause explains the look of each fault of a stage.

    Parameters
    ----------
    stage : str
        The stage.
    faults : sequence of Making
        Plates with a fault there.
    weight : Floats
        (faults,) how much each counts.
    """
    causes = stage_causes(stage)
    names = looks_of(stage)
    chance = np.full((1, len(names)), _chance_look(len(names)))
    link = np.concatenate([link_table(causes, names), chance])
    leak = np.full(len(names), trade.value("causes", "leak"))
    alone = np.eye(len(causes) + 1)
    seen = np.array([findings(o, stage, names) for o in faults]).reshape(len(faults), len(names))
    rows = [log_findings(alone, link, leak, one) for one in seen]
    log_like = np.array(rows).reshape(len(faults), len(causes) + 1)
    # a plate that was given up before a step was over was not spoilt by that step's length
    spared = [[c.length in o.broken_off for c in causes] for o in faults]
    log_like[:, :-1][np.array(spared, dtype=bool).reshape(len(faults), len(causes))] = -np.inf
    like = np.exp(log_like - log_like.max(axis=1, initial=-np.inf, keepdims=True))
    chance_share = trade.value("causes", "chance_share")
    prior = np.array([c.prior for c in causes])
    start = np.append((1 - chance_share) * prior / max(prior.sum(), 1e-9), chance_share)
    shares = start
    for _ in range(_ROUNDS):
        part = shares * like
        part = part / part.sum(axis=1, keepdims=True) * weight[:, None]
        shares = (part.sum(axis=0) + LOOKS_STRENGTH * start) / (weight.sum() + LOOKS_STRENGTH)
    others = shares * (weight.sum() + LOOKS_STRENGTH) - part if len(faults) else start[None]
    told = np.log((like * others).sum(axis=1) / others.sum(axis=1)) + log_like.max(
        axis=1, initial=-np.inf
    )
    return Looks((*(c.key for c in causes), ""), like, shares, _follow(seen, told))


def usual_looks(others: Floats, plates: float) -> Floats:
    """Return how often each look is seen, whatever the cause, by the other plates that failed.

    Parameters
    ----------
    others : Floats
        (..., looks) other plates with it.
    plates : float
        Other plates that were looked at.

    Returns
    -------
    Floats
        (..., looks) no surer than the table ever is: one look on every plate is no sign against it.
    """
    before = _chance_look(others.shape[-1])
    usual = (others + LOOKS_STRENGTH * before) / (plates + LOOKS_STRENGTH)
    return np.clip(usual, trade.value("causes", "leak"), trade.value("causes", "link_usually"))


def _chance_look(looks: int) -> float:
    """Return how often chance makes a look of its stage: about one of them a plate."""
    return min(0.5, 1.2 / max(looks, 1))


def log_seen(seen: Floats, chance: Floats) -> Floats:
    """Return the log of the probability of looks (..., looks) that come each on its own."""
    return np.asarray((seen * np.log(chance) + (1.0 - seen) * np.log1p(-chance)).sum(axis=-1))


def _follow(seen: Floats, told: Floats) -> float:
    """Return how much better `told` (faults,) is than frequencies among the other faults."""
    looked = ~np.isnan(seen).any(axis=1)
    y = seen[looked]
    if not len(y):
        return 0.0
    own = log_seen(y, usual_looks(y.sum(axis=0) - y, len(y) - 1.0))
    most = np.log(trade.value("causes", "look_most"))
    return float(np.clip(told[looked] - own, -most, most).sum())


def looks_follow(every: Iterable[Looks]) -> float:
    """Return how likely the spoilt plates of this studio look as the table of causes says."""
    first = trade.value("causes", "looks_follow")
    odds = np.log(first / (1.0 - first)) + np.clip(sum(one.follow for one in every), -30.0, 30.0)
    return float(np.clip(1.0 / (1.0 + np.exp(-odds)), *_FOLLOW))


def looks_of(stage: str) -> tuple[str, ...]:
    """Return every look that a cause of a stage may make, sorted."""
    return tuple(sorted({d for c in stage_causes(stage) for d in c.links}))


def explained(weighed: Weighed, x: Floats, faulty: Truth) -> tuple[Floats, Floats]:
    """Return which share of each fault each suspect made, and which share is left to chance.

    For a set of suspects, the share of a fault that a suspect made is the share of its chance that
    would go if the condition had been as good as it is on the best fifth of plates.

    Returns
    -------
    tuple of Floats
        (sets, faults, sides) and (sets, faults).
    """
    from scipy.special import log_ndtr

    at = x[faulty]
    if not x.size:
        return np.zeros((*weighed.base.shape, *at.shape)), np.ones((weighed.base.size, len(at)))
    eta = weighed.base[:, None] + weighed.effect @ at.T
    best = np.where(weighed.effect > 0, np.quantile(x, 0.2, axis=0), np.quantile(x, 0.8, axis=0))
    part = weighed.effect[:, None, :] * (at[None] - best[:, None, :])  # sets, faults, sides
    gone = -np.expm1(log_ndtr(eta[..., None] - np.maximum(part, 0.0)) - log_ndtr(eta)[..., None])
    total = gone.sum(axis=2, keepdims=True)
    gone = gone * np.minimum(1.0, _MOST_BY_CONDITIONS / np.maximum(total, 1e-12))
    return gone, 1.0 - gone.sum(axis=2)


def blame(
    weighed: Weighed, x: Floats, faulty: Truth, sides: Sequence[Side], looks: Looks
) -> tuple[Floats, Floats]:
    """Return what the looks add to each set's evidence, and whom each set blames.

    Parameters
    ----------
    weighed : Weighed
        Sets with their fits.
    x : Floats
        (plates, sides).
    faulty : Truth
        (plates,) which rows are the faults, in the order of `looks`.
    sides : sequence of Side
        What the columns of `x` are.
    looks : Looks
        Looks of the faults.

    Returns
    -------
    tuple of Floats
        (sets, faults) logarithms to add; (sets, faults, sides + causes + 1) shares of blame:
        first the suspects, then what each cause and chance made apart from any condition.
    """
    if not faulty.any():
        width = len(sides) + len(looks.causes)
        return np.zeros((len(weighed.base), 0)), np.zeros((len(weighed.base), 0, width))
    gone, rest = explained(weighed, x, faulty)
    usual = looks.likelihood @ looks.shares  # (faults,)
    most = trade.value("causes", "look_most")
    speaks = [np.clip(_side_likelihood(s, looks, usual) / usual, 1 / most, most) for s in sides]
    of_side = np.array(speaks).reshape(len(sides), int(faulty.sum())).T
    apart = looks.shares * looks.likelihood / usual[:, None]
    shares = np.concatenate([gone * of_side, rest[..., None] * apart], axis=2)
    sums = shares.sum(axis=2)
    return np.log(sums), shares / sums[..., None]


def believed_looks(gain: Floats, follow: float) -> Floats:
    """Return what looks add to the evidence of each set once they themselves may be wrong.

    Plates of this studio look as the trade says with the chance `follow`, else as they like: then
    looks tell nothing, so that writing defects down never hides what the readings show.
    """
    return np.asarray(np.logaddexp(np.log(follow) + gain, np.log1p(-follow)))


def _side_likelihood(side: Side, looks: Looks, usual: Floats) -> Floats:
    """Return how a fault through this side looks: as its causes do by their shares, (faults,)."""
    places = [looks.causes.index(key) for key in side.causes]
    if not places:
        return usual  # nobody knows how it looks
    share = looks.shares[places]
    return np.asarray(looks.likelihood[:, places] @ (share / share.sum()))
