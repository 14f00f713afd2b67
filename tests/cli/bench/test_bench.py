"""`argentry bench` by piped lines, and once with the keys of a real terminal."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
import time
from datetime import datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from argentry.cli.bench.bench_keys import ESCAPE, split
from argentry.cli.main import cli, main
from argentry.desk.bench.run import clock_for, open_run
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.studio import load_studio
from argentry.records.again import PlanAgain
from argentry.trade.steps import steps

PAGES = 4  # of the cautions of a day, as many as a telephone shows at once on each
STUDIO = """\
name = "Yard studio"
[site]
name = "Orraga, an invented place"
latitude_deg = 42.0
longitude_deg = -1.0
elevation_m = 350
time_zone = "Europe/Madrid"
[[lens]]
name = "Portrait lens"
f_number = 4
focal_length_mm = 180
[[box]]
name = "Iodine box"
gap_mm = 20
crystal_area_cm2 = 150
floor_area_cm2 = 180
[[frame]]
name = "Red frame"
cut_on_nm = 600
[room]
temperature_c = 20
relative_humidity_pct = 50
[water]
kind = "distilled"
"""


@pytest.fixture
def studio(tmp_path):
    (tmp_path / "studio.toml").write_text(STUDIO, encoding="utf-8")
    return str(tmp_path)


def bench(studio, lines, *options):
    typed = "".join(f"{line}\n" for line in lines)
    done = CliRunner().invoke(cli, ["bench", "--studio", studio, *options], input=typed)
    assert done.exception is None, done.output
    return done.output


def as_json(studio, *options):
    return json.loads(bench(studio, [], "--json", *options))


def read(studio, *options):
    """Read the cautions of the day, and say how the run stands then."""
    return bench(studio, ["go"] * PAGES, *options)


def test_a_clock_that_is_far_ahead_is_told_at_the_bench(studio):
    with studio_book(Path(studio)) as book:
        ahead = clock_for(book)
        ahead.move(timedelta(days=3))
        open_run(book, load_studio(Path(studio)), ["A1"], clock=ahead)
    assert "3 d ahead of the clock of this machine" in bench(studio, [])


def test_the_range_of_a_step_is_told_as_the_command_tells_it(studio):
    bench(studio, [], "--plates", "A1")
    assert "not worked out" in bench(studio, ["range"])
    plate, *_ = as_json(studio)["plates"]
    made_of = {step["key"]: step["made_of"] for step in plate["steps"]}
    told = CliRunner().invoke(cli, ["fume", "--studio", studio, "--nm", "25"]).output
    assert made_of["iodise"].startswith("The range is ± ")
    assert made_of["iodise"] in " ".join(told.split())
    assert made_of["rouge_buff"] == ""


def test_a_whole_run_with_one_word(studio):
    first = bench(studio, ["go"] * PAGES, "--plates", "A1")
    assert first.startswith("run ")
    out = bench(studio, ["go", "yes"] * 60)  # yes is only heard where something is asked back
    assert "How did A1 come out?" in out
    out = bench(studio, ["lost", "development", "fog", "under", "go"])
    assert "The run is over." in out
    state = as_json(studio, "--run", first[4:40])
    assert state["state"] == "closed"
    plate = state["plates"][0]
    assert [step["state"] for step in plate["steps"]] == ["done"] * len(steps())
    assert state["odd"] == []
    asked = [
        (check["when"], check["at_minutes"])
        for step in state["steps"]
        for check in step["checks"]
        if check["when"] != "during"  # its time did not come
    ]
    told = [(one["when"], one["at_minutes"]) for step in plate["steps"] for one in step["answers"]]
    assert told == asked
    assert {one["answer"] for step in plate["steps"] for one in step["answers"]} == {"right"}
    cautions = {caution["key"] for step in state["steps"] for caution in step["cautions"]}
    assert set(state["read"]) == cautions
    again = {c["key"] for step in state["steps"] for c in step["cautions"] if c["asks_again"]}
    assert set(state["shown"]) == again, "what can explode, burn or poison is asked at its step"
    assert plate["grading"]["grade"] == "lost"
    assert plate["grading"]["verdict"] == "under"
    assert plate["grading"]["defects"] == [["fog", "development"]]
    # the bench saw coat, exposure and development last a moment: it does not call them ok
    assert plate["grading"]["stages"] == {"polish": "ok", "development": "fault"}


def test_cautions_of_the_day_come_first_and_stand_together(studio):
    out = bench(studio, ["go"] * (PAGES + 1), "--plates", "A1")
    lines = out.splitlines()
    assert lines[1] == "A1: Prepare the room; write down light and air: may begin"
    assert lines.count("CAUTIONS OF THE DAY") == PAGES
    assert lines.count("space: I have read these") == PAGES
    assert "space: Begin." in lines
    assert lines[-1].startswith("CHECK")


def test_a_reading_says_by_how_much_and_why(studio):
    bench(studio, ["reading box 12", "reading light 20 klx", "remark dusty"], "--plates", "A1")
    state = as_json(studio)
    step = next(s for s in state["plates"][0]["steps"] if s["key"] == "iodise")
    assert step["changes"][0]["why"].startswith("box at 12 °C: ")
    assert [r["what"] for r in state["readings"]] == ["box_c", "light_lx"]
    assert state["remarks"][0]["words"] == "dusty"


def test_take_back_pause_skip_give_up(studio):
    read(studio, "--plates", "A1,B2")
    out = bench(
        studio,
        ["go", "skip", "undo", "pause", "pause", "next", "skip", "yes", "give-up fault scratches",
         "undo", "wrong way", "undo", "undo", "undo", "undo", "undo"],
    )  # fmt: skip
    assert "Taken back: begun, “Prepare the room; write down light and air”." in out
    assert "What goes on is not skipped" in out
    assert "Skip “Scour the silver wet, in small circles”? y: yes" in out
    assert "Taken back: given up." in out
    assert "'wrong' is not a word" not in out
    assert "There is nothing to take back." in out
    plates = as_json(studio)["plates"]
    assert [plate["state"] for plate in plates] == ["open", "open"]
    assert plates[1]["steps"][1]["state"] == "ready"


def test_giving_up_asks_for_the_kind_of_reason_and_the_stage(studio):
    read(studio, "--plates", "A1,B2,C3")
    out = bench(studio, ["next", "give-up", "light_gone"])
    assert "Give B2 up: why?" in out
    out = bench(studio, ["next", "give-up fault", "another", "coat", "iodine_streaks"])
    assert "polish: what is seen?" in out, "the stage it stands at comes first"
    plates = {plate["label"]: plate for plate in as_json(studio)["plates"]}
    assert plates["B2"]["given_up"] == {
        "stage": "polish", "reason": "outward", "defect": None, "outward": "light_gone",
        "why": "The light is gone",
    }  # fmt: skip
    assert plates["C3"]["given_up"] == {
        "stage": "coat", "reason": "fault", "defect": "iodine_streaks", "outward": None,
        "why": "streaks in the coat",
    }  # fmt: skip
    assert plates["A1"]["state"] == "open"


def test_an_answer_of_a_form_is_taken_back_and_a_giving_up_is_left(studio):
    read(studio, "--plates", "A1")
    out = bench(studio, ["x", "1", "undo", "undo", "go"])
    assert out.count("Give A1 up: why?") == 2
    assert out.splitlines()[-1].startswith("CHECK")
    assert as_json(studio)["plates"][0]["state"] == "open"


def test_back_does_a_step_again(studio):
    read(studio, "--plates", "A1")
    out = bench(studio, ["back", "back scour", "go", "b"])
    assert out.count("No step of this plate can be done again now.") == 3
    bench(studio, ["go"] * 7)  # the final buff is done and looked at
    out = bench(studio, ["back dance", "back r", "back", "undo", "back rouge", "b scour"])
    assert "'dance' is not one of the steps to go back to: final_buff, rouge_buff, scour, " in out
    assert "'r' is not one of" in out, "two begin so"
    assert "Taken back: redone, “Final buff, no powder, left to right as the picture hangs”." in out
    plate = as_json(studio)["plates"][0]
    assert [(one["step"], one["why"]) for one in plate["redone"]] == [
        ("rouge_buff", "by choice"), ("scour", "by choice"),
    ]  # fmt: skip
    assert plate["current"] == "scour"
    assert bench(studio, ["go"]).splitlines()[-1].startswith("CHECK")


def test_a_wrong_check_offers_going_back_going_on_and_giving_up(studio):
    read(studio, "--plates", "A1")
    out = bench(studio, ["go", "wrong"])
    assert "Wrong. b does it again, x gives the plate up, space goes on with it." in out
    assert as_json(studio)["plates"][0]["steps"][0]["answer"] == "wrong"
    bench(studio, ["b"])
    assert as_json(studio)["plates"][0]["redone"][0]["step"] == "ready_room"


def test_an_unattended_step_is_not_ended_by_one_slip(studio):
    read(studio, "--plates", "A1")
    bench(studio, ["skip", "yes"] * 9)
    out = bench(studio, ["go", "go", "go", "go"])
    assert "Sure? y: yes" in out
    step = next(s for s in as_json(studio)["plates"][0]["steps"] if s["key"] == "develop")
    assert step["state"] == "running"


def test_a_remark_that_names_a_defect_is_offered_as_one(studio):
    run = read(studio, "--plates", "A1")[4:40]
    out = bench(studio, ["go", "remark Scratches, and the usual dust"])
    assert "This names a defect (random hair lines)" in out
    bench(studio, ["skip", "yes"] * 19)
    bench(studio, ["go"] + ["skip", "yes"] * 19)
    out = bench(studio, ["lost"])
    assert "1  Noted: random hair lines" in out
    bench(studio, ["lost", "1", "remark", "m grey veil overall", "yes", "later"])
    assert as_json(studio, "--run", run)["plates"][0]["put_off"] is True
    out = bench(studio, ["g", "lost", "1", "remark no light", "remark grey veil overall", "yes",
                         "unsaid"])  # fmt: skip
    assert "is that the defect “grey veil overall”?" in out
    grading = as_json(studio, "--run", run)["plates"][0]["grading"]
    assert grading["defects"] == [["scratches", "polish"], ["fog", "coat"]]
    assert grading["words"] == "grey veil overall"


def test_a_closed_run_is_graded_from_its_name_and_graded_again(studio):
    run = read(studio, "--plates", "A1")[4:40]
    bench(studio, ["go", "go"] + ["skip", "yes"] * 19 + ["later", "go"])
    assert as_json(studio, "--run", run)["state"] == "closed"
    bench(studio, ["grade", "study", "unsaid", "right"], "--run", run)
    assert as_json(studio, "--run", run)["plates"][0]["grading"]["grade"] == "study"
    bench(studio, ["g", "fine", "right"], "--run", run)
    plate = as_json(studio, "--run", run)["plates"][0]
    assert plate["grading"]["grade"] == "fine"
    assert set(plate["grading"]["stages"].values()) == {"ok"}


def test_bad_words_and_readings_are_said(studio):
    out = bench(
        studio,
        [
            "dance",
            "reading box",
            "reading mood 3",
            "reading box warm",
            "reading box 900",
            "reading light 95,000 lx",
        ],
        "--plates",
        "A1",
    )
    assert "'dance' is not a command of the bench" in out
    assert "A reading is a name and a number" in out
    assert "'mood' is not measured here" in out
    assert "'warm' is not a number" in out
    assert "'95,000' is not a number that can be read in one way" in out  # it was taken as 95
    assert "900" in out


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ([], "no run is open"),
        (["--run", "0000"], "no run has an id that begins like this"),
        (["--plates", "A,A"], "twice"),
        (["--plates", ","], "none are named"),
        (["--run", "0", "--title", "x"], "--title: it changes nothing by itself; add --plates"),
        (["--plates", "A", "--weather", "x"], "--weather: it changes nothing by itself"),
        (["--run", "0", "--plates", "A"], "a new run is asked for as well"),
        (["--date", "soon"], "is not a date"),
        (["--workers", "2"], "--workers: no day is planned that it could be for"),
        (["--date", "tomorrow", "--from", "9 o'clock"], "--from"),
        (["--date", "2026-12-21", "--plates", "A", "--weather", "no.csv"], "no.csv"),
        (["--book", "sqlite://x", "--plates", "A"], "book"),
    ],
)
def test_bad_options_end_in_one_sentence(studio, options, sentence, capsys):
    with pytest.raises(SystemExit) as end:
        main(["bench", "--studio", studio, *options])
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1


def test_a_day_planned_at_the_bench_keeps_what_is_asked_of_it_alone(studio):
    wished = ["--from", "09:30", "--until", "18:30", "--seal-later"]
    asked = ["bench", "--studio", studio, "--date", "2030-06-21", "--plates", "A1", *wished]
    found = CliRunner().invoke(cli, [*asked, "--weather", "none", "--json"])
    assert found.exit_code == 0, found.output
    run = json.loads(found.stdout)
    [plate] = run["plates"]
    rows = [step["plan"] for step in plate["steps"] if step["plan"]]
    zone = ZoneInfo("Europe/Madrid")
    starts = [datetime.fromisoformat(row["start"]).astimezone(zone) for row in rows]
    ends = [datetime.fromisoformat(row["end"]).astimezone(zone) for row in rows]
    assert f"{min(starts):%F %H:%M}" >= "2030-06-21 09:30"
    assert f"{max(ends):%H:%M}" <= "18:30"
    assert "seal" not in {step["key"] for step in plate["steps"] if step["plan"]}


def test_without_a_studio(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit):
        main(["bench"])
    assert "no studio here" in capsys.readouterr().err


def test_keys_of_a_pedal_go_on():
    assert split("a\x1b[Cb\x1b[6~") == ["a", "space", "b", "space"]
    assert split("\x1b[A\x1b[5~x") == ["x"]
    assert split("\x1b") == [ESCAPE]
    assert split("box 14\n") == [*"box 14\n"]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such terminal on Windows")
def test_keys_in_a_real_terminal(studio):
    import pty

    ours, theirs = pty.openpty()
    program = Path(sys.executable).with_name("argentry")
    env = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", "COLUMNS": "100"}
    env.pop("NO_COLOR", None)
    running = subprocess.Popen(
        [program, "bench", "--studio", studio, "--plates", "A1"],
        stdin=theirs, stdout=theirs, stderr=theirs, env=env, close_fds=True,
    )  # fmt: skip
    os.close(theirs)
    seen = read_until(ours, "CAUTIONS")
    for _ in range(PAGES):
        os.write(ours, b" ")
    seen += read_until(ours, "space: Begin")
    os.write(ours, b"\x1b[C")
    seen += read_until(ours, "done, right")
    os.write(ours, b"rbox 12\n")
    os.write(ours, b"q")
    read_until(ours, "goes on")
    assert running.wait(timeout=90) == 0
    os.close(ours)
    # every colour set is a pure red on pure black
    assert "38;2;255;0;0" in seen
    assert "48;2;0;0;0" in seen
    state = as_json(studio)
    assert state["plates"][0]["steps"][0]["state"] == "running"
    assert state["readings"][0]["value"] == 12.0


def read_until(handle, text):
    """Read what the program draws until a text is seen (a minute at most)."""
    seen, until = "", time.monotonic() + 60
    while text not in seen:
        assert time.monotonic() < until, seen
        if select.select([handle], [], [], 1.0)[0]:
            seen += os.read(handle, 65536).decode("utf-8", "replace")
    return seen


@pytest.fixture
def planned(studio, monkeypatch):
    """A run of today whose plan began an hour ago, and a planner that says one thing."""
    spec = spec_from_file_location("day_fixture", Path(__file__).parents[2] / "out/day_fixture.py")
    fixture = module_from_spec(spec)
    spec.loader.exec_module(fixture)
    begin = datetime.now(ZoneInfo("Europe/Madrid")) - timedelta(minutes=1)
    day = (begin.year, begin.month, begin.day)
    plan = fixture.make_plan(2, date=day, begin=f"{begin:%H:%M}")
    with studio_book(Path(studio), None) as book:
        run = open_run(book, load_studio(Path(studio)), clock=clock_for(book), plan=plan)
    lines = ["Plate 2 no longer fits: leave it for another day."]

    def again(_, standing, **how):
        assert how["now"].tzinfo is not None
        moved = ((1, "scour"),)
        return PlanAgain(plan, moved, (2,), (), one_more=False, lines=tuple(lines),
                         kept_share=0.4, share=0.7)  # fmt: skip

    monkeypatch.setattr("argentry.day.again.plan_again", again)
    return run, lines


def test_a_new_plan_without_a_server(studio, planned):
    run, _ = planned
    out = bench(studio, [], "--replan")
    assert out.splitlines() == [
        "New plan: Plate 2 no longer fits: leave it for another day.",
        "All finished by it on 70 % of such days, by the old order on 40 %.",
        "One step moves.",
        "It waits for an answer: --replan --take takes it, and so do t at the bench and the page.",
    ]
    assert as_json(studio)["offer"]["left_out"] == [as_json(studio)["plates"][1]["id"]]
    assert bench(studio, [], "--replan", "--take").endswith("Taken: it stands from now on.\n")
    state = as_json(studio, "--run", run[:13])
    assert state["offer"] is None
    assert [plate["left_out"] for plate in state["plates"]] == [False, True]


def test_a_new_plan_is_taken_or_turned_down_by_a_key(studio, planned):
    bench(studio, [], "--replan")
    shown = read(studio)
    assert "New plan: Plate 2 no longer fits: leave it for another day." in shown
    assert "t takes the new plan   k keeps the old one" in shown
    out = bench(studio, ["keep", "keep"])
    assert "No new plan waits." in out
    assert len(as_json(studio)["turned_down"]) == 1
    assert "The plan stands" in bench(studio, [], "--replan"), "the same is not offered again"
    _, lines = planned
    lines[0] = "The last plate is done at 18:40, 40 min later than planned."
    bench(studio, [], "--replan")
    bench(studio, ["take"])
    assert as_json(studio)["standing"]


def test_a_new_plan_of_a_run_that_has_none_is_one_sentence(studio):
    bench(studio, [], "--plates", "A1")
    done = CliRunner().invoke(cli, ["bench", "--studio", studio, "--replan"])
    assert isinstance(done.exception, BadInput)
    assert "without a plan" in str(done.exception)
    done = CliRunner().invoke(cli, ["bench", "--studio", studio, "--take"])
    assert "give --replan as well" in str(done.exception)
