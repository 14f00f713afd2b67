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
    Rows,
)
from argentry.plan.shop import Rules, Runs, Shop, between
from argentry.plan.shop_facts import ShopFacts

if TYPE_CHECKING:
    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.rows import Branch
    from argentry.plan.shop import Drawn


POKE_MINUTES = 10.0  # idle hands look at the light again this often
URGENT_MINUTES = 30.0  # a keeping limit nearer than this goes before everything else
ROWS_AT_ONCE = 12_000  # more would only cost memory
LOOK_EVERY = 4  # events after which days that are lost are put aside, as looking costs its time
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
        if done > 0.2 * len(over):
            self.keep(np.flatnonzero(~over))

    def complete(self) -> None:
        """End what has ended by now, and begin the waits that follow."""
        facts, rows_all = self.facts, len(self.now)
        by = np.minimum(self.now, self.shop.last_minute) + JUST
        at = (self.until.reshape(-1, rows_all) <= by).ravel().nonzero()[0]
        while at.size:
            plates = at // rows_all
            rows = at - plates * rows_all
            until, after = self.until.take(at), self.next.take(at)
            ended = after - 1
            self.ends[self.block(plates, rows, ended)] = until
            self.busy[at], self.until[at] = False, np.inf
            self.expected_ripe[at] = np.inf
            self.looks[DEADLINE, at] = np.inf
            of_hands = rows[facts.attended.take(ended)]
            self.idle += np.bincount(of_hands, minlength=rows_all)
            done = after == facts.count
            if done.any():
                self.in_hand -= np.bincount(rows[done], minlength=rows_all)
            hands = facts.attended.take(after)
            waits = (~hands & ~done).nonzero()[0]
            hands = hands.nonzero()[0]
            if hands.size:
                self.wait_for_hands(*(one.take(hands) for one in (at, plates, rows, until)))
            if not waits.size:
                break
            at, rows = at.take(waits), rows.take(waits)
            until = self.begin_wait(at, plates.take(waits), rows, until.take(waits))
            at = at[until <= by.take(rows)]

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
            more = self.begun | np.isfinite(looks[LIMIT]) if facts.sitters else self.begun
            can &= room | more.reshape(can.shape)
        at = can.ravel().nonzero()[0]
        if not at.size:
            return NONE, NONE, NONE
        plates = at // len(now)
        rows = at - plates * len(now)
        after, time = self.next.take(at), now.take(rows)
        length, limit = looks[MEDIAN].take(at), looks[LIMIT].take(at)
        light = facts.exposing.take(after).nonzero()[0]
        ok = np.ones(len(at), dtype=np.bool_)
        if light.size:
            row, at_time = rows.take(light), time.take(light)
            weather = facts.by_sort(self.drawn.weather.take(self.day.take(row)), plates, light)
            takes = between(self.drawn.exposure_ends, weather, at_time) - at_time
            length[light] = takes
            # false where no exposure can be begun, or its image would fade in want of a frame
            from_now = self._frame_by(row) - facts.within[facts.take] - takes
            soon = at_time + JUST
            ok[light] = (takes >= 0.0) & (from_now <= soon)
            waits = from_now > soon
            if waits.any():
                self.frame_soon = np.full(len(now), np.inf)
                np.minimum.at(self.frame_soon, row[waits], from_now[waits])
        end = time + length
        grace = 0.0 if shop.strict_breaks else shop.break_grace
        for low, high in shop.breaks:
            stops = (time < high) & (end > np.where(time < low, low + grace, low))
            ok &= ~(stops if shop.strict_breaks else stops & (limit >= high))
        for room_, free in enumerate(self.free, TAKES):
            ok &= time + looks[room_].take(at) >= free.take(rows) - JUST
        if not (facts.frame_for_all and len(self.shop.frame_counts) == 1):
            taking = (ok & (after == facts.take)).nonzero()[0]
            if taking.size:
                ok[taking] = self._best_frame(rows[taking]) >= 0
        lost = time > looks[LOSE].take(at) + JUST
        left = limit - time
        urgent = (left <= URGENT_MINUTES) & ~lost
        _, blocks, minutes = facts.can_finish.shape
        minute = np.minimum(np.ceil(time - JUST).astype(np.int64), minutes - 1)
        sky = self.sky.take(rows)
        if len(facts.median) > 1:
            sky += self.skies * facts.sorts[plates]
        finishes = facts.can_finish.ravel().take((sky * blocks + after) * minutes + minute)
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
        asked = (ok & ~urgent & (self.idle.take(rows) <= 1)).nonzero()[0]
        if asked.size and shop.plates > 1:
            ok[asked] = end.take(asked) <= self._others(plates.take(asked), rows.take(asked))
        keys = np.full(can.size, np.inf)
        keys[at] = np.where(ok, np.where(urgent, left - NEVER, rank), np.inf)
        best = keys.reshape(can.shape).argmin(axis=0)
        places = best * len(now) + np.arange(len(now))
        rows = (keys.take(places) < np.inf).nonzero()[0]
        return places.take(rows), best.take(rows), rows

    def _frame_by(self, rows: Whole) -> Floats:
        """Return when a frame is expected to be free for a plate exposed now [min].

        Those exposed before it are served first.
        """
        facts, now = self.facts, self.now.take(rows)
        if facts.frame_for_all:
            return now
        after, lose = self.of(self.next, rows), self.of(self.looks[LOSE], rows)
        inside = (after > facts.take) & (after <= facts.free)
        queue = (after > facts.exposed) & (after <= facts.take) & (now <= lose + JUST)
        place = queue.sum(axis=0) - (facts.frames - inside.sum(axis=0))
        out = now.copy()
        some = (place >= 0).nonzero()[0]
        if some.size:
            out[some] = self._next_out(rows[some], inside[:, some], place[some])
        return out

    def _next_out(self, rows: Whole, inside: Truth, place: Whole) -> Floats:
        """Return when so many frames and one more are expected to be empty again [min]."""
        facts, now = self.facts, self.now[rows]
        after, kind = self.of(self.next, rows), self.of(self.kind, rows)
        busy = self.of(self.busy, rows)
        ripe = np.where(busy, self.expected(rows), now)  # or it waits to be taken out
        for one, table in enumerate(self.drawn.expected_ripe):
            laid = inside & (after <= facts.developing) & (kind == one)  # not out yet
            if laid.any():
                ripe = np.where(laid, between(table, self.sky[rows], now), ripe)
        ripe = np.sort(np.where(inside & ~np.isnan(ripe), ripe, np.inf), axis=0)
        later = ripe[np.minimum(place, len(ripe) - 1), np.arange(len(place))]
        return np.where(place < len(ripe), later, np.inf)

    def _others(self, plates: Whole, rows: Whole) -> Floats:
        """Return the last moment at which hands must be free for other plates of a row [min]."""
        facts, now = self.facts, self.now.take(rows)
        deadline = self.of(self.looks[DEADLINE], rows)
        deadline[now > self.of(self.looks[LOSE], rows) + JUST] = np.inf
        plate, row, again = self.overdue(rows)
        if plate.size:
            deadline[plate, row] = again + facts.within[facts.free]
        deadline.reshape(-1)[plates * len(rows) + np.arange(len(rows))] = np.inf
        return np.asarray(deadline.min(axis=0))

    def _best_frame(self, rows: Whole) -> Whole:
        """Return the free frame that would be ripe first; -1 for none.

        Where a plate is expected to be ripe in none it is put into any, in hope.
        """
        facts, single = self.facts, len(self.shop.frame_counts) == 1
        if facts.frame_for_all and single:
            return np.zeros(len(rows), dtype=np.int64)
        after = self.of(self.next, rows)
        inside = (after > facts.take) & (after <= facts.free)
        if single:  # which one is no question
            return np.where(inside.sum(axis=0) < facts.frames, 0, -1)
        now, kinds = self.now[rows], self.of(self.kind, rows)
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
        facts, block, now = self.facts, self.next.take(at), self.now.take(rows)
        over = now - self.looks[READY].take(at) - facts.within.take(block)
        late = (over > 0.0).nonzero()[0]
        if late.size:
            place = self.out[rows[late]] + plates[late]
            out = block[late] == facts.free
            for worst, here in ((self.late, ~out), (self.lay_ripe, out)):
                worst[place[here]] = np.maximum(worst[place[here]], over[late[here]])
        takes = (block == facts.take).nonzero()[0]
        if takes.size:
            self.kind[at[takes]] = kind = self._best_frame(rows[takes])
            self.frame[self.out[rows[takes]] + plates[takes]] = kind
        self.starts[self.block(plates, rows, block)] = now
        length = self.lengths(plates, rows, block, now)
        until = now + length
        if len(facts.rooms):
            until += self._stands_in_line(at, plates, rows, length)
        self.looks[HOLD:, at] = np.inf
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
        return np.asarray((self.idle.take(rows) == 0) & (until > now + JUST))

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
    events = 0
    while len(state.now):
        state.to_next_event()
        events += 1
        over = (state.in_hand == 0) & state.grid(state.begun).all(axis=0)
        if over.any() and (over & ~state.lost_days()).any():
            return True
        if events % LOOK_EVERY == 0:
            hopeful = np.flatnonzero(~state.lost_days())
            if len(hopeful) < len(state.now):
                state.keep(hopeful)
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
        at = np.divmod(wanted[same], drawn.days)
        for name, values in vars(runs).items():
            values[0, same] = like.known(getattr(like.usual, name), *at)
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
