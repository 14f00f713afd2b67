"""`argentry bench` by piped lines, and once with the keys of a real terminal."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from argentry.cli.bench_keys import ESCAPE, split
from argentry.cli.main import cli, main

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


def test_a_whole_run_with_one_word(studio):
    first = bench(studio, ["go"] * 3, "--plates", "A1")
    assert first.startswith("run ")
    out = bench(studio, ["go", "yes"] * 90)  # yes is only heard where something is asked back
    assert "The run is over." in out
    state = as_json(studio, "--run", first[4:40])
    assert state["state"] == "closed"
    assert [step["state"] for step in state["plates"][0]["steps"]] == ["done"] * 19
    checked = [s for s in state["plates"][0]["steps"] if s["answer"] == "right"]
    assert len(checked) == 16  # three steps have no check
    assert state["odd"] == []


def test_cautions_come_before_the_first_step(studio):
    out = bench(studio, ["go", "go"], "--plates", "A1")
    lines = out.splitlines()
    assert lines[2].startswith("CAUTION")
    assert lines[4] == "space: Begin."
    assert lines[6] == "space: End when it is right."


def test_a_reading_says_by_how_much_and_why(studio):
    bench(studio, ["reading box 12", "reading light 20 klx", "remark dusty"], "--plates", "A1")
    state = as_json(studio)
    step = next(s for s in state["plates"][0]["steps"] if s["key"] == "iodise")
    assert step["changes"][0]["why"].startswith("box at 12 °C: ")
    assert [r["what"] for r in state["readings"]] == ["box_c", "light_lx"]
    assert state["remarks"][0]["words"] == "dusty"


def test_take_back_pause_skip_give_up(studio):
    out = bench(
        studio,
        ["go", "go", "undo", "pause", "pause", "next", "skip", "yes", "give-up scratched", "undo",
         "wrong way", "undo", "undo", "undo", "undo", "undo"],
        "--plates", "A1,B2",
    )  # fmt: skip
    assert "Taken back: step begun ready_room." in out
    assert "Leave out scour? y: yes" in out
    assert "Taken back: plate abandoned." in out
    assert "'wrong' is no word" not in out
    assert "There is nothing to take back." in out
    plates = as_json(studio)["plates"]
    assert [plate["state"] for plate in plates] == ["open", "open"]
    assert plates[1]["steps"][1]["state"] == "ready"


def test_back_does_a_step_once_more(studio):
    out = bench(studio, ["back", "back scour", "go", "go", "b"], "--plates", "A1")
    assert out.count("No step of this plate can be done once more now.") == 3
    bench(studio, ["go"] * 14)  # the last buff is done and looked at
    out = bench(studio, ["back dance", "back r", "back", "undo", "back rouge", "b scour"])
    assert "'dance' is none of the steps to go back to: final_buff, rouge_buff, scour, " in out
    assert "'r' is none of" in out, "two begin so"
    assert "Taken back: step redone final_buff." in out
    plate = as_json(studio)["plates"][0]
    assert [(one["step"], one["why"]) for one in plate["redone"]] == [
        ("rouge_buff", "by choice"), ("scour", "by choice"),
    ]  # fmt: skip
    assert plate["current"] == "scour"
    assert bench(studio, ["go"]).splitlines()[-1] == "space: End when it is right."


def test_a_wrong_check_proposes_giving_up(studio):
    out = bench(studio, ["go", "go", "go", "wrong"], "--plates", "A1")
    assert "Wrong: x gives the plate up" in out
    assert as_json(studio)["plates"][0]["steps"][0]["answer"] == "wrong"


def test_an_unattended_step_is_not_ended_by_one_slip(studio):
    bench(studio, ["skip", "yes"] * 9, "--plates", "A1")
    out = bench(studio, ["go", "go", "go", "go"])
    assert "Sure? y: yes" in out
    step = next(s for s in as_json(studio)["plates"][0]["steps"] if s["key"] == "develop")
    assert step["state"] == "running"


def test_bad_words_and_readings_are_said(studio):
    out = bench(
        studio,
        ["dance", "reading box", "reading mood 3", "reading box warm", "reading box 900"],
        "--plates",
        "A1",
    )
    assert "'dance' is no word of the bench" in out
    assert "A reading is a name and a number" in out
    assert "'mood' is not measured here" in out
    assert "'warm' is no number" in out
    assert "900" in out


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ([], "no run is open"),
        (["--run", "0000"], "no run begins so"),
        (["--plates", "A,A"], "twice"),
        (["--plates", ","], "none are named"),
        (["--run", "0", "--plates", "A"], "a new run is asked for as well"),
        (["--date", "soon"], "is no date"),
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
    seen = read_until(ours, "CAUTION")
    os.write(ours, b" ")
    seen += read_until(ours, "space: Begin")
    os.write(ours, b"\x1b[C")
    seen += read_until(ours, "End when it is right")
    os.write(ours, b"rbox 12\n")
    os.write(ours, b"q")
    read_until(ours, "goes on")
    assert running.wait(timeout=30) == 0
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
