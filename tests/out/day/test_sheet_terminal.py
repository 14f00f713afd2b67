from __future__ import annotations

import io
import math
from dataclasses import replace

import pytest
from rich.cells import cell_len
from rich.console import Console

from argentry.out.day.sheet_terminal import print_day
from argentry.records.day import Range


def printed(plan, width=80, **kwargs):
    out = io.StringIO()
    print_day(plan, Console(file=out, width=width, highlight=False, **kwargs))
    return out.getvalue()


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("plates", [1, 3, 12])
def test_no_line_is_wider_than_the_terminal(make_plan, width, plates):
    text = printed(make_plan(plates), width)
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
    text = printed(make_plan(1))
    assert "████████  95 %" in text
    assert "██······  30 %" in text


def test_every_step_and_its_cautions_are_told(make_plan):
    plan = make_plan(2)
    text = " ".join(printed(plan, 120).split())
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
    print_day(make_plan(1), Console(file=out, width=80, highlight=False))
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
