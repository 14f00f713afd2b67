"""Plates whose fault nobody booked: what they say of each condition, and which stage spoilt them.

A notebook without bookings says only that a plate was lost. Shared out over five stages, its faults
say too little in each. So such plates are read as one stage, the whole plate: every condition of
every stage is a suspect there, and each fault counts once. What is found of a condition goes to
the stage that the trade puts it to, and each fault to the stages whose conditions explain it; what
nothing explains is shared out by how often stages spoil plates here, by its looks and by how far
the plate was taken (`shared_guilt`). Booked faults stay where they are booked.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.appearance import explained
from argentry.learn.causes.inclusion import bootstrap_weights, weigh
from argentry.learn.causes.shared_guilt import Spoilt, shared_guilt, written
from argentry.learn.causes.suspects import shaped, suspects
from argentry.learn.stages.assumed import of_trade
from argentry.learn.stages.fault_share import open_stages
from argentry.learn.stages.table import (
    LOST,
    OK,
    column_of,
    in_order,
    stage_tables,
    succeeded,
)
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.learn.causes.inclusion import Suspects, Weighed
    from argentry.learn.causes.suspects import Side
    from argentry.learn.stages.assumed import Assumed
    from argentry.learn.stages.table import StageTable
    from argentry.records.plate import Making


SEED, DRAWS = 20250102, 200
BASE_SD = 0.7  # doubt of the share of lost plates when every condition is average [probit]


@dataclass(frozen=True)
class WholePlate:
    """Plates read as one stage, weighed.

    Attributes
    ----------
    table : StageTable
        All plates of which it is known how they came out.
    data : Suspects
        Every condition of every stage.
    sides : tuple of Side
        What each suspect is.
    weighed : Weighed
        Sets of suspects.
    """

    table: StageTable
    data: Suspects
    sides: tuple[Side, ...]
    weighed: Weighed

    @property
    def weights(self) -> Floats:
        """Return the posterior of each set, (1, sets)."""
        return self.weighed.weights()[None]


@dataclass(frozen=True)
class Unbooked:
    """What the plates without a booked fault say.

    Attributes
    ----------
    faults : float
        Plates lost without a booked fault.
    open_ : float
        Those among them whose looks leave several stages open.
    lost : float
        All that were lost.
    blame : Mapping[str, Mapping[str, float]]
        Id of the making to how likely each stage spoilt it.
    gain : Mapping[tuple of str, NDArray]
        By stage, condition and side: (1 + draws,) log of how much likelier it became by these
        plates that it matters; the first is the answer, the others its range.
    whole : WholePlate or None
        What all of it is read from; None where every fault is booked.
    """

    faults: float = 0.0
    open_: float = 0.0
    lost: float = 1.0
    blame: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    gain: Mapping[tuple[str, str, str], Floats] = field(default_factory=dict)
    whole: WholePlate | None = None

    def share(self, follow: float) -> float:
        """Return which share of the faults has no stage; looks tell it as far as they `follow`."""
        return (follow * self.open_ + (1.0 - follow) * self.faults) / self.lost


def unbooked(makings: Sequence[Making], assumed: Assumed | None = None) -> Unbooked:
    """Return what the plates say whose fault may be of several stages.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, in any order.
    assumed : Assumed, optional
        Before any plate; None: by the trade.

    Returns
    -------
    Unbooked
        Nothing where every fault is booked.
    """
    ordered = in_order(makings)
    loose = {o.id: stages for o in ordered if (stages := open_stages(o))}
    asked = {key: stages for key, stages in loose.items() if len(stages) > 1}
    if not loose:
        return Unbooked()
    assumed = assumed or of_trade()
    came = [(i, good) for i, o in enumerate(ordered) if (good := succeeded(o)) is not None]
    table = _whole(ordered, came, assumed, _rates([*(asked or loose).values()]))
    weighing = partial(
        weigh, session_sd=trade.value("causes", "session_sd"), base_mean=0.0, base_sd=BASE_SD
    )
    data, sides = shaped(table, *suspects(table), weighing)
    weighed = weighing(data)
    homes = [_home(side, table) for side in sides]
    return Unbooked(
        float(len(loose)),
        float(len(asked)),
        max(float((~table.ok).sum()), 1.0),
        _blame(weighed, data, homes, [ordered[i] for i, _ in came], loose),
        _gain(weighed, data, sides, homes),
        WholePlate(table, data, tuple(sides), weighed),
    )  # fmt: skip


def _whole(
    ordered: Sequence[Making],
    came: Sequence[tuple[int, bool]],
    assumed: Assumed,
    rates: Mapping[str, float],
) -> StageTable:
    """Return a table of whole plates, with each condition once, at the first stage that has it.

    A maker's own column, which may spoil any stage, is put to the one that fails most often.
    """
    tables = stage_tables(ordered, believed=assumed.conditions)
    known = {c.key for c in assumed.conditions}
    often = max(rates, key=lambda stage: rates[stage])
    columns: dict[str, tuple[str, int]] = {}
    for stage, table in tables.items():
        for j, c in enumerate(table.conditions):
            if stage == often or column_of(c.key) in known:
                columns.setdefault(c.key, (stage, j))
    some = tables[often]
    rows = np.array([i for i, _ in came], dtype=np.int64)
    level = np.array([OK if good else LOST for _, good in came], dtype=np.int64)
    every = np.stack([tables[s].every[:, j] for s, j in columns.values()], axis=1)
    place = {session: index for index, session in enumerate(some.sessions)}
    return replace(
        some,
        conditions=tuple(tables[s].conditions[j] for s, j in columns.values()),
        x=every[rows],
        every=every,
        low=level,
        high=level,
        weight=np.ones(rows.size),
        session=np.array([place[ordered[i].session] for i in rows], dtype=np.int64),
        order=np.array([ordered[i].order for i in rows]),
        day=tuple(ordered[i].day for i in rows),
        row=rows,
        ids=tuple(ordered[i].id for i in rows),
    )


def _rates(asked: Sequence[Sequence[str]]) -> dict[str, float]:
    """Return how many of these faults the trade's rates put to each stage."""
    usual = {stage: 1.0 - stage_priors()[stage].ok_middle for stage in STAGES}
    out = dict.fromkeys(STAGES, 0.0)
    for stages in asked:
        whole = sum(usual[stage] for stage in stages)
        for stage in stages:
            out[stage] += usual[stage] / whole
    return out


