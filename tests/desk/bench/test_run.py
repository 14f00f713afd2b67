"""The live run: opened, told what happens, asked how it stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests import bench_studio as made

from argentry import trade
from argentry.bench.opening import opening
from argentry.bench.words import clock_face, hands_words, span
from argentry.book.engine import close_book
from argentry.book.log import events, last_at
from argentry.book.open import open_book
from argentry.book.plates import add_plate, plate_by_label
from argentry.desk.bench import run as bench
from argentry.desk.bench.run import _tells_light
from argentry.desk.bench.standing import standing
from argentry.desk.numbers.run_so_far import plates_so_far
from argentry.errors import BadInput
from argentry.keeping.clock import steady_clock
from argentry.records.day import Range, by_event, within
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Plate
from argentry.trade import steps as trade_steps


@pytest.fixture
def book(tmp_path):
    opened = open_book(tmp_path)
    yield opened
    close_book(opened)


@pytest.fixture
def table(book):
    return made.Table(book, made.studio())


def test_a_run_holds_every_step_of_the_trade_in_order(table):
    state = table.open("A1", "B2")
    assert [step.key for step in state.steps] == [rule.key for rule in trade_steps.steps()]
    assert state.title == "2026-06-21: A1, B2"
    for step, rule in zip(state.steps, trade_steps.steps(), strict=True):
        # the only frame lies in the sun
        wanted = [c for c in rule.cautions if c not in {"lamp", "red_lamp"}]
        assert [c.key for c in step.cautions] == wanted
        limit = rule.start_within_minutes
        assert step.within_s == (None if limit is None else 60.0 * limit)
        assert step.low_s <= step.planned_s <= step.high_s
        assert step.speak


def test_a_run_names_its_forecast_where_it_was_planned_by_one(table):
    assert "forecast" not in table.open("A1").constants
    known = [plate_by_label(table.book, "A1")]
    told = opening(table.studio, known, "", table.clock.now(), None, forecast="june.csv")
    assert told.body["constants"]["forecast"] == "june.csv"


def test_what_is_done_once_is_asked_of_the_first_plate_only(table):
    state = table.open("A1", "B2", "C3")
    assert [plate.current for plate in state.plates] == ["ready_room", "scour", "scour"]


def test_new_labels_are_put_into_the_book_and_known_ones_kept(table, book):
    add_plate(book, Plate("old-plate", "A1", size="half"))
    state = table.open("A1", "B2")
    assert state.plates[0].id == "old-plate"
    assert plate_by_label(book, "B2").size == "quarter"


def test_a_larger_plate_has_its_own_lengths_from_the_start(table, book):
    add_plate(book, Plate("large", "B2", size="half"))
    state = table.open("A1", "B2")
    small, large = (plate.step("scour").planned_s for plate in state.plates)
    ratio = trade_steps.plate_size("half").area_cm2 / trade_steps.plate_size("quarter").area_cm2
    assert large == pytest.approx(small * ratio**0.5, rel=1e-3)


@pytest.mark.parametrize(
    ("labels", "word"),
    [([], "none"), (["A", "A"], "twice"), ([f"P{i}" for i in range(13)], "13 plates")],
)
def test_plates_that_cannot_be_run(table, labels, word):
    with pytest.raises(BadInput, match=word):
        table.open(*labels)


def test_a_step_begins_only_after_its_cautions(table):
    plate = table.open("A1").plates[0].id
    why = table.why("step_begun", plate, "ready_room")
    assert why.startswith("Prepare the room; write down light and air: its cautions were not shown")
    assert "reminders" in why
    table.say("caution_shown", None, "ready_room", caution="general")
    table.say("step_begun", plate, "ready_room")


def test_a_caution_seen_once_is_seen_for_all_plates(table):
    state = table.open("A1", "B2")
    table.cautions()
    table.up_to("scour")
    table.say("step_begun", state.plates[0].id, "scour")
    table.say("step_begun", state.plates[1].id, "scour")
    assert all(p.step("scour").state == "running" for p in table.state().plates)


def test_out_of_turn_is_refused_when_it_comes_as_it_happens(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    assert "comes first" in table.why("step_begun", plate, "iodise")
    assert "not begun" in table.why("step_ended", plate, "ready_room")
    table.say("step_begun", plate, "ready_room")
    assert "begun already" in table.why("step_begun", plate, "ready_room")
    assert "no such plate" in table.why("step_begun", "nobody", "scour")
    assert "no such step" in table.why("step_begun", plate, "dance")


def test_of_two_hands_that_answer_one_check_the_first_counts(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.say("step_ended", plate, "ready_room")
    first = table.say("check_answered", plate, "ready_room", answer="wrong")
    why = table.why("check_answered", plate, "ready_room", answer="right")
    assert "it was answered wrong already; look at the run" in why
    assert table.plate().step("ready_room").answer == "wrong"
    table.say("corrected", event=first.id, withdrawn=True)
    table.say("check_answered", plate, "ready_room", answer="right")
    table.say("step_redone", plate, "ready_room", why="by choice")
    table.say("step_begun", plate, "ready_room")
    table.say("step_ended", plate, "ready_room")
    table.wait(5)
    table.say("check_answered", plate, "ready_room", answer="doubtful")
    table.say("check_answered", plate, "ready_room", answer="wrong", age_s=4.0)  # of one cut off
    assert table.plate().step("ready_room").answer == "doubtful"


def test_a_late_entry_is_taken_and_marked(table):
    plate = table.open("A1").plates[0].id
    table.wait(600)
    late = table.say("step_begun", plate, "ready_room", age_s=300.0)
    state = table.state()
    step = state.plates[0].step("ready_room")
    assert (
        step.begun
        == late.at
        == table.start
        + timedelta(seconds=300, microseconds=0)
        + (late.at - table.start - timedelta(seconds=300))
    )
    assert step.elapsed_s == pytest.approx(300.0, abs=0.01)
    assert [odd.why for odd in state.odd] == ["it was begun before its cautions were shown"]


def test_late_entries_out_of_turn_wait_until_the_missing_one_is_told(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.wait(900)
    table.say("step_begun", plate, "scour", age_s=200.0)
    assert table.plate().step("scour").state == "waiting"
    table.say("step_ended", plate, "ready_room", age_s=250.0)
    assert table.plate().step("scour").elapsed_s == pytest.approx(200.0, abs=0.01)


def test_sent_twice_is_kept_once(table, book):
    plate = table.open("A1").plates[0].id
    table.cautions()
    event = table.event("step_begun", plate, "ready_room")
    first = table.send(event)
    table.wait(5)
    again = table.send({**event, "age_s": 5.0}, {**event, "age_s": 5.0})
    assert first.stored[0].duplicate is False
    assert [s.duplicate for s in again.stored] == [True]
    assert again.stored[0].at == first.stored[0].at
    assert again.stored[0].seq == first.stored[0].seq
    assert len([e for e in events(book, table.run) if e.id == event["id"]]) == 1


def test_twice_in_one_sending_is_kept_once(table, book):
    plate = table.open("A1").plates[0].id
    table.cautions()
    event = table.event("step_begun", plate, "ready_room")
    added = table.send(event, event)
    assert len(added.stored) == 1
    assert added.refused == ()


def test_a_resend_of_a_reading_and_of_a_correction_is_the_same(table):
    table.open("A1")
    reading = table.event("reading_taken", what="room_c", value=68.0, unit="°F")
    table.send(reading)
    assert table.state().readings[0].value == pytest.approx(20.0)
    time = table.clock.now().isoformat()
    correction = table.event("corrected", event=reading["id"], at=time)
    table.send(correction)
    again = table.send(reading, correction)
    assert [s.duplicate for s in again.stored] == [True, True]


def test_one_id_with_another_content_is_refused(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    event = table.event("step_begun", plate, "ready_room")
    table.send(event)
    added = table.send({**event, "kind": "step_ended"})
    assert "another content" in added.refused[0].why


def test_an_id_of_another_run_is_refused_alone(table):
    table.open("A1")
    taken = table.event("remark_made", words="first run")
    table.send(taken)
    table.open("B2")
    added = table.send(taken, table.event("remark_made", words="second run"))
    assert [one.duplicate for one in added.stored] == [False]
    assert "another run" in added.refused[0].why


def test_a_plate_without_a_size_counts_as_the_usual_one(table, book):
    add_plate(book, Plate("old-plate", "A1", size=""))
    assert table.open("A1").plates[0].step("scour").planned_s > 0


def test_what_fits_is_kept_beside_what_is_refused(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    added = table.send(
        table.event("step_begun", plate, "ready_room"),
        table.event("step_begun", plate, "fix"),
        table.event("step_ended", plate, "ready_room"),
    )
    assert len(added.stored) == 2
    assert len(added.refused) == 1
    assert table.plate().current == "scour"


def test_order_within_one_sending_is_kept(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    ids = sorted((new_id() for _ in range(2)), reverse=True)  # as two hurried devices may make them
    begun = {**table.event("step_begun", plate, "ready_room"), "id": ids[0]}
    ended = {**table.event("step_ended", plate, "ready_room"), "id": ids[1]}
    assert table.send(begun, ended).refused == ()
    assert table.plate().step("ready_room").state == "done"


STRANGER = "0197900a-0001-7000-8000-0000000000ff"  # a plate of another run
BAD = [
    ({"kind": "step_begun", "id": "no"}, "UUID"),
    ({"kind": "dance"}, "not a kind that a device may send"),
    ({"kind": "run_opened"}, "not a kind that a device may send"),
    ({"kind": "duration_changed"}, "not a kind that a device may send"),
    ({"kind": "paused", "age_s": -1}, "age"),
    ({"kind": "paused", "age_s": float("nan")}, "age"),
    ({"kind": "paused", "age_s": 3e6}, "age"),
    ({"kind": "paused", "age_s": "5"}, "age"),
    ({"kind": "step_begun", "step": "scour"}, "plate: "),
    (
        {"kind": "remark_made", "plate": STRANGER, "body": {"words": "x"}},
        "no such plate in this run",
    ),
    ({"kind": "paused", "body": [1]}, "must be an object"),
    ({"kind": "paused", "body": {"x": 1}}, "no such value"),
    ({"kind": "remark_made"}, "missing"),
    ({"kind": "remark_made", "body": {"words": "  "}}, "empty"),
    ({"kind": "remark_made", "body": {"words": "x" * 5000}}, "too long"),
    ({"kind": "reading_taken", "body": {"what": "mood", "value": 1}}, "not measured here"),
    ({"kind": "reading_taken", "body": {"what": "room_c", "value": float("inf")}}, "finite"),
    ({"kind": "reading_taken", "body": {"what": "room_c", "value": 300}}, "300"),
    (
        {"kind": "reading_taken", "body": {"what": "room_c", "value": 20, "unit": "kg"}},
        "not a unit",
    ),
    ({"kind": "reading_taken", "body": {"what": "room_c", "value": True}}, "number"),
    ({"kind": "corrected"}, "missing"),
    ({"kind": "cautions_read", "body": {"cautions": "noise"}}, "not a list"),
    ({"kind": "cautions_read", "body": {"cautions": 3}}, "not a list"),
    ({"kind": "corrected", "body": {"event": "x", "withdrawn": True}}, "no such event"),
    ({"kind": "caution_shown", "step": "scour", "body": {"caution": "noise"}}, "no step"),
]


@pytest.mark.parametrize(("event", "word"), BAD, ids=lambda x: str(x)[:40])
def test_bad_events_are_refused_in_a_sentence(table, event, word):
    table.open("A1")
    before = table.state().seq
    added = table.send({"id": new_id(), **event})
    assert added.stored == ()
    assert word in added.refused[0].why
    assert table.state().seq == before


@pytest.mark.parametrize(
    "kind", ["run_withdrawn", "plate_withdrawn", "plate_abandoned", "step_skipped"]
)
def test_no_words_are_needed_with_what_a_device_sends(table, kind):
    plate = table.open("A1").plates[0].id
    table.cautions()
    on_plate = None if kind == "run_withdrawn" else plate
    table.say(kind, on_plate, "ready_room" if kind == "step_skipped" else None)
    assert table.state().withdrawn == (kind == "run_withdrawn")


def test_corrections_that_cannot_be(table, book):
    state = table.open("A1")
    opened = events(book, table.run)[0].id
    assert "stays" in table.why("corrected", event=opened, withdrawn=True)
    remark = table.say("remark_made", words="dusty")
    assert "changes nothing" in table.why("corrected", event=remark.id)
    assert "must be a time" in table.why("corrected", event=remark.id, at="noon")
    ahead = (table.clock.now() + timedelta(hours=1)).isoformat()
    assert "ahead" in table.why("corrected", event=remark.id, at=ahead)
    assert "no such value" in table.why("corrected", event=remark.id, body={"colour": "blue"})
    assert state.remarks == ()


def test_a_reading_put_right(table):
    table.open("A1")
    read = table.say("reading_taken", what="box_c", value=41)
    table.say("corrected", event=read.id, body={"value": 14})
    assert table.state().readings[0].value == 14.0


def test_take_back_the_last_thing_of_this_device(table, book):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.send(table.event("remark_made", words="from the phone"), device="phone")
    last = bench.last_of_device(events(book, table.run), "tablet")
    assert last.kind == "step_begun"
    table.say("corrected", event=last.id, withdrawn=True)
    assert table.plate().step("ready_room").state == "ready"
    assert bench.last_of_device(events(book, table.run), "tablet") is None
    assert bench.last_of_device(events(book, table.run), "phone").kind == "remark_made"


def test_a_step_left_open_for_days_is_not_ended_by_a_press_but_by_its_own_time(table):
    """A press three weeks later wrote down 537 h of buffing."""
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.wait(24 * 3600.0 + 1.0)
    assert "24 h; say under More when it ended" in table.why("step_ended", plate, "ready_room")
    table.say("step_ended", plate, "ready_room", age_s=24 * 3600.0 - 600.0)
    step = table.plate().step("ready_room")
    assert (step.state, step.elapsed_s) == ("done", pytest.approx(601.0, abs=2.0))


def test_pause_stops_the_clock_and_a_step_waits_for_it(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.wait(10)
    table.say("paused")
    table.wait(100)
    table.say("step_ended", plate, "ready_room")
    assert table.plate().step("ready_room").elapsed_s == pytest.approx(10.0, abs=0.01)
    assert "clock is stopped" in table.why("step_begun", plate, "scour")
    table.say("resumed")
    table.say("step_begun", plate, "scour")


def test_a_check_is_due_until_it_is_answered(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.up_to("scour")
    assert bench.hands_next(table.state())[0].check == "ready_room"
    table.say("check_answered", plate, "ready_room", answer="doubtful", value=61, words="damp")
    step = table.plate().step("ready_room")
    assert (step.answer, step.answer_value, step.answer_words) == ("doubtful", 61.0, "damp")
    assert bench.hands_next(table.state())[0].check is None


def test_a_closed_run_takes_words_and_corrections_only(table):
    plate = table.open("A1").plates[0].id
    closed = table.say("run_closed")
    assert "over" in table.why("step_begun", plate, "ready_room")
    assert table.why("run_closed").startswith("Run closed: the run was over")
    table.say("remark_made", words="rain")
    table.say("corrected", event=closed.id, withdrawn=True)
    assert table.state().state == "open"


def test_a_step_may_be_done_once_more_until_the_plate_is_exposed(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    assert table.why("step_redone", plate, "scour") == (
        "Scour the silver wet, in small circles: it was not done yet; look at the run as it stands."
    )
    table.up_to("final_buff")
    table.say("step_begun", plate, "final_buff")
    assert "a step of this plate is still going on" in table.why("step_redone", plate, "scour")
    table.say("step_ended", plate, "final_buff")
    table.say("step_redone", plate, "rouge_buff", why="a drag line")
    assert "done again already" in table.why("step_redone", plate, "rouge_buff")
    assert table.plate().current == "rouge_buff"
    table.say("step_begun", plate, "rouge_buff")  # what the fault was: it was begun already
    table.say("step_ended", plate, "rouge_buff")
    table.up_to("expose")
    table.say("step_begun", plate, "expose")
    assert table.why("step_redone", plate, "iodise") == (
        "Coat over iodine to the colour; turn the plate at half time: an exposed plate is given up "
        "and begun again as a new making; "
        "look at the run as it stands."
    )
    assert table.state().odd == ()


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ({"step": "scour"}, "plate: step_redone needs one"),
        ({"plate": "A"}, "step: step_redone needs one"),
        ({"plate": "A", "step": "scour", "body": {"why": 7}}, "it must be text"),
        ({"plate": "A", "step": "scour", "body": {"how": "well"}}, "no such value"),
        ({"plate": "A", "step": "scour"}, "no such plate"),
    ],
)
def test_going_back_in_a_form_that_cannot_be(table, more, word):
    table.open("A1")
    [refused] = table.send({"id": new_id(), "kind": "step_redone", **more}).refused
    assert word in refused.why
    assert refused.why.count(".") == 1, "one sentence"


def test_a_late_going_back_and_its_taking_back(table, book):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.up_to("warm")
    table.wait(100)
    late = table.say("step_redone", plate, "final_buff", age_s=90.0)
    [one] = table.plate().redone
    assert (one.event, one.at) == (late.id, late.at)
    assert bench.last_of_device(events(book, table.run), "tablet").id == late.id
    table.say("corrected", event=late.id, withdrawn=True)
    assert table.plate().current == "warm"
    assert table.plate().step("final_buff").elapsed_s == pytest.approx(60.0)


def test_lengths_follow_readings_when_a_step_is_done_once_more(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.up_to("load")
    before = table.plate().step("iodise").planned_s
    table.say("reading_taken", what="box_c", value=12.0, unit="°C")
    assert table.plate().step("iodise").planned_s == before, "it is over"
    table.say("step_redone", plate, "iodise")
    step = table.plate().step("iodise")
    assert step.planned_s > 1.2 * before
    assert step.changes[-1].why.startswith("box at 12 °C")


def test_giving_a_plate_up_frees_the_hands(table):
    state = table.open("A1", "B2")
    table.say("plate_abandoned", state.plates[0].id, why="scratched")
    assert [h.label for h in bench.hands_next(table.state())] == ["B2"]
    assert table.plate().why == "scratched"
    # and a reading tells on the others all the same
    before = state.plates[1].step("iodise").planned_s
    table.say("reading_taken", what="box_c", value=12.0, unit="°C")
    assert table.plate(1).step("iodise").planned_s > 1.2 * before
    assert table.plate(0).step("iodise").planned_s == before


def test_no_such_run(table, book):
    table.run = new_id()
    with pytest.raises(BadInput, match="no run"):
        table.state()
    with pytest.raises(BadInput, match="no run"):
        table.send(table.event("paused"))


def test_a_restart_goes_on_with_the_right_times(table, book):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.wait(100)
    table.say("remark_made", words="the power goes")
    # the next start finds the wall clock an hour back: order is kept, nothing is negative
    again = made.Table(book, table.studio, start=table.start - timedelta(hours=1))
    again.clock = steady_clock(last_at(book), wall=lambda: again.start, passed=lambda: again.passed)
    again.run = table.run
    assert again.plate().step("ready_room").elapsed_s == pytest.approx(100.0, abs=0.01)
    again.wait(50)
    again.say("step_ended", plate, "ready_room")
    assert again.plate().step("ready_room").elapsed_s == pytest.approx(150.0, abs=0.01)


@pytest.fixture(scope="module")
def plan():
    from argentry.day.plan import make_day

    return make_day(made.studio(), date(2026, 6, 21), plates=2, effort=1.0, simulated_days=40)


def test_a_run_opened_the_evening_before_is_named_by_the_day_of_its_plan(table, plan):
    tomorrow = replace(plan, date=date(2026, 6, 22))
    assert table.open("A1", plan=tomorrow).title == "2026-06-22: A1"


def test_a_run_from_the_plan_has_the_plans_lengths(table, plan):
    state = table.open(plan=plan)
    assert [p.label for p in state.plates] == ["2026-06-21/1", "2026-06-21/2"]
    for order, plate in enumerate(state.plates):
        for planned in plan.steps:
            if planned.plate == order + 1 and planned.step != "iodise":
                assert plate.step(planned.step).planned_s / 60.0 == pytest.approx(
                    (planned.end - planned.start).total_seconds() / 60.0, abs=1.0
                )
    assert state.constants["basis"] == "the plan of 2026-06-21"
    # without a weather file times are those of a clear sky, and so are the bench's
    assert len(state.constants["hours"]) == (len(plan.hours) if plan.weather_file else 0)


def test_lengths_of_a_later_plate_say_what_their_range_is_made_of(table, book, plan):
    table.open(plan=plan)
    begun = [one for one in events(book, table.run) if one.kind == "duration_changed"]
    told = {one.step: one.body["made_of"] for one in begun}
    assert {one.device for one in begun} == {bench.HOUSE}
    assert told["expose"].startswith("The range is ±")
    for one in begun:
        plate = next(p for p in table.state().plates if p.id == one.plate)
        assert plate.step(one.step).made_of == one.body["made_of"]


def test_a_run_keeps_the_whole_plan(table, plan):
    state = table.open(plan=plan)
    assert plan.steps
    for planned in plan.steps:
        for order, plate in enumerate(state.plates, 1):
            if planned.plate not in (0, order):
                continue
            kept = plate.step(planned.step).plan
            assert (kept.start, kept.end) == (planned.start, planned.end)
            follows = planned.float_minutes == 0.0  # then it is as late as the step before it
            assert (kept.latest is None) == (by_event(planned) or follows)
            assert kept.held == ("" if planned.resource == "hands" else planned.resource)
            if planned.within_minutes is not None:
                assert kept.limit == within(planned)
    fix = state.plates[0].step("fix").plan
    assert (fix.latest, fix.limit) == (None, "within 15 min of ripe")


def test_the_bench_counts_the_seconds_over_iodine_not_the_handling(table, plan):
    by_plan, plain = table.open(plan=plan), table.open("A1")
    assert by_plan.step("iodise").planned_s == plain.step("iodise").planned_s


def test_a_plan_whose_plate_may_never_be_ripe_can_be_run(table, plan):
    never = Range(90.0, 120.0, float("inf"))
    steps = tuple(replace(s, minutes=never) if s.step == "develop" else s for s in plan.steps)
    planned = next(step for step in steps if step.step == "develop" and step.plate == 1)
    step = table.open(plan=replace(plan, steps=steps)).plates[0].step("develop")
    assert step.high_s == pytest.approx((plan.end - planned.start).total_seconds(), abs=60.0)


def test_more_plates_than_the_plan_holds(table, plan):
    with pytest.raises(BadInput, match="the plan holds 2"):
        table.open("A", "B", "C", plan=plan)


def test_words_for_the_hands(table):
    state = table.open("A1", "B2")
    said = [hands_words(state, hand) for hand in bench.hands_next(state)]
    assert said[0] == "Prepare the room; write down light and air: may begin"


@pytest.mark.parametrize(
    ("seconds", "words", "face"),
    [
        (0, "0 s", "0:00"),
        (-0.2, "0 s", "0:00"),
        (119.4, "119 s", "1:59"),
        (120, "2 min", "2:00"),
        (3599.6, "1 h 00 min", "1:00:00"),
        (-75, "-75 s", "-1:15"),
    ],
)
def test_spans(seconds, words, face):
    assert span(seconds) == words
    assert clock_face(seconds) == face


def test_utc_is_what_is_stored(table, book):
    table.open("A1")
    assert all(
        e.at.tzinfo == UTC or e.at.utcoffset() == timedelta(0) for e in events(book, table.run)
    )
    assert table.state().opened == datetime(2026, 6, 21, 7, 0, tzinfo=UTC)


RIPE = {"picture": "a" * 64, "state": "not yet", "dose_kj_m2": 700.0, "log_sd": 0.2}


def test_what_pictures_say_of_a_ripening_plate_moves_its_end_and_teaches_until_taken_back(table):
    table.open("A1", "B2")
    table.cautions()
    table.up_to("develop")
    plate = table.plate().id
    assert "not begun" in table.why("ripe_seen", plate, "develop", **RIPE)
    table.say("step_begun", plate, "develop")
    table.wait(1800.0)
    own = table.plate().step("develop").planned_s
    alone = {"alone_kj_m2": 750.0, "alone_log_sd": 0.3}
    told = table.say("ripe_seen", plate, "develop", **RIPE, **alone, words="not yet")
    step = table.plate().step("develop")
    usual = trade.value("development", "dose")
    assert step.planned_s > 1.15 * own * min(700.0 / usual, 1.2)
    assert step.changes[-1].why.startswith("by its pictures, the sun as it stands, ripe from ")
    assert step.low_s < step.planned_s < step.high_s
    assert "pictures through the filter" in step.made_of
    state = table.state()
    assert standing(state, state.plates[0]).ripe == (
        step.begun + timedelta(seconds=step.planned_s), RIPE["log_sd"],
    )  # fmt: skip
    assert standing(state, state.plates[1]).ripe is None
    (first, second) = plates_so_far(events(table.book, table.run))
    assert (first.ripe_seen, second.ripe_seen) == ((750.0, 0.3), None)
    table.say("ripe_seen", plate, "develop", **RIPE | {"dose_kj_m2": 5.0, "state": "ripe"})
    step = table.plate().step("develop")
    assert step.left_s < 0.0
    (first, _) = plates_so_far(events(table.book, table.run))
    assert first.ripe_seen is None  # the last word said nothing without the studio's dose
    last = events(table.book, table.run)
    seen = [one.id for one in last if one.kind == "ripe_seen"]
    assert seen[0] == told.id
    for one in reversed(seen):
        table.say("corrected", event=one, withdrawn=True)
    assert table.plate().step("develop").planned_s == pytest.approx(own, rel=0.02)


def test_a_run_opened_after_dark_says_that_there_is_no_light(book):
    table = made.Table(book, made.studio(), start=datetime(2026, 6, 21, 21, 0, tzinfo=UTC))
    table.open("A1")
    for key in ("expose", "develop"):
        assert table.plate().step(key).made_of.startswith("no light by then")
    table.cautions()
    table.up_to("expose")
    table.wait(60.0)
    table.say("remark_made", words="still dark")
    changes = table.plate().step("expose").changes
    assert [one.why for one in changes if "no light" in one.why] == [
        "no light by then: a usual length stands here, which is not for this hour"
    ]
    assert changes[-1].planned_s == table.plate().step("expose").planned_s


def test_a_plate_put_out_too_late_is_told_so_though_its_length_is_as_planned(book):
    """The light ends before it is ripe: what is left of the light is no end."""
    table = made.Table(book, made.studio(), start=datetime(2026, 6, 21, 17, 0, tzinfo=UTC))
    table.open("A1")
    table.cautions()
    planned = {step.key: step.planned_s for step in table.plate().steps}
    for step in table.plate().steps:
        if step.key == "develop":
            break
        if step.state in ("ready", "waiting"):
            table.say("step_begun", table.plate().id, step.key)
            table.wait(planned[step.key])  # to the minute as it was planned
            table.say("step_ended", table.plate().id, step.key)
    ready = table.plate().step("develop")
    assert ready.planned_s == pytest.approx(planned["develop"], rel=0.1)
    table.say("step_begun", table.plate().id, "develop")
    table.say("remark_made", words="low sun")
    told = [one.why for one in table.plate().step("develop").changes]
    assert len(told) == 1
    assert "the light ends with" in told[0]
    assert "instead of" not in told[0]


def test_only_a_reading_of_light_or_its_correction_tells_light():
    def event(kind, **body):
        return Event(new_id(), "run", kind, datetime.now(UTC), body=body)

    light, warm = (event("reading_taken", what=what) for what in ("light_lx", "room_c"))
    of = {one.id: event("corrected", event=one.id) for one in (light, warm)}
    known = {one.id: one for one in (light, warm)}
    told = [_tells_light(one, known) for one in (light, of[light.id], warm, of[warm.id])]
    assert told == [True, True, False, False]
    assert not _tells_light(event("step_begun", what="light_lx"), known)
    assert not _tells_light(event("corrected", event="nobody's"), known)
