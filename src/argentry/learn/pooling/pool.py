"""What files of other studios let assume before any plate: a studio is one drawn of such studios.

What a file's own plates say of a figure is its posterior divided by what it began with: a normal
message of estimate y and precision t, on a scale on which the trade's word is normal too (here with
mean 0 and variance 1). What a file only began with says nothing, and nothing is drawn in twice:

    y_k ~ N(theta_k, 1 / t_k),    theta_k ~ N(mu, 1 - r),    mu ~ N(0, r)

where r is the part of the trade's doubt that all studios share and 1 - r how far they lie apart. So
mu is the mean of all y_k with weights 1 / (1 - r + 1 / t_k), the trade counting as 0 with 1 / r.
How far studios lie apart is then measured by one step of expectation and maximisation. The weights
do not change with it, nor with any claim, and no file has more of them than its share of the
plates, so one file moves no figure by more than that. A file that lies off the others is left out.
Whether a condition matters in a studio is one yes or no, weighed by Bayes's rule over the share of
studios in which it does.

References
----------
.. [1] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, chapter 5 (hierarchical models)
   and section 13.4 (EM for them).
.. [2] T. P. Minka, UAI 2001, 362 (messages as a posterior divided by its prior; recalled).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import median

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.learn.pooling.old_files import as_now
from argentry.learn.pooling.scales import Scale, scale_of
from argentry.learn.stages.assumed import Assumed, of_trade
from argentry.physics.stops import Z80
from argentry.records.learned import Adopted, PooledFigure, SharedFigure, SharedStudio
from argentry.trade.conditions import Condition, StagePrior

Key = tuple[str, str, str]

FARTHEST = 4.0  # standard deviations of what can be expected: an estimate beyond is taken as there
TELLS = 0.25  # precision, of the trade's, from which a figure says something of its studio
LEAST_TOLD = 3  # figures that must say something before a file is judged by them
_GRID = np.linspace(-6.0, 6.0, 241)  # standard deviations about the trade's word


@dataclass(frozen=True)
class _Told:
    """What the plates of one file say of a figure, in the trade's standard deviations about it.

    Attributes
    ----------
    file : int
        Which.
    pull, precision : float
        Precision times estimate, and precision; both 0 where the plates say nothing.
    times : float
        Of "it matters": how many times likelier its plates are if it does; else 1.
    plates : float
        Behind the figure.
    """

    file: int
    pull: float
    precision: float
    times: float
    plates: float


def pool(files: Sequence[SharedStudio]) -> Adopted:
    """Return what files of other studios let assume, and which of them do not fit the others."""
    files = [as_now(one) for one in files]
    told = _told(files)
    out = _misfits(told, files)
    kept = {key: [one for one in some if one.file not in out] for key, some in told.items()}
    figures = tuple(_pooled(key, some, files, out) for key, some in kept.items() if some)
    inside = [file for number, file in enumerate(files) if number not in out]
    return Adopted(
        files=tuple(file.name for file in inside),
        left_out=tuple(files[number].name for number in sorted(out)),
        plates=sum(file.plates for file in inside),
        figures=figures,
    )


def _told(files: Sequence[SharedStudio]) -> dict[Key, list[_Told]]:
    out: dict[Key, list[_Told]] = {}
    for number, file in enumerate(files):
        for figure in file.figures:
            scale = scale_of(*figure.key)
            if scale is not None and figure.plates > 0.0:
                out.setdefault(figure.key, []).append(_of(number, figure, scale))
    return out


def _of(number: int, figure: SharedFigure, scale: Scale) -> _Told:
    ends = (figure.low, figure.value, figure.high)
    before = (figure.believed_low, figure.believed, figure.believed_high)
    if figure.kind == "matters":
        times = float(np.exp(scale.to(figure.value) - scale.to(figure.believed)))
        return _Told(number, 0.0, 0.0, times, figure.plates)
    (now, now_sd), (then, then_sd) = _even(ends, scale), _even(before, scale)
    precision = now_sd**-2.0 - then_sd**-2.0
    if precision <= 0.0:
        return _Told(number, 0.0, 0.0, 1.0, figure.plates)
    farthest = FARTHEST * float(np.sqrt(1.0 + 1.0 / precision))
    estimate = (now * now_sd**-2.0 - then * then_sd**-2.0) / precision
    estimate = min(max(estimate, -farthest), farthest)
    return _Told(number, precision * estimate, precision, 1.0, figure.plates)


def _even(ends: Sequence[float], scale: Scale) -> tuple[float, float]:
    """Return mean and standard deviation, in those of the trade's word, of low, middle and high."""
    low, mean, high = ((scale.to(end) - scale.mean) / scale.sd for end in ends)
    return mean, (high - low) / (2.0 * Z80)


