"""The answer of a day in a few sentences: how many plates, when to begin, what the odds are."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from argentry.out.numbers import numbers_line
from argentry.out.wording import (
    clock,
    count_range,
    deadline,
    length,
    minutes_between,
    percent,
    percent_range,
    plates,
)

if TYPE_CHECKING:
    from argentry.records.day import DayPlan


def headline(plan: DayPlan) -> str:
    """Return the answer in one line: how many plates, and when to begin."""
    if not plan.plates_placed or not plan.steps:
        return "No plate can be made on this day as planned."
    first = min(plan.steps, key=lambda step: step.start.timestamp())
    many = plates(plan.plates_placed)
    if plan.plates_placed < plan.plates_asked:
        many = f"{plan.plates_placed} of the {plan.plates_asked} plates asked"
    if first.float_minutes < 1.0:
        return f"{many}: begin at {clock(first.start)}, not later"
    return f"{many}: begin at {clock(first.start)}, at the latest {deadline(first.latest_start)}"


def odds_lines(plan: DayPlan) -> tuple[tuple[str, str], ...]:
    """Return the odds of the day as pairs of words and figures, each with its range or its base."""
    days = plan.days_simulated
    if not plan.plates_placed:
        return (("the light suffices", percent(plan.light_odds, days)),)
    behind = (
        f"from {plates(plan.good_share_plates)} in the book"
        if plan.good_share_plates
        else "the trade's starting value, no plate of yours yet"
    )
    share = plan.good_share
    return (
        ("the light suffices for all", percent(plan.light_odds, days)),
        ("all finished in time", percent(plan.all_finished_share, days)),
        ("plates finished", count_range(plan.finished)),
        ("good plates", count_range(plan.good_plates)),
        (
            "chance that a finished plate is good",
            f"{percent_range(share)}, {behind}",
        ),
    )


def holds(plan: DayPlan) -> str:
    """Return how many plates the day holds at most, and what overlapping gains."""
    most = f"The day holds {plates(plan.plates_most)} at most"
    most += " (proved)" if plan.plates_most_proved else " as far as found"
    if plan.plates_most > 1:
        most += f", one after the other {plan.plates_one_by_one}"
    gain = plan.minutes_one_by_one - plan.minutes_overlapped
    if plan.plates_placed > 1 and gain > 0.5:
        most += (
            f". These {plan.plates_placed}: {length(plan.minutes_overlapped)} overlapped during"
            f" development, {length(plan.minutes_one_by_one)} one after the other"
        )
    most += "."
    return most


def proof_line(plan: DayPlan) -> str:
    """Return what the solver can say about the order, in one sentence."""
    proof = plan.proof
    if proof.optimal:
        return "No order of the steps ends the day earlier (proved)."
    gap = proof.finish_minutes - proof.bound_minutes
    return f"A better order could end the day {length(gap)} earlier at most (not closed)."


def assumptions(plan: DayPlan) -> tuple[str, ...]:
    """Return what the plan rests on: weather, simulated days, proof, what a range means."""
    return (
        f"Weather: {plan.weather}.",
        *(
            (numbers_line(plan.numbers_in_use, as_written=plan.as_written),)
            if plan.learned or plan.as_written
            else ()
        ),
        *(
            (f"Ranges hold 80 % of {plan.days_simulated} simulated days.", proof_line(plan))
            if plan.plates_placed
            else ()
        ),
    )


def sun_line(plan: DayPlan) -> str:
    """Return sunrise and sunset over the skyline of the place."""
    if plan.sunrise is None or plan.sunset is None:
        return "the sun does not pass the skyline of the place"
    return f"sun over the skyline {clock(plan.sunrise)}–{clock(plan.sunset)}"


def clock_change(plan: DayPlan) -> str:
    """Return a note when the clocks change within the day; empty on other days."""
    noon = plan.date.replace(hour=12)
    before, after = plan.date.utcoffset(), noon.utcoffset()
    if before is None or after is None or before == after:
        return ""
    way = "forward" if after > before else "back"
    moved = abs(round(minutes_between(plan.date, noon) - 720))
    return f"The clocks go {way} by {moved} min this night; every time here is the wall clock."


def swatch(plan: DayPlan) -> str:
    """Return the coat's colour as ``#rrggbb``, empty when the plan has none."""
    for _, value in plan.coat:
        if re.fullmatch(r"#[0-9a-fA-F]{6}", value.strip()):
            return value.strip().lower()
    return ""


def coat_words(plan: DayPlan) -> str:
    """Return the coat aimed at in one line, without the colour code."""
    return ", ".join(
        value if key in ("thickness", "colour") else f"{key} {value}"
        for key, value in plan.coat
        if not value.strip().startswith("#")
    )
