"""Makers of the same day: by the morning's sheet, by a plan made again, by a plain rule."""

from __future__ import annotations

import datetime as dt
import time
from dataclasses import dataclass

from argentry.day.again import plan_again
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.records.again import PlateStanding
from argentry.records.day import URGENT_MINUTES, by_event
from argentry.records.weather import Outlook
from benchmarks.plan_judge.bench import Plate
from benchmarks.plan_judge.season import MORE_PLATES, OVERTIME
from benchmarks.plan_judge.setting import NEVER

EVENT = 60.0  # limits up to this are printed by what they run from
OFF = 5.0  # minutes by which a step is off its plan
QUIET = 15.0  # a step that waits is asked about again after so long
HAND = 1.0  # a step is begun this much before its time


def planned_minutes(sheet):
    """Planned start and end of each step by plate from 0 and key, minutes of the day."""
    found = {}
    for step in sheet.steps:
        if step.plate:
            low, high = ((at - sheet.begin).total_seconds() / 60.0 for at in (step.start, step.end))
            found[step.plate - 1, step.step] = (low, high)
    return found


class BySheet:
    """Follows the morning's sheet and thinks ahead.

    Planned times and order as printed, and the plate more that is named for a day that goes well;
    what is bound to an event goes first. Beyond the sheet she begins no plate that by her own count
    cannot end, does first what would spoil while her hands are busy, and goes on with what is
    begun, however late.
    """

    def __init__(self, day, overtime=0.0, heed_latest=True):
        sheet = day.judged.sheet
        self.planned = planned_minutes(sheet)
        self.latest = {}
        for step in sheet.steps:
            if step.plate and step.float_minutes >= 1.0 and not by_event(step):
                at = (step.latest_start - sheet.begin).total_seconds() / 60.0
                self.latest[step.plate - 1, step.step] = at
        self.overtime, self.heed_latest = overtime, heed_latest
        self.further = day.judged.planned.further

    def notice(self, bench):
        """Begin the plate more that is printed, when what it waits for is done in time."""
        one = self.further
        if one is None:
            return
        if bench.now > one.until + 1e-6:
            self.further = None
            return
        first = bench.first_of[one.block]
        last = max(i for i, work in enumerate(bench.work) if work == one.block)
        if one.plate >= 0:
            before = bench.plates[one.plate]
            done = before.ended.get(bench.keys[last], bench.now + 1.0)
            if done > bench.now + 1e-6 or before.at <= first:
                return
        number = len(bench.plates)
        bench.plates.append(Plate(number))
        for at, key in enumerate(bench.keys):  # it follows a plate, or waits for all other work
            said = self.planned.get((one.follows, key))
            start = bench.now + 1e-3 * at if said is None else said[0] + one.behind
            self.planned[number, key] = (start, start)
        self.further = None

    def is_late(self, bench, plate):
        """Whether the latest start of what comes next, as printed by the clock, is gone."""
        said = self.latest.get((plate.number, bench.keys[plate.at]), float("inf"))
        return bench.now > said + 1e-6

    def may_begin(self, bench, plate):
        """Whether a plate not begun may be begun by what is printed."""
        if self.heed_latest and self.is_late(bench, plate):
            return False
        return bench.can_end(plate)

    def time_of(self, bench, plate):
        """Planned minute of what comes next for a plate; None: it is not planned."""
        one = self.planned.get((plate.number, bench.keys[plate.at]))
        return None if one is None else one[0]

    def planned_next(self, bench):
        """Return each plate that waits for hands by the plan, and the planned minute."""
        waiting = [plate for plate in bench.plates if plate.open and not plate.busy]
        timed = [(plate, self.time_of(bench, plate)) for plate in waiting]
        return [(plate, at) for plate, at in timed if at is not None]

    def choose(self, bench):
        if bench.now >= bench.s.last + self.overtime:
            return None
        ripe, open_now = [], []
        for plate, at in self.planned_next(bench):
            deadline = bench.deadline(plate)
            bound = (bench.within(plate) or EVENT + 1.0) <= EVENT
            due = at - HAND
            if bound:  # the sheet prints no time for it
                taken_out = bench.work[plate.at] == bench.s.free
                due = plate.ready if taken_out else min(due, deadline - 10.0)
            else:
                due = min(due, deadline - 10.0)
            if bench.now < due - 1e-6:
                bench.wake(due)
            elif bench.can(plate) and (plate.begun or self.may_begin(bench, plate)):
                (ripe if bound else open_now).append((deadline if bound else at, plate))
        for found in (ripe, open_now):
            if found:
                plate = min(found, key=lambda one: (one[0], one[1].number))[1]
                return self._kept(bench, plate)
        return None

    def _kept(self, bench, plate):
        """Do first what would be spoilt when hands come back from this, where it can be done."""
        if bench.hands > 1:
            return plate
        back = bench.now + bench.minutes(plate)
        mine = bench.deadline(plate)
        others = [
            p for p in bench.plates
            if p is not plate and p.open and not p.busy and p.begun
            and bench.deadline(p) < min(back, mine) and bench.work[p.at] != bench.s.free
            and self.time_of(bench, p) is not None and bench.can(p)
        ]  # fmt: skip
        return min(others, key=bench.deadline, default=plate)