def _plates(files: Sequence[SharedStudio], out: set[int]) -> dict[int, float]:
    """Return with how many plates each file counts: none as more than twice the usual."""
    kept = {n: float(file.plates) for n, file in enumerate(files) if n not in out}
    most = trade.value("decide", "pool_most_plates")
    if len(kept) > 2:
        most = min(most, 2.0 * median(kept.values()))
    return {n: min(plates, most) for n, plates in kept.items()}


def _weights(some: Sequence[_Told], plates: Mapping[int, float]) -> Floats:
    """Return what each estimate counts next to the trade's ``1 / r``; see the module."""
    shared = trade.value("decide", "pool_shared_doubt")
    precision = np.array([one.precision for one in some])
    weight = precision / (1.0 + precision * (1.0 - shared))
    count, whole = np.array([plates[one.file] for one in some]), sum(plates.values())
    # those with most weight to each plate, as few as do, are held to what the rest have to theirs
    order = np.argsort(-weight / count)
    for held in range(order.size + 1):
        over, free = order[:held], order[held:]
        most = (weight[free].sum() + 1.0 / shared) / max(whole - count[over].sum(), 1e-9)
        if not free.size or weight[free[0]] <= most * count[free[0]]:
            weight[over] = most * count[over]
            break
    return np.asarray(weight)


def _middle(some: Sequence[_Told], plates: Mapping[int, float]) -> tuple[float, float]:
    """Return mean and standard deviation over studios, in the trade's about its word."""
    shared = trade.value("decide", "pool_shared_doubt")
    apart = 1.0 - shared
    weight = _weights(some, plates)
    pull, precision = (np.array([getattr(t, k) for t in some]) for k in ("pull", "precision"))
    whole = float(weight.sum() + 1.0 / shared)
    middle = float(weight @ (pull / np.maximum(precision, 1e-12))) / whole
    narrow = 1.0 / (precision + 1.0 / apart)  # each studio, taken as one about that middle
    off = (pull + middle / apart) * narrow - middle
    spread = (float(weight @ (off**2 + narrow)) + apart / shared) / whole
    return middle, float(np.sqrt(spread + 1.0 / whole))


def _mattering(some: Sequence[_Told], scale: Scale) -> tuple[float, float]:
    """Return the same of the share of studios in which a condition matters, on its scale."""
    share = np.array([scale.back(scale.mean + z * scale.sd) for z in _GRID])
    log = -0.5 * _GRID**2 + sum(np.log(share * one.times + 1.0 - share) for one in some)
    weight = np.exp(log - log.max())
    middle = float(weight @ _GRID / weight.sum())
    return middle, float(np.sqrt(weight @ (_GRID - middle) ** 2 / weight.sum()))


def _misfits(told: Mapping[Key, list[_Told]], files: Sequence[SharedStudio]) -> set[int]:
    """Return the files whose figures lie off those of the others; the worst first, one by one."""
    out: set[int] = set()
    while True:
        plates = _plates(files, out)
        off = {n: _off(told, n, plates) for n in plates}
        worst = max(off, key=lambda n: off[n], default=None)
        if worst is None or off[worst] <= trade.value("decide", "pool_misfit"):
            return out
        out.add(worst)


