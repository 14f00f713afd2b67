"""A cell that says when: a time with its offset, a clock time of its row's day, or both."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.exchange.plates.days import no_such_day, parse_clock, parse_day
from argentry.zones import is_skipped, is_twice

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from argentry.exchange.plates.mapping import Source

FIRST_YEAR, LAST_YEAR = 1839, 2200  # the year the process was made public, and far ahead
SKIPPED = "{moment:%Y-%m-%d %H:%M} did not exist in {key}: clocks went forward"
_CLOCK = r"\d{1,2}[:.h]\d{2}(?::\d{2})?"
_LIKE_A_CLOCK = re.compile(_CLOCK)
_SPAN = re.compile(rf"({_CLOCK})\s*(?:[-\u2013\u2014]|to|until|bis|\u00e0|a|hasta)\s*({_CLOCK})")
TWICE = "{moment:%Y-%m-%d %H:%M} came twice in {key}: clocks went back"


def day_of(source: Source, text: str, forms: str) -> date:
    """Return the date of a text in one of several forms.

    Raises
    ------
    BadInput
        If it is in none of them, or two of them read it as different days.
    """
    try:
        day = parse_day(text, forms)
    except ValueError:
        raise two_days(source.column, text) from None
    if day is None and no_such_day(text):
        raise BadInput(source.column, "{text!r} is in no calendar", "correct the day", text=text)
    if day is None:
        raise _not_written(source, text, forms)
    return day


def two_days(column: str, text: str) -> BadInput:
    """Return the refusal of a date that is one day in one order and another in the other."""
    what = "{text!r} can be two days: day and month may stand either way"
    return BadInput(column, what, "write it as 2026-06-21", text=text)


def moment_of(source: Source, text: str, form: str, days: str) -> datetime | time | None:
    """Return the moment or clock time of a text, or None when it is neither.

    Parameters
    ----------
    source : Source
        Its column, for the sentence.
    text : str
        The cell.
    form : str
        Pattern of the time; empty: ISO 8601, a clock time as makers write it, or with its date.
    days : str
        Forms of dates in the table.
    """
    if form:
        try:
            read = datetime.strptime(text, form)  # noqa: DTZ007 - the zone is added by the caller
        except ValueError:
            raise _not_written(source, text, form) from None
        return read if "%d" in form or "%j" in form or "%F" in form else read.timetz()
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        clock = parse_clock(text)
    if clock is not None:
        return clock
    if _LIKE_A_CLOCK.fullmatch(text):
        raise BadInput(
            source.column,
            "{text!r} is on no clock",
            "give a time from 00:00 to 23:59",
            text=text,
        )
    day_text, _, clock_text = text.partition(" ")
    clock = parse_clock(clock_text)
    if clock is None or not days:
        return None
    return datetime.combine(day_of(source, day_text, days), clock)


def span_of(text: str) -> tuple[str, str] | None:
    """Return the two clock times of a span in one cell, or None.

    Examples
    --------
    >>> span_of("12:10 - 13:40"), span_of("9h05 à 10h30"), span_of("12-13"), span_of("2026-06-21")
    (('12:10', '13:40'), ('9h05', '10h30'), None, None)
    """
    match = _SPAN.fullmatch(text.strip())
    return None if match is None else (match[1], match[2])


def check_year(source: Source, moment: date) -> None:
    """Refuse a year before the process was public, or far ahead.

    Raises
    ------
    BadInput
        With the year.
    """
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise BadInput(
            source.column,
            "the year {year} is not possible",
            "write the year with four digits",
            year=moment.year,
        )


def in_zone(
    source: Source, moment: datetime, zone: ZoneInfo, hours: Mapping[str, str]
) -> datetime | None:
    """Return a wall-clock time with its offset.

    Parameters
    ----------
    source : Source
        Its column, for the sentence.
    moment : datetime
        Without an offset.
    zone : ZoneInfo
        Where the clock hung.
    hours : Mapping[str, str]
        Times that the clocks left out or had twice, to the offset that was meant; an empty one
        leaves the time out.

    Raises
    ------
    BadInput
        If the clocks left it out or had it twice, and `hours` does not say what was meant.
    """
    meant = hours.get(f"{moment:%Y-%m-%dT%H:%M}")
    if meant is not None:
        return datetime.fromisoformat(f"{moment.isoformat()}{meant}") if meant else None
    if is_skipped(moment, zone):
        what, right = SKIPPED, "correct it, or give its offset"
    elif is_twice(moment, zone):
        what, right = TWICE, "give its offset, for example +01:00"
    else:
        return moment.replace(tzinfo=zone)
    raise BadInput(source.column, what, right, moment=moment, key=zone.key)


def offsets_of(moment: datetime, zone: ZoneInfo) -> tuple[str, str]:
    """Return the offsets before and after the clocks were changed at a doubtful time.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> offsets_of(datetime(2026, 10, 25, 2, 30), ZoneInfo("Europe/Madrid"))
    ('+02:00', '+01:00')
    """
    local = moment.replace(tzinfo=zone)
    before, after = (f"{local.replace(fold=fold):%z}" for fold in (0, 1))
    return f"{before[:3]}:{before[3:5]}", f"{after[:3]}:{after[3:5]}"


FORM_WORDS = {
    "%d": "day", "%m": "month", "%b": "month's name", "%B": "month's name", "%Y": "year",
    "%y": "year", "%H": "hour", "%I": "hour", "%M": "minute", "%S": "second", "%p": "am",
}  # fmt: skip


def form_words(forms: str) -> str:
    """Return how dates or times are written, as a maker reads it.

    Examples
    --------
    >>> form_words("%d.%m.%Y or %d/%m/%y")
    'day.month.year or day/month/year'
    """
    for sign, word in FORM_WORDS.items():
        forms = forms.replace(sign, word)
    return " or ".join(dict.fromkeys(forms.split(" or ")))


def _not_written(source: Source, text: str, forms: str) -> BadInput:
    return BadInput(
        source.column,
        "{text!r} is not written as {forms}",
        "correct it, or the form",
        text=text,
        forms=form_words(forms),
    )
