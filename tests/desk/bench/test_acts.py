"""One hand at the bench: how many presses a plate takes, and what each of them writes down."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest
from tests import bench_studio as made

from argentry.bench.dew import dew_words
from argentry.bench.hands import hands_next
from argentry.bench.questions import answered, new_form
from argentry.book.engine import close_book
from argentry.book.log import events
from argentry.book.open import open_book
from argentry.book.readings import add_readings
from argentry.desk.bench import acts
from argentry.desk.bench import advice as bench_advice
from argentry.desk.bench.acts import (
    advise,
    do,
    finish_form,
    go_back,
    look,
    look_with_air,
    may_go_back,
    next_act,
    stop_or_go,
    undo,
)
from argentry.desk.bench.seat import Seat
from argentry.records.ids import new_id
from argentry.records.plate import Reading
from argentry.records.run_plan import PlannedTime
from argentry.trade.decide import again_from
from argentry.trade.steps import steps

MOST_PRESSES = 50 + 4 * (len(steps()) - 19)  # 50 for the 19 steps, four for each one more


@pytest.fixture
def table(tmp_path):
    book = open_book(tmp_path)
    table = made.Table(book, made.studio())
    table.open("A1")
    yield table
    close_book(book)


@pytest.fixture
def seat(table):
    return Seat(table.book, table.studio, table.clock, table.run, "terminal")


def through(table, seat):
    """Give every step its time and press on to the question how it came out; return the acts."""
    done = []
    while (act := next_act(look(seat))).kind != "grade":
        if act.kind == "end":
            step = table.plate().step(act.step)
            looks = [c.at_minutes for c in table.state().step(act.step).checks if c.at_minutes]
            ahead = [60.0 * at for at in looks if 60.0 * at > step.elapsed_s + 1.0]
            until = min([step.planned_s, *ahead])
            table.wait(max(until - step.elapsed_s, 0.0) + 1.0)
            act = next_act(look(seat))
        assert act.sure
        assert do(seat, act) == ""
        done.append(act)
    return done


def test_the_air_of_the_room_that_a_sensor_read_outside_the_run_is_known_at_the_bench(table, seat):
    at = table.clock.now() - timedelta(minutes=50)
    for what, value in (("room_c", 10.0), ("room_rh_pct", 80.0)):
        add_readings(table.book, [Reading(new_id(), what, value, "", at, "hygrometer")])
    plate = look(seat).plates[0].id
    assert dew_words(look(seat), plate, "warm") == ""
    assert dew_words(look_with_air(seat), plate, "warm").startswith(
        "Dew point 7 °C by the air read"
    )
    table.wait(3 * 3600.0)
    assert dew_words(look_with_air(seat), plate, "warm") == "", "of this morning"


WAITS = (  # planned in so many hours, left out, looked at; whether the other is asked of
    (4.0, False, False, True),  # in the afternoon
    (None, True, False, True),
    (0.2, False, False, False),  # hands go on in twelve minutes
    (None, False, False, False),  # without a plan it may begin at any time
    (4.0, False, True, False),
)


def test_a_plate_that_waits_does_not_hold_back_how_another_came_out(table):
    """A plate planned for the afternoon was offered all noon; the one just done was asked late."""
    first = table.open("A1", "B1")
    done, waits = first.plates
    done = replace(done, state="done", current=None, begun=True, grade_due=True)
    for planned_h, left_out, looked_at, asked in WAITS:
        step = waits.step(waits.current)
        if planned_h is not None:
            begin = first.now + timedelta(hours=planned_h)
            step = replace(step, plan=PlannedTime(begin, begin, None))
        own = replace(waits, steps=(step, *waits.steps[1:]), left_out=left_out)
        act = next_act(replace(first, plates=(done, own)), own.id if looked_at else None)
        assert (act.kind == "grade", act.plate) == (asked, (done if asked else own).id)


def test_at_most_fifty_presses_from_opening_to_grade_and_nothing_is_lost(table, seat):
    presses = through(table, seat)
    form = new_form(look(seat), table.plate().id)
    told = ("lost", "development", "fog", "under")
    for key in told:
        form = answered(form, key)
    assert finish_form(seat, form) == ""
    assert len(presses) + len(told) <= MOST_PRESSES
    plate, state = table.plate(), table.state()
    assert (plate.grading.grade, plate.grading.defects) == ("lost", (("fog", "development"),))
    assert state.odd == ()
    assert {step.state for step in plate.steps} == {"done"}
    asked = {
        (step.key, check.when, check.at_minutes)
        for step in state.steps
        for check in step.checks
        if check.when != "during" or 60.0 * check.at_minutes < plate.step(step.key).elapsed_s
    }
    told = {(s.key, one.when, one.at_minutes) for s in plate.steps for one in s.answers}
    assert told == asked, "every check whose time came was answered"
    assert set(state.read) == {c.key for step in state.steps for c in step.cautions}
    again = {c.key for step in state.steps for c in step.cautions if c.asks_again}
    assert set(state.shown) == again
    kinds = [event.kind for event in events(table.book, table.run)]
    assert kinds.count("step_begun") == kinds.count("step_ended") == len(plate.steps)
    # it was under: nothing says that the exposure was sound
    assert plate.grading.stages == {"polish": "ok", "coat": "ok", "development": "fault"}


def test_what_is_done_again_unnamed_is_the_last_step_and_a_coat_from_its_polish(table, seat):
    def after(key):
        while (may_go_back(look(seat), table.plate().id) or [""])[0] != key:
            act = next_act(look(seat))
            if act.kind == "end":
                table.wait(table.plate().step(act.step).planned_s + 1.0)
                act = next_act(look(seat))
            assert do(seat, act) == ""
        assert go_back(seat, table.plate().id, "") == ""
        (*_, redone) = (one for one in events(table.book, table.run) if one.kind == "step_redone")
        return redone.step, redone.body["why"]

    assert after("iodise") == (again_from("iodise"), "by choice")
    assert again_from("iodise") != "iodise"
    assert after(again_from("iodise")) == (again_from("iodise"), "by choice")


def test_a_step_that_burns_asks_again_and_the_same_press_begins_it(table, seat):
    while next_act(look(seat)).kind == "cautions":
        do(seat, next_act(look(seat)))
    do(seat, next_act(look(seat)))
    table.wait(600.0)
    do(seat, next_act(look(seat)))
    act = next_act(look(seat))
    assert (act.kind, act.step, act.cautions) == ("caution", "scour", ("alcohol",))
    assert do(seat, act) == ""
    assert table.plate().step("scour").state == "running"
    assert [e.kind for e in events(table.book, table.run)][-2:] == ["caution_shown", "step_begun"]
    title = look(seat).step("scour").title
    assert undo(seat) == f"Taken back: begun, “{title}”."
    assert next_act(look(seat)).kind == "begin", "what was confirmed stays confirmed"


def test_a_step_whose_seconds_count_is_ended_before_its_check_is_asked(table, seat):
    table.cautions()
    table.up_to("iodise")
    while next_act(look(seat)).kind != "end":
        do(seat, next_act(look(seat)))
    act = next_act(look(seat))
    assert (act.step, act.check) == ("iodise", None)
    do(seat, act)
    act = next_act(look(seat))
    assert (act.kind, act.step, act.check.when) == ("check", "iodise", "after")


def test_a_plate_that_works_alone_says_when_it_wants_to_be_looked_at(table, seat):
    table.cautions()
    table.up_to("develop")
    table.say("step_begun", table.plate().id, "develop")

    def wants():
        (hand,) = hands_next(look(seat))
        return hand.want, pytest.approx(hand.in_s, abs=1e-3)

    assert wants() == ("wait", 1800.0)
    table.wait(1700.0)
    assert wants() == ("wait", 100.0)
    table.wait(120.0)
    assert wants() == ("look", 0.0)
    do(seat, next_act(look(seat)))
    assert wants() == ("wait", 1780.0)


@pytest.mark.parametrize("alone", [False, True])
def test_one_press_lets_a_stopped_clock_go_on(table, seat, alone):
    plate = table.plate().id
    table.cautions()
    table.say("step_begun", plate, "ready_room")
    table.say("paused", plate if alone else None)
    table.wait(500.0)
    act = next_act(look(seat))
    assert act.kind == "resume"
    assert do(seat, act) == ""
    table.wait(5.0)
    assert table.state().state == "open"
    assert table.plate().step("ready_room").elapsed_s == pytest.approx(5.0, abs=0.01)
    assert next_act(look(seat)).kind == "end"


def test_one_key_stops_the_clock_of_a_run_and_lets_it_go_on(table, seat):
    for state in ("paused", "open"):
        assert stop_or_go(seat) == ""
        assert table.state().state == state


def test_the_house_is_asked_for_advice_where_the_terminal_asks(seat, monkeypatch):
    asked = []
    monkeypatch.setattr(bench_advice, "give_advice", lambda *given: asked.append(given))
    advise(seat)
    assert asked == [(seat.book, seat.studio, seat.run, seat.clock)]


def test_a_plate_given_up_is_not_called_finished(table, seat):
    table.cautions()
    table.say("plate_abandoned", table.plate().id, reason="outward", outward="other")
    act = next_act(look(seat))
    assert (act.kind, act.words) == ("close", "Every plate is finished or given up: close the run.")


def test_what_a_range_is_made_of_is_that_of_the_step_in_hand(monkeypatch):
    step = SimpleNamespace(made_of="two makings and the trade")
    state = SimpleNamespace(
        plate=lambda plate: {"p": SimpleNamespace(step={"coat": step}.__getitem__)}[plate]
    )
    hand = SimpleNamespace(plate="p", step="coat")
    monkeypatch.setattr(acts, "look", lambda seat: state)
    monkeypatch.setattr(acts, "hand_of", lambda state, plate: hand if plate == "p" else None)
    assert acts.made_of(None, "p") == "two makings and the trade"
    assert acts.made_of(None, "q") == acts.NO_RANGE
    step.made_of = ""
    assert acts.made_of(None, "p") == acts.NO_RANGE


def test_a_grade_put_off_is_so_until_it_is_given(table):
    table.open("A1")
    table.cautions()
    plate = table.plate()
    table.say("step_begun", plate.id, plate.current)
    table.say("plate_abandoned", plate.id, reason="outward", outward="no_time")
    table.say("grading_put_off", plate.id)
    assert table.plate().put_off
    table.say("making_graded", plate.id, grade="lost")
    assert not table.plate().put_off
    table.say("grading_put_off", plate.id)
    assert not table.plate().put_off, "it has its grade"