def _home(side: Side, table: StageTable) -> str:
    return table.stage if side.column < 0 else table.conditions[side.column].stage


def _blame(
    weighed: Weighed,
    data: Suspects,
    homes: Sequence[str],
    makings: Sequence[Making],
    loose: Mapping[str, Sequence[str]],
) -> dict[str, dict[str, float]]:
    """Return how likely each stage spoilt each of the `loose` plates, in the order of `makings`."""
    plates = [o for o in makings if o.id in loose]
    gone, _ = explained(weighed, data.x, np.array([o.id in loose for o in makings]))
    by_side = np.einsum("m,mfs->fs", weighed.weights(), gone)
    home = np.array([[home == stage for stage in STAGES] for home in homes], dtype=np.float64)
    named = np.array([[stage in loose[o.id] for stage in STAGES] for o in plates])
    unseen = np.array([[stage not in o.stages for stage in STAGES] for o in plates])
    open_ = named | unseen
    spoilt = Spoilt(
        open_.astype(np.float64),
        named.astype(np.float64),
        by_side @ home.reshape(len(homes), len(STAGES)),
        written(plates, makings),
    )
    share = shared_guilt(spoilt, _booked(makings))
    return {
        one.id: {s: float(p) for s, p, may in zip(STAGES, row, maybe, strict=True) if may}
        for one, row, maybe in zip(plates, share, open_, strict=True)
    }


def _booked(makings: Sequence[Making]) -> Floats:
    """Return how many plates were lost by each stage alone as booked, (stages,)."""
    faults = [[s for s in STAGES if o.stages.get(s) == "fault"] for o in makings]
    lost = [one[0] for one, o in zip(faults, makings, strict=True)
            if len(one) == 1 and succeeded(o) is False]  # fmt: skip
    return np.array([float(lost.count(stage)) for stage in STAGES])


def _gain(
    weighed: Weighed, data: Suspects, sides: Sequence[Side], homes: Sequence[str]
) -> dict[tuple[str, str, str], Floats]:
    again = bootstrap_weights(weighed.by_session.shape[1], DRAWS, np.random.default_rng(SEED))
    again = np.concatenate([np.zeros((1, again.shape[1])), again])
    inside = weighed.weights(again @ weighed.by_session.T) @ weighed.members
    first = np.array([data.inclusion[group] for group in data.group_of()])
    return {
        (home, side.name, side.side): _logit(inside[:, j]) - _logit(first[j])
        for j, (home, side) in enumerate(zip(homes, sides, strict=True))
    }


def _logit(p: Floats) -> Floats:
    held = np.clip(p, 1e-5, 1.0 - 1e-5)
    return np.asarray(np.log(held / (1.0 - held)))
