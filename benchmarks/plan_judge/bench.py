"""A day at the bench, step by step: what hands do, what befalls plates, who is asked what next.

The bench knows hands, frames, rooms, breaks and limits; a maker says which plate to take up. Only
what has come to pass is shown to her.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np

from benchmarks.plan_judge.setting import GRACE, NEVER, reach

METER, PATIENT, AGAIN = 5.0, 30.0, 5.0  # minutes: metered over, waited for light, until a new look
REDO, EXPOSE = "rouge_buff", "expose"
NORMAL = NormalDist()


@dataclass
class Plate:
    number: int
    at: int = 0  # the step that comes next
    ready: float = 0.0  # when the one before ended
    begun: dict = field(default_factory=dict)
    ended: dict = field(default_factory=dict)
    busy: bool = False
    tries: int = 0
    fate: str = ""  # "done", "lost" by a fault, "spoilt" by a limit
    wanted: float | None = None  # since when a pose waits for light
    waits: dict = field(default_factory=dict)

    @property
    def open(self):
        return not self.fate

    @property
    def in_hand(self):
        return self.open and bool(self.begun)


@dataclass(frozen=True)
class Outcome:
    good: float  # finished with limits kept, weighted by what waiting takes off the odds
    good_in_hours: float  # of these, what was done within the hours
    finished: int
    in_hours: int
    begun: int
    lost_for_time: int
    faults: int
    overtime: float  # minutes after the hours until the last plate was done
    log: tuple  # (minute, plate, what)


class Bench:
    """One day; `maker` has `choose(bench)` and may have `arrive(bench)` and `notice(bench)`."""

    def __init__(self, day, maker, plates=None):
        self.day, self.s, self.luck, self.maker = day, day.judged.setting, day.luck, maker
        self.keys = [key for key, _, _ in day.steps]
        self.work = [work for _, work, _ in day.steps]
        self.first_of = {work: i for i, (_, work, index) in enumerate(day.steps) if index == 0}
        self.tasks = [t for block in day.judged.planned.blocks for t in block.tasks]
        self.plates = [Plate(n) for n in range(day.plates if plates is None else plates)]
        self.hands = self.s.workers
        self.frames = sum(self.s.frames)
        self.rooms, self.heap, self.log = {}, [], []
        self.calls = sorted(self.luck.calls)
        self.shocks = []  # (minute, plate, "redo" or "lost") not noticed yet
        self.now = self.opened = max(self.luck.late, 0.0)
        self.number = 0

    # time

    def wake(self, minute):
        if math.isfinite(minute) and minute > self.now + 1e-9:
            self._push(minute, None)

    def _push(self, minute, what):
        self.number += 1
        heapq.heappush(self.heap, (minute, self.number, what))

    def run(self):
        ready = self.luck.late + self.luck.ready
        self.hands -= 1
        self._push(ready, ("back",))
        self.opened = ready
        for minute, _ in self.calls:
            self._push(minute, None)
        for low, high in self.s.breaks:
            self._push(low, None)
            self._push(high, None)
        limit = len(self.luck.light) - 1.0
        if hasattr(self.maker, "arrive"):
            self.now = self.luck.late
            self.maker.arrive(self)
        while self.heap and self.heap[0][0] < limit:
            self.now = self.heap[0][0]
            while self.heap and self.heap[0][0] <= self.now + 1e-9:
                what = heapq.heappop(self.heap)[2]
                if what is not None:
                    getattr(self, "_" + what[0])(*what[1:])
            self._expire()
            if hasattr(self.maker, "notice") and self.hands:
                self.maker.notice(self)
            while self.hands and self._go_on():
                pass
        return self._outcome()

    def _go_on(self):
        if self.calls and self.calls[0][0] <= self.now:
            minute, lasts = self.calls.pop(0)
            if not any(low <= minute < high for low, high in self.s.breaks):
                self.hands -= 1
                self._push(self.now + lasts, ("back",))
                self._note(-1, f"called away for {lasts:.0f} min")
                return True
        plate = self.maker.choose(self)
        if plate is None:
            return False
        self._begin(plate)
        return True

    # what happens

    def _back(self):
        self.hands += 1

    def _free(self, plate):
        """A run of steps by hand has ended."""
        plate.busy = False
        self.hands += 1
        if plate.fate:
            self._shock(plate, "lost")
            return
        last = plate.at - 1
        plate.ready = self.now
        fault = self.luck.faults[plate.number][plate.tries]
        what = fault.get(self.keys[last])
        if what == "redo" and plate.tries + 1 < len(self.luck.lengths[0]):
            plate.tries += 1
            plate.at = self.keys.index(REDO)
            for key in self.keys[plate.at :]:
                plate.begun.pop(key, None)
                plate.ended.pop(key, None)
            self._shock(plate, "redo")
            return
        if what == "lost":
            self._lose(plate)
            return
        if plate.at == len(self.keys):
            plate.fate = "done"
            self._note(plate.number, "done")
        elif not self.tasks[plate.at].attended:
            self._lay(plate)

    def _lay(self, plate):
        key = self.keys[plate.at]
        plate.busy, plate.begun[key] = True, self.now
        self._note(plate.number, f"begin {key}")
        if self.tasks[plate.at].law == "development":
            waited = self.now - plate.ended[EXPOSE]
            dose = self.luck.doses[plate.number] * math.exp(self.s.fading * waited)
            self._push_ripe(reach(self.luck.behind, self.now, dose), plate)
        else:
            lasts = self.luck.lengths[plate.number][plate.tries][plate.at]
            self._push_ripe(self.now + lasts, plate)

    def _push_ripe(self, minute, plate):
        if math.isfinite(minute):
            self._push(minute, ("ripe", plate))

    def _ripe(self, plate):
        if not plate.open:
            return
        key = self.keys[plate.at]
        plate.busy, plate.ended[key], plate.ready = False, self.now, self.now
        plate.at += 1
        self._note(plate.number, f"{key} is over")
        fault = self.luck.faults[plate.number][plate.tries]
        if fault.get(key) == "lost":
            self.frames += 1
            self._lose(plate)

    def _lose(self, plate):
        plate.fate = "lost"
        self._shock(plate, "lost")

    def _shock(self, plate, what):
        self.shocks.append((self.now, plate.number, what))
        self._note(plate.number, what)

    def _begin(self, plate):
        first, work = plate.at, self.work[plate.at]
        if first and plate.ended.get(self.keys[first - 1]) is not None:
            plate.waits[self.keys[first]] = self.now - plate.ready
        self._note(plate.number, f"begin {self.keys[first]}")
        plate.busy = True
        self.hands -= 1
        if work == self.s.take:
            self.frames -= 1
        if work == self.s.free:
            self.frames += 1
        faults = self.luck.faults[plate.number][plate.tries]
        index, now, held = first, self.now, {}
        while index < len(self.keys) and self.work[index] == work and self.tasks[index].attended:
            key, room = self.keys[index], self.tasks[index].resource
            if room and room not in held and index != first:
                now = max(now, self.rooms.get(room, now))
            if self.tasks[index].law == "exposure":
                end = reach(self.luck.light, now, self.luck.metered)
                if end - now > 2.0 * self.s.longest:  # clouds came and stayed
                    end = now + 2.0 * self.s.longest
                    plate.fate = "spoilt"
            else:
                end = now + self.luck.lengths[plate.number][plate.tries][index]
            plate.begun[key], plate.ended[key] = now, end
            if room:
                held[room] = end
            now, index = end, index + 1
            if key in faults:
                break
        if work != self.s.take:
            self.rooms |= held
        plate.at = index
        self._push(now, ("free", plate))

    def _expire(self):
        for plate in self.plates:
            if plate.open and not plate.busy and plate.at and plate.begun:
                if self.work[plate.at] == self.s.free and self.at_start(plate):
                    continue  # a card over its frame saves a ripe plate
                if self.now > self.deadline(plate) + 1e-6:
                    plate.fate = "spoilt"
                    self._shock(plate, "lost")

    # what she can see

    def at_start(self, plate):
        return self.first_of[self.work[plate.at]] == plate.at

    def within(self, plate):
        if not plate.at or not self.at_start(plate):
            return None
        return self.s.works[self.work[plate.at]].within

    def deadline(self, plate):
        within = self.within(plate)
        return NEVER if within is None else plate.ready + within

    def minutes(self, plate):
        """Expected minutes of what comes next for a plate."""
        work = self.work[plate.at]
        if self.s.works[work].kind == "exposure":
            return min(self.metered(), self.s.longest)
        index, total = plate.at, 0.0
        while index < len(self.keys) and self.work[index] == work:
            total += self.tasks[index].minutes
            index += 1
        return total

    def metered(self):
        """Minutes before the camera by the light of the last minutes."""
        low = max(self.now - METER, 0.0)
        grid = np.arange(len(self.luck.light))
        grown = np.interp(self.now, grid, self.luck.light) - np.interp(low, grid, self.luck.light)
        rate = grown / max(self.now - low, 1e-9)
        return self.luck.metered / rate if rate > 0.0 else NEVER

    def can(self, plate):
        """Whether what comes next for a plate can be begun now."""
        if plate.busy or not plate.open or self.now < self.opened - 1e-9:
            return False
        work = self.work[plate.at]
        deadline, lasts = self.deadline(plate), self.minutes(plate)
        for low, high in self.s.breaks:
            eats = low <= self.now + 1e-6 < high or self.now < low < self.now + lasts - GRACE
            if eats and deadline >= high:
                return False
        if work == self.s.take and not self.frames:
            return False
        room = self.tasks[plate.at].resource
        if room and work != self.s.take and self.rooms.get(room, 0.0) > self.now + 1e-6:
            self.wake(self.rooms[room])
            return False
        if self.s.works[work].kind == "exposure":
            sitter = self.luck.sitter[plate.number]
            self.wake(sitter)
            return self.now >= sitter - 1e-9 and self._lit(plate)
        return True

    def _lit(self, plate):
        """By the meter: no long pose where a short one may come, after a while any allowed."""
        if plate.wanted is None:
            plate.wanted = self.now
        usual = np.nanmin(np.where(np.isfinite(self.s.pose), self.s.pose, np.nan)
                          - np.arange(len(self.s.pose)))  # fmt: skip
        waited = self.now - plate.wanted >= PATIENT
        allowed = self.s.longest if waited else min(2.5 * usual, self.s.longest)
        if self.metered() <= allowed:
            return True
        if self.now < len(self.luck.light) - 10.0:
            self.wake(self.now + AGAIN)
        return False

    def can_end(self, plate):
        """Whether a plate not begun can still end in the hours, with all that is in hand."""
        inside = [p for p in self.plates if p.in_hand] + [plate]
        work = sum(t.minutes for p in inside for t in self.tasks[p.at :] if t.attended)
        pauses = sum(max(high - max(low, self.now), 0.0) for low, high in self.s.breaks)
        straight = self.s.at(self.s.straight[0], self.now)
        return max(straight, self.now + pauses + work / self.s.workers) <= self.s.last

    # afterwards

    def _note(self, plate, what):
        self.log.append((self.now, plate, what))

    def _outcome(self):
        until = self.s.last + getattr(self.maker, "overtime", 0.0)
        good, in_time, finished, in_hours, over = 0.0, 0.0, 0, 0, 0.0
        for plate in self.plates:
            end = plate.ended.get(self.keys[-1], NEVER) if plate.fate == "done" else NEVER
            if end <= until + 1e-6:
                finished += 1
                inside = end <= self.s.last + 1e-6
                good += self._worth(plate)
                in_time += inside * self._worth(plate)
                in_hours += inside
                over = max(over, end - self.s.last)
        begun = [p for p in self.plates if p.begun]
        faults = sum(p.fate == "lost" for p in begun)
        return Outcome(
            good, in_time, finished, int(in_hours), len(begun), len(begun) - finished - faults,
            faults, over, tuple(self.log),
        )  # fmt: skip

    def _worth(self, plate):
        """Share of its odds that a plate keeps: each minute of waiting takes off its probit."""
        kept = 1.0
        for key, waited in plate.waits.items():
            task = self.tasks[self.keys.index(key)]
            usual = NORMAL.inv_cdf(task.usual_share)
            kept *= NORMAL.cdf(usual - task.fading * waited) / task.usual_share
        return kept
