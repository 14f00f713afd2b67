"""A maker who works plates through the doors alone, and keeps a ledger of what was done."""

from __future__ import annotations

import math
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from argentry.records.ids import new_id

ZONE = ZoneInfo("Europe/Madrid")
MORNING = time(9, 30)
LAST_EXPOSURE = time(16, 30)  # later the maker does not begin one


@dataclass
class Passage:
    """One line of the ledger: a passage of a plate through a run, as it was done."""

    label: str
    run: str
    begun: bool = False
    finished: bool = False
    given_up: tuple | None = None  # (stage, reason, defect, outward)
    grade: str | None = None
    verdict: str | None = None
    defects: list = field(default_factory=list)
    stages: dict = field(default_factory=dict)
    coats: int = 0
    redone: int = 0
    seconds: dict = field(default_factory=dict)  # law: seconds the step took
    planned: dict = field(default_factory=dict)  # law: seconds the bench said
    readings: list = field(default_factory=list)


class Maker:
    """Works days.

    Parameters
    ----------
    commands, server : Commands, Server
        The doors.
    world : World
        What happens.
    made : int
        Plates that were made before; it is counted on from there.
    """

    def __init__(self, commands, server, world, made=0):
        self.commands, self.server, self.world = commands, server, world
        self.ledger = []
        self.again = []  # plates lost, to be made again
        self.ungraded = []
        self._made = made
        self._held = None
        self._passages = {}

    def labels(self, count):
        """Return the plates of a day: those lost first, then new ones."""
        chosen, self.again = self.again[:count], self.again[count:]
        while len(chosen) < count:
            self._made += 1
            chosen.append(f"C-{self._made:02}")
        return chosen

    # ---- a day

    def work(self, day, count, *, plan=False, untouched=0, leaves_at=None):
        """Open a run for a day, work its plates, close it, grade them."""
        morning = datetime.combine(day, MORNING, ZONE).astimezone(UTC)
        self.server.wait_until(morning)
        self._grade_what_waits()
        labels = self.labels(count + untouched)
        self.air, damp, self.box_c = self.world.room(day)
        if plan:
            opening = {"from_plan": {"date": day.isoformat(), "plates": labels}}
        else:
            opening = {"plates": labels}
        self.run = self.server.post("/api/runs", **opening)["run"]
        state = self.state()
        self.rules = {step["key"]: step for step in state["steps"]}
        self.ids = {plate["label"]: plate["id"] for plate in state["plates"]}
        self.server.post(
            "/api/readings", what="room_c", value=self.air, unit="°C", id=new_id(), run=self.run
        )
        self._read_cautions()
        shared = [self.read("room_c", self.air), self.read("room_rh_pct", damp),
                  self.read("box_c", self.box_c), self.read("cloud_okta", 0.0)]  # fmt: skip
        self.frames, out = [], []
        for label in labels:
            passage = Passage(label, self.run, readings=list(shared))
            out.append(passage)
            self.ledger.append(passage)
            if len(out) > count:
                continue
            self._begin(passage, leaves_at)
        while self.frames:
            self._finish(*min(self.frames, key=lambda pair: pair[0]))
        for passage in out:
            self.again += [passage.label] * (not passage.begun or passage.given_up is not None)
        self.say("run_closed")
        for n, passage in enumerate(one for one in out if one.finished):
            if n == 1:  # the second of a day waits for the morning after
                self.say("grading_put_off", passage)
                self.ungraded.append(passage)
            else:
                self.grade(passage)
        self.server.catch_up()
        return out

    def state(self):
        return self.server.get(f"/api/runs/{self.run}")["state"]

    def say(self, kind, passage=None, step=None, **body):
        """Press one key; it must be taken."""
        plate = None if passage is None else self.ids[passage.label]
        event = {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body}
        if self._held is None:
            self._send([event])
        else:
            self._held.append(event)

    def _send(self, events):
        answer = self.server.post(f"/api/runs/{self.run}/events", events=events)
        assert answer["refused"] == [], answer
        assert [one["id"] for one in answer["stored"]] == [one["id"] for one in events]

    @contextmanager
    def _without_a_link(self):
        """What is pressed at one moment goes up together, as after a moment without a link."""
        self._held = []
        yield
        held, self._held = self._held, None
        if held:
            self._send(held)

    def read(self, what, value, passage=None, step=None):
        self.say("reading_taken", passage, step, what=what, value=value, unit="", source="maker")
        return what, value

    def _read_cautions(self):
        state = self.state()
        keys = {c["key"]: (s["key"], c) for s in state["steps"] for c in s["cautions"]}
        self.say("cautions_read", cautions=sorted(keys))
        for key, (step, caution) in keys.items():
            if caution["asks_again"]:
                self.say("caution_shown", None, step, caution=key)

    # ---- a plate

    def _begin(self, passage, leaves_at):
        """Take a plate as far as the frame."""
        passed = self._passages.get(passage.label, 0)
        self._passages[passage.label] = passed + 1
        passage.fate = self.world.fate(passage.label, passed)
        spoilt = passage.fate.coats_spoilt
        todo = self._open_steps(passage)
        while todo:
            key = todo.pop(0)
            law = self.rules[key]["law"]
            here = self.server.now().astimezone(ZONE).time()
            if (leaves_at is not None and here >= leaves_at) or (
                law == "exposure" and here > LAST_EXPOSURE
            ):
                if passage.begun:
                    outward = "no_time" if leaves_at is not None else "light_gone"
                    stage = self.rules[key]["stage"]
                    self.give_up(passage, stage, "outward", outward=outward)
                return
            self._take_out_what_is_ripe(key)
            if law == "development":
                self.say("step_begun", passage, key)
                start = self.server.now()
                true_s = self.world.ripe_seconds(start)
                passage.needed_s = true_s
                ripe = start + timedelta(seconds=true_s * passage.fate.eye)
                self.frames.append((ripe, passage))
                self.server.wait(60.0)
                return
            self.do(passage, key)
            if law == "fuming":
                passage.coats += 1
                if passage.coats <= spoilt:
                    if not self._coat_again(passage, key):
                        return
                    todo = self._open_steps(passage)

    def _open_steps(self, passage):
        plate = next(p for p in self.state()["plates"] if p["label"] == passage.label)
        return [s["key"] for s in plate["steps"] if s["state"] not in ("done", "skipped")]

    def _coat_again(self, passage, key):
        """The coat failed: polish and coat once more; the second time give the plate up."""
        if passage.coats == 2:
            self.give_up(passage, "coat", "fault", defect="uneven_coat")
            return False
        keys = list(self.rules)
        self.say("step_redone", passage, keys[keys.index(key) - 2], why="the colour ran")
        passage.redone += 1
        del passage.seconds["fuming"]
        return True

    def _take_out_what_is_ripe(self, key):
        """Before a step, finish the plates that would be ripe while hands are on it."""
        length = timedelta(seconds=0.5 * self.rules[key]["planned_s"] + 60.0)
        while self.frames:
            ripe, passage = min(self.frames, key=lambda pair: pair[0])
            if ripe > self.server.now() + length:
                return
            self._finish(ripe, passage)

    def _finish(self, ripe, passage):
        """Take a plate out when it looks ripe and do all that is left."""
        self.frames.remove((ripe, passage))
        self.server.wait_until(max(ripe, self.server.now()))
        first, *rest = self._open_steps(passage)
        self.end(passage, first)
        for key in rest:
            self._take_out_what_is_ripe(key)
            self.do(passage, key)
        passage.finished = True

    def do(self, passage, key):
        """Do one step, for as long as it takes in this world."""
        law = self.rules[key]["law"]
        with self._without_a_link():
            self._checks(passage, key, "before")
            if law == "fuming":
                self._note_plan(passage, key)
                self.read("plate_c", round(self.air + 6.0, 1), passage, key)
                passage.readings.append(("plate_c", round(self.air + 6.0, 1)))
            if law == "exposure":
                self._note_plan(passage, key)
            self.say("step_begun", passage, key)
        passage.begun = True
        start = self.server.now()
        if law == "fuming":
            seconds = self.world.coat_seconds(self.box_c) * passage.fate.coat
        elif law == "exposure":
            seconds = passage.planned["exposure"]
            need = self.world.camera_seconds(start)
            passage.stops = math.log2(seconds / need) + passage.fate.plate_stops
        else:
            seconds = 0.5 * self.rules[key]["planned_s"]
        passage.seconds[law] = seconds
        self.server.wait(seconds)
        self.end(passage, key)

    def _note_plan(self, passage, key):
        plate = next(p for p in self.state()["plates"] if p["label"] == passage.label)
        step = next(s for s in plate["steps"] if s["key"] == key)
        passage.planned[self.rules[key]["law"]] = step["planned_s"]

    def end(self, passage, key):
        with self._without_a_link():
            self.say("step_ended", passage, key)
            if self.rules[key]["law"] == "fuming":
                spoilt = passage.coats < passage.fate.coats_spoilt
                nm = round(self.wanted_nm() * passage.fate.coat, 1)
                passage.readings.append(self.read("coat_nm", nm, passage, key))
                self._checks(passage, key, "after", "wrong" if spoilt else "right")
            else:
                self._checks(passage, key, "after")
        self.server.wait(5.0)

    def wanted_nm(self):
        return self.state()["constants"]["coat_nm"]

    def _checks(self, passage, key, when, answer="right"):
        for check in self.rules[key]["checks"]:
            if check["when"] == when:
                self.say("check_answered", passage, key, answer=answer, when=when)

    def give_up(self, passage, stage, reason, *, defect=None, outward=None):
        passage.given_up = (stage, reason, defect, outward)
        body = {"stage": stage, "reason": reason, "defect": defect, "outward": outward}
        self.say("plate_abandoned", passage, **body, why="so it was")
        passage.defects = [] if defect is None else [[defect, stage]]

    # ---- how it came out

    def judge(self, passage):
        """Say how a plate came out, by what truly became of it."""
        fate = passage.fate
        passage.verdict = self.world.verdict(passage.stops)
        passage.defects = [[look, stage] for stage, look in fate.faults.items()]
        passage.stages = {
            stage: "fault" if stage in fate.faults else "ok"
            for stage in ("polish", "coat", "development", "finish")
        }
        dim = passage.verdict in ("under", "over")
        none = passage.verdict in ("blank", "solarised")
        passage.stages["exposure"] = "fault" if none or dim else "ok"
        if none or (fate.faults and fate.ruined):
            passage.grade = "lost"
        elif fate.faults or dim:
            passage.grade = "study"
        else:
            passage.grade = "good"
        if passage.grade == "lost":
            self.again.append(passage.label)

    def grade(self, passage):
        """Grade on the bench."""
        self.judge(passage)
        self.say(
            "making_graded", passage, grade=passage.grade, verdict=passage.verdict,
            defects=passage.defects, stages=passage.stages, words="",
        )  # fmt: skip

    def _grade_what_waits(self):
        """Grade with commands what was put off."""
        for passage in self.ungraded:
            self.judge(passage)
            stages = [f"--stage={stage}={word}" for stage, word in passage.stages.items()]
            self.commands.json(
                "plate", "grade", passage.label, passage.grade,
                "--verdict", passage.verdict, *stages,
            )  # fmt: skip
            for look, stage in passage.defects:
                self.commands.json("plate", "defect", passage.label, look, "--from", stage)
        self.ungraded = []