class ByLetter(BySheet):
    """Does what the morning's sheet says, and thinks of nothing that it does not say.

    Row by row in the printed order, each at its time, or as soon after it as hands are free; what
    is bound to an event once that has come; of two that wait the one with under half an hour left,
    as the sheet has it. A row whose latest start is gone is not begun: its plate is laid aside.
    """

    def choose(self, bench):
        if bench.now >= bench.s.last:
            return None
        waiting = []
        for plate, at in self.planned_next(bench):
            if bench.at_start(plate) and self.is_late(bench, plate):
                if plate.begun:
                    plate.fate = "spoilt"
                continue
            deadline = bench.deadline(plate)
            taken_out = bench.work[plate.at] == bench.s.free
            due = plate.ready if taken_out else min(at - HAND, deadline - 10.0)
            if bench.now < due - 1e-6:
                bench.wake(due)
            elif bench.can(plate):
                left = deadline - bench.now
                first = (0, left) if left <= URGENT_MINUTES else (1, at)
                waiting.append((*first, plate.number, plate))
        return min(waiting, key=lambda one: one[:3])[3] if waiting else None


class ByRule:
    """No plan: the nearest limit first, then what was begun first; a plate when there is time."""

    def choose(self, bench):
        if bench.now >= bench.s.last:
            return None
        able = []
        for plate in bench.plates:
            if plate.busy or not plate.open:
                continue
            if bench.s.works[bench.work[plate.at]].kind == "exposure" and not bench.frames:
                continue
            if bench.can(plate) and (plate.begun or bench.can_end(plate)):
                able.append(plate)
        key = lambda p: (bench.deadline(p), not p.begun, -p.at, p.number)  # noqa: E731
        return min(able, key=key, default=None)


@dataclass(frozen=True)
class Asked:
    """One question to the planner."""

    minute: float
    why: str
    standing: tuple
    answer: object
    wall: float
    cpu: float
    moved: int
    reordered: bool
    lines: tuple  # those not told just before


