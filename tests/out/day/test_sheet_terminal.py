from __future__ import annotations

import io
import math
import re
from dataclasses import replace

import pytest
from rich.cells import cell_len
from rich.console import Console

from argentry.out.day.blocks import blocks
from argentry.out.day.rows import rows as day_rows
from argentry.out.day.sheet_terminal import print_day
from argentry.out.wording import clock, length_range
from argentry.records.day import Range


def printed(plan, width=80, *, full=False, **kwargs):
    out = io.StringIO()
    print_day(plan, Console(file=out, width=width, highlight=False, **kwargs), full=full)
    return out.getvalue()


WORKSHOP = {"workers": 4, "pace": 0.7, "begin": "05:30", "end": "22:00"}


def plan_of(make_plan, plates, **changes):
    return make_plan(plates, **(WORKSHOP if plates > 6 else {}), **changes)


@pytest.mark.parametrize(("plates", "most"), [(1, 40), (3, 40), (6, 50), (12, 60)])
@pytest.mark.parametrize("notes", [0, 1, 9])
def test_a_day_is_one_screen(make_plan, plates, most, notes):
    """40 lines for three plates on 100 columns, however much there is to warn of."""
    loud = tuple(f"Note {n}: " + "the light may fail in the afternoon, " * 3 for n in range(notes))
    plan = plan_of(make_plan, plates, warnings=loud)
    lines = printed(plan, 100).splitlines()
    assert len(lines) <= most
    text = " ".join(" ".join(lines).split())
    if notes:
        assert "! Note 0" in text  # the gravest is always told
    left = notes - text.count("! Note")
    assert (f"{left} more note" in text) is (left > 0)
    for word in ("begin at", "hands", "waits: ", "--full", "fix within 15 min of ripe"):
        assert word in text


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("plates", [1, 3, 12])
def test_every_piece_of_work_is_on_the_screen_in_order_of_time(make_plan, plates, width):
    plan = plan_of(make_plan, plates)
    text = printed(plan, width)
    rows = [line for line in text.splitlines() if re.match(r"\d\d:\d\d  ", line)]
    cells = [re.match(r"(\d\d:\d\d) ", line)[1] for line in rows]
    half = len(rows[0]) > 51 and re.search(r" {2,}\d\d:\d\d {2,}\d", rows[0][20:])
    if plates == 12 and width == 100:
        assert half
        cells += [line[51:56] for line in rows if line[51:56]]
    assert cells == [row.start for row in day_rows(plan)]
    assert set(cells) == {clock(block.start) for block in blocks(plan)}
    assert cells == sorted(cells)


def test_the_latest_start_stands_in_words_and_the_camera_with_its_range(make_plan):
    plan = make_plan(3)
    bound = tuple(
        replace(step, event="ripe", within_minutes=15.0) if step.step == "fix" else step
        for step in plan.steps
    )
    text = printed(replace(plan, steps=bound), 100)
    assert text.count("within 15 min of ripe") >= 3
    shot = next(step for step in plan.steps if step.step == "expose")
    middle, ends = length_range(shot.minutes)
    assert f"camera {middle} ({ends}); ripe " in text


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("plates", [1, 3, 12])
def test_no_line_is_wider_than_the_terminal(make_plan, width, plates, full):
    text = printed(plan_of(make_plan, plates), width, full=full)
    assert max(cell_len(line) for line in text.splitlines()) <= width
    assert "…" not in text  # nothing cut off


def test_the_answer_is_in_the_first_lines(make_plan):
    top = printed(make_plan(3)).splitlines()[:7]
    assert any("3 plates: begin at 07:30" in line for line in top)
    assert any("INVENTED" in line for line in top)


def test_without_colour_nothing_is_lost(make_plan):
    plain = printed(make_plan(2))
    coloured = printed(make_plan(2), force_terminal=True, color_system="truecolor")
    assert "\x1b[" in coloured
    assert "\x1b[" not in plain
    assert "! Air is damp" in plain


def test_hour_odds_have_a_bar_and_a_figure(make_plan):
    text = printed(make_plan(1), full=True)
    assert "████████  95 %" in text
    assert "██······  30 %" in text


def test_every_step_and_its_cautions_are_told(make_plan):
    plan = make_plan(2)
    text = " ".join(printed(plan, 120, full=True).split())
    for step in plan.steps:
        assert step.title in text
        assert step.look_for in text
    for caution in {text for step in plan.steps for text in step.cautions}:
        assert text.count(caution) == 1


def test_the_band_shows_hands_camera_and_waiting(make_plan):
    rows = [line for line in printed(make_plan(1)).splitlines() if line.startswith(" plate 1")]
    assert len(rows) == 1
    assert all(mark in rows[0] for mark in "█▲░")


def test_a_terminal_without_these_letters_gets_plain_ones(make_plan):
    raw = io.BytesIO()
    out = io.TextIOWrapper(raw, encoding="ascii")
    print_day(make_plan(1), Console(file=out, width=80, highlight=False), full=True)
    out.flush()
    text = raw.getvalue().decode("ascii")
    assert "# hands  ^ camera" in text
    assert "########  95 %" in text


def test_empty_and_endless_days_print(make_plan):
    none = make_plan(1, plates_placed=0, steps=(), hours=(), days_simulated=0)
    assert "No plate can be made" in printed(none)
    plan = make_plan(1)
    steps = tuple(
        step if step.attended else replace(step, minutes=Range(80, math.inf, math.inf))
        for step in plan.steps
    )
    assert "–never" in printed(replace(plan, steps=steps), 120)


def test_a_step_has_the_marks_of_every_plate(make_plan):
    """A plate under a lamp has a caution that the first plate, in the sun, has not."""
    plan = make_plan(2)
    lamp = "A lamp is hot."
    steps = tuple(
        replace(step, cautions=(*step.cautions, lamp))
        if (step.plate, step.step) == (2, "develop")
        else step
        for step in plan.steps
    )
    text = printed(replace(plan, steps=steps), full=True)
    mark = re.search(rf"(!\d+) {re.escape(lamp)}", text)[1]
    assert len(re.findall(rf"{mark}\b", text)) == 2  # at its step and in the list
