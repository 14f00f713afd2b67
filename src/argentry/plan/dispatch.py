"""Days as they may run: pairs of hands that decide again at every event what to do next.

Nothing here follows a frozen plan: whenever a step ends, a plate is ripe, a break is over or the
light has changed, the free hands choose again by rule. All days and all rules run side by side as
arrays, each with a clock of its own, because a plan is chosen by thousands of days. The same
simulation with median durations and the middle light gives the plans that are chosen from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.rows import (
    DEADLINE,
    HOLD,
    JUST,
    LIMIT,
    LOSE,
    MEDIAN,
    RANK,
    READY,
    TAKES,
    Kind,
    Rows,
)
from argentry.plan.shop import Rules, Runs, Shop, between
from argentry.plan.shop_facts import ShopFacts

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.shop import Branch, Drawn


POKE_MINUTES = 10.0  # idle hands look at the light again this often
URGENT_MINUTES = 30.0  # a keeping limit nearer than this goes before everything else
ROWS_AT_ONCE = 12_000  # more would only cost memory
OVERDUE = 0.25  # of its time: what a plate needs more that should be ripe and is not
NEVER = 1e9  # minutes
OVER = -1_000  # pairs of hands when the day is over
NONE = np.zeros(0, dtype=np.int64)


class _Hands(Rows):
    """What the hands of each row know, decide and begin."""

    def to_next_event(self) -> None:
        """Let hands begin what they choose, and move on to what happens next."""
        at, plates, rows = self.choose()
        stuck = np.ones(len(self.now), dtype=np.bool_)
        if len(rows):
            stuck[rows] = self.begin(at, plates, rows)
        self.advance(stuck)
        self.complete()
        over = self.now > self.shop.last_minute + JUST
        done = np.count_nonzero(over)
        if done == len(over) or done > 0.2 * len(over) or (done and len(over) < 64):
            self.keep(np.flatnonzero(~over))

    def complete(self) -> None:
        """End what has ended by now, and begin the waits that follow."""
        facts, rows_all = self.facts, len(self.now)
        by = np.minimum(self.now, self.shop.last_minute) + JUST
        at = (self.until.reshape(-1, rows_all) <= by).ravel().nonzero()[0]
        while at.size:
            plates, rows = np.divmod(at, rows_all)
            until, after = self.until[at], self.next[at]
            self.ends[self.block(plates, rows, after - 1)] = until
            self.busy[at], self.until[at] = False, np.inf
            self.expected_ripe[at] = np.inf
            self.looks[DEADLINE, at] = np.inf
            self.idle += np.bincount(rows[facts.attended[after - 1]], minlength=rows_all)
            done = after == facts.count
            if done.any():
                self.in_hand -= np.bincount(rows[done], minlength=rows_all)
            hands = facts.attended[after]
            self.wait_for_hands(at[hands], plates[hands], rows[hands], until[hands])
            waits = ~hands & (after < facts.count)
            at, rows = at[waits], rows[waits]
            if at.size:
                until = self.begin_wait(at, plates[waits], rows, until[waits])
                at = at[until <= by[rows]]

    # -- what the maker knows and decides ----------------------------------------------------

    def choose(self) -> tuple[Whole, Whole, Whole]:
        """Return (places, plates, rows): what free hands begin now, one plate in a row at most."""
        facts, shop, now, looks = self.facts, self.shop, self.now, self.looks
        last = shop.last_minute
        self.frame_soon: Floats | None = None
        can = (looks[HOLD].reshape(-1, len(now)) <= now + JUST) & (self.idle > 0)
        can &= self.may.reshape(can.shape)
        # a sitter is not kept waiting for the hands that the rule would leave free
        room = self.in_hand < self.most
        if not room.all():
            expected = np.isfinite(looks[LIMIT]) if facts.sitters else False
            can &= room | (self.begun | expected).reshape(can.shape)
        at = can.ravel().nonzero()[0]
        if not at.size:
            return NONE, NONE, NONE
        plates, rows = np.divmod(at, len(now))
        after, time = self.next[at], now[rows]
        length, limit = looks[MEDIAN].take(at), looks[LIMIT].take(at)
        light = facts.exposing[after].nonzero()[0]
        ok = np.ones(len(at), dtype=np.bool_)
        if light.size:
            row, at_time = rows[light], time[light]
            weather = self.drawn.weather[self.day[row]] + facts.skies * facts.sorts[plates[light]]
            length[light] = between(self.drawn.exposure_ends, weather, at_time) - at_time
            # false where no exposure can be begun, or its image would fade in want of a frame
            from_now = self._frame_by(row) - facts.within[facts.take] - length[light]
            ok[light] = (length[light] >= 0.0) & (from_now <= at_time + JUST)
            waits = from_now > at_time + JUST
            if waits.any():
                self.frame_soon = np.full(len(now), np.inf)
                np.minimum.at(self.frame_soon, row[waits], from_now[waits])
        end = time + length
        grace = 0.0 if shop.strict_breaks else shop.break_grace
        for low, high in shop.breaks:
            stops = (time < high) & (end > np.where(time < low, low + grace, low))
            ok &= ~(stops if shop.strict_breaks else stops & (limit >= high))
        for room_, free in enumerate(self.free, TAKES):
            ok &= time + looks[room_].take(at) >= free[rows] - JUST
        taking = (ok & (after == facts.take)).nonzero()[0]
        if taking.size:
            ok[taking] = self._best_frame(rows[taking]) >= 0
        lost = time > looks[LOSE].take(at) + JUST
        urgent = (limit - time <= URGENT_MINUTES) & ~lost
        minute = np.minimum(np.ceil(time - JUST).astype(np.int64), facts.can_finish.shape[2] - 1)
        sky = self.sky[rows] + self.skies * facts.sorts[plates]
        finishes = facts.can_finish[sky, after, minute]
        in_time = end <= last
        finishes &= in_time
        rank = looks[RANK].take(at)
        if shop.strict_breaks:
            ok &= in_time
            gone_on = finishes
            rank += NEVER * lost
        else:
            # once out of its frame a plate is gone on with by idle hands: steps may be shorter
            late = ~finishes & (after >= facts.free)
            ok &= in_time | late
            gone_on = finishes | late
            rank += NEVER * (lost | late)
        ok &= urgent | gone_on
        asked = (ok & ~urgent & (self.idle[rows] <= 1)).nonzero()[0]
        if asked.size and shop.plates > 1:
            ok[asked] = end[asked] <= self._others(plates[asked], rows[asked])
        key = np.where(urgent, limit - time - NEVER, rank)
        keys = np.full(can.size, np.inf)
        keys[at[ok]] = key[ok]
        best = keys.reshape(can.shape).argmin(axis=0)
        places = best * len(now) + np.arange(len(now))
        rows = (keys[places] < np.inf).nonzero()[0]
        return places[rows], best[rows], rows

    def _frame_by(self, rows: Whole) -> Floats:
        """Return when a frame is expected to be free for a plate exposed now [min].

        Those exposed before it are served first.
        """
        facts, now = self.facts, self.now[rows]
        after, kind = self._of(self.next, rows), self._of(self.kind, rows)
        busy, lose = self._of(self.busy, rows), self._of(self.looks[LOSE], rows)
        inside = (after > facts.take) & (after <= facts.free)
        queue = (after > facts.exposed) & (after <= facts.take) & (now <= lose + JUST)
        ripe = np.where(busy, self._expected(rows), now)  # or it waits to be taken out
        for one, table in enumerate(self.drawn.expected_ripe):
            laid = inside & (after <= facts.developing) & (kind == one)  # not out yet
            if laid.any():
                ripe = np.where(laid, between(table, self.sky[rows], now), ripe)
        ripe = np.sort(np.where(inside & ~np.isnan(ripe), ripe, np.inf), axis=0)
        place = queue.sum(axis=0) - (facts.frames - inside.sum(axis=0))
        later = ripe[np.minimum(np.maximum(place, 0), len(ripe) - 1), np.arange(len(place))]
        later = np.where(place < len(ripe), later, np.inf)
        return np.asarray(np.where(place < 0, now, later))

    def _expected(self, rows: Whole) -> Floats:
        """Return when plates in the light are expected to be ripe, shape (plates, rows) [min].

        One that should be ripe by now and is not will need a part of its time more.
        """
        expected = self._of(self.expected_ripe, rows)
        plate, row, again = self._overdue(rows)
        expected[plate, row] = again
        return expected

    def _overdue(self, rows: Whole) -> tuple[Whole, Whole, Floats]:
        """Return which plates should be ripe by now, in which rows, and when they are now [min]."""
        now = self.now[rows]
        plate, row = np.nonzero(self._of(self.expected_ripe, rows) < now)
        if not plate.size:
            return plate, row, np.zeros(0)
        lain = now[row] - self._of(self.lit, rows)[plate, row]
        return plate, row, now[row] + OVERDUE * lain

    def _of(self, values: NDArray[Kind], rows: Whole) -> NDArray[Kind]:
        """Return values by plate and some of the rows."""
        return self.grid(values).take(rows, axis=1)

    def _others(self, plates: Whole, rows: Whole) -> Floats:
        """Return the last moment at which hands must be free for other plates of a row [min]."""
        facts, now = self.facts, self.now[rows]
        deadline = self._of(self.looks[DEADLINE], rows)
        deadline[now > self._of(self.looks[LOSE], rows) + JUST] = np.inf
        plate, row, again = self._overdue(rows)
        deadline[plate, row] = again + facts.within[facts.free]
        deadline[plates, np.arange(len(rows))] = np.inf
        return np.asarray(deadline.min(axis=0))

    def _best_frame(self, rows: Whole) -> Whole:
        """Return the free frame that would be ripe first; -1 for none.

        Where a plate is expected to be ripe in none it is put into any, in hope.
        """
        facts, now = self.facts, self.now[rows]
        after, kinds = self._of(self.next, rows), self._of(self.kind, rows)
        inside = (after > facts.take) & (after <= facts.free)
        if len(self.shop.frame_counts) == 1:  # which one is no question
            return np.where(inside.sum(axis=0) < facts.frames, 0, -1)
        ripes = [between(table, self.sky[rows], now) for table in self.drawn.expected_ripe]
        best = np.full(len(rows), -1, dtype=np.int64)
        first = np.full(len(rows), np.inf)
        dark = np.isnan(ripes).all(axis=0)
        for kind, (count, ripe) in enumerate(zip(self.shop.frame_counts, ripes, strict=True)):
            free = (inside & (kinds == kind)).sum(axis=0) < count
            better = free & (np.where(dark, NEVER, ripe) < first)
            best, first = np.where(better, kind, best), np.where(better, ripe, first)
        return best

    def begin(self, at: Whole, plates: Whole, rows: Whole) -> Truth:
        """Begin the chosen blocks now; say where no hands are left for another."""
        facts, block, now = self.facts, self.next[at], self.now[rows]
        over = now - self.looks[READY].take(at) - facts.within[block]
        late = (over > 0.0).nonzero()[0]
        if late.size:
            place = self.out[rows[late]] * self.shop.plates + plates[late]
            out = block[late] == facts.free
            for worst, here in ((self.late, ~out), (self.lay_ripe, out)):
                worst[place[here]] = np.maximum(worst[place[here]], over[late[here]])
        takes = (block == facts.take).nonzero()[0]
        if takes.size:
            self.kind[at[takes]] = kind = self._best_frame(rows[takes])
            self.frame[self.out[rows[takes]] * self.shop.plates + plates[takes]] = kind
        self.starts[self.block(plates, rows, block)] = now
        length = self.lengths(plates, rows, block, now)
        until = now + length
        if len(facts.rooms):
            until += self._stands_in_line(at, plates, rows, length)
        self.looks[:, at] = np.inf
        self.until[at], self.busy[at], self.may[at] = until, True, False
        self.next[at] += 1
        self.idle[rows] -= 1
        self.hands_until[rows] = until
        fresh = (block == 0).nonzero()[0]
        if fresh.size:
            self.begun[at[fresh]] = True
            self.in_hand[rows[fresh]] += 1
            for group in facts.groups:
                self._next_of(group, rows[fresh])
        return np.asarray((self.idle[rows] == 0) & (until > now + JUST))

    def _next_of(self, group: Whole, rows: Whole) -> None:
        """Let the first plate of a group that is not begun be begun."""
        begun = self.begun.reshape(self.shop.plates, -1)[group[:, None], rows]
        first = begun.argmin(axis=0)
        some = np.flatnonzero(~begun[first, np.arange(len(rows))])
        self.may[group[first[some]] * len(self.now) + rows[some]] = True

    def _stands_in_line(self, at: Whole, plates: Whole, rows: Whole, length: Floats) -> Floats:
        """Take hold of rooms in blocks that begin now; return what waiting for them costs [min]."""
        block, now = (self.facts.sorts[plates], self.next[at]), self.now[rows]
        wait, held = np.zeros(len(rows)), np.zeros(len(rows), dtype=np.bool_)
        for room, (take, leave) in enumerate(self.facts.rooms):
            here = np.flatnonzero(leave[block] > 0.0)
            if not here.size:
                continue
            held[here] = True
            long = length[here]
            begins = now[here] + wait[here] + take[block][here] * long
            behind = np.fmax(self.free[room, rows[here]] - begins, 0.0)
            # a plan lies on whole minutes
            wait[here] += np.ceil(behind - JUST) if self.shop.strict_breaks else behind
            gone = now[here] + wait[here] + leave[block][here] * long
            gone = np.where(np.isnan(gone), np.inf, gone)
            self.leaves[room][plates[here], rows[here]] = gone
        self.see_rooms(rows[held])
        return wait

    def advance(self, rows: Truth) -> None:
        """Move the clocks of the rows in which nothing can be begun to their next event."""
        now, shape = self.now, (-1, len(self.now))
        event = self.until.reshape(shape).min(axis=0)
        hold = self.looks[HOLD].reshape(shape)
        back = hold > now + JUST
        # who waits beside idle hands without being held back waits for light or a frame: look again
        look = np.where(back.all(axis=0), np.inf, now + POKE_MINUTES)
        soon = np.minimum(np.where(back, hold, np.inf).min(axis=0), look)
        if self.frame_soon is not None:
            soon = np.minimum(soon, self.frame_soon)
        for room, free in enumerate(self.free, TAKES):
            free_for = free - self.looks[room].reshape(shape).min(axis=0)
            soon = np.minimum(soon, np.where(free_for > now + JUST, free_for, np.inf))
        for high in (*(high for _, high in self.shop.breaks), *self.facts.opens):
            soon = np.where(now < high - JUST, np.minimum(soon, high), soon)
        # busy hands decide nothing before one of them is free
        busy = self.hands_until if self.shop.workers == 1 else event
        event = np.where(self.idle > 0, np.minimum(event, soon), busy)
        event = np.minimum(event, self.shop.last_minute + 1.0)
        self.now = np.where(rows, np.maximum(event, now), now)
        self.idle[self.now > self.shop.last_minute + JUST] = OVER


def _unplayed(rows: int, plates: int, blocks: int) -> Runs:
    """Return runs in which nothing has happened yet."""
    shape = (1, rows, plates)
    return Runs(
        starts=np.full((*shape, blocks), np.nan),
        ends=np.full((*shape, blocks), np.nan),
        frame_kind=np.full(shape, -1, dtype=np.int64),
        late=np.zeros(shape),
        lay_ripe=np.zeros(shape),
    )


def some_clean(shop: Shop, rules: Rules, drawn: Drawn) -> bool:
    """Say whether a rule finishes all plates cleanly on one of the days.

    As `play` would have it, and over as soon as that is known: a row goes on only while all its
    plates may still be finished.
    """
    facts, rows = ShopFacts(shop, drawn), len(rules) * drawn.days
    runs = _unplayed(rows, shop.plates, facts.count)
    state = _Hands(shop, facts, rules, drawn, np.arange(rows), runs)
    state.complete()
    while len(state.now):
        state.to_next_event()
        hopeful = ~state.lost_days()
        if (hopeful & (state.in_hand == 0) & state.grid(state.begun).all(axis=0)).any():
            return True
        if not hopeful.all():
            state.keep(np.flatnonzero(hopeful))
    return bool(runs.clean.all(axis=2).any())


def play(shop: Shop, rules: Rules, drawn: Drawn, like: Branch | None = None) -> Runs:
    """Simulate every rule on every day.

    Parameters
    ----------
    shop : Shop
        The day's fixed part.
    rules : Rules
        What the hands prefer.
    drawn : Drawn
        What the days turn out to be.
    like : Branch, optional
        What is known of these runs already; only what follows is played.

    Returns
    -------
    Runs
        What happened.
    """
    facts = ShopFacts(shop, drawn)
    total = len(rules) * drawn.days
    runs = _unplayed(total, shop.plates, facts.count)
    wanted = np.arange(total)
    if like is not None:
        same = ~np.isfinite(like.minute.ravel())
        day = wanted[same] % drawn.days
        for name, values in vars(runs).items():
            values[0, same] = getattr(like.usual, name)[0, day]
        wanted = wanted[~same]
    for low in range(0, len(wanted), ROWS_AT_ONCE):
        state = _Hands(shop, facts, rules, drawn, wanted[low : low + ROWS_AT_ONCE], runs, like)
        state.complete()
        while len(state.now):
            state.to_next_event()
    split = (len(rules), drawn.days, shop.plates)
    return Runs(
        runs.starts.reshape(*split, facts.count),
        runs.ends.reshape(*split, facts.count),
        runs.frame_kind.reshape(split),
        runs.late.reshape(split),
        runs.lay_ripe.reshape(split),
    )
