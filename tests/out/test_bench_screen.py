"""The bench's screen: red and black only, the time in large figures, every plate in one glance."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from rich.console import Console

from argentry.bench.questions import answered, choices, new_form, question
from argentry.bench.words import zone_of
from argentry.book.runs.fold import fold
from argentry.desk.bench.acts import next_act
from argentry.out.bench_screen import (
    CHOICE_KEYS,
    FIGURES,
    _in_hand,
    form_lines,
    full_height,
    large,
    look_of,
    plain_lines,
    screen,
)
from argentry.records.event import Event

CASES = Path(__file__).parents[1] / "fixtures" / "fold"


def state_of(name, later_s=0):
    case = json.loads((CASES / f"{name}.json").read_text("utf-8"))
    events = [Event(**{**e, "at": datetime.fromisoformat(e["at"])}) for e in case["events"]]
    return fold(events, now=datetime.fromisoformat(case["now"]) + timedelta(seconds=later_s))


def console(system="truecolor", **more):
    return Console(
        file=io.StringIO(), width=90, height=30, force_terminal=True, color_system=system, **more
    )


def drawn(state, terminal, *, daylight=False, say="", typed=None):
    look = look_of(terminal, daylight=daylight)
    shown = full_height(screen(state, None, look, say=say, typed=typed), look, terminal.height)
    return terminal.render_lines(shown, terminal.options.update(height=30), pad=True)


def words(lines):
    return "\n".join("".join(segment.text for segment in line) for line in lines)


def test_a_coat_past_its_range_is_told_what_to_do_on_the_screen():
    assert "off the iodine now" not in words(drawn(state_of("two_devices"), console()))
    shown = " ".join(words(drawn(state_of("two_devices", 200), console())).split())
    assert "Longer than this box needs: off the iodine now" in shown


@pytest.mark.parametrize("name", [file.stem for file in CASES.glob("*.json")])
def test_every_cell_is_pure_red_on_black(name):
    lines = drawn(state_of(name), console(), say="said", typed="reading: box")
    assert len(lines) == 30
    for line in lines:
        assert sum(segment.cell_length for segment in line) == 90
        for segment in line:
            style = segment.style
            assert style.bgcolor.triplet == (0, 0, 0)
            assert style.color.triplet.green == style.color.triplet.blue == 0
            assert style.color.triplet.red > 0
            assert not style.dim  # a terminal may dim by mixing


def test_a_terminal_of_few_colours_gets_its_red():
    lines = drawn(state_of("running"), console("standard"))
    colours = {s.style.color.name for line in lines for s in line}
    assert colours == {"red"}


def test_daylight_uses_the_terminals_own_colours():
    lines = drawn(state_of("running"), console(), daylight=True)
    assert all(s.style is None or s.style.color is None for line in lines for s in line)


def test_the_time_left_in_large_figures():
    shown = words(drawn(state_of("running"), console()))
    for row in large("3:00"):
        assert row in shown
    assert "300 s of 8 min gone" in shown or "5 min of 8 min gone" in shown


def test_every_figure_is_five_high_and_even():
    for letter, rows in FIGURES.items():
        assert len(rows) == 5, letter
        assert len({len(row) for row in rows}) == 1, letter
    assert len(set(FIGURES.values())) == len(FIGURES)


def test_over_time_counts_on_below_nothing():
    shown = words(drawn(state_of("over_time_and_keep"), console()))
    assert large("-2:00")[0] in shown
    assert "2 min over time" in shown


def test_the_plates_are_all_there():
    shown = words(drawn(state_of("left_out_and_given_up"), console()))
    assert "given up: scratched" in shown
    assert "Three" in shown
    assert "One" in shown


def test_a_frame_in_use_is_named():
    shown = words(drawn(state_of("box_and_frames"), console()))
    assert "waits for the frame that One holds" in shown


def test_plain_lines_say_the_same():
    assert plain_lines(state_of("running"), None) == [
        "One: Buff: 3 min left",
        "CHECK  A grid stays straight   space: done, right   2: done, doubtful   3: done, wrong",
    ]
    assert plain_lines(state_of("run_withdrawn"), None) == ["The run is over."]
    assert plain_lines(state_of("closed"), None) == ["How did One come out?"]
    assert plain_lines(state_of("check_asked"), None)[1].startswith("CHECK  A grid stays straight")


def test_every_question_about_a_plate_is_red_and_has_a_key_for_each_answer():
    state = state_of("whole_run")
    for told in ((), ("lost",), ("lost", "finish"), ("fine",)):
        form = new_form(state, state.plates[0].id)
        for key in told:
            form = answered(form, key)
        look = look_of(console(), daylight=False)
        shown = full_height(screen(state, None, look, say="", typed=None, form=form), look, 30)
        terminal = console()
        lines = terminal.render_lines(shown, terminal.options.update(height=30), pad=True)
        assert {s.style.color.triplet.green for line in lines for s in line} == {0}
        text = words(lines)
        assert question(form) in text
        keys = [line.split()[0] for line in form_lines(form)[1:]]
        assert keys == list(CHOICE_KEYS[: len(choices(form))])
        assert all(words_ in text for _, words_ in choices(form))
    assert "Later" in text


def test_a_terminal_without_block_letters():
    plain = Console(file=io.TextIOWrapper(io.BytesIO(), "ascii"), force_terminal=True, width=90)
    assert look_of(plain, daylight=True).mark == "#"
    assert set("".join(large("18:20", "#"))) == {"#", " "}


def test_the_planned_times_stand_with_each_plate():
    state = state_of("planned")
    shown = words(drawn(state, console()))
    assert "late by" not in shown
    assert "Next by the plan: One, Expose, planned 08:10, latest 08:12: 0 min to spare" in shown
    lines = plain_lines(state, None)
    assert any(line.startswith("Next by the plan: One, Expose") for line in lines)
    assert any(line.startswith("One: planned until 08:10; then Expose, ") for line in lines)
    late = plain_lines(state_of("planned", 720), None)
    assert any("late by 12 min" in line for line in late)


def begun_early(minutes, *, others=True):
    """Return a run whose second plate could begin so long before its plan; the first is begun."""
    state = state_of("planned")
    one, two, *_ = state.plates
    first = two.steps[0]
    start = state.now + timedelta(minutes=minutes)
    ready = replace(first, state="ready", begun=None, plan=replace(first.plan, start=start))
    two = replace(two, state="open", current=first.key, steps=(ready, *two.steps[1:]))
    begun = tuple(replace(step, begun=None) for step in one.steps)
    one = one if others else replace(one, steps=begun)
    steps = tuple(replace(rule, stage="polish") for rule in state.steps)
    return (
        replace(state, plates=(one, two), steps=steps),
        two.id,
        f"{start.astimezone(zone_of(state)):%H:%M}",
    )


def test_a_plate_begun_long_before_its_plan_is_said_to_wait():
    """The page said so and the terminal did not."""
    state, plate, start = begun_early(25.0)
    told = f"The plan begins this at {start}. Begun earlier, the plate may wait too long later."
    assert f"Two: {told}" in plain_lines(state, plate)
    look = look_of(console(), daylight=False)
    shown = "\n".join(one.plain for one in _in_hand(state, plate, next_act(state, plate), look, {}))
    assert told in shown
    assert "too long later" not in "\n".join(plain_lines(*begun_early(19.0)[:2]))
    alone, plate, _ = begun_early(25.0, others=False)
    assert "too long later" not in "\n".join(plain_lines(alone, plate)), "nothing else is begun"


def test_how_warm_a_back_must_be_is_said_on_the_screen_and_in_plain_lines(monkeypatch):
    state = state_of("over_time_and_keep")
    asked = []
    words_of = "argentry.out.bench_screen.dew_words"
    monkeypatch.setattr(words_of, lambda *of: asked.append(of) or "Dew point 8 °C")
    assert "Dew point 8 °C" in words(drawn(state, console()))
    [line] = [one for one in plain_lines(state, None) if "Dew point 8 °C" in one]
    assert line.endswith(": Dew point 8 °C")
    assert all(of[0] is state for of in asked)
