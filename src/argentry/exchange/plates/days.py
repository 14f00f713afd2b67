"""Dates and clock times as makers write them: points, strokes, names of months, two forms."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import date, datetime, time
from itertools import pairwise
from typing import Any

from argentry.trade.notebook import notebook_words, plain_words

ISO, OR = "ISO", " or "  # the form of the standard; between the forms of one table
LAST_SHORT_YEAR = 2050  # from which on a year of two digits is of the century before
NAMED = ("%d %B %Y", "%B %d %Y", "%d %B %y", "%Y %B %d")
_ORDERS = ("%d{0}%m{0}%Y", "%m{0}%d{0}%Y", "%d{0}%m{0}%y", "%m{0}%d{0}%y", "%Y{0}%m{0}%d")
_SIGNS = re.compile(r"\s*([./-])\s*")
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:\s*[:.h]\s*(?P<minute>\d{2}))?(?::(?P<second>\d{2}))?"
    r"\s*(?P<half>am|pm|a\.m\.|p\.m\.)?\s*(?:h|uhr)?\.?",
    re.IGNORECASE,
)
_MONTHS = "January February March April May June July August September October November December"


def date_forms(text: str) -> tuple[str, ...]:
    """Return every form in which a text is a date, the day before the month first.

    Examples
    --------
    >>> date_forms("13/5/2026"), date_forms("5.6.26"), date_forms("12. Mai 2026")
    (('%d/%m/%Y',), ('%d.%m.%y', '%m.%d.%y'), ('%d %B %Y',))
    """
    named = any(letter.isalpha() for letter in text)
    if not named and _iso(text) is not None:
        return (ISO,)
    signs = [sign for sign in "./-" if sign in text]
    forms = NAMED if named else tuple(order.format(sign) for sign in signs for order in _ORDERS)
    return tuple(form for form in forms if _read(text, form) is not None)


def no_such_day(text: str) -> bool:
    """Say whether a text is written as a date that no calendar has.

    Examples
    --------
    >>> no_such_day("31.4.2025"), no_such_day("29 février 2025"), no_such_day("30.4.2025")
    (True, True, False)
    """
    nearest = re.sub(r"(?<!\d)(?:29|30|31)(?!\d)", "28", text, count=1)
    return nearest != text and not date_forms(text) and bool(date_forms(nearest))


def parse_day(text: str, forms: str) -> date | None:
    """Return the date that a text is in one of several forms, or None.

    Parameters
    ----------
    text : str
        The cell.
    forms : str
        Patterns of `datetime.strptime`, or ``"ISO"``, parted by `OR`.

    Raises
    ------
    ValueError
        If two of the forms read it as different days.
    """
    days = {day for form in forms.split(OR) if (day := _read(text, form)) is not None}
    if len(days) > 1:
        raise ValueError(text)
    return days.pop() if days else None


def _read(text: str, form: str) -> date | None:
    if form == ISO:
        return _iso(text)
    for one in (text, tidy(text)):
        try:
            day = datetime.strptime(one, form).date()  # noqa: DTZ007 - a day has no zone
        except ValueError:
            continue
        late = form.endswith("%y") and day.year >= LAST_SHORT_YEAR
        return day.replace(year=day.year - 100) if late else day
    return None


def _iso(text: str) -> date | None:
    try:
        return datetime.fromisoformat(text).date()
    except ValueError:
        return None


def tidy(text: str) -> str:
    """Return a date with its months in English and no words around it.

    Examples
    --------
    >>> tidy("le 3 août 2026"), tidy("Mo, 21. 6. 2026"), tidy("June 21st, 2026")
    ('3 August 2026', '21.6.2026', 'June 21 2026')
    """
    if not any(letter.isalpha() for letter in text):
        return _SIGNS.sub(r"\1", text.strip())
    months = notebook_words().months
    out = []
    for word in plain_words(text).split():
        digits = re.match(r"\d+", word)
        if word in months:
            out.append(_MONTHS.split()[months[word] - 1])
        elif digits:
            out.append(digits[0])
    if any(word.isalpha() for word in out):
        return " ".join(out)
    return _SIGNS.sub(r"\1", re.sub(r"^[^\d]+|[^\d]+$", "", text))


def told_apart(cells: Sequence[str | date], in_time: bool) -> tuple[str, ...]:
    """Return the forms of a column of dates: one text when its rows decide, two when they do not.

    A day above 12 decides between day and month: for the cells written in its way (points,
    strokes), and for those of other ways that have no such day. Where no row has one, a column
    in the order of time is decided only if it would go back twice in one order and never in the
    other.

    Parameters
    ----------
    cells : sequence of str or date
        In the order of their rows; one that a spreadsheet keeps as a date has no form.
    in_time : bool
        True of rows that go on in time, as those of a notebook.

    Returns
    -------
    tuple of str
        Forms as `parse_day` takes them.

    Examples
    --------
    >>> told_apart(["5/6/2026", "13/6/2026", "2026-06-14"], True)
    ('%d/%m/%Y or ISO',)
    >>> told_apart(["5/6/2026", "13.6.2026"], True), told_apart(["5/6/2026", "6/13/26"], True)
    (('%d/%m/%Y or %d.%m.%Y',), ('%m/%d/%Y or %m/%d/%y',))
    >>> told_apart(["5/6/2026", "6/6/2026"], True)
    ('%d/%m/%Y', '%m/%d/%Y')
    """
    ways: dict[str, list[tuple[str, ...]]] = {}
    for cell in cells:
        forms = date_forms(cell) if isinstance(cell, str) else ()
        if forms:
            way = ISO if forms == (ISO,) else "B" if "%B" in forms[0] else forms[0][2]
            year = "%y" if forms[0].endswith("%y") else "%Y"
            ways.setdefault(way + year, []).append(forms)
    fits = {way: _forms_of(found) for way, found in ways.items()}
    # one hand writes one order, unless its cells say otherwise
    orders = {_day_first(one) for forms, open_ in fits.values() if not open_ for one in forms}
    orders = orders - {None} or {True, False}
    both = tuple(
        OR.join(
            dict.fromkeys(
                one
                for forms, open_ in fits.values()
                for one in forms
                if not open_ or _day_first(one) is day_first
            )
        )
        for day_first in (True, False)
    )
    if both[0] == both[1]:
        return both[:1]
    back = {forms: _steps_back(cells, forms) if in_time else 0 for forms in both}
    likely = sorted(both, key=lambda forms: back[forms])
    if len(orders) == 1:
        decided = both[0 if orders == {True} else 1]
        return (decided,) if decided == likely[0] or len({*back.values()}) == 1 else both
    return tuple(likely[:1] if back[likely[0]] == 0 and back[likely[1]] > 1 else likely)


def may_be_swapped(cells: Iterable[Any], forms: str) -> bool:
    """Say whether a spreadsheet may have swapped day and month of the dates it keeps.

    A program set to the other order takes 06/05 for a date of its own and leaves 13/05 as text:
    then no date that it keeps has a day above 12, and every text has one.

    Parameters
    ----------
    cells : iterable
        Of a column of dates.
    forms : str
        Of its texts.
    """
    kept: list[int] = []
    written: list[date | None] = []
    for cell in cells:
        if isinstance(cell, date):
            kept.append(cell.day)
        elif isinstance(cell, str) and len(found := date_forms(cell)) == 1 and found[0] in forms:
            written += [None] if _day_first(found[0]) is None else [parse_day(cell, found[0])]
    return (
        len(kept) > 1
        and bool(written)
        and all(day <= 12 for day in kept)
        and all(day is not None and day.day > 12 for day in written)
    )


def _forms_of(cells: Sequence[tuple[str, ...]]) -> tuple[tuple[str, ...], bool]:
    """Return the forms of the cells written in one way, and whether day and month stay open."""
    common = tuple(form for form in cells[0] if all(form in forms for forms in cells))
    if not common:  # both orders stand in one way: what fits only one is read, the rest listed
        return tuple(dict.fromkeys(forms[0] for forms in cells if len(forms) == 1)), False
    return common, len(common) > 1


def _day_first(form: str) -> bool | None:
    """Say whether the day stands before the month; None of a form that has one order alone."""
    if "%B" in form or not form.startswith(("%d", "%m")):
        return None
    return form.startswith("%d")


def _steps_back(cells: Iterable[str | date], forms: str) -> int:
    """Return how often a column goes back in time from row to row."""
    days = []
    for cell in cells:
        with suppress(ValueError):  # of two days: it tells nothing
            day = parse_day(cell, forms) if isinstance(cell, str) else _iso(cell.isoformat())
            days += [day] if day is not None else []
    return sum(after < before for before, after in pairwise(days))


def parse_clock(text: str) -> time | None:
    """Return the clock time of a text, or None.

    Examples
    --------
    >>> parse_clock("14h20"), parse_clock("2:20 pm"), parse_clock("9.05 Uhr")
    (datetime.time(14, 20), datetime.time(14, 20), datetime.time(9, 5))
    >>> parse_clock("10.05")
    datetime.time(10, 5)
    """
    try:
        found = time.fromisoformat(text)
    except ValueError:
        found = None
    if found is not None and not found.microsecond:  # "9.05" is no part of a second
        return found
    match = _CLOCK.fullmatch(text.strip())
    if match is None or not (match["minute"] or match["half"] or not text.strip().isdigit()):
        return None
    hour = int(match["hour"])
    if match["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match["half"][0] in "pP" else 0)
    try:
        return time(hour, int(match["minute"] or 0), int(match["second"] or 0))
    except ValueError:
        return None
