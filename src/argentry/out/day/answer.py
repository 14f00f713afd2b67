"""The answer of a day in a few sentences: how many plates, when to begin, what the odds are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, time

from argentry.needs.doubt.percent import percent, percent_range
from argentry.needs.doubt.words import doubt_line
from argentry.out.day.blocks import short_name
from argentry.out.day.wished import wished_line
from argentry.out.numbers import numbers_line
from argentry.out.wording import clock, count_range, deadline, length, minutes_between, plates
from argentry.records.day import MOST_PLATES, Appointment, DayPlan
from argentry.records.units import told

CHOSEN = "Of the orders found this one promises the most good plates."
PROVED = "No order ends the day earlier."
LATER = "This order promises the most good plates; another ends {gap} earlier with fewer."
NOT_RULED_OUT = "One that ends the day another {gap} earlier is not ruled out."
SITTER = "{name} at {time}: plate {plate}{asked}, pose {start}–{end}."
OF_SIZE, AT_OPENING = ", {size}", ", f/{f_number:g}"
A_SITTER = "Sitter"
WEATHER, BY_ITSELF = "Weather: {weather}.", " {age} old when this was planned. {credit}"
POLISHED = "Polished the evening before, plate {numbers}: only the final buff is done on the day."
ANOTHER_DAY = "Left for another day: {steps}."
LIGHT_OF = (
    "Share of {days} simulated days on which the light serves every exposure and development as "
    "planned."
)
NO_LIGHT_OF = "Share of simulated days on which the light serves an exposure and its development."
FINISHED_OF = (
    "Share of {days} simulated days on which every plate is done before the hands leave: light, "
    "lengths of the steps and doses are drawn for each."
)
FINISHED_EACH = "Plates done on a simulated day."
GOOD_OF = (
    "Plates finished on a simulated day, each good by the share of good plates to come. That share "
    "is known better than the chance of one plate: what tells plates apart evens out."
)
RANGE_OF = "The mean of {days} days, and between which figures four days in five lie."
SHARE_OF = (
    "Learned from your graded plates where there are any, else the trade's starting value. It is "
    "the chance of one plate before its conditions are known, so its range spans what plates "
    "differ by here; the odds of a plate grow surer as its conditions are noted. By stage: the "
    "page Learned."
)
AT_MOST = "No more than {most} can be finished and sealed on this day"
AT_MOST_UNSEALED = "No more than {most} can be dried on this day, and sealed another"
AT_LEAST = "The hours of this day hold at least {most}"


def headline(plan: DayPlan) -> str:
    """Return the answer in one line: how many plates, and when to begin."""
    if not plan.plates_placed or not plan.steps:
        return "No plate can be made on this day as planned."
    first = min(plan.steps, key=lambda step: step.start.timestamp())
    many = plates(plan.plates_placed)
    if plan.plates_placed < plan.plates_asked:
        many = "{plates_placed} of the {plates_asked} plates asked".format(
            plates_placed=plan.plates_placed, plates_asked=plan.plates_asked
        )
    if first.float_minutes < 1.0:
        return "{many}: begin at {start}, not later".format(many=many, start=clock(first.start))
    return "{many}: begin at {start}, at the latest {latest_start}".format(
        many=many, start=clock(first.start), latest_start=deadline(first.latest_start)
    )


def odds_lines(plan: DayPlan) -> tuple[tuple[str, str], ...]:
    """Return the odds of the day as pairs of words and figures, each with its range or its base."""
    days = plan.days_simulated
    if not plan.plates_placed:
        return (("enough light", percent(plan.light_odds, days)),)
    behind = (
        "from {good_share_plates} of yours".format(good_share_plates=plates(plan.good_share_plates))
        if plan.good_share_plates
        else "a starting assumption; none of your plates stands behind it"
    )
    share = plan.good_share
    return (
        ("enough light for all", percent(plan.light_odds, days)),
        ("all finished in time", percent(plan.all_finished_share, days)),
        ("plates finished on average", count_range(plan.finished)),
        ("good plates on average", count_range(plan.good_plates)),
        (
            "chance that a finished plate is good",
            f"{percent_range(share)}, {behind}",
        ),
    )


def odds_parts(plan: DayPlan) -> tuple[str, ...]:
    """Return what each figure of `odds_lines` is made of, and what would narrow it."""
    days = plan.days_simulated
    if not plan.plates_placed:
        return (NO_LIGHT_OF,)
    light = " ".join((LIGHT_OF.format(days=days), *known_lines(plan)))
    more = RANGE_OF.format(days=days)
    return (
        light,
        FINISHED_OF.format(days=days),
        f"{FINISHED_EACH} {more}",
        f"{GOOD_OF} {more}",
        SHARE_OF,
    )


def odds_words(plan: DayPlan) -> tuple[str, ...]:
    """Return the odds of the day in the order of `odds_lines`, each in a few words."""
    return tuple(f"{words} {figure}" for words, figure in odds_lines(plan))


def holds(plan: DayPlan) -> str:
    """Return how many plates the day holds at most, and what overlapping gains."""
    if not plan.plates_most:
        return ""
    words = AT_LEAST
    if plan.plates_most_proved and plan.plates_most < MOST_PLATES:  # more are never tried
        words = AT_MOST_UNSEALED if plan.another_day else AT_MOST
    most = words.format(most=plates(plan.plates_most))
    if plan.plates_most > 1:
        most += "; {plates_one_by_one} if each is done before the next begins".format(
            plates_one_by_one=plan.plates_one_by_one
        )
    gain = plan.minutes_one_by_one - plan.minutes_overlapped
    if plan.plates_placed > 1 and gain > 0.5:
        most += (
            ". These {plates_placed} take {minutes_overlapped} overlapped during"
            " development, {minutes_one_by_one} one after the other".format(
                plates_placed=plan.plates_placed,
                minutes_overlapped=length(plan.minutes_overlapped),
                minutes_one_by_one=length(plan.minutes_one_by_one),
            )
        )
    most += "."
    return most


def proof_line(plan: DayPlan) -> str:
    """Return why this order was chosen, and what is proved of the end of the day."""
    proof = plan.proof
    later = proof.finish_minutes - proof.earliest_minutes
    if later >= 1.0:
        chosen = LATER.format(gap=length(later))
    elif proof.optimal:
        return f"{CHOSEN} {PROVED}"
    else:
        chosen = CHOSEN
    if proof.optimal:
        return chosen
    gap = proof.earliest_minutes - proof.bound_minutes
    return f"{chosen} {NOT_RULED_OUT.format(gap=length(gap))}"


def assumptions(plan: DayPlan) -> tuple[str, ...]:
    """Return what the plan rests on: weather, simulated days, proof, what a range means."""
    return (
        weather_line(plan),
        *(
            (numbers_line(plan.numbers_in_use, as_written=plan.as_written),)
            if plan.learned or plan.as_written
            else ()
        ),
        *(
            (
                "Ranges hold 80 % of {days_simulated} simulated days.".format(
                    days_simulated=plan.days_simulated
                ),
                proof_line(plan),
            )
            if plan.plates_placed
            else ()
        ),
        *known_lines(plan),
    )


KNOWN = "{step}: {line}"


def known_lines(plan: DayPlan) -> Iterator[str]:
    """Yield what the ranges of the first exposure and the first development are made of."""
    told: set[str] = set()
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start)):
        if step.doubt is not None and step.step not in told:
            told.add(step.step)
            name, line = short_name(step).capitalize(), doubt_line(step.doubt, first=False)
            yield KNOWN.format(step=name, line=line)


def weather_line(plan: DayPlan) -> str:
    """Return where the weather came from, its age, and whose data they are."""
    line = WEATHER.format(weather=plan.weather)
    origin = plan.weather_origin
    if origin is None:
        return line
    return line + BY_ITSELF.format(age=length(origin.age_minutes), credit=origin.credit)


def of_this_day(plan: DayPlan) -> tuple[str, ...]:
    """Return what the day holds, what was asked of it alone, what another day has or gets of it."""
    said = (holds(plan), wished_line(plan.wishes), *other_days(plan))
    return tuple(line for line in said if line)


def other_days(plan: DayPlan) -> tuple[str, ...]:
    """Return what was done before the day, and what is left for another."""
    lines = [_appointment(one) for one in plan.appointments if one.plate is not None]
    if plan.polished:
        numbers = ", ".join(str(plate) for plate in plan.polished)
        lines.append(POLISHED.format(numbers=numbers))
    if plan.another_day:
        lines.append(ANOTHER_DAY.format(steps="; ".join(plan.another_day)))
    return tuple(lines)


def notes(plan: DayPlan) -> tuple[str, ...]:
    """Return what is said loudly, in the studio's units: the warnings, a change of the clocks."""
    said = (*plan.warnings, clock_change(plan))
    return tuple(told(note, plan.units) for note in said if note)


