from __future__ import annotations

from dataclasses import replace

from argentry.out.day import answer
from argentry.records.day import Proof, Range


def test_the_headline_says_how_many_and_when(make_plan):
    assert answer.headline(make_plan(3)) == "3 plates: begin at 07:30, at the latest 08:05"
    fewer = make_plan(3, plates_asked=5)
    assert answer.headline(fewer).startswith("3 of the 5 plates asked: begin")


def test_a_day_without_plates_says_so(make_plan):
    none = make_plan(1, plates_placed=0, steps=(), days_simulated=0)
    assert answer.headline(none) == "No plate can be made on this day as planned."
    assert len(answer.odds_lines(none)) == 1
    assert all("simulated" not in line for line in answer.assumptions(none))


def test_every_odd_stands_with_its_range_or_its_base(make_plan):
    words = dict(answer.odds_lines(make_plan(3)))
    assert words["plates finished on average"] == "3 (2–3)"
    share = words["chance that a finished plate is good"]
    assert share == "58 % (42–73), from 41 plates of yours"
    seed = dict(answer.odds_lines(make_plan(3, good_share_plates=0)))
    assert "starting assumption" in seed["chance that a finished plate is good"]


def test_proof_or_gap(make_plan):
    def line(*proof):
        return answer.proof_line(make_plan(2, proof=Proof(*proof)))

    assert line(300, 300, True, 0.1, 1, 300).endswith("No order ends the day earlier.")
    gap = line(300, 270, False, 0.1, 1, 300)
    assert "another 30 min earlier is not ruled out" in gap
    chosen = line(330, 300, True, 0.1, 1, 300)
    assert "ends 30 min earlier with fewer" in chosen
    assert "No order" not in chosen


def test_most_plates_is_told_as_proved_only_when_it_is(make_plan):
    assert "No more than 4 plates" in answer.holds(make_plan(3, plates_most_proved=True))
    assert "at least" in answer.holds(make_plan(3, plates_most_proved=False))
    # twelve is the most that is ever planned: that says nothing about a thirteenth
    assert "at least 12 plates" in answer.holds(
        make_plan(3, plates_most=12, plates_most_proved=True)
    )
    unsealed = make_plan(3, plates_most_proved=True, another_day=("Seal it",))
    assert "dried on this day, and sealed another" in answer.holds(unsealed)


def test_a_change_of_the_clocks_is_told_only_on_its_day(make_plan):
    spring = answer.clock_change(make_plan(1, date=(2026, 3, 29)))
    assert "forward by 60 min" in spring
    assert "back by 60 min" in answer.clock_change(make_plan(1, date=(2026, 10, 25)))
    assert answer.clock_change(make_plan(1)) == ""


def test_the_swatch_is_the_only_colour_read_from_the_coat(make_plan):
    assert answer.swatch(make_plan(1)) == "#c8a25a"
    assert answer.swatch(make_plan(1, coat={"srgb": 'red"); #panic('})) == ""
    assert "#" not in answer.coat_words(make_plan(1))


def test_polar_night(make_plan):
    plan = make_plan(1, sunrise=None, sunset=None)
    assert answer.sun_line(plan) == "the sun neither rises nor sets over the skyline"
    dark = tuple(replace(hour, sun_elevation_deg=-3.0) for hour in plan.hours)
    assert answer.sun_line(replace(plan, hours=dark)) == "the sun does not rise"


def test_count_range_of_one_value(make_plan):
    words = dict(answer.odds_lines(make_plan(2, finished=Range(2, 2, 2))))
    assert words["plates finished on average"] == "2"
