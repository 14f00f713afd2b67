"""A small invented studio and a book for the bench's tests, with a clock the test moves."""

from __future__ import annotations

from datetime import UTC, datetime

from argentry.desk.bench import run as bench
from argentry.keeping.clock import steady_clock
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lamp, Lens
from argentry.records.studio import Hours, Room, Site, Studio, Water

SITE = Site("Orraga, an invented place", 42.0, -1.0, 350.0, "Europe/Madrid")


RED = DevelopmentFrame("Red frame", 600.0, count=2)


def studio(*, frames=(RED,), **changes):
    return Studio(
        name="Yard studio",
        site=changes.pop("site", SITE),
        lenses=(Lens("Portrait lens", 4.0, 180.0),),
        boxes=changes.pop("boxes", (IodineBox("Iodine box", 20.0, 150.0, 180.0),)),
        frames=frames,
        room=changes.pop("room", Room(20.0, 50.0)),
        water=Water("distilled"),
        hours=Hours("08:00", "19:00"),
        invented=True,
        **changes,
    )


def lamp_studio():
    return studio(frames=(DevelopmentFrame("Lamp box", 600.0, lamp=Lamp(150.0, 0.3)),))


class Table:
    """A bench with a run on it."""

    def __init__(self, book, own, start=datetime(2026, 6, 21, 7, 0, tzinfo=UTC)):
        self.book, self.studio, self.start = book, own, start
        folder = book and book.folder
        if folder is not None and not (folder / "studio.toml").exists():
            new_studio(folder, {})  # a plate's wear goes by the studio's days
        self.passed = 0.0
        self.clock = steady_clock(wall=lambda: start, passed=lambda: self.passed)
        self.run = ""

    def open(self, *labels, **more):
        self.run = bench.open_run(
            self.book, self.studio, labels or None, clock=self.clock, device="desk", **more
        )
        return self.state()

    def state(self):
        return bench.state(self.book, self.run, self.clock.now())

    def plate(self, order=0):
        return self.state().plates[order]

    def wait(self, seconds):
        self.passed += seconds

    def event(self, kind, plate=None, step=None, age_s=None, **body):
        return {
            "id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body,
            "age_s": age_s,
        }  # fmt: skip

    def send(self, *events, device="tablet"):
        return bench.add_events(self.book, self.studio, self.run, events, device, self.clock)

    def say(self, kind, plate=None, step=None, age_s=None, **body):
        """Send one event that must be taken."""
        added = self.send(self.event(kind, plate, step, age_s, **body))
        assert added.refused == (), added.refused
        return added.stored[0]

    def why(self, kind, plate=None, step=None, age_s=None, **body):
        """Send one event that must be refused and return the sentence."""
        added = self.send(self.event(kind, plate, step, age_s, **body))
        assert added.stored == ()
        return added.refused[0].why

    def cautions(self):
        keys = {c.key: step.key for step in self.state().steps for c in step.cautions}
        shown = (self.event("caution_shown", None, s, caution=c) for c, s in keys.items())
        assert self.send(*shown).refused == ()

    def up_to(self, key, order=0, each_s=60.0):
        """Do every step of a plate before that one."""
        plate = self.plate(order)
        for step in plate.steps:
            if step.key == key:
                return
            if step.state in ("ready", "waiting"):
                self.say("step_begun", plate.id, step.key)
                self.wait(each_s)
                self.say("step_ended", plate.id, step.key)
