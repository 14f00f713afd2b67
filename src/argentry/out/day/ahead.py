"""A day ahead in little: its light and its work as a strip, the good plates to be expected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from argentry.needs.doubt.percent import percent
from argentry.out.colours import HAIR, INK, VIOLET
from argentry.out.day.blocks import is_exposure
from argentry.out.drawing.axis import Axis
from argentry.out.drawing.svg import box, dot, drawing, line, path, smooth, text
from argentry.out.wording import count_range
from argentry.records.day import DayPlan

STRIP = "Light of {day}, the work and the exposures."
HOURS = "Hours of the day"
GOOD = "Good plates on average: {figure}."
HIGH = 34.0  # of a strip [px]
NO_PLATE = "no plate"
HOUR = 60.0
TYPE, BAR = 12.0, 110.0  # of the axis, and of the bar of good plates. [px]


@dataclass(frozen=True)
class DayAhead:
    """A day to come, in little.

    Attributes
    ----------
    date : str
        ISO 8601.
    day : str
        ``Sat 28 Nov``.
    plates : int
        Plates placed.
    good : tuple of float
        Good plates: low, middle, high. [plates]
    good_words, finished_words : str
        Those in words, and the share of days on which all are finished.
    light : tuple of (float, float, float, float)
        By hour: its middle on the wall clock, and exposure light low, middle, high. [min, W/m2]
    work : tuple of (float, float)
        First and last work on the wall clock; empty without a plate. [min]
    exposures : tuple of (float, float)
        Each exposure. [min]
    note : str
        Why nothing is planned; usually empty.
    usual : bool
        True where no forecast covers it: the season's clouds stand in.
    """

    date: str
    day: str
    plates: int
    good: tuple[float, ...]
    good_words: str
    finished_words: str
    light: tuple[tuple[float, ...], ...]
    work: tuple[float, ...]
    exposures: tuple[tuple[float, ...], ...]
    note: str
    usual: bool


def day_ahead(plan: DayPlan) -> DayAhead:
    """Return a planned day in little."""
    steps, good = plan.steps, plan.good_plates
    placed = plan.plates_placed > 0
    return DayAhead(
        date=plan.date.isoformat(),
        day=f"{plan.date:%a} {plan.date.day} {plan.date:%b}",
        plates=plan.plates_placed,
        good=(good.low, good.middle, good.high) if placed else (0.0, 0.0, 0.0),
        good_words=count_range(good) if placed else NO_PLATE,
        finished_words=percent(plan.all_finished_share, plan.days_simulated) if placed else "–",
        light=tuple(
            (
                _of_day(hour.time) + HOUR / 2,
                hour.exposure_w_m2.low,
                hour.exposure_w_m2.middle,
                hour.exposure_w_m2.high,
            )
            for hour in plan.hours
        ),
        work=(min(_of_day(s.start) for s in steps), max(_of_day(s.end) for s in steps))
        if steps
        else (),
        exposures=tuple((_of_day(s.start), _of_day(s.end)) for s in steps if is_exposure(s)),
        note="",
        usual=not plan.weather_file,
    )


def _of_day(when: datetime) -> float:
    return 60.0 * when.hour + when.minute + when.second / 60.0


def hours_of(days: Sequence[DayAhead]) -> tuple[float, float]:
    """Return the whole hours between which anything goes on, in minutes of the day."""
    ends = [minute for one in days for minute in one.work]
    ends += [hour[0] for one in days for hour in one.light if hour[2] > 0.0]
    if not ends:
        return 8 * HOUR, 18 * HOUR
    return HOUR * (min(ends) // HOUR), HOUR * -(-max(ends) // HOUR)


def strip(one: DayAhead, hours: tuple[float, float], most_w_m2: float, width: float) -> str:
    """Return the light of a day as a curve with its spread, its work below, exposures filled.

    Parameters
    ----------
    one : DayAhead
        The day.
    hours : tuple of (float, float)
        Ends of the axis, the same for all days. [min]
    most_w_m2 : float
        Light at the top, the same for all days. [W/m2]
    width : float
        Of the drawing. [px]
    """
    along, up = Axis(*hours, 0.0, width), Axis(0.0, most_w_m2 or 1.0, HIGH - 9.0, 1.0)
    seen = [hour for hour in one.light if hours[0] <= hour[0] <= hours[1]]
    low, middle, high = (
        [(along.at(hour[0]), up.at(hour[side])) for hour in seen] for side in (1, 2, 3)
    )
    parts = [
        line((along.at(x), 0.0), (along.at(x), HIGH), stroke=HAIR, width=0.5)
        for x in _each_hour(hours)
    ]
    if seen:
        parts.append(path(f"{smooth(high)}{smooth(low[::-1], 'L')}Z", fill=VIOLET, opacity=0.14))
        parts.append(path(smooth(middle), stroke=VIOLET, width=1.6))
    foot = HIGH - 4.0
    if one.work:
        begin, end = (along.at(minute) for minute in one.work)
        parts.append(line((begin, foot), (end, foot), stroke=INK, width=1.2))
    for begin, end in one.exposures:
        left = along.at(begin)
        parts.append(box(left, foot - 4.0, max(along.at(end), left + 2.0), foot + 3.0, fill=INK))
    return drawing(width, HIGH, STRIP.format(day=one.day), parts)


def _each_hour(hours: tuple[float, float]) -> list[float]:
    return [HOUR * hour for hour in range(int(hours[0] // HOUR), int(hours[1] // HOUR) + 1)]


def hour_words(hours: tuple[float, float], width: float) -> str:
    """Return the axis that stands above the strips."""
    along = Axis(*hours, 0.0, width)
    each = _each_hour(hours)
    shown = each[:: 1 if width / max(len(each) - 1, 1) > 2.2 * TYPE else 2]
    parts = [
        text(
            along.at(x), TYPE, f"{x / HOUR:02.0f}", size=TYPE,
            anchor="start" if x == each[0] else "end" if x == each[-1] else "middle",
        )
        for x in shown
    ]  # fmt: skip
    return drawing(width, TYPE + 4.0, HOURS, parts)


def good_bar(one: DayAhead, most: float) -> str:
    """Return the good plates of a day as a range with its mean, on an axis from none to `most`.

    Parameters
    ----------
    one : DayAhead
        The day.
    most : float
        Right end, the same for all days. [plates]
    """
    along, y = Axis(0.0, max(most, 1.0), 5.0, BAR - 5.0), 8.0
    parts = [
        line((along.at(count), 3.0), (along.at(count), 13.0), stroke=HAIR, width=0.75)
        for count in range(int(max(most, 1.0)) + 1)
    ]
    if one.plates:
        low, middle, high = one.good
        parts.append(line((along.at(low), y), (along.at(high), y), width=2.0))
        parts.append(dot(along.at(middle), y, 4.0))
    return drawing(BAR, 16.0, GOOD.format(figure=one.good_words), parts)
