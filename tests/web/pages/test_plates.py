"""The list of plates, and the page of each: record, grading, corrections."""

from __future__ import annotations

import asyncio
import html
import re
import sqlite3
from contextlib import closing, redirect_stdout
from datetime import UTC, date, datetime
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from tests.bench_studio import Table

from argentry.book.engine import close_book
from argentry.book.hold import FILE
from argentry.book.log import append, events, runs
from argentry.book.makings import all_said
from argentry.book.open import open_book
from argentry.book.plates import add_making, add_plate, add_plates, makings, plate_by_label
from argentry.cli.main import main
from argentry.desk.house import plates_to_keep
from argentry.desk.learning.kept_plates import keep_plates, kept_plate, kept_plates
from argentry.desk.pages.plate_record import plate_record
from argentry.keeping.studio import new_studio
from argentry.out.plates.words import dose_line, known_value, planned_length
from argentry.out.wording import clock, shown_unit, step_length
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import KnownRecord
from argentry.web.app import create_app


@pytest.fixture
def plates(book):
    add_plates(book, [Plate(new_id(), f"Q-{number:03}") for number in range(130)])
    made = Making(
        new_id(), plate_by_label(book, "Q-007").id, None, "s", 1, date(2026, 6, 21),
        grade="study", defects=(("veil", "iodise"),),
    )  # fmt: skip
    add_making(book, made)
    return made


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    """A run of two plates: the first finished, the second not begun; its book is copied."""
    folder = tmp_path_factory.mktemp("pair") / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    made = Table(book, create_app(folder, book).state.house.studio)
    made.open("A/1", "B<2>", title="Morning pair")
    made.cautions()
    made.up_to("")
    made.say("run_closed")
    close_book(book)
    return made


@pytest.fixture
def table(book, app, pair):
    """The same run in the book of the test."""
    with (
        closing(sqlite3.connect(pair.book.folder / FILE)) as kept,
        book.engine.connect() as connection,
    ):
        kept.backup(connection.connection.dbapi_connection)
    made = Table(book, app.state.house.studio)
    made.run, made.passed = pair.run, pair.passed
    return made


def plain(text):
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", text).split()))


def making_in(book, label):
    return makings(book, plate_by_label(book, label).id)[-1]


def test_plates_by_pages_and_by_part_of_a_label(host, plates):
    first = host.get("/plates").text
    assert "Q-000" in first
    assert "Q-100" not in first
    assert "130 plates" in first
    assert "start=100" in first
    assert "Q-100" in host.get("/plates?start=100").text
    found = host.get("/plates", params={"find": "q-00"}).text
    assert "10 plates" in found
    assert "No plate has" in host.get("/plates", params={"find": "100%"}).text


def test_a_row_of_a_notebook_is_graded_on_its_plates_page(host, plates, book):
    text = host.get("/plates/Q-007").text
    assert "2026-06-21: study" in plain(text)
    assert 'name="words"' not in text  # its remark stays as the notebook has it
    form = {"label": "Q-007", "making": plates.id, "grade": "fine", "verdict": "right"}
    answer = host.form("/plates/grade", **form)
    assert answer.headers["location"] == f"/plates/Q-007#m-{plates.id}"
    told = makings(book)[0]
    assert (told.grade, told.verdict, told.defects) == ("fine", "right", ())
    said = all_said(book, plates.id)
    assert "study" in {one.said for one in said}
    assert [(one.of, one.said) for one in said if one.what == "defect"] == [
        ("veil", "iodise"),
        ("veil", None),
    ]


def test_a_label_with_a_slash_or_a_sign_has_its_page(host, table):
    text = host.get("/plates/A%2F1").text
    assert "Plate A/1" in plain(text)
    assert 'href="/plates/B%3C2%3E"' in text  # the next plate of the run
    assert "B<2>" not in host.get("/plates/B%3C2%3E").text


@pytest.mark.parametrize(("times", "said"), [(0, ""), (1, "polished back once"), (3, "3 times")])
def test_how_often_a_plate_was_polished_back_is_said_as_people_say_it(host, book, times, said):
    """It said "polished back 1 time"."""
    add_plate(book, Plate(new_id(), "B-1", "quarter", times_repolished=times))
    text = plain(host.get("/plates/B-1").text)
    assert said in text
    assert "1 time" not in text


