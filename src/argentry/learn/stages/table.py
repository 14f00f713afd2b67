"""Makings as one table per stage: standardised conditions, what came of the stage, session."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from argentry.arrays import Floats, Truth, Whole
from argentry.learn.stages.derived_conditions import measure, number
from argentry.learn.stages.fault_share import stage_rows, succeeded
from argentry.records.plate import STAGES, Making
from argentry.trade.conditions import Condition, conditions, not_conditions

__all__ = ["StageTable", "in_order", "own_conditions", "stage_tables", "standardised", "succeeded"]

LOST, MARRED, OK = 0, 1, 2  # levels of a stage; marred: a study still
_WORDS = (
    8  # a column of the maker's with more different words than this is a remark, not a condition
)
_PLATES_A_WORD = 5  # unless each stands for so many plates in the mean, as bottles do
OWN_SOURCE = "a column of your own"
_OWN_EFFECT = (-0.2, 0.0, 0.2)  # tight: a column nobody vouches for must earn its weight
_OWN_INCLUSION = 0.06


@dataclass(frozen=True)
class StageTable:
    """All plates that reached a stage.

    Attributes
    ----------
    stage : str
        Its key.
    conditions : tuple of Condition
        One per column of `x`; a column of the maker's own is a condition with a tight prior.
    x : ndarray (n, p)
        Standardised by the trade's centre and width (the maker's own by median and spread);
        NaN where not known.
    low, high : ndarray (n,) of int
        Lowest and highest level the stage may have come to: 0 lost, 1 marred, 2 ok.
    weight : ndarray (n,)
        1, or the share of a plate whose fault nobody put down to a stage.
    session : ndarray (n,) of int
        Index into `sessions`.
    order : ndarray (n,) of int
        Place within the session.
    day : tuple of date
        When.
    row : ndarray (n,) of int
        Index into the makings in their order in time (`in_order`).
    every : ndarray (m, p)
        The same as `x` for every making in order of time, whether it reached the stage or not.
    ids : tuple of str
        Ids of the makings.
    sessions : tuple of str
        All sessions of the log in order of time, also those without a row here.
    """

    stage: str
    conditions: tuple[Condition, ...]
    x: Floats
    low: Whole
    high: Whole
    weight: Floats
    session: Whole
    order: Whole
    day: tuple[date, ...]
    row: Whole
    every: Floats
    ids: tuple[str, ...]
    sessions: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return the name of each column of `x`."""
        return tuple(condition.key for condition in self.conditions)

    @property
    def ok(self) -> Truth:
        """Return whether the stage came out ok, per row."""
        return np.asarray(self.low == OK)

    @property
    def seen(self) -> Whole:
        """Return the columns of `x` that are known of at least one plate."""
        return np.flatnonzero(np.any(~np.isnan(self.x), axis=0))

    @property
    def plates(self) -> float:
        """Return how many plates stand behind the table: its weights' sum."""
        return float(self.weight.sum())


def in_order(makings: Sequence[Making]) -> tuple[Making, ...]:
    """Return the makings in order of time, each id once, no session taken up again after another.

    A session that comes back later (its name given twice, or a wrong date in a notebook) shares
    neither baths nor weather with the first: it becomes one of its own, named ``S again 2``.
    """
    once = {making.id: making for making in makings}
    ordered = sorted(once.values(), key=lambda o: (o.day, o.session, o.order, o.id))
    times: Counter[str] = Counter()
    last, out = None, []
    for one in ordered:
        if one.session != last:
            last = one.session
            times[last] += 1
        again = times[one.session]
        out.append(one if again == 1 else replace(one, session=f"{one.session} again {again}"))
    return tuple(out)


def stage_tables(
    makings: Sequence[Making],
    *,
    extra: bool = True,
    believed: Sequence[Condition] | None = None,
    blame: Mapping[str, Mapping[str, float]] | None = None,
) -> Mapping[str, StageTable]:
    """Return the table of each stage.

    Parameters
    ----------
    makings : sequence of Making
        In any order; an id that comes twice counts once.
    extra : bool
        Whether columns that the trade does not know become conditions of their own, in each stage.
    believed : sequence of Condition, optional
        Conditions with their priors; None: those of the trade.
    blame : Mapping, optional
        Id of a making to how likely each stage spoilt it, where nobody booked one; else by the
        trade's rates.

    Returns
    -------
    Mapping[str, StageTable]
        By stage, in the order of the work; a table without rows for a stage nobody reached.
    """
    ordered = in_order(makings)
    known = tuple(conditions() if believed is None else believed)
    own = own_conditions(ordered, known) if extra else ()
    sessions = tuple(dict.fromkeys(making.session for making in ordered))
    place = {session: index for index, session in enumerate(sessions)}
    rows = [
        (index, *row)
        for index, o in enumerate(ordered)
        for row in stage_rows(o, (blame or {}).get(o.id))
    ]
    return {
        stage: _table(
            stage, ordered, sessions, place, known + own, [r for r in rows if r[1] == stage]
        )
        for stage in STAGES
    }


