"""From the table of a stage to suspects: conditions by their bad side, in the studio's spreads.

How much a condition could explain depends on how far it really wandered in this studio, so it is
measured in the studio's own robust spread (never less than a fifth of the trade's width, else mere
noise of an instrument would count as wandering). A condition with a best window has two bad sides,
each of which starts softly at the middle and does no harm on the other side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.inclusion import Suspects
from argentry.learn.causes.shapes import Shape, bad_side, toward
from argentry.learn.causes.spreads import LEAST_READ, fill, spread_out, spreads
from argentry.learn.stages.table import OWN_SOURCE, column_of, word_of
from argentry.records.plate import STAGES
from argentry.trade.causes import known_causes
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from argentry.arrays import Floats
    from argentry.learn.causes.inclusion import Weighed
    from argentry.learn.stages.table import StageTable
    from argentry.trade.conditions import Condition


ELSEWHERE = "{title} (on the {stage})"
SINCE = "since"  # side of a step in time
LEAST_SESSIONS = 12  # under which no step in time is looked for
OTHER = {"low": "high", "high": "low"}
CUTS = (0.35, 0.5, 0.65, 0.8)  # shares of plates at which a cliff is looked for
LEAST_SPREAD = 0.2  # of a step, under which too few plates lie beyond it


@dataclass(frozen=True)
class Side:
    """One suspect: a condition and the side on which it is bad.

    Attributes
    ----------
    name : str
        Column of the stage table.
    title : str
        The condition in words.
    side : str
        ``"low"``, ``"high"``, ``"either"`` or ``"words"``; `SINCE` for a step in time, whose name
        is its first day.
    causes : tuple of str
        Keys of the known causes that act through it; empty for one the trade says nothing of.
    column : int
        Place in the stage table; -1 for a step in time.
    read : int
        Plates on which it was read; one whose fault may lie at several stages counts once.
    shapes : tuple of Shape
        In which it does harm, each as likely as the plates say; none: by a slope.
    """

    name: str
    title: str
    side: str
    causes: tuple[str, ...]
    column: int
    read: int
    shapes: tuple[Shape, ...] = ()

    @property
    def own(self) -> str:
        """The maker's column it is of; a column of words has a side for each of them."""
        return column_of(self.name)

    @property
    def word(self) -> str:
        """The word it stands for in that column; empty where the column has none."""
        return word_of(self.name)

    def titled(self, word: str) -> str:
        """Return the title with another word in place of its own; as it is where it has none."""
        if not self.word:
            return self.title
        column = self.title.removesuffix(f": {self.word}")
        return "{column}: {word}".format(column=column, word=word)

    def bad(self, x: Floats, doubt: Floats, condition: Condition) -> tuple[Floats, Floats]:
        """Return how bad a condition is on this side (n,), more is worse, and the variance of it.

        Parameters
        ----------
        x, doubt : Floats
            (n,) of the condition in the studio's spreads, and its variance where it was not read.
        condition : Condition
            It.
        """
        if not self.shapes:
            return bad_side(x, self.side, condition), doubt
        each = [one.bad(x, doubt, self.side, condition) for one in self.shapes]
        share = np.array([one.share for one in self.shapes])
        return share @ [value for value, _ in each], share @ [spread for _, spread in each]


def suspects(table: StageTable) -> tuple[Suspects, tuple[Side, ...]]:
    """Return the suspects of a stage and what each of them is.

    Parameters
    ----------
    table : StageTable
        Plates that reached the stage.

    Returns
    -------
    tuple of (Suspects, tuple of Side)
        One side per column of ``x``; conditions never read, or that never varied, are left out.
    """
    sides = [s for j, c in enumerate(table.conditions) for s in _sides(table, j, c)]
    filled, doubt = fill(spread_out(table.x, *spreads(table)), table.session)
    badness = [
        s.bad(filled[:, s.column], doubt[:, s.column], table.conditions[s.column]) for s in sides
    ]
    columns, doubts = ([pair[k] for pair in badness] for k in (0, 1))
    slabs = [_slab(table.conditions[s.column], s.side) for s in sides]
    groups = _groups(sides)
    inclusion = [_inclusion(table, sides[group[0]], sides, len(group)) for group in groups]
    for since, later in _changes(table):
        groups.append((len(sides),))
        sides.append(since)
        columns.append(later)
        slabs.append((0.0, trade.value("causes", "change_sd")))
        inclusion.append(trade.value("causes", "change_inclusion"))
        doubts.append(np.zeros(later.size))
    made = Suspects(
        x=np.stack(columns, axis=1) if sides else np.zeros((len(table.ids), 0)),
        doubt=np.stack(doubts, axis=1) if sides else np.zeros((len(table.ids), 0)),
        fault=1.0 - table.ok.astype(float),
        weight=table.weight,
        session=np.unique(table.session, return_inverse=True)[1].astype(np.intp),
        groups=tuple(groups),
        mean=np.array([m for m, _ in slabs]),
        sd=np.array([s for _, s in slabs]),
        inclusion=np.array(inclusion),
        gain=np.zeros(len(groups)),
    )
    return made, tuple(sides)


