from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree as ET

import pytest
from tests.out.look import SVG, cut, overlapping, placed, sizes_of

from argentry.out.colours import INK
from argentry.out.plates.band import dose_chart, making_band
from argentry.out.plates.words import headline, record_lines, step_line
from argentry.records.plate_record import (
    AdviceRecord,
    DefectRecord,
    DoseRecord,
    MakingRecord,
    PlateRecord,
    ReadingRecord,
    SaidRecord,
    StepAnswer,
    StepRecord,
)

PHONE, WIDE = 340.0, 700.0  # px
EIGHT = datetime(2026, 6, 20, 8, 0, tzinfo=UTC)


def at(minutes):
    return EIGHT + timedelta(minutes=minutes)


def step(key, stage, planned, done, *, attended=True, short=False):
    begun, ended = done or (None, None)
    return StepRecord(
        key, f"Do {key}", stage, attended, "done" if done else "waiting",
        at(planned[0]), at(planned[1]), None if begun is None else at(begun),
        None if ended is None else at(ended), *[60.0 * (planned[1] - planned[0])] * 2, 30.0, 90.0,
        None if ended is None else 60.0 * (ended - begun), short,
        (StepAnswer(at(5), "Is it clean?", "doubtful", None, "a hair"),), (),
    )  # fmt: skip


def making(**changes):
    steps = (
        step("scour", "polish", (0, 10), (3, 16)),
        step("iodise", "coat", (10, 12), (20, 21), short=True),
        step("expose", "exposure", (15, 20), (30, 40)),
        step("develop", "development", (25, 150), (45, 190), attended=False),
        step("fix", "finish", (150, 160), None),
    )
    made = MakingRecord(
        sitter="",
        id="m", plate="p", run="r", title="Pair", run_plates=("A1", "A2"), session="s", order=1,
        day=date(2026, 6, 20), commissioned=False, state="finished", given_up="", conditions={},
        known=(), stages={"coat": "fault"}, verdict="under", grade="lost",
        defects=(DefectRecord("fog", "development", "grey veil", ("stray light",), "less", True),),
        remark="", steps=steps,
        readings=(
            ReadingRecord(at(2), "room_c", "Air at the bench", 19.5, "°C", "hand"),
            ReadingRecord(at(-500), "box_c", "Iodine box", 20.0, "°C", "hand"),
        ),
        remarks=(),
        advice=(
            AdviceRecord(at(18), "polish", "continue", "go on", 0.5, 0.4, 0.6, 12, None),
            AdviceRecord(at(200), "development", "stop", "stop", 0.2, 0.1, 0.4, 12, "continue"),
        ),
        doses=(DoseRecord("development", 1038.0, 737.0, 683.0, 797.0, 91),),
        judgements=(SaidRecord(at(300), "Ana", "grade: lost"),),
    )  # fmt: skip
    return replace(made, **changes)


def record(*makings):
    return PlateRecord(
        "p", "A1", "quarter", None, None, "", 0, "", work=(), outcomes=makings, pictures=()
    )


@pytest.mark.parametrize("width", [PHONE, WIDE])
@pytest.mark.parametrize("grade", ["lost", "fine", None])
def test_the_band_is_whole_at_its_width(width, grade):
    svg = making_band(making(grade=grade), width)
    assert not cut(svg)
    assert not overlapping(svg)
    assert min(sizes_of(svg)) >= 12.0


def test_the_plan_is_an_outline_and_what_was_done_is_ink():
    root = ET.fromstring(making_band(making(), WIDE))
    boxes = list(root.iter(f"{SVG}rect"))
    outlines = [one for one in boxes if one.get("fill") == "none"]
    ink = [one for one in boxes if one.get("fill") == INK]
    assert len(outlines) == 5 + 1 + 2  # planned, under way with no hands, and twice in the key
    assert len(ink) == 3 + 1


def test_a_reading_long_before_is_not_drawn_and_moves_nothing():
    words = [one.words for one in placed(making_band(making(), WIDE))]
    assert "08" in words
    assert "00" not in words
    dots = ET.fromstring(making_band(making(), WIDE)).iter(f"{SVG}circle")
    assert sum(float(one.get("r")) == 3 for one in dots) == 1 + 1  # one in the key


def test_what_came_stands_at_the_end_beside_the_odds():
    words = [one.words for one in placed(making_band(making(), WIDE))]
    assert "lost" in words
    assert "chance" in words
    assert "chance" not in [one.words for one in placed(making_band(making(advice=()), WIDE))]


def test_a_making_without_steps_has_no_band():
    assert making_band(making(steps=()), WIDE) == ""


@pytest.mark.parametrize("width", [PHONE, WIDE])
def test_light_received_stands_against_the_range_of_the_need(width):
    svg = dose_chart(making().doses, width)
    assert not cut(svg)
    root = ET.fromstring(svg)
    [got] = root.iter(f"{SVG}circle")
    need = next(one for one in root.iter(f"{SVG}line") if one.get("stroke-width") == "2")
    assert float(got.get("cx")) > float(need.get("x2"))  # 1038 is more than 797


def test_the_terminal_says_the_same():
    text = "\n".join(record_lines(record(making())))
    for words in (
        "Plate A1: quarter", "lost, exposure under", "Do scour: 13 min, planned 10 min",
        "far too short", "check “Is it clean?”: doubtful (a hair)", "50 % good (40–60; 12 plates)",
        "not followed: continued", "It came out lost.", "1038 kJ/m² received, 737 (683–797) needed",
        "learned from 91 other plates", "grey veil", "Ana: grade: lost",
    ):  # fmt: skip
        assert words in text
    assert "fix" not in text  # never begun
    assert "Why it failed is not worked out yet: argentry why A1" in text


def test_a_range_stands_next_to_the_length_it_is_of():
    """It read "planned 5 min (6–10)": the range was that of the length that readings had made."""
    planned = step("wash", "finish", (0, 5), (0, 7))
    assert "planned 5 min (4–6)" in step_line(replace(planned, low_s=240.0, high_s=360.0))
    changed = replace(planned, settled_s=480.0, low_s=360.0, high_s=600.0)
    assert "planned 5 min, then 8 min (6–10)" in step_line(changed)
    assert "then" not in step_line(replace(changed, settled_s=310.0)), "the same as it is told"


@pytest.mark.parametrize(
    ("state", "said"), [("going", "being made"), ("given_up", "given up"), ("finished", "")]
)
def test_the_headline_says_how_it_stands(state, said):
    line = headline(making(state=state, grade=None))
    assert "not graded" in line
    assert line.endswith(said)
