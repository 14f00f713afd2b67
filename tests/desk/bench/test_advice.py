"""Advice at the checkpoints of a live run, what overrules it, and what a run teaches afterwards."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from types import SimpleNamespace

import pytest
from rich.console import Console
from tests import bench_studio as made

from argentry.book.engine import close_book
from argentry.book.log import events
from argentry.book.open import open_book
from argentry.book.plates import makings
from argentry.desk.bench.advice import (
    advice_bodies,
    give_advice,
    line_of,
    lines_at_checkpoints,
    say_advice,
)
from argentry.desk.learning.odds import plate_odds
from argentry.desk.numbers.makings import from_book
from argentry.desk.numbers.run_so_far import plates_so_far
from argentry.keeping.plates.grades import grade_plate
from argentry.out.learning.words import print_odds


def checkpoint_line(table, plate):
    return lines_at_checkpoints(events(table.book, table.run)).get(plate, "")


@pytest.fixture
def table(tmp_path):
    book = open_book(tmp_path)
    table = made.Table(book, made.studio())
    table.open("A1")
    table.cautions()
    yield table
    close_book(book)


def advise(table):
    return give_advice(table.book, table.studio, table.run, table.clock)


def of_kind(table, kind):
    return [e for e in events(table.book, table.run) if e.kind == kind]


def test_advice_comes_when_a_stage_is_over_and_once(table):
    plate = table.plate().id
    table.up_to("final_buff")
    assert advise(table) == [], "the polish is not over"
    table.up_to("warm")
    assert len(advise(table)) == 1
    assert advise(table) == [], "nothing new is to be said"
    said = of_kind(table, "advice_given")[0]
    assert (said.plate, said.step, said.body["stage"]) == (plate, "warm", "polish")
    assert said.body["mostly_prior"] is True
    assert said.body["plates"] == 0
    assert "no plate yet" in said.body["line"]
    assert checkpoint_line(table, plate) == said.body["line"]
    table.say("step_begun", plate, "warm")
    assert checkpoint_line(table, plate) == "", "its checkpoint is behind it"


def test_a_plate_without_advice_at_a_checkpoint_wants_some(table):
    """Nothing is worked out where none is due; what was worked out before a check is of no use."""
    seat = (table.book, table.studio, table.run)
    assert say_advice(*seat, {}, table.clock) == ([], False)
    table.up_to("warm")
    assert say_advice(*seat, {}, table.clock) == ([], True)
    before = advice_bodies(*seat, table.clock.now())
    table.say("check_answered", table.plate().id, "final_buff", answer="wrong")
    assert say_advice(*seat, before, table.clock) == ([], True)
    after = advice_bodies(*seat, table.clock.now())
    said, wanted = say_advice(*seat, after, table.clock)
    (given,) = of_kind(table, "advice_given")
    assert ([one.id for one in said], wanted) == ([given.id], False)
    assert given.body == after[table.plate().id]
    assert given.body["answer"] == "wrong"
    assert say_advice(*seat, {}, table.clock) == ([], False)


def test_an_answered_check_changes_the_odds(table):
    plate = table.plate().id
    table.up_to("warm")
    advise(table)
    table.say("check_answered", plate, "final_buff", answer="wrong")
    assert len(advise(table)) == 1
    before, after = of_kind(table, "advice_given")
    assert after.body["answer"] == "wrong"
    assert after.body["probability"] < before.body["probability"]
    table.say("corrected", None, None, event=of_kind(table, "check_answered")[0].id, withdrawn=True)
    advise(table)
    again = of_kind(table, "advice_given")[-1]
    assert again.body["probability"] == pytest.approx(before.body["probability"], abs=1e-9)


def test_the_hands_may_do_otherwise_and_it_is_kept(table):
    plate = table.plate().id
    table.up_to("warm")
    table.say("check_answered", plate, "final_buff", answer="wrong")
    advise(table)
    said = of_kind(table, "advice_given")[-1]
    assert said.body["advice"] in ("redo", "stop"), "a plainly bad polish is not coated"
    table.say("step_begun", plate, "warm")
    assert len(advise(table)) == 1
    kept = of_kind(table, "advice_overruled")[0]
    assert kept.body == {"advice": said.id, "advised": said.body["advice"], "did": "continue"}
    assert advise(table) == []


def advised_redo(table):
    """Polish the plate badly, with all the day before it, and return the advice."""
    table.up_to("warm")
    table.say("check_answered", table.plate().id, "final_buff", answer="wrong")
    advise(table)
    said = of_kind(table, "advice_given")[-1]
    assert said.body["advice"] == "redo"
    return said


def test_what_is_advised_to_be_done_once_more_can_be_and_is_judged_again(table):
    plate = table.plate().id
    said = advised_redo(table)
    assert (said.body["back_to"], said.body["since"]) == ("rouge_buff", None)
    assert table.plate().step(said.body["back_to"]).state == "done"
    back = table.say("step_redone", plate, said.body["back_to"], why="as advised")
    assert advise(table) == [], "no overruling, and nothing to say of a plate half polished"
    assert checkpoint_line(table, plate) == ""
    table.up_to("warm", each_s=300.0)
    assert checkpoint_line(table, plate) == "", "the old advice knew nothing of it"
    assert len(advise(table)) == 1
    again = of_kind(table, "advice_given")[-1]
    assert (again.body["stage"], again.body["answer"], again.body["since"]) == (
        "polish",
        None,
        back.id,
    )
    assert again.body["probability"] > said.body["probability"]
    assert checkpoint_line(table, plate) == again.body["line"]
    assert advise(table) == [], "once"
    known = plates_so_far(events(table.book, table.run), table.studio)[0]
    assert known.known["buff_minutes"] == pytest.approx(10.0), "of the last buffing"
    assert [one.step for one in known.redone] == ["rouge_buff"]
    table.say("check_answered", plate, "final_buff", answer="right")
    advise(table)
    table.say("step_begun", plate, "warm")
    advise(table)
    assert of_kind(table, "advice_overruled") == []


def test_the_next_step_begun_after_advice_to_redo_is_an_overruling(table):
    plate = table.plate().id
    said = advised_redo(table)
    back = table.say("step_redone", plate, "rouge_buff")
    table.say("corrected", event=back.id, withdrawn=True)  # a slip of the hand
    assert advise(table) == []
    assert checkpoint_line(table, plate) == said.body["line"], "it stands again"
    table.say("step_begun", plate, "warm")
    advise(table)
    [kept] = of_kind(table, "advice_overruled")
    assert kept.body == {"advice": said.id, "advised": "redo", "did": "continue"}


def test_going_back_where_it_said_go_on_is_an_overruling(table):
    plate = table.plate().id
    table.up_to("warm")
    table.say("check_answered", plate, "final_buff", answer="right")
    advise(table)
    said = of_kind(table, "advice_given")[-1]
    assert (said.body["advice"], said.body["back_to"]) == ("continue", None)
    table.say("step_redone", plate, "scour", why="by choice")
    advise(table)
    [kept] = of_kind(table, "advice_overruled")
    assert kept.body == {"advice": said.id, "advised": "continue", "did": "redo"}


def test_going_back_after_advice_was_followed_is_none(table):
    plate = table.plate().id
    table.up_to("warm")
    table.say("check_answered", plate, "final_buff", answer="right")
    advise(table)
    table.up_to("iodise")
    table.say("step_redone", plate, "scour")
    advise(table)
    assert of_kind(table, "advice_overruled") == []


def test_a_going_back_heard_only_after_advice_was_given_is_no_overruling(table):
    plate = table.plate().id
    table.up_to("warm")
    table.wait(60)
    table.say("check_answered", plate, "final_buff", answer="right", age_s=40.0)
    advise(table)
    assert of_kind(table, "advice_given")[-1].body["advice"] == "continue"
    table.say("step_redone", plate, "rouge_buff", age_s=30.0)  # the link was cut
    assert checkpoint_line(table, plate) == ""
    table.up_to("warm")
    assert [e.kind for e in events_written(advise(table), table)] == ["advice_given"]


def events_written(stored, table):
    ids = {one.id for one in stored}
    return [e for e in events(table.book, table.run) if e.id in ids]


def test_the_coat_is_learned_as_it_was_laid_last(table):
    plate = table.plate().id
    table.up_to("iodise")
    table.say("step_begun", plate, "iodise")
    table.wait(40.0)
    table.say("step_ended", plate, "iodise")
    table.say("reading_taken", None, None, what="box_c", value=18.0, unit="°C")
    table.say("check_answered", plate, "iodise", answer="wrong")
    table.say("step_redone", plate, "rouge_buff")
    half_way = plates_so_far(events(table.book, table.run), table.studio)[0]
    assert "fuming_seconds" not in half_way.known
    assert (half_way.done, half_way.answers) == (None, {})
    table.up_to("iodise")
    table.say("step_begun", plate, "iodise")
    table.wait(75.0)
    table.say("step_ended", plate, "iodise")
    so_far = plates_so_far(events(table.book, table.run), table.studio)[0]
    assert so_far.known["fuming_seconds"] == pytest.approx(75.0)
    assert so_far.known["box_c"] == 18.0, "read before this coat was over"
    assert (so_far.done, so_far.answers) == ("coat", {}), "the wrong coat is off"
    advise(table)
    assert of_kind(table, "advice_given")[-1].body["stage"] == "coat"


def test_the_key_of_the_terminal_goes_back_as_advised(table):
    from argentry.desk.bench.acts import go_back, look, may_go_back
    from argentry.desk.bench.seat import Seat

    plate = table.plate().id
    seat = Seat(table.book, table.studio, table.clock, table.run, "terminal")
    advised_redo(table)
    assert go_back(seat, plate, "") == ""
    assert [(r.step, r.why) for r in table.plate().redone] == [("rouge_buff", "as advised")]
    assert may_go_back(look(seat), plate) == ["scour", "ready_room"]
    table.up_to("expose")
    assert may_go_back(look(seat), plate)[0] == "load"
    table.say("step_begun", plate, "expose")
    assert may_go_back(look(seat), plate) == []
    table.say("step_ended", plate, "expose")
    assert may_go_back(look(seat), plate) == [], "it is exposed"
    assert "can be done again" in go_back(seat, plate, "scour")


def test_giving_up_a_plate_that_was_to_go_on_is_an_overruling_too(table):
    plate = table.plate().id
    table.up_to("warm")
    table.say("check_answered", plate, "final_buff", answer="right")
    advise(table)
    assert of_kind(table, "advice_given")[-1].body["advice"] != "stop"
    table.say("plate_abandoned", plate, why="dropped")
    advise(table)
    assert of_kind(table, "advice_overruled")[0].body["did"] == "stop"


def test_advice_cannot_come_from_a_tablet(table):
    plate = table.plate().id
    assert "not a kind that a device may send" in table.why(
        "advice_given", plate, "warm", advice="stop"
    )


def test_a_plate_on_the_bench_is_asked_about_as_it_stands(table):
    table.up_to("iodise")
    gathered = from_book(table.book, table.studio)
    told = plate_odds(gathered, "A1", now=table.clock.now())
    assert told.stage == "polish"
    assert told.minutes_left <= 11 * 60
    night = table.clock.now().replace(hour=20)
    late = plate_odds(gathered, "A1", now=night)
    assert late.minutes_left == 0.0
    assert late.advice == "stop", "nobody is there any more"


def test_what_the_bench_saw_is_what_is_learned_from(table, tmp_path):
    plate = table.plate().id
    table.say("reading_taken", None, None, what="room_rh_pct", value=61.0, unit="%")
    table.up_to("iodise")
    early = plates_so_far(events(table.book, table.run), table.studio)[0]
    assert (early.done, early.now) == ("polish", "iodise"), "the coat is not over"
    table.say("step_begun", plate, "iodise")
    table.wait(72.0)
    table.say("step_ended", plate, "iodise")
    table.say("reading_taken", None, None, what="room_rh_pct", value=40.0, unit="%")
    so_far = plates_so_far(events(table.book, table.run), table.studio)[0]
    assert so_far.known["fuming_seconds"] == pytest.approx(72.0)
    assert so_far.known["room_rh_pct"] == 61.0, "read after the coat it says nothing of it"
    assert so_far.known["buff_minutes"] == pytest.approx(2.0)
    assert so_far.done == "coat"
    gathered = from_book(table.book, table.studio)
    assert gathered.makings == (), "a plate in the making teaches nothing yet"
    assert gathered.in_making["A1"].plate == plate
    table.say("plate_abandoned", plate, why="streaks")
    lost = from_book(table.book, table.studio).makings
    assert [one.grade for one in lost] == ["lost"], "a plate given up counts as lost"
    assert lost[0].conditions["fuming_seconds"] == pytest.approx(72.0)


def test_the_hours_of_light_and_development_are_learned_as_the_clock_on_the_wall_had_them(table):
    table.up_to("expose")
    table.say("step_begun", table.plate().id, "expose")
    table.wait(900.0)
    at = table.start + timedelta(seconds=table.passed)
    table.say("step_ended", table.plate().id, "expose")
    table.wait(300.0)
    table.up_to("develop")
    developed(table, 5400.0)
    known = plates_so_far(events(table.book, table.run), table.studio)[0].known
    begun, put_in, taken_out = (
        datetime.fromisoformat(known[column])
        for column in ("exposure_start", "development_start", "development_end")
    )
    assert known["exposure_start"].endswith("+02:00"), "summer in the studio's zone"
    assert at - begun == timedelta(minutes=15)
    assert known["exposure_seconds"] == pytest.approx(900.0)
    assert taken_out - put_in == timedelta(minutes=90)
    assert known["exposure_to_development_minutes"] == pytest.approx((put_in - at).seconds / 60.0)
    assert (put_in - at).seconds >= 300


def test_a_lost_making_of_a_plate_counts_when_the_plate_is_made_again(table):
    lost = table.plate().id
    table.up_to("iodise")
    table.say("plate_abandoned", lost, why="streaks")
    table.say("run_closed")
    table.open("A1", "B2")
    assert table.plate().id == lost
    gathered = from_book(table.book, table.studio)
    now = table.clock.now()
    remade, fresh = (plate_odds(gathered, label, now=now) for label in ("A1", "B2"))
    assert remade.plates == fresh.plates == 1
    assert remade.probability == pytest.approx(fresh.probability)


def test_a_graded_plate_keeps_what_the_bench_saw(table, tmp_path):
    table.up_to("load")
    table.say("check_answered", table.plate().id, "iodise", answer="wrong")
    table.say("run_closed")
    close_book(table.book)
    grade_plate(tmp_path, "A1", grade="study")
    table_book = open_book(tmp_path)
    stored, told = makings(table_book), from_book(table_book, table.studio).makings
    close_book(table_book)
    assert len(stored) == len(told) == 1
    assert stored[0].conditions == {}
    assert told[0].grade == "study"
    assert told[0].conditions["fuming_seconds"] == pytest.approx(60.0)
    assert told[0].stages == {"coat": "fault"}, "the check that was wrong says which stage"


def test_a_developed_plate_that_looks_right_has_only_its_finish_before_it(table):
    table.up_to("warm")
    table.say("check_answered", table.plate().id, "final_buff", answer="doubtful")
    table.up_to("develop")
    developed(table, 5400.0)
    advise(table)
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    sure = [row.probability for row in told.stages]
    assert sure[:4] == [1.0, 1.0, 1.0, 1.0]
    # half of all plates are good before any is graded; of those that came so far nine in ten
    assert told.probability == pytest.approx(sure[4], abs=0.02)
    assert 0.88 < told.probability < 0.97


def test_what_was_in_order_before_a_step_says_nothing_of_how_its_stage_came_out(table):
    table.up_to("to_frame")
    plate = table.plate().id

    def told():
        so_far = plates_so_far(events(table.book, table.run), table.studio, table.clock.now())[0]
        own = from_book(table.book, table.studio)
        return so_far.answers, plate_odds(own, "A1", now=table.clock.now()).probability

    _, before = told()
    said = table.say("check_answered", plate, "to_frame", when="before", answer="right")
    answers, after = told()
    assert "development" not in answers
    assert after == pytest.approx(before)
    table.say("corrected", event=said.id, body={"answer": "wrong", "when": "before"})
    assert told()[0]["development"] == "wrong"


def test_a_look_at_half_an_hour_is_not_the_picture(table):
    table.up_to("develop")
    plate = table.plate().id
    table.say("step_begun", plate, "develop")
    table.wait(1800.0)
    table.say("check_answered", plate, "develop", when="during", at_minutes=30.0, answer="right")
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    assert max(row.probability for row in told.stages[:4]) < 1.0


def developed(table, seconds):
    plate = table.plate().id
    table.say("step_begun", plate, "develop")
    table.wait(seconds)
    table.say("step_ended", plate, "develop")
    table.say("check_answered", plate, "develop", answer="right")


def test_an_answer_does_not_outweigh_the_clock(table):
    """A plate developed two seconds of eighty minutes is not right because somebody said so."""
    table.up_to("develop")
    developed(table, 2.0)
    step = table.plate().step("develop")
    assert (step.answer, step.short) == ("right", True)
    so_far = plates_so_far(events(table.book, table.run), table.studio, table.clock.now())[0]
    assert so_far.answers["development"] == "doubtful"
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    assert told.stages[3].probability < 1.0


def test_a_coat_is_done_again_from_bare_silver(table):
    """Its seconds are those of bare silver: over the coat that is there they would be too many."""
    from argentry.bench.questions import catalogue
    from argentry.desk.bench.acts import go_back
    from argentry.desk.bench.seat import Seat

    plate = table.plate().id
    table.up_to("load")
    asked = catalogue(table.studio.units)
    assert asked.again_from == {"iodise": "rouge_buff"}
    below = {key: low < 0.0 for key, _, _, low, _ in asked.quantities}
    assert (below["outside_c"], below["cloud_okta"]) == (True, False)
    seat = Seat(table.book, table.studio, table.clock, table.run, "terminal")
    assert go_back(seat, plate, "") == ""
    assert table.plate().redone[-1].step == "rouge_buff"


def test_an_exposure_ended_far_too_soon_leaves_little(table):
    """A second of minutes is no exposure, unless the hand slipped; a look at the picture says."""
    plate = table.plate().id
    table.up_to("expose")
    table.say("step_begun", plate, "expose")
    table.wait(1.0)
    table.say("step_ended", plate, "expose")

    def exposure():
        told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
        page = Console(record=True, width=100, file=io.StringIO())
        print_odds(told, page)
        row = next(line for line in page.export_text().splitlines() if "exposure, done" in line)
        return told.stages[2].probability, told.stages[2].came, row

    chance, came, row = exposure()
    assert (chance < 0.05, came, "%" in row) == (True, None, True)
    table.up_to("develop")
    developed(table, 3600.0)
    chance, came, row = exposure()
    assert (chance, came) == (1.0, "ok")
    assert "seen: sound" in row, "no chance of 100 % where it was seen"
    assert "%" not in row


def test_a_plate_whose_run_is_over_asks_for_nothing_but_its_grade(table):
    table.up_to("warm")
    table.say("check_answered", table.plate().id, "final_buff", answer="doubtful")
    table.up_to("")
    table.say("run_closed")
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    assert (told.stage, told.options) == ("finish", ())
    assert told.words.startswith("nothing is left to decide")
    assert told.notes[0].endswith("how it came out is not noted yet.")
    assert {row.stage: row.check for row in told.stages}["polish"] == "doubtful"
    assert told.probability < 0.1, "as on the bench: doubtful, and every step far too short"


def test_a_graded_plate_is_looked_back_on_as_it_was_told(table, tmp_path):
    from rich.console import Console

    table.up_to("warm")
    table.say("check_answered", table.plate().id, "final_buff", answer="wrong")
    advise(table)
    (said,) = of_kind(table, "advice_given")
    table.up_to("expose")
    table.say("run_closed")
    close_book(table.book)
    grade_plate(tmp_path, "A1", grade="good")
    book = open_book(tmp_path)
    told = plate_odds(from_book(book, table.studio), "A1", now=table.clock.now())
    close_book(book)
    polish, coat, *_ = told.looked_back
    assert (polish.stage, polish.told) == ("polish", True)
    assert (polish.probability, polish.low) == (said.body["probability"], said.body["low"])
    assert polish.probability < 0.3
    assert not coat.told, "nobody asked there"
    assert coat.probability == 0.5
    # it said that no plate of the studio had been graded, of a graded one
    assert told.reason == "Starting values: no other plate of this studio has been graded yet."
    shown = Console(width=100, record=True)
    print_odds(told, shown)
    assert "; no other plate yet: only starting assumptions" in shown.export_text()


def test_a_check_of_a_plate_given_up_is_told_with_its_answer(table):
    """A check that was answered right stood there as not noted."""
    from rich.console import Console

    table.up_to("warm")
    table.say("check_answered", table.plate().id, "final_buff", answer="right")
    table.up_to("load")
    table.say("plate_abandoned", table.plate().id, reason="fault", why="streaks")
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    assert [(row.check, row.happened) for row in told.looked_back[:2]] == [
        ("right", None), (None, None),
    ]  # fmt: skip
    shown = Console(width=100, record=True)
    print_odds(told, shown)
    lines = {
        one.split()[0]: one.rstrip() for one in shown.export_text().splitlines() if one.strip()
    }
    assert lines["polish"].endswith("check right")
    assert lines["coat"].endswith("not noted")


def test_what_nobody_looked_at_is_told_as_at_every_door(table):
    from argentry.learn.odds.odds import fit, odds

    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    usual = {one.stage: one.share.probability for one in odds(fit([]), {}).by_stage}
    assert {row.stage: row.probability for row in told.stages} == usual
    table.up_to("warm")
    told = plate_odds(from_book(table.book, table.studio), "A1", now=table.clock.now())
    assert told.advice == "check", "the trade's shares alone are worth three minutes of breath"


@pytest.mark.parametrize(
    ("told", "line"),
    [
        (
            {"probability": 0.581, "low": 0.41, "high": 0.72, "plates": 116, "mostly_prior": False,
             "advice": "continue", "words": "go on to the coat"},
            "58 % good (41–72; 116 plates). Continue.",
        ),
        (
            {"probability": 0.5, "low": 0.2, "high": 0.8, "plates": 1, "mostly_prior": True,
             "advice": "check", "words": "breathe, then decide"},
            "50 % good (20–80; 1 plate, mostly starting assumptions). Check first: breathe.",
        ),
        (  # as the plate's record says it: it was "0 % good (0–0; no plate yet)" here alone
            {"probability": 0.0007, "low": 0.0001, "high": 0.003, "plates": 0, "mostly_prior": True,
             "advice": "stop", "words": ""},
            "<1 % good (no plate yet). Stop.",
        ),
    ],
)  # fmt: skip
def test_one_line(told, line):
    assert line_of(SimpleNamespace(**told), "right") == line
    after = line_of(SimpleNamespace(**told), "wrong")  # bare, it contradicts the hand
    why = ", “wrong” counted. Continue: no other way is clearly better."
    assert after == line.replace(". Continue.", why)


def test_what_a_plate_brings_with_it_counts_on_the_bench_too(table):
    from argentry.book.plates import add_work
    from argentry.records.ids import new_id
    from argentry.records.plate_record import PlateWork

    plate = table.plate().id
    add_work(table.book, PlateWork(new_id(), plate, "polished_back", table.clock.now()))
    known = from_book(table.book, table.studio).in_making["A1"].known
    assert known["times_repolished"] == 1.0
    table.up_to("warm")
    table.say("step_redone", plate, "rouge_buff")
    known = from_book(table.book, table.studio).in_making["A1"].known
    assert known["times_repolished"] == 2.0, "polished again in this run"
    table.say("plate_abandoned", plate, why="scratched")
    (lost,) = from_book(table.book, table.studio).makings
    assert lost.conditions["times_repolished"] == 2.0
