"""Days as they may run: pairs of hands that decide again at every event what to do next.

Nothing here follows a frozen plan: whenever a step ends, a plate is ripe, a break is over or the
light has changed, the free hands choose again by rule. All days and all rules run side by side as
arrays, each with a clock of its own, because a plan is chosen by thousands of days. The same
simulation with median durations and the middle light gives the plans that are chosen from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.shop import Drawn, Rules, Runs, Shop, between
from argentry.plan.shop_facts import ShopFacts

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.shop import Begun, Branch

    Array = NDArray[np.float64]
    Whole = NDArray[np.int64]
    Truth = NDArray[np.bool_]

POKE_MINUTES = 10.0  # idle hands look at the light again this often
URGENT_MINUTES = 30.0  # a keeping limit nearer than this goes before everything else
ROWS_AT_ONCE = 12_000  # more would only cost memory
BREAK_GRACE = 10.0  # minutes by which work that was begun may run into a break on the day
OVERDUE = 0.25  # of its time: what a plate needs more that should be ripe and is not
LIMIT_SPARE = 1.0  # nobody who waits on purpose waits to the last minute of a limit
NEVER = 1e9  # minutes
JUST = 1e-9
BY_PLATE = (
    *("next", "until", "busy", "ready", "kind", "late", "lay_ripe", "expected_ripe"),
    *("attended", "exposing", "hands", "median", "within", "due", "held", "rank"),
    *("takes", "leaves", "free"),
)


class _Rows:
    """State of the days that are still running; one row is one rule on one day.

    Arrays are (plates, rows): sums over plates are then sums of long arrays, which is fast.
    """

    def __init__(
        self,
        shop: Shop,
        facts: ShopFacts,
        rules: Rules,
        drawn: Drawn,
        row: Whole,
        like: Branch | None = None,
    ) -> None:
        self.shop, self.facts, self.rules, self.drawn = shop, facts, rules, drawn
        rows = len(row)
        shape = (shop.plates, rows)
        self.rule, self.day = np.divmod(row, drawn.days)
        # how many skies the maker tells apart, and which one each day has
        self.skies = len(drawn.expected_exposures) // len(shop.routes)
        several = self.skies > 1
        self.sky = drawn.weather[self.day] if several else np.zeros(rows, dtype=np.int64)
        self.out = np.arange(rows)  # where in the output each row stands
        self.starts = np.full((rows, shop.plates, facts.count), np.nan)
        self.ends = np.full((rows, shop.plates, facts.count), np.nan)
        self.late, self.lay_ripe = np.zeros(shape), np.zeros(shape)
        self.now = np.full(rows, float(shop.first_minute))
        self.next = np.zeros(shape, dtype=np.int64)
        self.until = np.full(shape, np.inf)
        self.busy = np.zeros(shape, dtype=np.bool_)
        self.ready = np.full(shape, float(shop.first_minute))
        self.expected_ripe = np.full(shape, np.inf)
        self.kind = np.full(shape, -1, dtype=np.int64)
        self.leaves = np.full((len(facts.rooms), *shape), -np.inf)
        self._look_ahead()
        if like is not None:
            self._branch_off(like, row)
            self._look_ahead()
            waits = ~self.busy & (self.next > 0) & (self.next < facts.count)
            self._begin_wait(*np.nonzero(waits & ~facts.attended[self.next]))
        elif shop.begun is not None:
            self._go_on(shop.begun)
            self._look_ahead()
        self._see_rooms(slice(None))

    def _look_ahead(self) -> None:
        """Note what the next block of every plate needs, so that it is looked up only once."""
        shape = self.next.shape
        self.attended = np.zeros(shape, dtype=np.bool_)
        self.exposing = np.zeros(shape, dtype=np.bool_)
        self.hands = np.zeros(shape, dtype=np.bool_)
        self.median, self.within, self.due = np.zeros(shape), np.zeros(shape), np.zeros(shape)
        self.held, self.rank = np.zeros(shape), np.zeros(shape)
        self.takes = np.full((len(self.facts.rooms), *shape), np.inf)
        plates, rows = np.indices(shape).reshape(2, -1)
        self._moved(plates, rows)

    def _moved(self, plates: Whole, rows: Whole) -> None:
        """Follow plates that have begun a block."""
        facts, after = self.facts, self.next[plates, rows]
        at = (plates, rows)
        self.attended[at], self.exposing[at] = facts.attended[after], facts.exposing[after]
        self.within[at] = facts.within[after]
        self.median[at] = facts.median[facts.sorts[plates], after]
        self.due[at] = facts.due[facts.sorts[plates], after]
        # -1 is the spare column: an unbegun plate holds nothing
        self.hands[at] = facts.attended[after - 1]
        for room, soon in enumerate(facts.taken_after):
            self.takes[room][at] = soon[facts.sorts[plates], after]
        block = np.minimum(after, facts.count - 1)
        self.held[at] = self.rules.not_before[self.rule[rows], plates, block]
        self.rank[at] = self.rules.priority[self.rule[rows], plates, block]

    def _go_on(self, begun: Begun) -> None:
        """Take up the day where its plates stand."""
        facts = self.facts
        rows = np.arange(len(self.now))
        self.starts[:], self.ends[:] = begun.starts, begun.ends
        self.kind[:] = begun.frame_kind[:, None]
        self.next[:] = np.isfinite(begun.starts).sum(axis=1)[:, None]
        for plate, done in enumerate(self.next[:, 0]):
            if done == 0:
                continue
            last, at = int(done) - 1, np.full(len(rows), plate)
            if np.isfinite(begun.ends[plate, last]):
                self.ready[plate] = begun.ends[plate, last]
                if done < facts.count and not facts.attended[done]:
                    # what nobody has begun yet begins now, not when it might have
                    self.ready[plate] = np.maximum(self.ready[plate], self.shop.first_minute)
                    self._begin_wait(at, rows)
                continue
            start = np.full(len(rows), begun.starts[plate, last])
            end = start + self._lengths(at, rows, np.full(len(rows), last), start)
            if self.drawn.running_until is not None:
                known = self.drawn.running_until[self.day, plate]
                end = np.where(np.isnan(known), end, known)
            over = np.maximum(end, self.shop.first_minute)
            self.until[plate] = np.where(np.isnan(over), np.inf, over)
            self.busy[plate] = True
            self._holds_on(np.full(len(rows), last), at, rows, start)
            if last == facts.developing:
                table = self.drawn.expected_ripe[int(begun.frame_kind[plate])]
                ripe = between(table, self.sky, np.maximum(start, 0.0))
                ripe = np.maximum(ripe, self.shop.first_minute)  # not ripe yet
                self.expected_ripe[plate] = np.where(np.isnan(ripe), np.inf, ripe)

    def _holds_on(self, block: Whole, plates: Whole, rows: Whole, start: Array) -> None:
        """Note until when blocks that are running hold their rooms."""
        until = self.until[plates, rows]
        for room, (_, leave) in enumerate(self.facts.rooms):
            part = leave[self.facts.sorts[plates], block]
            held = part > 0.0
            length = np.where(np.isinf(until), 0.0, until - start)
            gone = np.where(np.isinf(until), np.inf, start + part * length)
            self.leaves[room][plates[held], rows[held]] = gone[held]

    def _branch_off(self, like: Branch, row: Whole) -> None:
        """Take up each day at its own moment, as another rule had played it until then."""
        facts = self.facts
        now, day = like.minute.ravel()[row], self.day
        starts, ends = like.usual.starts[0, day], like.usual.ends[0, day]
        begun = starts < now[:, None, None]
        over = begun & (ends <= now[:, None, None])
        self.now = now
        self.starts, self.ends = np.where(begun, starts, np.nan), np.where(over, ends, np.nan)
        self.next = begun.sum(axis=2).T
        ended = over.sum(axis=2).T
        self.busy = self.next > ended
        plates, rows = np.indices(self.next.shape)
        last = np.maximum(self.next - 1, 0)
        until = ends[rows, plates, last]
        until = np.where(np.isnan(until), np.inf, until)
        self.until = np.where(self.busy, until, np.inf)
        self.ready = np.where(
            ended > 0, ends[rows, plates, np.maximum(ended - 1, 0)], self.shop.first_minute
        )
        self.kind = np.where(self.next > facts.take, like.usual.frame_kind[0, day].T, -1)
        gap = starts[:, :, 1:] - ends[:, :, :-1] - facts.within[1:-1]
        late = np.where(begun[:, :, 1:], np.maximum(gap, 0.0), 0.0)
        self.lay_ripe = late[:, :, facts.free - 1].T.copy()
        late[:, :, facts.free - 1] = 0.0
        self.late = late.max(axis=2).T.copy()
        at = np.nonzero(self.busy)
        begun_at = starts[at[1], at[0], last[at]]
        self._holds_on(last[at], at[0], at[1], begun_at)
        lit = self.busy & (self.next - 1 == facts.developing)
        for kind, table in enumerate(self.drawn.expected_ripe):
            at = np.nonzero(lit & (self.kind == kind))
            start = starts[at[1], at[0], facts.developing]
            ripe = between(table, self.sky[at[1]], start)
            ripe = np.where(np.isinf(self.until[at]) | np.isnan(ripe), np.inf, ripe)
            self.expected_ripe[at] = ripe

    def _lengths(self, plates: Whole, rows: Whole, blocks: Whole, start: Array) -> Array:
        """Return how long blocks begun then really last, NaN where they never end [min]."""
        out = self.drawn.minutes[self.day[rows], plates, blocks]
        light = self.facts.exposing[blocks]
        if light.any():
            weather = self.drawn.weather[self.day[rows[light]]]
            weather = weather + self.facts.skies * self.facts.sorts[plates[light]]
            out[light] = between(self.drawn.exposure_ends, weather, start[light]) - start[light]
        for kind in range(len(self.shop.frame_counts)):
            put_out = (blocks == self.facts.developing) & (self.kind[plates, rows] == kind)
            if put_out.any():
                day, plate, at = self.day[rows[put_out]], plates[put_out], start[put_out]
                waited = at - self.ends[rows[put_out], plate, self.facts.exposed]
                out[put_out] = self.drawn.ripe(kind, day, plate, at, waited) - at
        return np.asarray(out)

    # -- what happens by itself --------------------------------------------------------------

    def complete(self) -> None:
        """End what has ended by now, and begin the waits that follow."""
        while True:
            over = self.busy & (self.until <= np.minimum(self.now, self.shop.last_minute) + JUST)
            if not over.any():
                return
            plates, rows = np.nonzero(over)
            until = self.until[plates, rows]
            self.ends[rows, plates, self.next[plates, rows] - 1] = until
            self.ready[plates, rows] = until
            self.busy[plates, rows] = False
            after = self.next[plates, rows]
            waits = (after < self.facts.count) & ~self.facts.attended[after]
            if waits.any():
                self._begin_wait(plates[waits], rows[waits])

    def _begin_wait(self, plates: Whole, rows: Whole) -> None:
        block, start = self.next[plates, rows], self.ready[plates, rows]
        length = self._lengths(plates, rows, block, start)
        self.starts[rows, plates, block] = start
        self.until[plates, rows] = np.where(np.isnan(length), np.inf, start + length)
        self.busy[plates, rows] = True
        self.next[plates, rows] += 1
        self._moved(plates, rows)
        light = block == self.facts.developing
        for kind, table in enumerate(self.drawn.expected_ripe):
            here = light & (self.kind[plates, rows] == kind)
            # one that is never ripe is waited for in vain, but no hands are kept free for it
            ripe = between(table, self.sky[rows[here]], start[here])
            ripe = np.where(np.isnan(length[here]), np.nan, ripe)
            self.expected_ripe[plates[here], rows[here]] = np.where(np.isnan(ripe), np.inf, ripe)

    # -- what the maker knows and decides ----------------------------------------------------

    def choose(self) -> tuple[Whole, Whole]:
        """Return (plates, rows): what free hands begin now, one plate in a row at most."""
        facts, shop, now = self.facts, self.shop, self.now
        self.lost = self._lost()
        idle = self.idle = shop.workers - (self.busy & self.hands).sum(axis=0)
        unbegun = self.next == 0
        in_hand = (~unbegun).sum(axis=0) - ((self.next == facts.count) & ~self.busy).sum(axis=0)
        first = np.zeros_like(unbegun)
        for group in facts.groups:
            first[group] = unbegun[group] & (np.cumsum(unbegun[group], axis=0) == 1)
        can = self.attended & ~self.busy & (idle > 0)
        # a sitter is not kept waiting for the hands that the rule would leave free
        room = (in_hand < self.rules.in_hand[self.rule]) | np.isfinite(self.due)
        can &= ~unbegun | (first & room)
        limit = self._limit()
        # whoever is held back still keeps the limit that runs from the step before
        can &= now + JUST >= np.minimum(self.held, limit - LIMIT_SPARE)
        length = self.median
        light = self.exposing & can
        self.frame_soon = np.full(len(now), np.inf)
        if light.any():
            length = length.copy()
            plates, rows = np.nonzero(light)
            at = now[rows]
            weather = self.drawn.weather[self.day[rows]] + facts.skies * facts.sorts[plates]
            length[plates, rows] = between(self.drawn.exposure_ends, weather, at) - at
            # false where no exposure can be begun, or its image would fade in want of a frame
            from_now = self._frame_by() - facts.within[facts.take] - length
            can &= ~self.exposing | ((length >= 0.0) & (from_now <= now + JUST))
            waits = np.where(self.exposing & (from_now > now + JUST), from_now, np.inf)
            self.frame_soon = waits.min(axis=0)
        end = now + length
        grace = 0.0 if shop.strict_breaks else BREAK_GRACE
        for low, high in shop.breaks:
            stops = (now < high) & (end > np.where(now < low, low + grace, low))
            can &= ~(stops if shop.strict_breaks else stops & (limit >= high))
        if len(self.takes):
            can &= (now + self.takes >= self.free[:, None] - JUST).all(axis=0)
        taking = self.next == facts.take
        if (taking & can).any():
            can &= ~taking | (self._best_frame() >= 0)
        urgent = (limit - now <= URGENT_MINUTES) & ~self.lost
        minute = np.minimum(np.ceil(now - JUST).astype(np.int64), facts.can_finish.shape[2] - 1)
        sky = self.sky + self.skies * facts.sorts[:, None]
        finishes = facts.can_finish[sky, self.next, minute]
        finishes &= end <= shop.last_minute
        # once out of its frame a plate is gone on with by idle hands: steps may be shorter
        late = ~finishes & (self.next >= facts.free) & (not shop.strict_breaks)
        can &= (end <= shop.last_minute) | late
        can &= urgent | ((finishes | late) & ~self._misses(end, idle, limit))
        rank = self.rank + NEVER * (self.lost | late)
        key = np.where(can, np.where(urgent, limit - now - 1e9, rank), np.inf)
        best = key.argmin(axis=0)
        rows = np.flatnonzero(can.any(axis=0))
        return best[rows], rows

    def _frame_by(self) -> Array:
        """Return when a frame is expected to be free for a plate exposed now, shape (rows,) [min].

        Those exposed before it are served first.
        """
        facts = self.facts
        inside = (self.next > facts.take) & (self.next <= facts.free)
        queue = (self.next > facts.exposed) & (self.next <= facts.take) & ~self.lost
        ripe = np.where(self.busy, self._expected(), self.now)  # or it waits to be taken out
        for kind, table in enumerate(self.drawn.expected_ripe):
            laid = inside & (self.next <= facts.developing) & (self.kind == kind)  # not out yet
            ripe = np.where(laid, between(table, self.sky, self.now), ripe)
        ripe = np.sort(np.where(inside & ~np.isnan(ripe), ripe, np.inf), axis=0)
        place = queue.sum(axis=0) - (facts.frames - inside.sum(axis=0))
        later = ripe[np.clip(place, 0, len(ripe) - 1), np.arange(len(place))]
        later = np.where(place < len(ripe), later, np.inf)
        return np.asarray(np.where(place < 0, self.now, later))

    def _expected(self) -> Array:
        """Return when plates in the light are expected to be ripe, shape (plates, rows) [min].

        One that should be ripe by now and is not will need a part of its time more.
        """
        plates, rows = np.nonzero(self.expected_ripe < self.now)
        expected, now = self.expected_ripe.copy(), self.now[rows]
        lain = now - self.starts[rows, plates, self.facts.developing]
        expected[plates, rows] = now + OVERDUE * lain
        return expected

    def _lost(self) -> Truth:
        """Return the plates whose next block has not begun within its limit, the frame apart."""
        over = (self.next > 0) & (self.now > self.ready + self.within + JUST)
        return np.asarray(over & ~self.busy & (self.next != self.facts.free))

    def _limit(self) -> Array:
        """Return when the next block of every plate must have begun, shape (plates, rows) [min]."""
        limit = np.where(self.next == 0, np.inf, self.ready + self.within)
        return np.minimum(limit, self.due)

    def _misses(self, end: Array, idle: Whole, limit: Array) -> Truth:
        """Say whether these hands would be busy past the last moment for another plate."""
        facts = self.facts
        if self.shop.plates == 1:
            return np.zeros(end.shape, dtype=np.bool_)
        begun = (self.next > 0) | np.isfinite(self.due)
        waiting = ~self.busy & begun & (self.next < facts.count) & ~self.lost
        in_light = self.busy & (self.next - 1 == facts.developing)
        deadline = np.where(waiting, limit, np.inf)
        deadline = np.where(in_light, self._expected() + facts.within[facts.free], deadline)
        soonest = deadline.argmin(axis=0)
        rows = np.arange(end.shape[1])
        others = np.broadcast_to(deadline[soonest, rows], end.shape).copy()
        deadline[soonest, rows] = np.inf
        others[soonest, rows] = deadline.min(axis=0)
        return np.asarray((idle <= 1) & (end > others))

    def _best_frame(self) -> Whole:
        """Return, for each row, the free frame that would be ripe first; -1 for none.

        Where a plate is expected to be ripe in none it is put into any, in hope.
        """
        facts = self.facts
        inside = (self.next > facts.take) & (self.next <= facts.free)
        best = np.full(len(self.now), -1, dtype=np.int64)
        first = np.full(len(self.now), np.inf)
        ripes = [between(table, self.sky, self.now) for table in self.drawn.expected_ripe]
        dark = np.isnan(ripes).all(axis=0)
        for kind, (count, ripe) in enumerate(zip(self.shop.frame_counts, ripes, strict=True)):
            free = (inside & (self.kind == kind)).sum(axis=0) < count
            better = free & (np.where(dark, NEVER, ripe) < first)
            best, first = np.where(better, kind, best), np.where(better, ripe, first)
        return best

    def begin(self, plates: Whole, rows: Whole) -> Truth:
        """Begin the chosen blocks now; say where no hands are left for another."""
        facts, block, now = self.facts, self.next[plates, rows], self.now[rows]
        over = now - self.ready[plates, rows] - facts.within[block]
        over = np.where(block == 0, 0.0, np.maximum(over, 0.0))
        out = block == facts.free
        for limit, here in ((self.late, ~out), (self.lay_ripe, out)):
            at = (plates[here], rows[here])
            limit[at] = np.maximum(limit[at], over[here])
        takes = block == facts.take
        if takes.any():
            self.kind[plates[takes], rows[takes]] = self._best_frame()[rows[takes]]
        self.expected_ripe[plates[out], rows[out]] = np.inf
        self.starts[rows, plates, block] = now
        length = self._lengths(plates, rows, block, now)
        until = now + length + self._stands_in_line(plates, rows, length)
        self.until[plates, rows] = until
        self.busy[plates, rows] = True
        self.next[plates, rows] += 1
        self._moved(plates, rows)
        self.idle[rows] -= 1
        none_left = (self.idle[rows] == 0) & (until > now + JUST)
        self.frame_soon[rows[none_left]] = np.inf
        return np.asarray(none_left)

    def _see_rooms(self, rows: Whole | slice) -> None:
        """Note when each room takes one more plate, shape (rooms, rows) [min]."""
        leaves = self.leaves[:, :, rows]
        if isinstance(rows, slice):
            self.free = np.empty((len(leaves), leaves.shape[2]))
        for room, count in enumerate(self.facts.room_counts):
            if count == 1:
                free = leaves[room].max(axis=0)
            elif count > leaves.shape[1]:
                free = np.full(leaves.shape[2], -np.inf)
            else:
                free = np.partition(leaves[room], -count, axis=0)[-count]
            self.free[room, rows] = free

    def _stands_in_line(self, plates: Whole, rows: Whole, length: Array) -> Array:
        """Take hold of rooms in blocks that begin now; return what waiting for them costs [min]."""
        block, now = (self.facts.sorts[plates], self.next[plates, rows]), self.now[rows]
        wait = np.zeros(len(rows))
        for room, (take, leave) in enumerate(self.facts.rooms):
            here = leave[block] > 0.0
            if not here.any():
                continue
            at, long = (plates[here], rows[here]), length[here]
            begins = now[here] + wait[here] + take[block][here] * long
            behind = np.fmax(self.free[room, rows[here]] - begins, 0.0)
            # a plan lies on whole minutes
            wait[here] += np.ceil(behind - JUST) if self.shop.strict_breaks else behind
            gone = now[here] + wait[here] + leave[block][here] * long
            self.leaves[room][at] = np.where(np.isnan(gone), np.inf, gone)
        self._see_rooms(rows)
        return wait

    def advance(self, rows: Truth) -> None:
        """Move the clocks of the rows in which nothing can be begun to their next event."""
        now = self.now
        event = np.where(self.busy & (self.until > now), self.until, np.inf).min(axis=0)
        waiting = ~self.busy & (self.next < self.facts.count)
        held = np.minimum(self.held, self._limit() - LIMIT_SPARE)
        back = waiting & (held > now + JUST)
        held = np.where(back, held, np.inf).min(axis=0)
        # who waits beside idle hands without being held back waits for light or a frame: look again
        look = (waiting & ~back).any(axis=0) & (self.idle > 0)
        poke = np.where(look, now + POKE_MINUTES, np.inf)
        soon = np.where(self.frame_soon > now + JUST, self.frame_soon, np.inf)
        event = np.minimum(np.minimum(np.minimum(event, held), poke), soon)
        if len(self.takes):
            free = self.free - np.where(waiting, self.takes, np.inf).min(axis=1)
            event = np.minimum(event, np.where(free > now + JUST, free, np.inf).min(axis=0))
        for high in (*(high for _, high in self.shop.breaks), *self.facts.opens):
            event = np.where(now < high - JUST, np.minimum(event, high), event)
        self.now = np.where(rows, np.minimum(event, self.shop.last_minute + 1.0), now)

    def keep(self, rows: Truth) -> None:
        """Go on with these rows alone."""
        for name in ("rule", "day", "sky", "now", "out", "starts", "ends"):
            setattr(self, name, getattr(self, name)[rows])
        for name in BY_PLATE:
            setattr(self, name, getattr(self, name)[..., rows])


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
    shape = (total, shop.plates)
    starts = np.full((*shape, facts.count), np.nan)
    ends = np.full((*shape, facts.count), np.nan)
    frame = np.full(shape, -1, dtype=np.int64)
    late, lay_ripe = np.zeros(shape), np.zeros(shape)
    wanted = np.arange(total)
    if like is not None:
        same = ~np.isfinite(like.minute.ravel())
        day = wanted[same] % drawn.days
        starts[same], ends[same] = like.usual.starts[0, day], like.usual.ends[0, day]
        frame[same] = like.usual.frame_kind[0, day]
        late[same], lay_ripe[same] = like.usual.late[0, day], like.usual.lay_ripe[0, day]
        wanted = wanted[~same]
    for low in range(0, len(wanted), ROWS_AT_ONCE):
        rows_now = wanted[low : low + ROWS_AT_ONCE]
        state = _Rows(shop, facts, rules, drawn, rows_now, like)
        while len(state.now):
            state.complete()
            plates, rows = state.choose()
            stuck = np.ones(len(state.now), dtype=np.bool_)
            if len(rows):
                stuck[rows] = state.begin(plates, rows)
            state.advance(stuck)
            over = state.now > shop.last_minute + JUST
            if over.all() or over.mean() > 0.2 or (over.any() and len(over) < 64):
                at = rows_now[state.out[over]]
                starts[at], ends[at] = state.starts[over], state.ends[over]
                frame[at] = state.kind[:, over].T
                late[at], lay_ripe[at] = state.late[:, over].T, state.lay_ripe[:, over].T
                state.keep(~over)
    split = (len(rules), drawn.days, shop.plates)
    return Runs(
        starts.reshape(*split, facts.count),
        ends.reshape(*split, facts.count),
        frame.reshape(split),
        late.reshape(split),
        lay_ripe.reshape(split),
    )