def test_the_record_shows_the_run_against_plan(host, table):
    text = host.get("/plates/A%2F1").text
    assert "Steps of" in text
    assert text.count("<svg") >= 2  # for a phone and for a wider screen
    assert "Morning pair" in text
    for step in table.state().steps:
        assert html.escape(step.title) in text


def test_the_record_shows_odds_and_advice_of_each_checkpoint(host, table, book):
    now, plate = table.clock.now(), table.plate().id
    said = {"advice": "continue", "line": "Go on", "since": None, "back_to": None}
    chance = {"probability": 0.47, "low": 0.41, "high": 0.53, "plates": 12}
    body = {"stage": "polish", "answer": "right", **said, **chance}
    append(book, [Event(new_id(), table.run, "advice_given", now, plate, "iodise", body, "house")])
    answer = host.get("/plates/A%2F1")
    assert answer.status_code == 200
    assert "47 % (41–53) 12 plates" in plain(answer.text)


def shown(folder, label):
    """Return what the command prints of a plate, its line breaks taken out."""
    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit) as ended:
        main(["plate", "show", label, "--studio", str(folder)])
    assert ended.value.code == 0
    return said.getvalue()


def test_the_command_prints_the_record_that_the_page_shows(host, app, book, full):
    """A table of everything that a record holds, each looked for at both doors."""
    house = app.state.house
    table = Table(book, house.studio)
    table.open("A/1", title="Noon")
    table.cautions()
    table.say("reading_taken", table.plate().id, what="box_c", value=19.5, unit="degC", source="s")
    table.up_to("load")
    table.say("remark_made", table.plate().id, words="A hair on the coat")
    table.up_to("expose")
    plate = table.plate().id
    table.say("step_begun", plate, "expose")
    table.wait(240.0)
    table.say("step_ended", plate, "expose")
    for stage, follows, did in (("coat", "expose", None), ("exposure", "to_frame", "redo")):
        said = {"advice": "continue", "line": f"Past the {stage}", "since": None, "back_to": None}
        chance = {"probability": 0.47, "low": 0.41, "high": 0.53, "plates": 12}
        body = {"stage": stage, "answer": "right", **said, **chance}
        now, key = table.clock.now(), new_id()
        append(book, [Event(key, table.run, "advice_given", now, plate, follows, body, "house")])
        if did:
            over = {"advice": key, "did": did, "why": ""}
            event = Event(new_id(), table.run, "advice_overruled", now, plate, follows, over, "b")
            append(book, [event])
    table.up_to("develop")
    table.say("step_begun", plate, "develop")
    table.wait(7200.0)
    table.say("step_ended", plate, "develop")
    table.up_to("")
    table.say("run_closed")
    made = making_in(book, "A/1")
    form = {
        "label": "A/1", "making": made.id, "grade": "lost", "verdict": "under",
        "defect.fog.development": "on", "words": "Grey all over",
    }  # fmt: skip
    assert host.form("/plates/grade", **form).status_code == 303
    keep_plates(book, house.studio, house.studio_dir, datetime.now(UTC))

    record = plate_record(book, "A/1", house.studio, house.studio_dir, ZoneInfo("Europe/Madrid"))
    [one] = record.outcomes
    why = kept_plate(kept_plates(house.studio_dir), "A/1").why
    values = ["lost", "under", "Grey all over", "A hair on the coat", "box at 19.5 °C"]
    for step in one.steps:
        span = planned_length(step)
        values += [step.title, clock(step.begun), step_length(step.elapsed_s), span]
        values += [answer.check for answer in step.answers]
    for advice in one.advice:
        values += [advice.words, "47 %", "41–53", "12 plates", clock(advice.at)]
    assert [advice.did for advice in one.advice] == [None, "redo"]
    values += ["redone", "far too short"]
    assert [dose.what for dose in one.doses] == ["exposure", "development"]
    assert all(0.0 < dose.needed_low < dose.needed < dose.needed_high for dose in one.doses)
    values += [dose_line(dose) for dose in one.doses]
    values += [f"{row.title}: {row.value:g} {shown_unit(row.unit)}" for row in one.readings]
    values += [known_value(row) for row in one.known]
    values += [said.words for said in one.judgements]
    values += [part for defect in one.defects for part in (defect.look, defect.remedy)]
    assert why.causes
    for row in why.causes:
        values += [row.title, row.check, *row.because]
    page = " ".join(re.sub(r"[\s\xa0]+", " ", plain(host.get("/plates/A%2F1").text)).split())
    printed = shown(house.studio_dir, "A/1")
    whole = " ".join(printed.split())
    assert [value for value in values if value.lower() not in page.lower()] == []
    assert [value for value in values if value.lower() not in whole.lower()] == []
    for row in ("polish ", "planned", "█", "░"):
        assert row in printed