def _appointment(one: Appointment) -> str:
    """Return whose plate it is and when the pose is."""
    return SITTER.format(
        name=one.name or A_SITTER,
        time=clock(one.time),
        plate=one.plate,
        asked=(OF_SIZE.format(size=one.size) if one.size else "")
        + ("" if one.f_number is None else AT_OPENING.format(f_number=one.f_number)),
        start=clock(one.pose_start),
        end=clock(one.pose_end),
    )


def sun_line(plan: DayPlan) -> str:
    """Return sunrise and sunset over the skyline of the place."""
    if plan.sunrise is None or plan.sunset is None:
        dark = all(hour.sun_elevation_deg <= 0.0 for hour in plan.hours)
        return (
            "the sun does not rise" if dark else "the sun neither rises nor sets over the skyline"
        )
    return "sun over the skyline {sunrise}–{sunset}".format(
        sunrise=clock(plan.sunrise), sunset=clock(plan.sunset)
    )


def clock_change(plan: DayPlan) -> str:
    """Return a note when the clocks change within the day; empty on other days."""
    midnight, noon = (datetime.combine(plan.date, time(h), plan.begin.tzinfo) for h in (0, 12))
    before, after = midnight.utcoffset(), noon.utcoffset()
    if before is None or after is None or before == after:
        return ""
    way = "forward" if after > before else "back"
    moved = abs(round(minutes_between(midnight, noon) - 720))
    return (
        "The clocks go {way} by {moved} min this night; every time here is the wall clock.".format(
            way=way, moved=moved
        )
    )


def swatch(plan: DayPlan) -> str:
    """Return the coat's colour as ``#rrggbb``, empty when the plan has none."""
    value = plan.coat.get("srgb", "").strip()
    return value.lower() if re.fullmatch(r"#[0-9a-fA-F]{6}", value) else ""


def coat_words(plan: DayPlan) -> str:
    """Return the coat aimed at in one line, without the colour code."""
    words = ", ".join(
        value if key in ("thickness", "colour") else f"{key} {value}"
        for key, value in plan.coat.items()
        if key != "srgb"
    )
    return told(words, plan.units)


def uses(plan: DayPlan) -> str:
    """Return what the day uses up, in one line."""
    return told(", ".join(f"{one.name} {one.amount}" for one in plan.materials), plan.units)