def shaped(
    table: StageTable, data: Suspects, sides: Sequence[Side], weighing: Callable[..., Weighed]
) -> tuple[Suspects, tuple[Side, ...]]:
    """Return suspects in the shapes that the plates speak for: slopes, cliffs, both ends.

    Every shape of a condition is weighed alone; from then on it stands with their mean, each shape
    as likely as it was found, and what the choice of a shape cost or brought stays in `gain`.

    Parameters
    ----------
    table, data, sides
        As of `suspects`.
    weighing : Callable
        `weigh` of suspects with the priors of this table.
    """
    filled, doubt = fill(spread_out(table.x, *spreads(table)), table.session)
    tried = [
        (j, shape) for j, side in enumerate(sides) if side.column >= 0
        for shape in _shapes(side, filled[:, side.column], table.conditions[side.column])
    ]  # fmt: skip
    if not tried or not table.x.size:
        return data, tuple(sides)
    of = np.array([j for j, _ in tried])
    each = [
        shape.bad(filled[:, sides[j].column], doubt[:, sides[j].column], sides[j].side,
                  table.conditions[sides[j].column])
        for j, shape in tried
    ]  # fmt: skip
    cliff = np.array([np.isfinite(shape.cut) for _, shape in tried])
    grow = np.where(cliff, trade.value("causes", "cliff_growth"), 1.0)
    trial = replace(
        data,
        x=np.stack([value for value, _ in each], axis=1),
        doubt=np.stack([spread for _, spread in each], axis=1),
        mean=data.mean[of] * grow,
        sd=data.sd[of] * grow,
        groups=tuple((k,) for k in range(len(tried))),
        inclusion=np.full(len(tried), 0.5),
        gain=np.zeros(len(tried)),
    )
    alone = weighing(trial, most=1).log_evidence[1:]
    x, spread, mean, sd = data.x.copy(), data.doubt.copy(), data.mean.copy(), data.sd.copy()
    found, score = list(sides), np.zeros(len(data.groups))
    group = data.group_of()
    for j in np.unique(of):
        mine = np.flatnonzero(of == j)
        likely = np.log([tried[k][1].share for k in mine]) + alone[mine]
        score[group[j]] = top = float(np.logaddexp.reduce(likely))
        share = np.exp(likely - top)
        found[j] = replace(found[j], shapes=tuple(
            replace(tried[k][1], share=float(w)) for k, w in zip(mine, share, strict=True)
        ))  # fmt: skip
        x[:, j], spread[:, j] = trial.x[:, mine] @ share, trial.doubt[:, mine] @ share
        mean[j], sd[j] = share @ trial.mean[mine], share @ trial.sd[mine]
    made = replace(data, x=x, doubt=spread, mean=mean, sd=sd)
    alone = weighing(made, most=1).log_evidence[1:]
    tested = np.isin(np.arange(len(data.groups)), group[of])
    gain = np.where(tested, score - alone, 0.0)
    return replace(made, gain=gain, alone=alone + gain), tuple(found)


def _shapes(side: Side, x: Floats, condition: Condition) -> list[Shape]:
    """Return the shapes tried for a side, a slope first; none where only a slope makes sense."""
    own = condition.form == "free" and condition.source == OWN_SOURCE
    if condition.form == "switch" or not (side.causes or own):
        return []
    out = [Shape(np.nan, False, 0.0, 1.0, 0.5)]
    for ends in (False, True) if own else (False,):
        beyond = toward(x, side.side, ends=ends)
        cuts: list[float] = [] if not ends else [np.nan]
        cuts += np.unique(np.quantile(beyond, CUTS)).tolist()
        for cut in cuts:
            over = beyond if np.isnan(cut) else (beyond > cut).astype(float)
            if over.std() > LEAST_SPREAD:
                out.append(Shape(cut, ends, float(over.mean()), float(over.std()), 0.5))
    return [out[0], *(replace(one, share=0.5 / (len(out) - 1)) for one in out[1:])]