def test_moments_among_the_conditions_are_read_as_dates(host, table):
    text = plain(host.get("/plates/A%2F1").text)
    assert re.search(r"development start 2026-06-21 \d\d:\d\d ", text)
    assert "2026-06-21T" not in text


def test_a_plate_not_begun_has_no_making_and_says_so(host, table):
    text = plain(host.get("/plates/B%3C2%3E").text)
    assert "has not been made yet" in text
    assert "How did it come out?" not in text


def test_what_waits_for_a_grade_stands_first_and_is_graded_with_a_defect(host, table, book):
    key = making_in(book, "A/1").id
    first = host.get("/").text
    assert f'href="/plates/A%2F1#m-{key}"' in first
    assert "Waits for a grade" in first
    form = {
        "label": "A/1", "making": key, "grade": "lost", "verdict": "under",
        "defect.fog.development": "on", "words": "Grey all over",
    }  # fmt: skip
    assert host.form("/plates/grade", **form).status_code == 303
    told = making_in(book, "A/1")
    assert (told.grade, told.verdict, told.defects) == ("lost", "under", (("fog", "development"),))
    assert told.stages["development"] == "fault"
    assert told.remark == "Grey all over"
    assert "Waits for a grade" not in host.get("/").text
    of_run = host.get(f"/runs/{table.run}").text  # its page has the grade too, and a way on
    assert re.search(r'href="/plates/A%2F1">.*?<td>lost</td>', of_run, re.DOTALL)
    assert 'href="/learned">What the plates have taught</a>' in of_run
    [event] = [e for e in events(book, table.run) if e.kind == "making_graded"]
    assert event.body["defects"] == [["fog", "development"]]


def test_a_new_grade_keeps_the_old_one_in_sight(host, table, book):
    key = making_in(book, "A/1").id
    for grade in ("lost", "good"):
        host.form("/plates/grade", label="A/1", making=key, grade=grade)
    text = plain(host.get("/plates/A%2F1").text)
    assert ": good" in text
    assert "grade: lost" in text
    assert "grade: good" in text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "none is chosen"),
        ({"grade": "superb"}, "none is chosen"),
        ({"grade": "good", "verdict": "odd"}, "is not known"),
        ({"grade": "lost", "defect.fog.seal": "on"}, "is not known"),
        ({"grade": "lost", "defect.moon": "on"}, "is not known"),
    ],
)
def test_a_form_that_cannot_be_is_one_sentence_and_grades_nothing(host, table, book, fields, said):
    key = making_in(book, "A/1").id
    answer = host.form("/plates/grade", label="A/1", making=key, **fields)
    assert answer.status_code == 422
    assert said in answer.text
    assert making_in(book, "A/1").grade is None
    assert host.form("/plates/grade", label="A/1", making="x", grade="good").status_code == 422


def test_every_field_of_the_page_has_its_label(host, table):
    text = host.get("/plates/A%2F1").text
    for field in re.findall(r'<(?:input|textarea)[^>]*\bid="([^"]+)"', text):
        assert f'for="{field}"' in text
    loose = re.sub(r"<label>.*?</label>", "", text, flags=re.DOTALL)
    assert not re.findall(r'<input type="(?:radio|checkbox)"', loose)
    for group in re.findall(r"<fieldset>(.*?)</fieldset>", text, re.DOTALL):
        assert group.startswith("<legend>")


