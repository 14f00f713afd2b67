"""One plate more taken into a run by a key: once, offline, undone, planned, in the book."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta

import pytest
from tests import bench_studio as made

from argentry.bench.off_plan import off_plan, told_of
from argentry.bench.words import offer_lines
from argentry.book.care.salvage import _labels
from argentry.book.log import events, runs
from argentry.book.makings import makings
from argentry.book.plates import add_plate, plate_by_label
from argentry.book.runs.corrections import effective
from argentry.day.plan import make_day
from argentry.desk.bench.acts import one_more_said, take_one_more
from argentry.desk.bench.replan import _plates, plan_body, runs_to_plan, say_plan
from argentry.desk.bench.seat import Seat
from argentry.desk.bench.standing import standing
from argentry.desk.pages.run_plan import answer_offer, run_plan
from argentry.errors import BadInput
from argentry.keeping.plates.mistakes import relabel
from argentry.out.bench_screen import offer_keys
from argentry.records.again import AfterStep
from argentry.records.ids import new_id
from argentry.records.plate import Plate


@pytest.fixture(scope="module")
def plan():
    """One plate on a long day, planned in the morning by rule."""
    table = made.Table(None, made.studio())
    day = date(2026, 6, 21)
    return make_day(table.studio, day, plates=1, now=table.clock.now(), by_rule=True)


@pytest.fixture
def offered(table):
    """The same an hour later, with a plan that says there is time for one more."""
    table.wait(3600.0)
    state = table.state()
    more = {"id": new_id(), "label": "2026-06-21/2", "once": ["ready_room"]}
    body = {"plan": {}, "lines": ["One more plate"], "knows": dict(told_of(off_plan(state)))}
    assert say_plan(table.book, table.folder, table.run, {**body, "more": more}, table.clock)
    assert table.state().offer.more.label == "2026-06-21/2"
    return table


def test_an_offer_of_a_plate_that_can_no_longer_be_begun_goes_with_its_reason(offered, monkeypatch):
    """It was withdrawn without a word: who meant to take it saw it vanish."""
    asked = []

    def made(*_, **how):
        asked.append(how["lost_now"])
        raise BadInput("run", "made", "up")

    monkeypatch.setattr("argentry.day.again.plan_again", made)
    for waits in (True, False):
        with pytest.raises(BadInput, match="made"):
            plan_body(
                offered.book, offered.studio, offered.folder, offered.run, offered.clock.now()
            )
        if waits:
            offered.say("plan_declined", offer=offered.state().offer.event)
    assert asked == [True, False]


def added(table):
    return one_more_said(table.state().offer.more)


def test_the_house_offers_a_plate_plans_it_and_a_key_takes_it(table):
    """The real planner: the first plate begun, one more is named with its odds, taken, planned."""
    first = table.plate().id
    table.say("step_begun", first, "ready_room")
    table.wait(60.0)
    table.say("step_ended", first, "ready_room")
    for key in ("scour", "rouge_buff"):
        table.say("step_begun", first, key)
        table.wait(30.0)
        table.say("step_ended", first, key)
    now = table.clock.now()
    body = plan_body(table.book, table.studio, table.folder, table.run, now)
    assert any(line.startswith("One more plate may be begun") for line in body["lines"])
    assert body["more"]["label"] == "2026-06-21/2"
    assert body["more"]["once"] == ["ready_room"]
    say_plan(table.book, table.folder, table.run, body, table.clock)
    assert "o takes one more plate" in offer_keys(table.state().offer)
    again = plan_body(table.book, table.studio, table.folder, table.run, now)
    assert again["more"] == body["more"], "named again it is the same plate"
    seat = Seat(table.book, table.studio, table.clock, table.run, "terminal")
    assert take_one_more(seat) == ""
    assert take_one_more(seat) == "No plate more is offered.", "pressed twice"
    more = table.state().plates[1]
    assert (more.label, more.current) == ("2026-06-21/2", "scour")
    wanted = runs_to_plan(table.book, table.folder, table.clock, {})
    assert wanted == {table.run: "2026-06-21/2 is in no plan yet"}
    table.wait(5.0)
    body = plan_body(table.book, table.studio, table.folder, table.run, table.clock.now())
    assert any("Plate 2026-06-21/2 has a place" in line for line in body["lines"])
    after = again["more"]["after"]
    assert (after["plate"], after["step"]) == (first, "develop")
    _, waits = _plates(events(table.book, table.run), table.state())
    until = datetime.fromisoformat(after["until"])
    assert waits.after == AfterStep(1, "develop", until), "the planner is told what it waits for"
    assert (body["kept_share"], body["share"] > 0.0) == (None, True), "one plate beside two"
    said, _ = say_plan(table.book, table.folder, table.run, body, table.clock)
    assert said == "offered"
    (odds,) = [line for line in offer_lines(table.state().offer) if "finished on" in line]
    assert odds.startswith("All plates of the new plan finished on ")
    assert runs_to_plan(table.book, table.folder, table.clock, {}) == {}
    table.say("plan_taken", offer=table.state().offer.event)
    steps = [step for step in table.state().plates[1].steps if step.key != "ready_room"]
    assert all(step.plan is not None for step in steps)
    assert runs_to_plan(table.book, table.folder, table.clock, {}) == {}


def test_pressed_on_two_tablets_it_is_one_plate(offered):
    event = added(offered)
    assert offered.send(event).refused == ()
    twin = {**event, "id": new_id()}
    (why,) = offered.send(twin, device="other").refused
    assert "the plate is in this run already" in why.why
    late = {**twin, "id": new_id(), "age_s": 3600.0}  # pressed without a link an hour ago
    assert offered.send(late, device="third").refused == ()
    state = offered.state()
    assert [plate.label for plate in state.plates] == ["2026-06-21/1", "2026-06-21/2"]
    assert [one.why for one in state.odd] == ["the plate is in this run already"]
    assert offered.send(event).stored[0].duplicate, "sent again it is the same press"


def test_added_and_begun_without_a_link_all_comes_into_the_book(offered):
    event = {**added(offered), "age_s": 900.0}
    plate = event["plate"]
    begun = offered.event("step_begun", plate, "scour", age_s=800.0)
    ended = offered.event("step_ended", plate, "scour", age_s=500.0)
    assert offered.send(event, begun, ended).refused == ()
    assert offered.state().plates[1].step("scour").elapsed_s == pytest.approx(300.0)
    assert offered.state().odd == ()
    assert {one.plate for one in makings(offered.book)} == {plate}
    assert plate_by_label(offered.book, "2026-06-21/2").id == plate
    assert runs(offered.book)[0].plates == ("2026-06-21/1", "2026-06-21/2")


def test_without_its_plate_nothing_of_it_is_taken(offered):
    plate = offered.state().offer.more.id
    assert "no such plate" in offered.why("step_begun", plate, "scour")
    assert "UUID" in offered.why("plate_added", "seven", label="Seven")
    assert "empty" in offered.why("plate_added", new_id(), label=" ")


def test_undone_it_is_gone_and_may_be_taken_again(offered):
    event = added(offered)
    offered.send(event)
    offered.say("corrected", event=event["id"], withdrawn=True)
    assert len(offered.state().plates) == 1
    assert offered.state().offer.more.id == event["plate"]
    assert runs(offered.book)[0].plates == ("2026-06-21/1",)
    assert offered.send({**event, "id": new_id()}).refused == ()
    offered.say("step_begun", event["plate"], "scour")
    (again,) = (e for e in events(offered.book, offered.run) if e.kind == "plate_added" and
                e.id != event["id"])  # fmt: skip
    assert "was begun" in offered.why("corrected", event=again.id, withdrawn=True)
    begun = next(e for e in events(offered.book, offered.run) if e.kind == "step_begun")
    offered.say("corrected", event=begun.id, withdrawn=True)
    offered.say("corrected", event=again.id, withdrawn=True)  # the beginning was a slip too
    assert len(offered.state().plates) == 1
    assert offered.send({**event, "id": new_id()}).refused == ()
    offered.say("step_begun", event["plate"], "scour")
    offered.say("plate_withdrawn", event["plate"], why="the wrong one")
    assert offered.state().plates[1].state == "withdrawn"


def test_a_label_that_another_plate_got_meanwhile_has_a_number_behind_it(offered):
    add_plate(offered.book, Plate(new_id(), "2026-06-21/2"))
    event = added(offered)
    offered.send(event)
    assert offered.state().plates[1].label == "2026-06-21/2 (2)"
    assert offered.send(event).stored[0].duplicate


def test_renamed_it_is_so_in_its_run(offered):
    event = added(offered)
    offered.send(event)
    earlier = offered.clock.now() - timedelta(minutes=9)
    offered.say("corrected", event=event["id"], at=earlier.isoformat())
    relabel(offered.book, "2026-06-21/2", "Late one", "me", offered.clock.now())
    assert offered.state().plates[1].label == "Late one"
    counted, _ = effective(events(offered.book, offered.run))
    (stands,) = (one for one in counted if one.kind == "plate_added")
    assert stands.at == earlier, "the time that was put right stays"
    lost = [{"id": e.id, "kind": e.kind, "plate": e.plate, "body": json.dumps(dict(e.body))}
            for e in events(offered.book, offered.run)]  # fmt: skip
    assert _labels(lost)[event["plate"]] == "Late one", "a lost plate is named as it was last"
    assert runs(offered.book)[0].plates == ("2026-06-21/1", "Late one")


def test_taken_while_the_run_stands_still_its_clock_stands_too(offered):
    offered.say("paused")
    offered.send(added(offered))
    offered.wait(60.0)
    offered.say("resumed")
    stops = offered.state().plates[1].stops
    assert [round((high - low).total_seconds()) for low, high in stops] == [60]
    where = standing(offered.state(), offered.state().plates[1])
    assert where.planned == where.begun == where.ended == {}


def test_the_page_of_the_run_has_the_key(offered):
    class House:
        book, clock = offered.book, offered.clock

    assert run_plan(House, offered.run).more
    offered.send(added(offered))
    assert not run_plan(House, offered.run).more
    with pytest.raises(BadInput, match="it was taken already, or the plan has changed"):
        answer_offer(House, offered.run, new_id(), "more", "me")


def test_a_run_holds_no_more_plates_than_a_plan(offered, monkeypatch):
    monkeypatch.setattr("argentry.desk.bench.run.MOST_PLATES", 1)
    (refused,) = offered.send(added(offered)).refused
    assert "1 plates are the most of one run" in refused.why
