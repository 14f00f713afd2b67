"""A sensible maker plays a day: a plain event loop that knows only what she would know.

In words: she keeps to the order of the sheet and begins a plate when the sheet says, not sooner;
the other work she takes up as soon as hands and rooms are free. She does not take up what would
make something else spoil before her hands are free again; then she does first what spoils soonest.
A plate goes into the frame in which it is ripe first if the sky stays as it was in the last hour.
It is taken out when it is ripe, as soon as hands are free. She exposes by the meter, where the
light is good enough and a frame will be free before the image fades. She begins no plate that she
does not expect to finish. She eats up to ten minutes late, and works through the meal only for
what would spoil. What has spoilt she lays aside.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass

import numpy as np

from argentry.records.day import URGENT_MINUTES
from benchmarks.plan_judge.setting import GRACE, NEVER, reach

SEEN = 60.0  # minutes of sky by which a frame is chosen


@dataclass(frozen=True)
class Sheet:
    """What she goes by: the order of work, when each plate may begin, how many in hand at most."""

    order: np.ndarray  # (plates, works): the smallest first
    not_before: np.ndarray  # (plates,)
    in_hand: int
    due_first: bool = False  # what spoils soonest goes first, whatever the order says
    urgent: float = 0.0  # minutes: what has less left than this goes first, the soonest of them
    held: tuple | None = None  # (plate, work, minute): not begun before it
    further: tuple | None = None  # (plate, work, minute): when it is done by then, the last plate


@dataclass(frozen=True)
class Played:
    starts: np.ndarray  # (plates, works), NaN where never begun
    ends: np.ndarray
    spoilt: np.ndarray  # (plates,) a limit was overrun or the light failed
    lay_ripe: np.ndarray  # (plates,) minutes over the limit in the frame: a card saves the plate
    needed: np.ndarray  # (plates,) minutes before the camera that the plate really needed

    def good(self, last):
        """Plates finished in time with every limit held, the card over the frame allowed."""
        return (self.ends[:, -1] <= last + 1e-6) & ~self.spoilt


class _Day:
    def __init__(self, setting, truth, sheet):
        self.s, self.t, self.sheet = setting, truth, sheet
        plates, works = sheet.order.shape
        self.plates, self.works = range(plates), works
        self.next = [0] * plates
        self.ready = [0.0] * plates
        self.busy = [False] * plates
        self.spoilt = [False] * plates
        self.kind = [0] * plates
        self.laid = [0.0] * plates
        self.starts = np.full((plates, works), np.nan)
        self.ends = np.full((plates, works), np.nan)
        self.lay = np.zeros(plates)
        self.needed = np.full(plates, np.nan)
        self.hands = setting.workers
        self.running = {}  # plate -> expected end of attended work
        self.rooms = {}
        self.frames = [0] * len(setting.frames)
        self.heap, self.number = [], 0
        self.turn = sorted(self.plates, key=lambda p: (sheet.order[p, 0], p))

    def push(self, minute, plate=-1):
        if math.isfinite(minute):
            self.number += 1
            heapq.heappush(self.heap, (minute, self.number, plate))

    def play(self):
        s = self.s
        for minute in (s.first, *self.sheet.not_before, *(high for _, high in s.breaks)):
            self.push(max(minute, s.first))
        if self.sheet.held:
            self.push(self.sheet.held[2])
        while self.heap:
            now = self.heap[0][0]
            if now >= s.last and not self.running:
                break
            while self.heap and self.heap[0][0] <= now + 1e-9:
                plate = heapq.heappop(self.heap)[2]
                if plate >= 0:
                    self.end(plate, now)
            while self.hands and now < s.last and self.take_up(now):
                pass
        spoilt = np.array(self.spoilt)
        return Played(self.starts, self.ends, spoilt, self.lay, self.needed)

    # what happens

    def end(self, plate, now):
        index = self.next[plate]
        self.ends[plate, index] = now
        self.busy[plate] = False
        self.ready[plate] = now
        self.next[plate] = index + 1
        if plate in self.running:
            del self.running[plate]
            self.hands += 1
        if index + 1 < self.works and not self.s.works[index + 1].attended:
            self.by_itself(plate, now)

    def by_itself(self, plate, now):
        index = self.next[plate]
        self.starts[plate, index] = now
        self.busy[plate] = True
        if self.s.works[index].kind == "development":
            kind = self.kind[plate]
            self.laid[plate] = now
            end = self.ripe(plate, kind, now)
        else:
            end = now + sum(self.t.lengths[plate][index])
        self.push(end, plate)

    def ripe(self, plate, kind, now):
        waited = now - self.ends[plate, self.s.exposing]  # the image fades, and needs more light
        dose = self.t.doses[plate][kind] * math.exp(self.s.fading * waited)
        return reach(self.t.behind[kind], now, dose)

    def begin(self, plate, now):
        index = self.next[plate]
        work = self.s.works[index]
        self.starts[plate, index] = now
        self.busy[plate] = True
        self.hands -= 1
        if work.kind == "exposure":
            end = reach(self.t.light, now, self.t.metered)
            self.needed[plate] = reach(self.t.light, now, self.t.needed[plate]) - now
            if not end - now <= self.s.longest:
                self.spoilt[plate] = True
                end = now + self.s.longest
            for room, *_ in work.rooms:
                self.rooms[room] = end
        else:
            end = now
            held = {low: room for room, low, _ in work.rooms}
            left = {high: room for room, _, high in work.rooms}
            for step, minutes in enumerate(self.t.lengths[plate][index]):
                if step in held:  # somebody else is still at it: wait beside it
                    end = max(end, self.rooms.get(held[step], -NEVER))
                end += minutes
                if step in left:
                    self.rooms[left[step]] = end
        if index == self.s.take:
            self.kind[plate] = self.frame_for(now, now + self.s.needs(index, now))
            self.frames[self.kind[plate]] += 1
        if index == self.s.free:
            self.frames[self.kind[plate]] -= 1
            limit = work.within if work.within is not None else NEVER
            self.lay[plate] = max(now - self.ready[plate] - limit, 0.0)
        self.running[plate] = now + self.s.needs(index, now)
        self.push(end, plate)

    # what she knows and decides

    def deadline(self, plate):
        """Latest minute at which the plate's next work may begin."""
        index = self.next[plate]
        within = self.s.works[index].within if index else None
        return NEVER if within is None else self.ready[plate] + within

    def expected_ripe(self, plate, now):
        """When she expects a plate in its frame to be ripe; overdue: a fifth longer than so far."""
        laid = self.laid[plate]
        expected = self.s.at(self.s.ripe[self.kind[plate]], laid)
        return expected if expected > now else now + 0.2 * (now - laid)

    def frame_for(self, now, minute):
        """Of the free frames the one in which a plate put out then is ripe first by this sky."""
        free = [k for k, most in enumerate(self.s.frames) if self.frames[k] < most]
        sky = self.sky(now) if len(free) > 1 else 1.0
        return min(free, key=lambda k: self.s.ripe_under(k, minute, sky))

    def sky(self, now):
        """Light of the last hour as a share of what was expected of it."""
        grid, low = np.arange(len(self.s.light)), max(now - SEEN, 0.0)
        came, expected = (
            float(np.diff(np.interp([low, now], grid, sums))[0])
            for sums in (self.t.light, self.s.light)
        )
        return came / expected if expected > 0.0 else 1.0

    def frame_by(self, plate, now):
        """When a frame will be free for this plate, those exposed before it served first."""
        take, free = self.s.take, self.s.free
        times, waiting = [now] * (sum(self.s.frames) - sum(self.frames)), 0
        for p in self.plates:
            put, out = (not math.isnan(self.starts[p, i]) for i in (take, free))
            if out:
                continue
            if not put:
                exposed = not math.isnan(self.starts[p, self.s.exposing])
                waiting += exposed and p != plate and not self.spoilt[p]
            elif not math.isnan(self.ends[p, free - 1]):
                times.append(now)
            elif self.next[p] == take:
                times.append(self.s.at(self.s.ripe[self.kind[p]], now))
            else:
                times.append(self.expected_ripe(p, now))
        times.sort()
        return times[waiting] if waiting < len(times) else NEVER

    def obligations(self, plate, until, now):
        """Latest starts of what else will want hands before `until`."""
        found = []
        for p in self.plates:
            if p == plate or self.spoilt[p] or not 0 < self.next[p] < self.works:
                continue
            index = self.next[p]
            if self.busy[p]:
                if self.s.works[index].kind != "development":
                    continue
                ripe = self.expected_ripe(p, now)
                within = self.s.works[index + 1].within
                if within is not None and ripe < until:
                    found.append(ripe + within)
            elif self.s.at(self.s.straight[index], now) <= self.s.last:
                # what cannot begin for want of a frame wants no hands yet
                if index == self.s.take and sum(self.frames) >= sum(self.s.frames):
                    continue
                found.append(self.deadline(p))
        return sorted(d for d in found if d < until)

    def endangers(self, plate, now):
        """When taking this up would make something else spoil: its latest start, else inf."""
        until = now + self.s.needs(self.next[plate], now)
        free = self.hands - 1
        for rank, latest in enumerate(self.obligations(plate, until, now)):
            hands = free + sum(1 for end in self.running.values() if end <= latest)
            if hands <= rank:
                return latest
        return NEVER

    def may(self, plate, now):  # noqa: PLR0911
        """Whether the plate's next work can begin now; notes what has spoilt."""
        s, index = self.s, self.next[plate]
        if self.busy[plate] or self.spoilt[plate] or index >= self.works:
            return False
        work = s.works[index]
        deadline = self.deadline(plate)
        if now > deadline + 1e-6 and index != s.free:
            self.spoilt[plate] = True
            return False
        held = self.sheet.held
        if held and held[0] == plate and held[1] == index and now < held[2] - 1e-9:
            return False
        if index == 0 and not self.may_begin(plate, now):
            return False
        needs = s.needs(index, now)
        if work.kind == "exposure":
            if not math.isfinite(needs):
                later = np.flatnonzero(np.isfinite(s.pose[math.floor(now) + 1 :]))
                if later.size:
                    self.push(math.floor(now) + 1 + int(later[0]))
                return False
            within = s.works[s.take].within
            if within is not None and self.frame_by(plate, now) > now + needs + within:
                return False
        if index == s.take and sum(self.frames) >= sum(s.frames):
            return False
        offset = 0.0
        for room, low, _ in work.rooms:
            offset = 0.0 if work.kind == "exposure" else sum(m for m, _ in work.steps[:low])
            free = self.rooms.get(room, -NEVER)
            if free > now + offset + 1e-6:
                self.push(free - offset)
                return False
        for low, high in s.breaks:
            eats = low - 1e-6 <= now < high - 1e-6 or now < low < now + needs - GRACE
            if eats and deadline >= high:
                return False
        return True

    def may_begin(self, plate, now):
        s = self.s
        if now < max(self.sheet.not_before[plate], s.first) - 1e-9:
            return False
        if self.sheet.further and plate == self.plates[-1]:
            other, work, until = self.sheet.further
            if np.isnan(self.ends[other, work]) or now > until + 1e-6:
                return False
        waiting = [p for p in self.turn if np.isnan(self.starts[p, 0]) and not self.spoilt[p]]
        if waiting and waiting[0] != plate:
            return False
        inside = [
            p for p in self.plates
            if not np.isnan(self.starts[p, 0]) and self.next[p] < self.works and not self.spoilt[p]
        ]  # fmt: skip
        if len(inside) >= self.sheet.in_hand:
            return False
        # she counts the hands-on minutes of every plate in hand, and how long this one takes
        work = sum(
            w.minutes for p in (*inside, plate) for w in s.works[self.next[p] :] if w.attended
        )
        pauses = sum(max(high - max(low, now), 0.0) for low, high in s.breaks)
        done = max(s.at(s.straight[0], now), now + pauses + work / s.workers)
        return done <= s.last

    def take_up(self, now):
        able = [p for p in self.plates if self.may(p, now)]
        if not able:
            return False

        def place(p):
            index = self.next[p]
            lost = self.s.at(self.s.straight[index], now) > self.s.last
            if self.sheet.due_first:
                return (lost, self.deadline(p), -index, p)
            left = self.deadline(p) - now
            return (lost, *((0, left) if left <= self.sheet.urgent else (1, 0.0)),
                    self.sheet.order[p, index], p)  # fmt: skip

        able.sort(key=place)
        soonest = NEVER
        for plate in able:
            latest = self.endangers(plate, now)
            if latest == NEVER:
                self.begin(plate, now)
                return True
            soonest = min(soonest, latest)
        # all of it endangers something: what spoils soonest goes first, unless it is still to come
        plate = min(able, key=self.deadline)
        if self.deadline(plate) <= soonest:
            self.begin(plate, now)
            return True
        self.push(now + 5.0)
        return False


