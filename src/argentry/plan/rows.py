"""The state of days that are played side by side; one row is one rule on one day.

What a plate needs next is looked up once, when it begins to wait, and what has happened is written
to where it stays. So an event costs little more than the plates that it touches.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from argentry.plan.shop import between

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.shop import Begun, Drawn, Rules, Runs, Shop
    from argentry.plan.shop_facts import ShopFacts


Kind = TypeVar("Kind", bound=np.generic)

LIMIT_SPARE = 1.0  # nobody who waits on purpose waits to the last minute of a limit
JUST = 1e-9
OVERDUE = 0.25  # of its time: what a plate needs more that should be ripe and is not
ROUNDED = 1.0  # what usual lengths may lose where they lie on whole minutes [min]
# What is known of a plate that waits for hands: since when it waits, its limit, how long its next
# block usually takes, its rank; and, infinite of every other, until when it is held back, when it
# is lost, until when hands must be free for it (also one in the light), and when its next block
# takes hold of each room.
READY, LIMIT, MEDIAN, RANK, HOLD, LOSE, DEADLINE, TAKES = range(8)
BY_ROW = ("rule", "day", "sky", "out", "now", "idle", "in_hand", "most", "hands_until")
BY_PLATE = ("next", "until", "busy", "kind", "expected_ripe", "lit", "may", "begun")


@dataclass(frozen=True)
class Branch:
    """What is known of runs before they are played: each is like another one up to a moment.

    Attributes
    ----------
    usual : Runs
        On the same days.
    minute : Floats, shape (rules, days)
        Blocks that begin before it are as in `usual`; infinite: the whole run is. [min]
    of : Whole, shape (rules,), or None
        Which of the rules of `usual` each is like; None: all are like the first.
    """

    usual: Runs
    minute: Floats
    of: Whole | None = None

    def known(self, values: NDArray[Kind], rule: Whole, day: Whole) -> NDArray[Kind]:
        """Return values of `usual`, by rule and day, for the runs that are like them."""
        return np.asarray(values[0 if self.of is None else self.of[rule], day])


class Rows:
    """Days that are still running.

    Arrays are flat, one plate of all rows after the other, so that one index finds a plate of a
    row; seen as (plates, rows) by `grid`.

    Parameters
    ----------
    shop, facts, rules, drawn
        As of `argentry.plan.dispatch.play`.
    row : Whole
        Rule and day of each row as one number.
    runs : Runs
        What happens is written to it; one rule, all rows as its days.
    like : Branch or None
        How the rows began.
    """

    def __init__(
        self,
        shop: Shop,
        facts: ShopFacts,
        rules: Rules,
        drawn: Drawn,
        row: Whole,
        runs: Runs,
        like: Branch | None = None,
    ) -> None:
        self.shop, self.facts, self.rules, self.drawn = shop, facts, rules, drawn
        rows = len(row)
        shape = (shop.plates, rows)
        self.rule, self.day = np.divmod(row, drawn.days)
        self.out = row * shop.plates
        self.minutes = np.ascontiguousarray(drawn.minutes).ravel()
        self.starts, self.ends = runs.starts.reshape(-1), runs.ends.reshape(-1)
        self.frame, self.late = runs.frame_kind.reshape(-1), runs.late.reshape(-1)
        self.lay_ripe = runs.lay_ripe.reshape(-1)
        # how many skies the maker tells apart, and which one each day has
        self.skies = len(drawn.expected_exposures) // len(shop.routes)
        several = self.skies > 1
        self.sky = drawn.weather[self.day] if several else np.zeros(rows, dtype=np.int64)
        self.now = np.full(rows, float(shop.first_minute))
        self.most = rules.in_hand[self.rule]
        self.next = np.zeros(shape, dtype=np.int64)
        self.until = np.full(shape, np.inf)
        self.busy = np.zeros(shape, dtype=np.bool_)
        self.kind = np.full(shape, -1, dtype=np.int64)
        self.expected_ripe, self.lit = np.full(shape, np.inf), np.zeros(shape)
        self.leaves = np.full((len(facts.rooms), *shape), -np.inf)
        ready = np.full(shape, float(shop.first_minute))
        if like is not None:
            self._branch_off(like, row, runs, ready)
        elif shop.begun is not None:
            self._go_on(shop.begun, row, runs, ready)
        self._look_ahead(ready)

    def grid(self, values: NDArray[Kind]) -> NDArray[Kind]:
        """Return values by plate and row."""
        return values.reshape(self.shop.plates, len(self.now))

    def _flat(self) -> None:
        for name in BY_PLATE:
            setattr(self, name, np.ascontiguousarray(getattr(self, name)).reshape(-1))

    # -- where the rows begin -----------------------------------------------------------------

    def _look_ahead(self, ready: Floats) -> None:
        """Note what every plate needs next."""
        facts, shape = self.facts, ready.shape
        self.begun = self.next > 0
        hands = self.busy & facts.attended[self.next - 1]
        self.idle = self.shop.workers - hands.sum(axis=0)
        self.hands_until = np.where(hands, self.until, np.inf).min(axis=0)
        over = (self.next == facts.count) & ~self.busy
        self.in_hand = self.begun.sum(axis=0) - over.sum(axis=0)
        waits = ~self.busy & (self.next < facts.count)
        in_light = self.busy & (self.next - 1 == facts.developing)
        self.may = np.zeros(shape, dtype=np.bool_)
        self._flat()
        self.looks = np.full((TAKES + len(facts.rooms), ready.size), np.inf)
        self.looks[DEADLINE] = np.where(
            in_light.reshape(-1), self.expected_ripe + facts.within[facts.free], np.inf
        )
        for attended in (True, False):
            at = np.flatnonzero(waits.reshape(-1) & (facts.attended[self.next] == attended))
            plates, rows = np.divmod(at, shape[1])
            if attended:
                self.wait_for_hands(at, plates, rows, ready.reshape(-1)[at])
            else:
                self.begin_wait(at, plates, rows, ready.reshape(-1)[at])
        # of plates that are like each other the first is begun first
        fresh = ~self.begun.reshape(shape)
        for group in facts.groups:
            first = fresh[group] & (np.cumsum(fresh[group], axis=0) == 1)
            self.may.reshape(shape)[group] &= first | ~fresh[group]
        self.free = np.empty((len(facts.rooms), shape[1]))
        self.see_rooms(np.arange(shape[1]))

    def _go_on(self, begun: Begun, row: Whole, runs: Runs, ready: Floats) -> None:
        """Take up the day where its plates stand."""
        facts = self.facts
        rows = np.arange(len(self.now))
        runs.starts[0, row], runs.ends[0, row] = begun.starts, begun.ends
        runs.frame_kind[0, row] = begun.frame_kind
        self.kind[:] = begun.frame_kind[:, None]
        self.next[:] = np.isfinite(begun.starts).sum(axis=1)[:, None]
        for plate, done in enumerate(self.next[:, 0]):
            if done == 0:
                continue
            last, at = int(done) - 1, np.full(len(rows), plate)
            if np.isfinite(begun.ends[plate, last]):
                ready[plate] = begun.ends[plate, last]
                if done < facts.count and not facts.attended[done]:
                    # what nobody has begun yet begins now, not when it might have
                    ready[plate] = np.maximum(ready[plate], self.shop.first_minute)
                continue
            start = np.full(len(rows), begun.starts[plate, last])
            end = start + self.lengths(at, rows, np.full(len(rows), last), start)
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
                self.lit[plate] = start

    def _holds_on(self, block: Whole, plates: Whole, rows: Whole, start: Floats) -> None:
        """Note until when blocks that are running hold their rooms."""
        until = self.until[plates, rows]
        for room, (_, leave) in enumerate(self.facts.rooms):
            part = leave[self.facts.sorts[plates], block]
            held = part > 0.0
            length = np.where(np.isinf(until), 0.0, until - start)
            gone = np.where(np.isinf(until), np.inf, start + part * length)
            self.leaves[room][plates[held], rows[held]] = gone[held]

    def _branch_off(self, like: Branch, row: Whole, runs: Runs, ready: Floats) -> None:
        """Take up each day at its own moment, as another rule had played it until then."""
        facts = self.facts
        now = like.minute.ravel()[row]
        usual = like.usual
        starts, ends, kinds = (
            like.known(usual.starts, self.rule, self.day),
            like.known(usual.ends, self.rule, self.day),
            like.known(usual.frame_kind, self.rule, self.day),
        )
        begun = starts < now[:, None, None]
        over = begun & (ends <= now[:, None, None])
        self.now = now
        runs.starts[0, row] = np.where(begun, starts, np.nan)
        runs.ends[0, row] = np.where(over, ends, np.nan)
        self.next = begun.sum(axis=2).T
        ended = over.sum(axis=2).T
        self.busy = self.next > ended
        plates, rows = np.indices(self.next.shape)
        last = np.maximum(self.next - 1, 0)
        until = ends[rows, plates, last]
        until = np.where(np.isnan(until), np.inf, until)
        self.until = np.where(self.busy, until, np.inf)
        ready[:] = np.where(
            ended > 0, ends[rows, plates, np.maximum(ended - 1, 0)], self.shop.first_minute
        )
        self.kind = np.where(self.next > facts.take, kinds.T, -1)
        runs.frame_kind[0, row] = self.kind.T
        gap = starts[:, :, 1:] - ends[:, :, :-1] - facts.within[1:-1]
        late = np.where(begun[:, :, 1:], np.maximum(gap, 0.0), 0.0)
        runs.lay_ripe[0, row] = late[:, :, facts.free - 1]
        late[:, :, facts.free - 1] = 0.0
        runs.late[0, row] = late.max(axis=2)
        at = np.nonzero(self.busy)
        begun_at = starts[at[1], at[0], last[at]]
        self._holds_on(last[at], at[0], at[1], begun_at)
        lit = self.busy & (self.next - 1 == facts.developing)
        for kind, table in enumerate(self.drawn.expected_ripe):
            at = np.nonzero(lit & (self.kind == kind))
            self.lit[at] = start = starts[at[1], at[0], facts.developing]
            ripe = between(table, self.sky[at[1]], start)
            ripe = np.where(np.isinf(self.until[at]) | np.isnan(ripe), np.inf, ripe)
            self.expected_ripe[at] = ripe

    # -- what happens -------------------------------------------------------------------------

    def wait_for_hands(self, at: Whole, plates: Whole, rows: Whole, since: Floats) -> None:
        """Look up the next block of plates that begin to wait for hands."""
        facts, after = self.facts, self.next.take(at)
        block = (self.rule.take(rows) * self.shop.plates + plates) * facts.count + after
        sort = (
            facts.sorts.take(plates) * (facts.count + 1) + after if len(facts.median) > 1 else after
        )
        by = since + facts.within.take(after)
        limit = np.minimum(by, facts.due.take(sort)) if facts.sitters else by
        found = np.empty((len(self.looks), len(at)))
        found[READY], found[LIMIT] = since, limit
        found[DEADLINE] = np.minimum(by, facts.free_by.take(sort)) if facts.sitters else by
        found[HOLD] = np.minimum(self.rules.not_before.take(block), limit - LIMIT_SPARE)
        if self.drawn.held_back is not None:
            held = np.where(after == 0, self.drawn.held_back[self.day[rows], plates], -np.inf)
            found[HOLD] = np.maximum(found[HOLD], held)
        found[LOSE] = np.where(after == facts.free, np.inf, limit)
        found[MEDIAN] = facts.median.take(sort)
        found[RANK] = self.rules.priority.take(block)
        for room, soon in enumerate(facts.taken_after, TAKES):
            found[room] = soon.take(sort)
        self.looks[:, at] = found
        self.may[at] = True

    def begin_wait(self, at: Whole, plates: Whole, rows: Whole, start: Floats) -> Floats:
        """Begin what needs no hands; return until when it lasts, infinite where it never ends."""
        facts, block = self.facts, self.next[at]
        length = self.lengths(plates, rows, block, start)
        until = np.where(np.isnan(length), np.inf, start + length)
        self.starts[self.block(plates, rows, block)] = start
        self.until[at], self.busy[at] = until, True
        self.next[at] += 1
        light = block == facts.developing
        for kind, table in enumerate(self.drawn.expected_ripe):
            here = np.flatnonzero(light & (self.kind[at] == kind))
            if not here.size:
                continue
            # one that is never ripe is waited for in vain, but no hands are kept free for it
            ripe = between(table, self.sky[rows[here]], start[here])
            ripe = np.where(np.isnan(length[here]) | np.isnan(ripe), np.inf, ripe)
            self.expected_ripe[at[here]], self.lit[at[here]] = ripe, start[here]
            self.looks[DEADLINE, at[here]] = ripe + facts.within[facts.free]
        return until

    def block(self, plates: Whole, rows: Whole, block: Whole) -> Whole:
        """Return where the start and the end of blocks are written."""
        return np.asarray((self.out.take(rows) + plates) * self.facts.count + block)

    def lengths(self, plates: Whole, rows: Whole, blocks: Whole, start: Floats) -> Floats:
        """Return how long blocks begun then really last, NaN where they never end [min]."""
        facts, day = self.facts, self.day.take(rows)
        out = self.minutes.take((day * self.shop.plates + plates) * facts.count + blocks)
        light = facts.exposing.take(blocks).nonzero()[0]
        if light.size:
            weather = facts.by_sort(self.drawn.weather.take(day.take(light)), plates, light)
            begin = start.take(light)
            out[light] = between(self.drawn.exposure_ends, weather, begin) - begin
        developing = blocks == facts.developing
        if developing.any():
            lies = self.kind.take(plates * len(self.now) + rows)
            for kind in range(len(self.shop.frame_counts)):
                here = np.flatnonzero(developing & (lies == kind))
                if here.size:
                    plate, at = plates[here], start[here]
                    exposed = np.full(len(here), facts.exposed)
                    waited = at - self.ends[self.block(plate, rows[here], exposed)]
                    out[here] = self.drawn.ripe(kind, day[here], plate, at, waited) - at
        return np.asarray(out)

    def expected(self, rows: Whole) -> Floats:
        """Return when plates in the light are expected to be ripe, shape (plates, rows) [min].

        One that should be ripe by now and is not will need a part of its time more.
        """
        expected = self.of(self.expected_ripe, rows)
        plate, row, again = self.overdue(rows)
        expected[plate, row] = again
        return expected

    def overdue(self, rows: Whole) -> tuple[Whole, Whole, Floats]:
        """Return which plates should be ripe by now, in which rows, and when they are now [min]."""
        now = self.now.take(rows)
        plate, row = (self.of(self.expected_ripe, rows) < now).nonzero()
        if not plate.size:
            return plate, row, np.zeros(0)
        lain = now[row] - self.of(self.lit, rows)[plate, row]
        return plate, row, now[row] + OVERDUE * lain

    def of(self, values: NDArray[Kind], rows: Whole) -> NDArray[Kind]:
        """Return values by plate and some of the rows."""
        return self.grid(values).take(rows, axis=1)

    def see_rooms(self, rows: Whole) -> None:
        """Note when each room takes one more plate, shape (rooms, rows) [min]."""
        for room, count in enumerate(self.facts.room_counts):
            leaves = self.leaves[room].take(rows, axis=1)
            if count == 1:
                free = leaves.max(axis=0)
            elif count > len(leaves):
                free = np.full(len(rows), -np.inf)
            else:
                free = np.partition(leaves, -count, axis=0)[-count]
            self.free[room, rows] = free

    def lost_days(self) -> Truth:
        """Say on which rows not all plates can be finished cleanly any more."""
        facts, shop, plates = self.facts, self.shop, self.shop.plates
        late, lay_ripe = self.late.reshape(-1, plates), self.lay_ripe.reshape(-1, plates)
        out = self.out // plates
        lost = ((late[out] > 0.0) | (lay_ripe[out] > 0.0)).any(axis=1)
        after, sorts = self.grid(self.next), facts.sorts[:, None]
        minute = np.minimum(np.maximum(self.now, 0.0).astype(np.int64), int(shop.last_minute))
        finishes = facts.can_finish[self.sky + self.skies * sorts, after, minute]
        # where no exposure can be begun the light may come up later
        waits = ~self.grid(self.busy) & (after < facts.count) & ~facts.exposing[after]
        lost |= (waits & ~finishes).any(axis=0)
        hours = shop.last_minute - self.now
        for low, high in shop.breaks if shop.strict_breaks else ():
            hours = hours - np.maximum(high - np.maximum(low, self.now), 0.0)
        work = facts.work_left[sorts, after].sum(axis=0)
        return np.asarray(lost | (work > shop.workers * hours + ROUNDED))

    def keep(self, rows: Whole) -> None:
        """Go on with these rows alone."""
        plates, looks = self.shop.plates, len(self.looks)
        for name in BY_PLATE:
            values = getattr(self, name).reshape(plates, -1)
            setattr(self, name, values.take(rows, axis=1).reshape(-1))
        self.looks = self.looks.reshape(looks, plates, -1).take(rows, axis=2).reshape(looks, -1)
        self.leaves, self.free = self.leaves.take(rows, axis=2), self.free.take(rows, axis=1)
        for name in BY_ROW:
            setattr(self, name, getattr(self, name).take(rows))
