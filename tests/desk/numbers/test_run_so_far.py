"""What a run tells of a plate that was given up: a step broken off has no length."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from argentry.book.runs.fold import fold
from argentry.desk.learning.causes import why_failed
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.run_so_far import plates_so_far, with_run
from argentry.records.event import Event
from argentry.records.plate import Making

START = datetime(2026, 5, 12, 8, tzinfo=UTC)
STEPS = [  # key, law, stage, planned length and least one [s]
    ("rouge_buff", "fixed", "polish", 300.0, 200.0),
    ("final_buff", "fixed", "polish", 300.0, 200.0),
    ("iodise", "fuming", "coat", 20.0, 12.0),
    ("develop", "development", "development", 4200.0, 3000.0),
]


def _opened():
    steps = [
        {"key": key, "title": key, "law": law, "stage": stage, "planned_s": s, "low_s": low}
        for key, law, stage, s, low in STEPS
    ]
    plates = [{"id": "p", "label": "P-1"}]
    return {"title": "r", "plates": plates, "steps": steps, "place": {"time_zone": "UTC"}}


def given_up(lengths, *, ended=False, state="abandoned"):
    """Return a plate whose steps took so many seconds, the last cut off by giving it up."""
    told, at = [], START

    def say(kind, step=None, plate="p", **body):
        told.append(Event(f"e{len(told):02}", "r", kind, at, plate, step, body, "tablet"))

    say("run_opened", plate=None, **_opened())
    for (key, *_), seconds in zip(STEPS, lengths, strict=False):
        say("step_begun", key)
        at += timedelta(seconds=seconds)
        if ended or key != STEPS[len(lengths) - 1][0]:
            say("step_ended", key)
    at += timedelta(seconds=2)
    if state == "abandoned":
        stage = STEPS[len(lengths) - 1][2]
        say("plate_abandoned", reason="fault", stage=stage)
    else:
        say("run_closed", plate=None)
    (plate,) = plates_so_far(told, now=at)
    up = fold(told, now=at).plates[0].given_up
    stages = {} if up is None else {up.stage: "fault"}
    lost = Making("m", "p", "r", "1", 1, START.date(), stages=stages, grade="lost", given_up=up)
    return plate, with_run(lost, plate)


@pytest.mark.parametrize(
    ("lengths", "ended", "column"),
    [
        ((300, 60), False, "buff_minutes"),  # of two steps that add up the second
        ((300, 300, 3), False, "fuming_seconds"),
        ((300, 300, 20, 180), False, "development_end"),
        ((300, 300, 20, 180), True, "development_end"),  # ended by hand, and given up at once
    ],
)
def test_a_step_broken_off_has_no_length(lengths, ended, column):
    plate, making = given_up(lengths, ended=ended)
    assert column not in plate.known
    assert column in making.broken_off
    assert column not in making.conditions


def test_steps_that_had_their_time_keep_it_also_where_the_plate_was_given_up_in_them():
    plate, making = given_up((300, 300, 20, 3600))
    assert plate.known["buff_minutes"] == 10.0
    assert plate.known["fuming_seconds"] == 20.0
    assert plate.known["development_end"] == "2026-05-12T09:10:22+00:00"
    assert "development_end" not in making.broken_off
    plate, _ = given_up((300.26, 301.2, 20.26, 3600))  # tenths of a second, hundredths of a minute
    assert (plate.known["fuming_seconds"], plate.known["buff_minutes"]) == (20.3, 10.02)
    plate, making = given_up((300, 300, 20, 2400), ended=True)  # taken out early, and that is all
    assert "development_end" in plate.known
    plate, making = given_up((300, 300, 20, 180), ended=True, state="closed")
    assert "development_end" in plate.known, "it was carried on to its end, however soon"
    assert making.broken_off == ()
    plate, making = given_up((300, 300, 20, 180), state="closed")
    assert "development_end" not in plate.known, "nobody knows when it ended"


@pytest.mark.parametrize(
    ("lengths", "short"),
    [
        ((300, 300, 20, 4200), ()),
        ((300, 300, 20, 180), ("development",)),
        ((300, 300, 3, 4200), ("coat",)),
        ((300, 300, 3, 180), ("coat", "development")),
        ((30, 30, 20, 4200), ()),  # the length of a buff makes no picture
    ],
)
def test_stages_done_far_too_soon_that_nobody_looked_at_are_told(lengths, short):
    plate, _ = given_up(lengths, ended=True, state="closed")
    assert plate.unseen_short == short


LENGTHS = {"unripe", "left_too_long", "coat_thin", "coat_thick", "short_buff"}


@pytest.mark.parametrize("lengths", [(300, 300, 20, 180), (300, 300, 3), (300, 60)])
def test_why_does_not_lay_a_plate_to_the_minutes_of_a_step_it_was_given_up_in(lengths):
    _, making = given_up(lengths)
    other = Making("o", "q", None, "0", 1, date(2026, 5, 1), grade="good")

    def named(one):
        gathered = Gathered((other, one), {"p": "P-1", "q": "Q-1"}, {}, {}, "here", (), None)
        return {row.cause: row.probability for row in why_failed(gathered, "P-1").causes}

    (stage,) = making.stages
    assert not LENGTHS & set(named(making))
    whole = named(replace(making, broken_off=()))
    assert LENGTHS & set(whole), "without it they are suspects"
    assert sum(named(making).values()) > 0.2, f"another cause of the {stage} takes their place"


def test_what_a_check_said_before_hands_went_back_is_kept_beside_the_last_answer():
    polish = [
        *(("step_begun", "rouge_buff"), ("step_ended", "rouge_buff")),
        *(("step_begun", "final_buff"), ("step_ended", "final_buff")),
    ]
    coat = [("step_begun", "iodise"), ("step_ended", "iodise")]
    told = [_event(0, "run_opened", plate=None, **_opened())]
    for kind, step, *answer in (
        *(*polish, ("check_answered", "final_buff", "wrong"), ("step_redone", "rouge_buff")),
        *(*polish, ("check_answered", "final_buff", "right"), *coat),
        *(("check_answered", "iodise", "doubtful"), ("step_redone", "rouge_buff"), *polish),
    ):
        body = {"answer": answer[0], "when": "after"} if answer else {}
        told.append(_event(len(told), kind, step, **body))
    (plate,) = plates_so_far(told)
    assert plate.taken_back == {"polish": ("wrong", "right"), "coat": ("doubtful",)}
    assert plate.answers == {}
    (plate,) = plates_so_far(told[:12])
    assert (plate.taken_back, plate.answers) == ({"polish": ("wrong",)}, {"polish": "right"})


def test_a_coat_is_as_the_last_picture_of_it_showed_whatever_was_looked_at_before():
    polish = [(kind, key) for key, *_ in STEPS[:2] for kind in ("step_begun", "step_ended")]
    coat = [("step_begun", "iodise"), ("step_ended", "iodise")]
    told = [_event(0, "run_opened", plate=None, **_opened())]
    for kind, step in (*polish, *coat):
        told.append(_event(len(told), kind, step))

    def look(nm, plate="p"):
        body = {"answer": "right", "when": "after", "value": nm, "seen": {"coat_l": 70.0}}
        told.append(_event(len(told), "check_answered", "iodise", plate, **body))

    look(31.0, "another")
    look(24.0)
    (plate,) = plates_so_far(told)
    assert (plate.known["coat_nm"], plate.known["coat_l"]) == (24.0, 70.0)
    told.append(_event(len(told), "step_redone", "iodise"))
    told.extend(_event(len(told) + n, *one) for n, one in enumerate(coat))
    (plate,) = plates_so_far(told)
    assert "coat_nm" not in plate.known  # that coat was taken off
    look(27.0)
    (plate,) = plates_so_far(told)
    assert plate.known["coat_nm"] == 27.0


def _event(number, kind, step=None, plate="p", **body):
    at = START + timedelta(minutes=6 * number)
    return Event(f"e{number:02}", "r", kind, at, plate, step, body, "tablet")


@pytest.mark.parametrize(
    ("constants", "planned", "frame"),
    [
        ({"held": {"frame": {"p": "Red frame"}}}, "", "Red frame"),
        ({"held": {"frame": {"p": "Red frame"}}}, "Lamp box", "Lamp box"),  # a new plan was taken
        ({"held": {"frame": {}}}, "", None),  # of two kinds nobody knows which
        ({"frame": "Red frame"}, "Lamp box", None),  # what an older run taught stays as it was
        ({"held": "Red frame"}, "", None),
    ],
)
def test_a_run_tells_in_which_frame_a_plate_was_developed(constants, planned, frame):
    """It told no frame: each plate taught a dose of the first one's light in the sun."""
    opened = _opened()
    opened["steps"][3]["resource"] = "frame"
    rows = {"develop": {"start": START.isoformat(), "held": planned}}
    opened |= {"constants": constants, "plan": {"p": rows}}
    told = [Event("e0", "r", "run_opened", START, None, None, opened, "tablet")]
    told += [
        Event(f"e{n}", "r", "step_skipped", START, "p", key, {}, "tablet")
        for n, (key, *_) in enumerate(STEPS[:3], 1)
    ]
    (plate,) = plates_so_far(told, now=START)
    assert "frame" not in plate.known
    told.append(Event("e4", "r", "step_begun", START, "p", "develop", {}, "tablet"))
    (plate,) = plates_so_far(told, now=START + timedelta(minutes=1))
    assert plate.known.get("frame") == frame
