"""The day as a page shows it: the words of the sheet and its drawing, as plain values.

It is made where the day is planned, in a process of its own; the server keeps it and fills it into
its page. Every word and figure is the one of the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from argentry.out.day import answer
from argentry.out.day.ahead import DayAhead, day_ahead
from argentry.out.day.band import day_svg
from argentry.out.day.hour_words import hour_table
from argentry.out.day.rows import Row, rows, wait_rules
from argentry.out.wording import clock, plates
from argentry.records.day import DayPlan, weekday_and_date
from argentry.records.units import told

DRAWN = ((340.0, 12.0), (700.0, 12.5), (896.0, 13.0))  # phone, tablet, desk: width and type [px]
FIRST = "{many}: begin at {start}"
FIRST_OF = "{placed} of the {asked} plates asked"


@dataclass(frozen=True)
class DayView:
    """A planned day, ready for a page.

    Attributes
    ----------
    date : str
        ISO 8601.
    day : str
        The date in words.
    by_rule : bool
        True for a first plan: its latest starts and its proof are not there yet.
    headline, sun, weather : str
        Lines of the sheet.
    weather_old : bool
        True when the forecast that came by itself is outdated.
    odds : tuple of (str, str)
        Words and figure.
    parts : tuple of str
        What each of those figures is made of.
    said, notes : tuple of str
        What the day holds; what is said loudly.
    lacking : int
        How many of the notes, the first ones, say what there is too little of.
    drawings : tuple of str
        The band as SVG, for each width of `DRAWN`.
    rows : tuple of Row
        The running order of the hands.
    waits : str
        How long what may wait.
    hours : tuple of tuple of str
        Odds hour by hour.
    coat, swatch, uses : str
        The coat aimed at, its screen colour, what the day uses up.
    rests : tuple of str
        What the plan rests on.
    plates : int
        Plates placed.
    start : str
        When it begins, ``08:00``.
    little : DayAhead
        The same day among the days ahead.
    next_date, next_words : str
        The next day that holds a plate, ISO and in words, where this one holds none; else empty.
    """

    date: str
    day: str
    by_rule: bool
    headline: str
    sun: str
    weather: str
    weather_old: bool
    odds: tuple[tuple[str, str], ...]
    parts: tuple[str, ...]
    said: tuple[str, ...]
    notes: tuple[str, ...]
    lacking: int
    drawings: tuple[str, ...]
    rows: tuple[Row, ...]
    waits: str
    hours: tuple[tuple[str, ...], ...]
    coat: str
    swatch: str
    uses: str
    rests: tuple[str, ...]
    plates: int
    start: str
    little: DayAhead
    next_date: str = ""
    next_words: str = ""


def day_view(plan: DayPlan, *, by_rule: bool = False) -> DayView:
    """Return a planned day for a page.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    by_rule : bool
        True for a first plan, which knows no latest starts.
    """
    found, following = rows(plan), plan.next_day
    if by_rule:
        found = tuple(replace(row, latest="") for row in found)
    return DayView(
        date=plan.date.isoformat(),
        day=weekday_and_date(plan.date),
        by_rule=by_rule,
        headline=first_headline(plan) if by_rule else answer.headline(plan),
        sun=answer.sun_line(plan),
        weather=answer.weather_line(plan),
        weather_old=plan.weather_origin is not None and not plan.weather_origin.fresh,
        odds=answer.odds_lines(plan),
        parts=tuple(told(part, plan.units) for part in answer.odds_parts(plan)),
        said=answer.of_this_day(plan)[1 if by_rule and answer.holds(plan) else 0 :],
        notes=answer.notes(plan),
        lacking=len(plan.lacking),
        drawings=tuple(day_svg(plan, width, size) for width, size in DRAWN),
        rows=found,
        waits="; ".join(wait_rules(plan)),
        hours=tuple(hour_table(plan)),
        coat=answer.coat_words(plan),
        swatch=answer.swatch(plan),
        uses=told(answer.uses(plan), plan.units),
        rests=answer.assumptions(plan)[1:],
        plates=plan.plates_placed,
        start=clock(min((one.start for one in plan.steps), default=plan.begin)),
        little=day_ahead(plan),
        next_date=following.isoformat() if following else "",
        next_words=weekday_and_date(following, year=False) if following else "",
    )


def first_headline(plan: DayPlan) -> str:
    """Return how many plates and when to begin, by a plan that knows no latest start yet."""
    if not plan.plates_placed or not plan.steps:
        return answer.headline(plan)
    many = plates(plan.plates_placed)
    if plan.plates_placed < plan.plates_asked:
        many = FIRST_OF.format(placed=plan.plates_placed, asked=plan.plates_asked)
    start = min((step.start for step in plan.steps), key=lambda when: when.timestamp())
    return FIRST.format(many=many, start=clock(start))
