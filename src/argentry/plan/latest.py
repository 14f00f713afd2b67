"""How late each step may start: by simulation, and looked at again before it is printed.

A latest start is a promise: held back until then, and no longer, the chance that all plates are
finished falls by at most a tenth, and by no more than half of what it is. Blocks that begin by
themselves have no start to choose.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.stops import quantiles
from argentry.plan.choose import held_back
from argentry.plan.dispatch import play
from argentry.plan.rows import LIMIT_SPARE, Branch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.shop import Drawn, Rules, Runs, Shop


FALL = 0.1  # of the chance that all plates are finished
FALL_SHARE = 0.5  # of that chance: a tenth of a chance that is smaller would bind nothing
CLOSE_MINUTES = 8.0  # a doubt that is small enough
SEARCH_DAYS, SEARCH_LEAST = 60, 24  # by which a start is looked for
CHECK_LEAST = 80  # by which it is looked at again, of all that are drawn
SURE = 2.0  # times the standard error of a share: then so few days say it
MOST_PLAYED = 6_000  # days in one go; many plates are judged by fewer days each
CHECKS = 4
AHEAD_MOST = 8_000  # plates on days that are played with those that the next question may be about
EARLY_SHARE = 0.05  # of the days on which the step before a limit ends sooner than is taken


def latest_starts(
    shop: Shop,
    rule: Rules,
    starts: Floats,
    drawn: Drawn,
    usual: Runs,
    counted: Whole | None = None,
) -> tuple[Floats, Truth]:
    """Return the latest start of every block that costs no more of the odds than `_least` leaves.

    Parameters
    ----------
    shop : Shop
        The day.
    rule : Rules
        The one rule by which hands keep to the plan.
    starts : Floats, shape (plates, blocks)
        The plan. [min]
    drawn : Drawn
        Days to judge by.
    usual : Runs
        The rule on those days, with nothing held back.
    counted : Whole, optional
        The plates that are to be finished; all of them.

    Returns
    -------
    latest : Floats, shape (plates, blocks)
        ``-inf`` where even the planned start costs more, or the block begins by itself. [min]
    limited : Truth, shape (plates, blocks)
        Whether the limit that runs from the block before comes first.
    """
    plates, count = starts.shape
    which = np.arange(plates) if counted is None else counted
    over = np.zeros((plates, count), dtype=np.bool_)
    if shop.begun is not None:  # what was begun has no start to choose
        over = np.isfinite(shop.begun.starts)
    where = [
        (int(p), b)
        for p in which
        for b in range(count)
        if shop.blocks[b].attended and not over[p, b]
    ]
    if not where:
        return np.full((plates, count), -np.inf), over
    known = _HeldBack(shop, rule, where, drawn, usual, which)
    by = _days(2 * len(where), SEARCH_LEAST, min(SEARCH_DAYS, drawn.days))
    least = _least(known.usual[:by])
    begin = np.array([starts[at] for at in where])
    ends = np.array([_by_limit(shop, usual, at) for at in where])
    # the end by the limit is tried first where there is one: mostly it binds
    low, high, tried = begin, _upper(shop, usual, where, ends), ends
    wide = np.flatnonzero(high - low > CLOSE_MINUTES)
    while len(wide):
        middle = np.where(tried[wide] <= high[wide], tried[wide], 0.5 * (low[wide] + high[wide]))
        if len(wide) * by * plates <= AHEAD_MOST:
            known.look_at([*_asked_now_and_next(wide, (low, middle, high))], by)
        kept = known.finished(wide, middle, by).mean(axis=1) >= least
        low, high, tried = low.copy(), high.copy(), np.full(len(where), np.inf)
        low[wide[kept]], high[wide[~kept]] = middle[kept], middle[~kept]
        wide = wide[high[wide] - low[wide] > CLOSE_MINUTES]
    # looked at again on all days: where the search was lucky, a quarter is taken off each time
    by = _days(len(where), CHECK_LEAST, drawn.days)
    low = np.floor(low)
    open_ = np.flatnonzero(~_kept(known, low, by))
    earlier = begin[open_] + (low - begin)[open_] * 0.75 ** np.arange(1, CHECKS)[:, None]
    kept = known.finished(np.tile(open_, CHECKS - 1), np.floor(earlier).ravel(), by).mean(axis=1)
    kept = kept.reshape(earlier.shape) >= _least(known.usual[:by])
    low[open_] = np.floor(earlier[kept.argmax(axis=0), np.arange(len(open_))])
    open_ = open_[~kept.any(axis=0)]
    low[open_] = -np.inf
    safe = np.full((plates, count), -np.inf)
    for (plate, block), minute, end in zip(where, low, ends, strict=True):
        safe[plate, block] = min(minute, end)
    by_clock, limited = np.zeros((2, plates, count), dtype=np.bool_)
    at = tuple(np.transpose(where))
    by_clock[at] = np.isfinite(low) & (low < ends - CLOSE_MINUTES)
    # what comes first may be a sitter's time instead, who does not wait longer
    due = np.array([np.floor(shop.due[shop.by_plate[plate], block]) for plate, block in where])
    within = np.array([shop.blocks[block].within is not None for _, block in where])
    limited[at] = np.isfinite(low) & ~by_clock[at] & within & (ends < due)
    return _one_after_the_other(safe, (by_clock, limited), starts, usual)


def _asked_now_and_next(
    wide: Whole, search: tuple[Floats, Floats, Floats]
) -> Iterator[tuple[Whole, Floats]]:
    """Yield blocks and minutes that a search asks about, then those it may ask about after that.

    `search` is how low and high it stands, of all blocks, and the middle that is tried of those
    that are `wide` yet. One play of all of them costs less than two, one after the other, where
    they are not too many.
    """
    low, middle, high = search[0][wide], search[1], search[2][wide]
    yield wide, middle
    for less, more in ((low, middle), (middle, high)):
        apart = more - less > CLOSE_MINUTES
        yield wide[apart], (0.5 * (less + more))[apart]


def _one_after_the_other(
    safe: Floats, by: tuple[Truth, Truth], starts: Floats, usual: Runs
) -> tuple[Floats, Truth]:
    """Return latest starts that leave each plate its usual time until the next of them.

    `by` says which are told by the clock, and at which the limit comes first; the second comes
    back without those that the next latest start comes before.

    Each is looked for alone, with what follows as late as it may be; read from a sheet, a later
    one holds as well. What must begin within a limit of the block before moves with that.
    """
    took = np.nan_to_num(usual.ends[0] - usual.starts[0], nan=np.inf)
    lengths = np.median(took, axis=0)
    lengths, safe = np.where(np.isfinite(lengths), lengths, 0.0), safe.copy()
    by_clock, limited = by[0], by[1].copy()
    for plate in range(len(safe)):
        after = np.inf
        for block in range(safe.shape[1] - 1, -1, -1):
            after -= lengths[plate, block]
            latest = max(np.floor(after), starts[plate, block])
            limited[plate, block] &= latest >= safe[plate, block]
            if by_clock[plate, block] or (by[1] & ~limited)[plate, block]:
                after = safe[plate, block] = min(safe[plate, block], latest)
    return safe, limited


def _upper(shop: Shop, usual: Runs, where: Sequence[tuple[int, int]], ends: Floats) -> Floats:
    """Return a start of each block that is too late, or the last by its limit [min].

    Of all that follows only what is short on nearly every day is counted.
    """
    took = np.sort(usual.ends[0] - usual.starts[0], axis=0)  # NaN comes last
    short = np.nan_to_num(took[int(EARLY_SHARE * len(took))])
    last = [shop.last_minute - short[plate, block:].sum() for plate, block in where]
    return np.asarray(np.minimum(ends, last))


def _kept(known: _HeldBack, until: Floats, days: int) -> Truth:
    """Return whether blocks held back keep the promise, by as many days as it takes to say so."""
    kept, unsure = np.zeros(len(until), dtype=np.bool_), np.arange(len(until))
    known.look_at([(unsure, until)], days)
    for by, doubt in ((min(CHECK_LEAST, days), SURE), (days, 0.0)):
        share = known.finished(unsure, until[unsure], by).mean(axis=1)
        usual = known.usual[:by]
        spare = share - _least(usual)
        kept[unsure] = spare >= 0.0
        fall = np.maximum(usual.mean() - share, 1.0 / by)
        unsure = unsure[np.abs(spare) < doubt * np.sqrt(fall / by)]
    return kept


def _least(finished: Truth) -> float:
    """Return what is left of the chance at the latest; more than there can be where it is none."""
    chance = float(finished.mean())
    return max(chance - FALL, FALL_SHARE * chance) if chance else np.inf


def _days(copies: int, least: int, most: int) -> int:
    """Return by how many days each of so many copies is judged."""
    return min(max(MOST_PLAYED // copies, least), most)


def _by_limit(shop: Shop, usual: Runs, at: tuple[int, int]) -> float:
    """Return when a block must begin by its limit on nearly every day; inf where it has none [min].

    By the clock the limit runs from the earliest end of the block before.
    """
    plate, block = at
    within = shop.blocks[block].within
    due = float(np.floor(shop.due[shop.by_plate[plate], block]))  # a sitter does not wait longer
    if within is None:
        return due
    before = usual.ends[0, :, plate, block - 1]
    known = before[np.isfinite(before)]
    soonest = float(quantiles(known, (EARLY_SHARE,))[0]) if known.size else -np.inf
    return min(float(np.floor(soonest + within - LIMIT_SPARE)), due)


class _HeldBack:
    """What becomes of days when single blocks are held back, as far as it is known.

    A day that ends well with a block held back until a minute ends well when it is held back less,
    and one that is lost is lost when it is held back more, or when nothing holds it back. So only
    what lies between is played.
    """

    def __init__(
        self,
        shop: Shop,
        rule: Rules,
        where: Sequence[tuple[int, int]],
        drawn: Drawn,
        usual: Runs,
        which: Whole,
    ) -> None:
        self.shop, self.rule, self.where, self.drawn = shop, rule, where, drawn
        self.runs, self.which = usual, which
        self.usual = usual.sound[0][:, which].all(axis=1)
        shape = (len(where), drawn.days)
        self.well, self.lost = np.full(shape, -np.inf), np.full(shape, np.inf)
        self.lost[:, ~self.usual] = -np.inf
        self.begun = np.stack([usual.starts[0, :, plate, block] for plate, block in where])
        self.played: dict[tuple[int, float], Truth] = {}

    def look_at(self, asked: Sequence[tuple[Whole, Floats]], days: int) -> None:
        """Play in one go what `finished` will be asked about, as far as it is not known by then.

        Parameters
        ----------
        asked : sequence of (Whole, Floats)
            As `blocks` and `until` of `finished`.
        days : int
            How many.
        """
        blocks, until = (np.concatenate(part) for part in zip(*asked, strict=True))
        new = [
            n
            for n, key in enumerate(_keys(blocks, until))
            if key not in self.played or len(self.played[key]) < days
        ]
        blocks, until = blocks[new], until[new]
        at, late, unknown = self._unknown(blocks, until, days)
        if unknown.any():
            begun = self.begun[at]
            minute = np.where(unknown & (begun < late), begun, np.inf)
            held = held_back(self.rule, [self.where[i] for i in blocks], until)
            like = Branch(self.runs.first(days), minute)
            runs = play(self.shop, held, self.drawn.first(days), like)
            well = np.asarray(runs.sound[:, :, self.which].all(axis=2))
            self.played.update(zip(_keys(blocks, until), well, strict=True))

    def finished(self, blocks: Whole, until: Floats, days: int) -> Truth:
        """Return whether all is finished on the first days, each block held back alone.

        Until the block would have been begun a day is the one that nothing holds back; where it is
        not begun before the time anyway, the whole day is.

        Parameters
        ----------
        blocks : Whole, shape (k,)
            Places in `where`.
        until : Floats, shape (k,)
            [min]
        days : int
            How many.

        Returns
        -------
        Truth, shape (k, days)
        """
        at, late, unknown = self._unknown(blocks, until, days)
        if not unknown.any():
            return np.asarray(late < self.lost[at])
        self.look_at([(blocks, until)], days)
        nothing = np.zeros(days, dtype=np.bool_)
        well = np.stack([self.played.get(key, nothing)[:days] for key in _keys(blocks, until)])
        well = np.where(unknown, well, late < self.lost[at])
        np.maximum.at(self.well, at, np.where(well, late, -np.inf))
        np.minimum.at(self.lost, at, np.where(well, np.inf, late))
        return well

    def _unknown(
        self, blocks: Whole, until: Floats, days: int
    ) -> tuple[tuple[Whole, Whole], Floats, Truth]:
        """Return where blocks and days stand, until when, and what is not known of them yet."""
        at, late = (blocks[:, None], np.arange(days)), until[:, None]
        return at, late, (self.well[at] < late) & (late < self.lost[at])


def _keys(blocks: Whole, until: Floats) -> list[tuple[int, float]]:
    return list(zip(blocks.tolist(), until.tolist(), strict=True))