def test_a_plate_gets_its_right_label_in_its_runs_too(host, table, book):
    answer = host.form("/plates/rename", label="A/1", new=" Q-9 ")
    assert answer.headers["location"] == "/plates/Q-9"
    assert plate_by_label(book, "A/1") is None
    assert "A/1 → Q-9" in plain(host.get("/plates/Q-9").text)
    assert runs(book)[0].plates == ("Q-9", "B<2>")
    assert table.state().plates[0].label == "Q-9"
    taken = host.form("/plates/rename", label="Q-9", new="B<2>")
    assert taken.status_code == 422
    assert "this label is in the book" in taken.text
    host.form("/plates/rename", label="B<2>", new="Q-10")
    assert runs(book)[0].plates == ("Q-9", "Q-10")


def test_a_plate_in_a_run_by_mistake_is_withdrawn_and_its_making_counts_no_more(host, table, book):
    key = making_in(book, "A/1").id
    host.form("/plates/withdraw", label="A/1", making=key, why="wrong plate")
    assert makings(book) == []
    assert "has not been made yet" in plain(host.get("/plates/A%2F1").text)
    assert [e.body["why"] for e in events(book, table.run) if e.kind == "plate_withdrawn"] == [
        "wrong plate"
    ]


def test_a_run_is_renamed_and_withdrawn_on_its_page(host, table, book):
    address = f"/runs/{table.run}"
    assert "Morning pair" in host.get(address).text
    host.form("/runs/rename", run=table.run, title="Evening pair")
    assert "Evening pair" in host.get(address).text
    assert "Evening pair" in host.get("/runs").text
    host.form("/runs/withdraw", run=table.run, why="twice")
    assert "Evening pair" not in host.get("/runs").text
    assert "opened by mistake" in host.get(address).text
    assert makings(book) == []
    assert host.get("/runs/nothing").status_code == 404
    assert host.form("/runs/withdraw", run="nothing", why="").status_code == 422


def test_causes_and_odds_worked_out_beforehand_stand_on_the_page(host, full, book, app, year):
    house = app.state.house
    add_plate(book, Plate(new_id(), "N<b>1"))
    before = plain(host.get("/plates/P004").text)
    assert "being worked out" in before
    left = keep_plates(
        book, house.studio, house.studio_dir, house.clock.now(), ("P004", "N<b>1", "P002"), 3
    )
    assert left > 0
    text = plain(host.get("/plates/P004").text)
    assert "Most likely the coat was too thin" in text
    assert "An accident that nothing points to: " in text  # as the command and the record say
    assert "being worked out" not in text
    assert "Why it failed" not in host.get("/plates/P002").text
    fresh = host.get("/plates/N%3Cb%3E1").text
    assert "Now: continue" in plain(fresh)
    assert "<b>1" not in fresh
    assert re.search(r"Chance of a good plate: \d+ % \(\d+–\d+\)", plain(fresh))
    host.form("/plates/grade", label="P004", making=making_in(book, "P004").id, grade="study")
    assert "from before the latest change" in plain(host.get("/plates/P004").text)


def test_a_visit_works_nothing_out(host, full, monkeypatch):
    def heavy(*_, **__):
        raise AssertionError("worked out on the visit")

    for name in ("plate_odds", "why_failed", "from_book"):
        monkeypatch.setattr(f"argentry.desk.learning.kept_plates.{name}", heavy)
    monkeypatch.setattr("argentry.desk.numbers.own_numbers.learned_numbers", heavy)
    assert host.get("/plates/P004").status_code == 200


@pytest.mark.parametrize("label", ["P9999", "%3Cscript%3Ealert(1)%3C/script%3E", "%00"])
def test_a_plate_that_is_not_there_is_one_sentence(host, label):
    answer = host.get(f"/plates/{label}")
    assert answer.status_code in (400, 422)
    assert "<script>alert" not in answer.text


