"""A plate that the bench takes through its steps is booked through baths and out of lots, once."""

from datetime import UTC, datetime, timedelta

import pytest
from tests.web.pages.test_learning import plain

from argentry.errors import BadInput
from argentry.keeping.stock.baths import list_baths, new_bath, use_bath
from argentry.keeping.stock.lots import list_stock, new_lot
from argentry.records.ids import new_id
from argentry.records.material import LotFacts
from argentry.trade.sizes import plate_size

QUARTER = plate_size("quarter").area_cm2


@pytest.fixture
def folder(app):
    return app.state.house.studio_dir


class Bench:
    """Posts as a tablet at the bench does."""

    def __init__(self, host, labels=("Q-1", "Q-2")):
        self.host = host
        self.run = host.post("/api/runs", {"plates": list(labels)}).json()["run"]
        state = self.state
        self.plates = {plate["label"]: plate["id"] for plate in state["plates"]}
        self.open = {label: [step["key"] for step in state["steps"]] for label in self.plates}
        self.send(
            *(
                self.event("caution_shown", {"caution": caution["key"]}, step=step["key"])
                for step in state["steps"]
                for caution in step["cautions"]
            )
        )

    @property
    def state(self):
        return self.host.get(f"/api/runs/{self.run}").json()["state"]

    def send(self, *sent):
        answer = self.host.post(f"/api/runs/{self.run}/events", {"events": list(sent)})
        assert answer.status_code == 200, answer.text
        refused = answer.json()["refused"]  # a step of the whole day is skipped for all at once
        assert {one["id"] for one in refused} <= {one["id"] for one in sent[:-1]}, answer.text

    def event(self, kind, body=None, label=None, step=None):
        one = {"id": new_id(), "kind": kind, "body": body or {}, "age_s": 0.0}
        if label:
            one["plate"] = self.plates[label]
        return one | ({"step": step} if step else {})

    def say(self, *what, **more):
        one = self.event(*what, **more)
        self.send(one)
        return one

    def make(self, step, label="Q-1"):
        """Begin and end a step; those before it that are open are left out."""
        steps = self.open[label]
        if step in steps:
            before, self.open[label] = steps[: steps.index(step)], steps[steps.index(step) + 1 :]
            skips = (self.event("step_skipped", {"why": "test"}, label, one) for one in before)
            self.send(*skips, self.event("step_begun", None, label, step))
        else:
            self.say("step_begun", None, label, step)
        return self.say("step_ended", None, label, step)


def through(folder):
    return {bath.name: (bath.plates_through, bath.area_cm2_through)
            for bath in list_baths(folder, all_of_them=True).baths}  # fmt: skip


def test_a_step_at_a_bath_books_its_plate_and_a_correction_takes_it_back(host, folder):
    new_bath(folder, "Fix", "fix", 500.0)
    new_bath(folder, "Gold", "gild", 300.0)
    new_bath(folder, "Rinse", "water", 5000.0)
    bench = Bench(host)
    ended = bench.make("fix")
    assert through(folder)["Fix"] == (1, pytest.approx(QUARTER))
    bench.send(ended)  # a tablet that heard no answer sends again
    bench.say("remark_made", {"words": "yellow"})
    assert through(folder) == {
        "Fix": (1, pytest.approx(QUARTER)),
        "Gold": (0, 0.0),
        "Rinse": (0, 0.0),
    }
    bench.say("step_redone", {"why": "still yellow"}, "Q-1", "fix")
    again = bench.make("fix")
    bench.make("wash")
    bench.make("gild")
    assert {name: plates for name, (plates, _) in through(folder).items()} == {
        "Fix": 2, "Gold": 1, "Rinse": 1,
    }  # fmt: skip
    undo = bench.say("corrected", {"event": again["id"], "withdrawn": True})
    assert through(folder)["Fix"][0] == 1
    bench.say("corrected", {"event": undo["id"], "withdrawn": True})
    assert through(folder)["Fix"][0] == 2
    shown = plain(host.get("/materials").text)
    assert "2 plates" in shown[shown.index("Baths in use") :]
    bench.say("run_withdrawn", {"why": "by mistake"})
    assert set(through(folder).values()) == {(0, 0.0)}


def test_a_clearing_time_told_at_the_bench_tires_its_bath(host, folder):
    new_bath(folder, "Fix", "fix", 500.0)
    bench = Bench(host)
    for label, seconds in (("Q-1", 12.0), ("Q-2", 25.0)):
        bench.make("develop", label)
        bench.say("reading_taken", {"what": "clearing_s", "value": seconds, "unit": "s"})
        assert list_baths(folder).baths[0].life.clearing_s == seconds  # before the step
        bench.make("fix", label)
    (bath,) = list_baths(folder).baths
    assert (bath.life.clearing_s, bath.life.verdict) == (25.0, "renew")
    assert "25 s, 2.1 times the 12 s" in plain(host.get("/materials").text)


def test_what_a_maker_books_by_hand_is_not_booked_twice(host, folder):
    new_bath(folder, "Fix", "fix", 500.0)
    bench = Bench(host, ("Q-1", "Q-2", "Q-3"))
    use_bath(folder, "Fix", labels=["Q-1"])
    bench.make("fix", "Q-1")
    bench.make("fix", "Q-2")
    assert through(folder)["Fix"] == (2, pytest.approx(2 * QUARTER))
    with pytest.raises(BadInput, match="the bench has booked Q-2 through Fix already; leave them"):
        use_bath(folder, "Fix", labels=["Q-3", "Q-2"])
    assert through(folder)["Fix"][0] == 2
    use_bath(folder, "Fix", count=1)  # a waste plate
    assert through(folder)["Fix"][0] == 3


def test_silvered_plates_are_taken_when_their_first_making_begins(host, folder):
    today = datetime.now(UTC).date() - timedelta(days=1)
    opened = LotFacts(opened_on=today, price=400.0)
    new_lot(folder, "Silvered plates", 20.0, "piece", received_on=today, facts=opened)
    left = lambda: list_stock(folder).lots[0].left  # noqa: E731
    first, second = Bench(host), Bench(host, ("Q-1", "Q-3"))
    first.make("scour", "Q-1")
    first.make("rouge_buff", "Q-1")
    assert left() == 19.0
    first.make("scour", "Q-2")
    assert left() == 18.0
    second.make("scour", "Q-1")  # used again
    second.make("scour", "Q-3")
    assert left() == 17.0
    second.say("run_withdrawn", {"why": "by mistake"})
    assert left() == 18.0