def _groups(sides: Sequence[Side]) -> list[tuple[int, ...]]:
    """Return the columns of each suspect: a column of words of which no cause is known is one."""
    out: dict[tuple[str, ...], list[int]] = {}
    for j, side in enumerate(sides):
        one = side.side == "words" and not side.causes
        out.setdefault((side.own,) if one else (side.name, side.side), []).append(j)
    return [tuple(columns) for columns in out.values()]


def _changes(table: StageTable) -> list[tuple[Side, Floats]]:
    """Return a step in time at each sixth of the sessions: something changed that nobody wrote."""
    present = np.unique(table.session)
    if present.size < LEAST_SESSIONS:
        return []
    out, plates = [], np.unique(table.row).size
    for cut in present[np.arange(1, 6) * present.size // 6]:
        later = table.session >= cut
        day = table.day[int(np.flatnonzero(later)[0])]
        out.append((Side(day.isoformat(), "", SINCE, (), -1, plates), later - later.mean()))
    return out


def elsewhere() -> tuple[Condition, ...]:
    """Return the conditions of each stage as suspects of the later ones.

    The trade puts each condition to one stage; a hot room may spoil a development for all that.
    """
    known = conditions()
    taken = {(c.stage, column) for c in known for column in c.columns}
    inclusion = trade.value("causes", "elsewhere_inclusion") / trade.value(
        "causes", "inclusion_share"
    )
    out = []
    for at, stage in enumerate(STAGES):
        told: set[tuple[str, ...]] = set()
        for one in (c for c in known if STAGES.index(c.stage) < at):
            if one.form == "switch" or one.columns in told or (stage, one.columns[0]) in taken:
                continue
            told.add(one.columns)
            title = ELSEWHERE.format(title=one.title, stage=stage)
            out.append(replace(one, stage=stage, title=title, form="free", inclusion=inclusion,
                               effect_low=-0.2, effect_middle=0.0, effect_high=0.2))  # fmt: skip
    return tuple(out)


def _sides(table: StageTable, column: int, condition: Condition) -> list[Side]:
    known = np.isfinite(table.x[:, column])
    seen, plates = table.x[known, column], np.unique(table.row[known]).size
    if seen.size < LEAST_READ or float(seen.std()) < 0.02:
        return []
    base = column_of(condition.key)
    by_side: dict[str, list[str]] = {}
    for cause in known_causes():
        if cause.stage == condition.stage:
            for name, side in cause.through:
                if name == base:
                    by_side.setdefault(side, []).append(cause.key)
    if not by_side:
        by_side = {"words" if condition.form == "switch" else "either": []}
    if len(by_side) == 1 and (one := next(iter(by_side))) in OTHER:
        by_side[OTHER[one]] = []  # the trade may be wrong about the side, here
    return [
        Side(condition.key, _title(condition, side, keys), side, tuple(keys), column, plates)
        for side, keys in by_side.items()
    ]


def _title(condition: Condition, side: str, causes: Sequence[str]) -> str:
    """Return a condition in words, with its side where no known cause says which is bad."""
    if causes or side not in OTHER:
        return condition.title
    return "{title}: too {side}".format(title=condition.title, side=side)


def _slab(condition: Condition, side: str) -> tuple[float, float]:
    if side in ("low", "high") and condition.form != "free":
        return trade.value("causes", "slab_mean"), trade.value("causes", "slab_sd")
    # the effect in conditions.toml is on coming out ok, in probits for the whole switch
    lean = -0.4 * condition.effect_middle if condition.form == "switch" else 0.0
    return lean, trade.value("causes", "free_slab_sd")


def _inclusion(table: StageTable, side: Side, sides: Sequence[Side], words: int) -> float:
    condition = table.conditions[side.column]
    base = column_of(condition.key)
    levels = sum(column_of(c.key) == base for c in table.conditions) if words == 1 else 1
    known = [s for s in sides if s.column == side.column and s.causes]
    if side.causes:
        share = trade.value("causes", "inclusion_share") * condition.inclusion / levels
        return share / len(known)
    if side.side in OTHER:
        return trade.value("causes", "other_side_inclusion")
    least = trade.value("causes", "inclusion_share") * condition.inclusion / levels
    return min(least, trade.value("causes", "own_inclusion"))