def test_plates_of_a_planned_day_take_the_makers_labels(host, app, book):
    form = {"from": "plan", "date": "2027-06-21", "count": "2", "own_labels": "Z-1"}
    answer = host.form("/runs", **form)
    assert answer.status_code == 303
    assert runs(book)[0].plates == ("Z-1",)
    run = answer.headers["location"].removeprefix("/bench/")
    [opening] = [e for e in events(book, run) if e.kind == "run_opened"]
    starts = next(iter(opening.body["plan"].values()))
    assert {"scour", "expose", "develop"} <= set(starts)


def test_a_page_that_was_opened_gets_its_causes_from_the_process_beside_the_server(
    host, full, book, app
):
    house = app.state.house
    assert "being worked out" in plain(host.get("/plates/P004").text)

    async def once():
        await app.state.advisor.keep_plates()
        await app.state.advisor.close()

    asyncio.run(once())
    assert "Most likely the coat was too thin" in plain(host.get("/plates/P004").text)
    assert not plates_to_keep(house)
    newest = host.get("/runs").text.split("Last plates")[1]
    label = re.findall(r'href="/plates/(P\d+)"', newest)[0]
    assert "being worked out" not in plain(host.get(f"/plates/{label}").text)


def test_a_press_on_the_bench_leaves_what_is_kept_fresh(host, app, book, table):
    house = app.state.house
    assert keep_plates(book, house.studio, house.studio_dir, house.clock.now()) == 0
    made = Table(book, house.studio)
    made.open("Q-5")
    assert not plates_to_keep(house)
    host.form("/plates/grade", label="A/1", making=making_in(book, "A/1").id, grade="lost")
    assert plates_to_keep(house)


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        (143.81, "min", "144 min"), (16.04, "min", "16 min"), (9.56, "min", "9.56 min"),
        (405.4, "s", "405 s"), (12.75, "µm", "12.75 µm"), (1013.25, "hPa", "1013.25 hPa"),
    ],
)  # fmt: skip
def test_a_length_is_whole_from_ten_on(value, unit, told):
    assert known_value(KnownRecord("x", value, unit)) == told


def test_a_moment_is_told_to_the_nearest_minute_as_the_steps_are():
    begun = KnownRecord("exposure start", "2026-11-30T08:59:55-03:00", "")
    assert known_value(begun) == "2026-11-30 09:00"


def test_what_was_done_before_hands_went_back_stays_in_the_record(host, app, book):
    """A check that was wrong and the try it judged are part of how the plate was made."""
    house = app.state.house
    table = Table(book, house.studio)
    table.open("A/1", title="Noon")
    table.cautions()
    table.up_to("final_buff")
    plate = table.plate().id
    for wait, answer, words in ((300.0, "wrong", "A bloom on the left"), (480.0, "right", "")):
        table.say("step_begun", plate, "final_buff")
        table.wait(wait)
        table.say("step_ended", plate, "final_buff")
        table.say("check_answered", plate, "final_buff", answer=answer, words=words)
        if answer == "wrong":
            table.say("step_redone", plate, "final_buff")
    record = plate_record(book, "A/1", house.studio, house.studio_dir, ZoneInfo("Europe/Madrid"))
    [one] = record.outcomes
    earlier, again = (step for step in one.steps if step.key == "final_buff")
    assert (earlier.state, again.state) == ("redone", "done")
    assert earlier.elapsed_s == pytest.approx(300.0, abs=5.0)
    assert again.elapsed_s == pytest.approx(480.0, abs=5.0)
    assert earlier.ended <= again.begun
    page, printed = plain(host.get("/plates/A%2F1").text), shown(house.studio_dir, "A/1")
    for text in (page, " ".join(printed.split())):
        assert text.count(again.title) >= 2
        assert text.index("done again later") < text.index("A bloom on the left")


def test_a_plate_is_noted_as_polished_back_on_its_page(host, plates, book):
    assert host.form("/plates/polished-back", label="Q-007").status_code == 303
    assert plate_by_label(book, "Q-007").times_repolished == 1
    assert "polished back" in plain(host.get("/plates/Q-007").text)
    assert host.form("/plates/polished-back", label="nobody's").status_code == 422
