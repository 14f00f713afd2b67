"""What files of other studios let assume before any plate: a studio is one drawn of such studios.

Each figure of a studio is normal about a middle that all studios share, on a scale on which the
trade's word is normal too; how far studios lie apart is measured. One step of expectation and
maximisation from the trade's word, each studio weighing by the plates behind its figure and the
trade by a few:

    mean = sum w_k m_k,    sd^2 = sum w_k ((m_k - mean)^2 + s_k^2)

with m_k and s_k what studio k believes now. It is one step on purpose: the middle is a weighted
mean, so that one file moves no figure by more than its own share of the plates. A file that lies
off the others is left out.

References
----------
.. [1] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, chapter 5 (hierarchical models)
   and section 13.4 (EM for them).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import median

import numpy as np

from argentry import trade
from argentry.learn.pooling.scales import Scale, scale_of
from argentry.learn.stages.assumed import Assumed, of_trade
from argentry.physics.stops import Z80
from argentry.records.learned import Adopted, PooledFigure, SharedFigure, SharedStudio
from argentry.trade.conditions import Condition, StagePrior

Key = tuple[str, str, str]

FARTHEST = 4.0  # standard deviations of the trade's word: a figure beyond is taken as there
TELLS = 0.9  # share of the trade's doubt under which a figure says something of its studio
LEAST_TOLD = 3  # figures that must say something before a file is judged by them


@dataclass(frozen=True)
class _Told:
    """A figure of one file on its scale."""

    file: int
    mean: float
    sd: float
    plates: float


def pool(files: Sequence[SharedStudio]) -> Adopted:
    """Return what files of other studios let assume, and which of them do not fit the others."""
    told = _told(files)
    out = _misfits(told, len(files))
    kept = {key: [one for one in some if one.file not in out] for key, some in told.items()}
    figures = tuple(_pooled(key, some, files) for key, some in kept.items() if some)
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
    return {key: _capped(some) for key, some in out.items()}


def _of(number: int, figure: SharedFigure, scale: Scale) -> _Told:
    low, mean, high = (scale.to(v) for v in (figure.low, figure.value, figure.high))
    reach = FARTHEST * scale.sd
    mean = min(max(mean, scale.mean - reach), scale.mean + reach)
    sd = min((high - low) / (2.0 * Z80), scale.sd)
    return _Told(number, mean, sd, min(figure.plates, trade.value("decide", "pool_most_plates")))


def _capped(some: list[_Told]) -> list[_Told]:
    """Return figures of which none counts more than twice the usual plates."""
    most = 2.0 * median(one.plates for one in some) if len(some) > 2 else np.inf
    return [replace(one, plates=min(one.plates, most)) for one in some]


def _middle(some: Sequence[_Told], scale: Scale) -> tuple[float, float]:
    """Return mean and standard deviation over studios, the trade as one with a few plates."""
    rows = [(one.plates, one.mean, one.sd) for one in some]
    rows.append((trade.value("decide", "pool_trade_plates"), scale.mean, scale.sd))
    weight, mean, sd = (np.array(column) for column in zip(*rows, strict=True))
    weight = weight / weight.sum()
    middle = float(weight @ mean)
    return middle, float(np.sqrt(weight @ ((mean - middle) ** 2 + sd**2)))


def _misfits(told: Mapping[Key, list[_Told]], files: int) -> set[int]:
    """Return the files whose figures lie off those of the others; the worst first, one by one."""
    out: set[int] = set()
    while True:
        off = {n: _off(told, n, out) for n in range(files) if n not in out}
        worst = max(off, key=lambda n: off[n], default=None)
        if worst is None or off[worst] <= trade.value("decide", "pool_misfit"):
            return out
        out.add(worst)


def _off(told: Mapping[Key, list[_Told]], file: int, out: set[int]) -> float:
    """Return the mean square by which a file lies off the others. [standard deviations^2]."""
    squares = []
    for key, some in told.items():
        scale = scale_of(*key)
        own = next((one for one in some if one.file == file), None)
        if own is None or scale is None or own.sd > TELLS * scale.sd:
            continue
        mean, sd = _middle([one for one in some if one.file not in {file, *out}], scale)
        squares.append((own.mean - mean) ** 2 / (own.sd**2 + sd**2))
    return float(np.mean(squares)) if len(squares) >= LEAST_TOLD else 0.0


def _pooled(key: Key, some: Sequence[_Told], files: Sequence[SharedStudio]) -> PooledFigure:
    scale = scale_of(*key)
    assert scale is not None
    mean, sd = _middle(some, scale)
    now = [scale.back(mean + z * sd) for z in (-Z80, 0.0, Z80)]
    then = [scale.back(scale.mean + z * scale.sd) for z in (-Z80, 0.0, Z80)]
    kind, stage, of = key
    return PooledFigure(
        kind=kind, of=of, stage=stage,
        value=now[1], low=now[0], high=now[2],
        believed=then[1], believed_low=then[0], believed_high=then[2],
        plates=sum(one.plates for one in some),
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
            numbers[figure.of] = _even(figure)
    good = known.get(("good", "", ""))
    return Assumed(
        conditions=tuple(_condition(c, known) for c in usual.conditions),
        stages={key: _stage(p, known.get(("stage", "", key))) for key, p in usual.stages.items()},
        good=usual.good if good is None else _beta(*_even(good)),
        numbers=numbers,
    )


def _even(figure: PooledFigure) -> tuple[float, float]:
    scale = scale_of(figure.kind, figure.stage, figure.of)
    assert scale is not None
    low, mean, high = (scale.to(v) for v in (figure.low, figure.value, figure.high))
    return mean, (high - low) / (2.0 * Z80)


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
        condition = replace(condition, centre=best.value, optimum_sd=_even(best)[1])
    if matters is not None:
        condition = replace(condition, inclusion=min(max(matters.value, 0.01), 0.9))
    return condition