def _off(told: Mapping[Key, list[_Told]], file: int, plates: Mapping[int, float]) -> float:
    """Return the mean square by which a file lies off the others. [standard deviations^2]."""
    others = {n: count for n, count in plates.items() if n != file}
    squares = []
    for some in told.values():
        own = next((one for one in some if one.file == file), None)
        if own is None or own.precision < TELLS:
            continue
        mean, sd = _middle([one for one in some if one.file in others], others)
        squares.append((own.pull / own.precision - mean) ** 2 / (1.0 / own.precision + sd**2))
    return float(np.mean(squares)) if len(squares) >= LEAST_TOLD else 0.0


def _pooled(
    key: Key, some: Sequence[_Told], files: Sequence[SharedStudio], out: set[int]
) -> PooledFigure:
    scale = scale_of(*key)
    assert scale is not None
    kind, stage, of = key
    plates = _plates(files, out)
    mean, sd = _mattering(some, scale) if kind == "matters" else _middle(some, plates)
    now = [scale.back(scale.mean + (mean + z * sd) * scale.sd) for z in (-Z80, 0.0, Z80)]
    then = [scale.back(scale.mean + z * scale.sd) for z in (-Z80, 0.0, Z80)]
    return PooledFigure(
        kind=kind, of=of, stage=stage,
        value=now[1], low=now[0], high=now[2],
        believed=then[1], believed_low=then[0], believed_high=then[2],
        plates=sum(min(one.plates, plates[one.file]) for one in some),
        files=tuple(files[one.file].name for one in some),
    )  # fmt: skip


@lru_cache(maxsize=4)
def assumed_of(adopted: Adopted) -> Assumed:
    """Return starting assumptions as files of other studios have changed them."""
    known = {(f.kind, f.stage, f.of): f for f in adopted.figures}
    usual = of_trade()
    numbers = {}
    for figure in adopted.figures:
        if figure.kind == "number":
            numbers[figure.of] = _on_scale(figure)
    good = known.get(("good", "", ""))
    return Assumed(
        conditions=tuple(_condition(c, known) for c in usual.conditions),
        stages={key: _stage(p, known.get(("stage", "", key))) for key, p in usual.stages.items()},
        good=usual.good if good is None else _beta(*_on_scale(good)),
        numbers=numbers,
    )


def _on_scale(figure: PooledFigure) -> tuple[float, float]:
    scale = scale_of(figure.kind, figure.stage, figure.of)
    assert scale is not None
    mean, sd = _even((figure.low, figure.value, figure.high), scale)
    return scale.mean + mean * scale.sd, sd * scale.sd


def _beta(mean: float, sd: float) -> tuple[float, float]:
    """Return the Beta whose log odds have nearly this mean and standard deviation."""
    share = float(1.0 / (1.0 + np.exp(-mean)))
    plates = max(1.0 / (share * (1.0 - share) * sd**2), 1.0)
    return share * plates, (1.0 - share) * plates


def _stage(prior: StagePrior, figure: PooledFigure | None) -> StagePrior:
    if figure is None:
        return prior
    return replace(prior, ok_low=figure.low, ok_middle=figure.value, ok_high=figure.high)


def _condition(condition: Condition, known: Mapping[Key, PooledFigure]) -> Condition:
    at = condition.stage, condition.key
    effect, best, matters = (known.get((kind, *at)) for kind in ("effect", "best", "matters"))
    if effect is not None:
        condition = replace(
            condition,
            effect_low=effect.low,
            effect_middle=effect.value,
            effect_high=effect.high,
        )
    if best is not None:
        condition = replace(condition, centre=best.value, optimum_sd=_on_scale(best)[1])
    if matters is not None:
        condition = replace(condition, inclusion=min(matters.value, 0.9))
    return condition