def standardised(given: Sequence[Condition], known: Mapping[str, float | str]) -> Floats:
    """Return one row of `StageTable.x`: NaN where a condition is not known; shape (p,)."""
    values = [measure(condition, known) for condition in given]
    return np.array([np.nan if v is None else v for v in values], dtype=np.float64)


def own_conditions(makings: Sequence[Making], known: Sequence[Condition]) -> tuple[Condition, ...]:
    """Return a condition for each column that the trade does not know, for every stage.

    A column of numbers is standardised by its median and spread; of a column of a few words each
    word but the commonest is a switch. A column that never varies teaches nothing and is left out.
    """
    documented = {column for c in known for column in c.columns} | {c.key for c in known}
    columns = {name for o in makings for name in o.conditions} - documented - not_conditions()
    found = [c for name in sorted(columns) for c in _own(name, [o.conditions for o in makings])]
    return tuple(replace(c, stage=stage) for stage in STAGES for c in found)


def _own(name: str, plates: Sequence[Mapping[str, float | str]]) -> list[Condition]:
    low, middle, high = _OWN_EFFECT
    base = Condition(
        key=name,
        stage=STAGES[0],
        title=name,
        form="free",
        scale="plain",
        centre=0.0,
        width=1.0,
        unit="",
        effect_low=low,
        effect_middle=middle,
        effect_high=high,
        inclusion=_OWN_INCLUSION,
        columns=(name,),
        basis="seed",
        source=OWN_SOURCE,
    )
    numbers = np.array([v for v in (number(plate, name) for plate in plates) if v is not None])
    if numbers.size:
        quarters = np.percentile(numbers, [25, 50, 75])
        # between the quartiles of a normal lie 1.349 standard deviations
        width = (quarters[2] - quarters[0]) / 1.349 or float(numbers.std())
        return [replace(base, centre=float(quarters[1]), width=float(width))] if width > 0 else []
    words = Counter(v for v in (plate.get(name) for plate in plates) if isinstance(v, str) and v)
    many = words.total() < _PLATES_A_WORD * len(words)
    once = max(words.values(), default=0) < 2  # words that never come again tell nothing
    if len(words) < 2 or once or (len(words) > _WORDS and many):
        return []
    return _switches(base, dict(words.most_common(_WORDS)))


def column_of(key: str) -> str:
    """Return the maker's column of a condition; a column of words has a switch for each of them."""
    return key.partition("=")[0]


def word_of(key: str) -> str:
    """Return the word that a switch stands for; empty for any other condition."""
    return key.partition("=")[2]


def _switches(base: Condition, words: Mapping[str, int]) -> list[Condition]:
    """Return one switch for each word but the commonest, against which they are told."""
    ranked = sorted(words, key=lambda word: (-words[word], word))
    return [
        replace(
            base,
            key=f"{base.key}={word}",
            title=f"{base.title}: {word}",
            form="switch",
            words=(word,),
            centre=0.0,
            width=1.0,
        )
        for word in ranked[1:]
    ]


def _table(
    stage: str,
    makings: Sequence[Making],
    sessions: tuple[str, ...],
    place: Mapping[str, int],
    known: Sequence[Condition],
    rows: Sequence[tuple[int, str, int, int, float]],
) -> StageTable:
    used: list[Condition] = []
    for condition in known:
        if condition.stage != stage:
            continue
        if condition.form == "switch" and not condition.words:
            plates = [o.conditions.get(condition.columns[0]) for o in makings]
            words = Counter(v for v in plates if isinstance(v, str) and v)
            # few of many names have plates enough to be told apart
            used += _switches(condition, dict(words.most_common(_WORDS)))
        else:
            used.append(condition)
    every = np.array([standardised(used, o.conditions) for o in makings])
    every = every.reshape(len(makings), len(used))
    which = np.array([row[0] for row in rows], dtype=np.int64)
    at = [makings[row[0]] for row in rows]
    return StageTable(
        stage=stage,
        conditions=tuple(used),
        x=every[which],
        low=np.array([row[2] for row in rows], dtype=np.int64),
        high=np.array([row[3] for row in rows], dtype=np.int64),
        weight=np.array([row[4] for row in rows], dtype=np.float64),
        session=np.array([place[o.session] for o in at], dtype=np.int64),
        order=np.array([o.order for o in at], dtype=np.int64),
        day=tuple(o.day for o in at),
        row=which,
        every=every,
        ids=tuple(o.id for o in at),
        sessions=sessions,
    )