def play(setting, truth, sheet):
    """Play one day by a sheet."""
    return _Day(setting, truth, sheet).play()


def by_plan(starts):
    """Return the sheet of a plan."""
    starts = np.asarray(starts, float)
    return Sheet(starts, starts[:, 0], len(starts), urgent=URGENT_MINUTES)


def as_printed(plan):
    """Return the sheet of a plan with the plate more that it names for a day that goes well."""
    sheet, one = by_plan(plan.starts), plan.further
    if one is None:
        return sheet
    last = sheet.order.max() + 1.0 + np.arange(sheet.order.shape[1])
    if one.follows >= 0:
        last = sheet.order[one.follows] + one.behind
    return Sheet(
        np.vstack([sheet.order, last]), np.append(sheet.not_before, 0.0), sheet.in_hand + 1,
        urgent=sheet.urgent, further=(one.plate, one.block, one.until),
    )  # fmt: skip


def by_thumb(setting, plates):
    """Return four rules of thumb as sheets, by name."""
    plate = np.arange(plates)[:, None] + np.zeros(len(setting.works))
    work = np.arange(len(setting.works)) + np.zeros((plates, 1))
    soon = np.zeros(plates)
    return {
        "one by one": Sheet(plate * 100 + work, soon, 1),
        "all polished first": Sheet(work * 100 + plate, soon, plates),
        "two in hand": Sheet(plate * 100 + work, soon, 2),
        "earliest due": Sheet(plate * 100 + work, soon, plates, due_first=True),
    }