class Asking(BySheet):
    """The plan is made again after each thing that changes it, and gone on by."""

    def __init__(self, day):
        super().__init__(day, overtime=OVERTIME, heed_latest=False)
        self.wanted = day.judged.sheet.plates_asked
        self.day, self.asked, self.quiet, self.known = day, [], {}, set()
        self.told, self.given, self.run_off = (), day.plates, {}
        self.freed = set()

    def may_begin(self, bench, plate):  # noqa: ARG002
        return True  # what the answer leaves out is not planned

    def arrive(self, bench):
        if bench.now > OFF:
            self._ask(bench, "late start")

    def notice(self, bench):
        why = self._why(bench)
        if why:
            self._ask(bench, why)

    def _why(self, bench):
        now = bench.now
        if bench.shocks:
            _, plate, what = bench.shocks.pop(0)
            bench.shocks.clear()
            return f"plate {plate + 1} {what}"
        for plate in bench.plates:
            for key in bench.keys:
                for which, times in enumerate((plate.begun, plate.ended)):
                    real, name = times.get(key), (plate.number, key, which, plate.tries)
                    if real is None or real > now + 1e-6 or name in self.known:
                        continue
                    self.known.add(name)
                    said = self.planned.get((plate.number, key))
                    run = plate.number, bench.work[bench.keys.index(key)], plate.tries
                    before = self.run_off.get(run, 0.0)  # the same delay of a run is told once
                    off = real - said[which] if said else 0.0
                    if min(abs(off), abs(off - before)) > OFF and plate.open:
                        self.run_off[run] = off
                        self._all_known(bench)
                        return f"plate {plate.number + 1} {key} {off:+.0f} min"
            late = self._waits(bench, plate)
            if late:
                return late
        return "a frame is free" if self._freed(bench) - self.freed else ""

    def _freed(self, bench):
        """Plates that need a frame no longer, where none waits to be begun."""
        if any(plate.open and not plate.begun for plate in bench.plates):
            return set()
        return {p.number for p in bench.plates if p.ended.get("develop", NEVER) <= bench.now}

    def _waits(self, bench, plate):
        """What should have begun, or should be ripe, and is not."""
        if not plate.open or plate.at >= len(bench.keys):
            return ""
        key, said = bench.keys[plate.at], self.planned.get((plate.number, bench.keys[plate.at]))
        if said is None or (plate.busy and bench.tasks[plate.at].attended):
            return ""
        due = (said[1] if plate.busy else said[0]) + OFF
        due = max(due, self.quiet.get((plate.number, key), due))
        if bench.now < due:
            bench.wake(due + 0.01)
            return ""
        self.quiet[plate.number, key] = bench.now + QUIET
        return f"plate {plate.number + 1} {key} waits"

    def _all_known(self, bench):
        self.freed |= self._freed(bench)
        for plate in bench.plates:
            for which, times in enumerate((plate.begun, plate.ended)):
                for key, real in times.items():
                    if real <= bench.now + 1e-6:
                        self.known.add((plate.number, key, which, plate.tries))

    def _ask(self, bench, why):
        answer = self._answer(bench, why)
        if answer is None:
            return
        if len(bench.plates) > self.given and len(bench.plates) in answer.left_out:
            last = bench.plates[-1]
            if not last.begun:
                bench.plates.pop()
        elif answer.one_more and len(bench.plates) < self.given + MORE_PLATES:
            bench.plates.append(Plate(len(bench.plates)))
            more = self._answer(bench, "one more plate")
            if more is None or len(bench.plates) in more.left_out:
                bench.plates.pop()
        self.known = set()
        self._all_known(bench)

    def _answer(self, bench, why):
        day, sheet = self.day, self.day.judged.sheet
        now = sheet.begin + dt.timedelta(minutes=bench.now)
        standing = tuple(self._standing(bench, plate, sheet.begin) for plate in bench.plates)
        wall, cpu = time.perf_counter(), time.process_time()
        try:
            answer = plan_again(
                day.studio, standing, now=now, outlook=Outlook(day.weather), learned=day.learned,
                asked=self.wanted,
            )  # fmt: skip
        except BadInput:  # the hours are over
            return None
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
        new = planned_minutes(answer.plan)
        shift = (answer.plan.begin - sheet.begin).total_seconds() / 60.0
        new = {key: (low + shift, high + shift) for key, (low, high) in new.items()}
        ahead = [
            (p.number, bench.keys[bench.first_of[w]])
            for p in bench.plates if p.open
            for w in sorted(set(bench.work))
            if bench.first_of[w] >= p.at and bench.tasks[bench.first_of[w]].attended
        ]  # fmt: skip
        both = [key for key in ahead if key in new and key in self.planned]
        before, after = sorted(both, key=self.planned.get), sorted(both, key=new.get)
        lines = tuple(line for line in answer.lines if line not in self.told)
        self.told = answer.lines
        if new or not ahead:  # an answer without a plan is no reason to stop
            self.planned = new
        for _, high in new.values():
            bench.wake(high + OFF + 0.01)
        self.asked.append(
            Asked(bench.now, why, standing, answer, wall, cpu, len(answer.moved),
                  before != after, lines)
        )  # fmt: skip
        return answer

    def _standing(self, bench, plate, begin):
        def at(minute):
            return begin + dt.timedelta(minutes=minute)

        seen = bench.now + 1e-6
        ended = {k: at(m) for k, m in plate.ended.items() if m <= seen}
        if bench.now >= bench.opened - 1e-6:
            ended |= {rule.key: at(bench.opened) for rule in step_lengths.day_rules()}
        lies = "to_frame" in plate.begun  # once out of it, the name tells in which it was ripened
        return PlateStanding(
            label="",
            begun={k: at(m) for k, m in plate.begun.items() if m <= seen},
            ended=ended,
            frame=self.day.studio.frames[0].name if lies else "",
            lost=not plate.open and plate.fate != "done",
            planned={
                key: at(low)
                for (number, key), (low, _) in self.planned.items()
                if number == plate.number
            },
        )
