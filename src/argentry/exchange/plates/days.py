"""Dates and clock times as makers write them: points, strokes, names of months, two forms."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, time
from itertools import pairwise

from argentry.trade.notebook import notebook_words, plain_words

ISO, OR = "ISO", " or "  # the form of the standard; between the forms of one table
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
            return datetime.strptime(one, form).date()  # noqa: DTZ007 - a day has no zone
        except ValueError:
            continue
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


def told_apart(texts: Iterable[str]) -> tuple[str, bool]:
    """Return the forms of a column of dates, told apart by its rows, and whether they are sure.

    Days above 12 decide between day and month; where there is none, a notebook goes forward in
    time. Each way of writing (points, strokes, names) is decided by its own cells.

    Examples
    --------
    >>> told_apart(["5/6/2026", "13/6/2026", "2026-06-14"])
    ('%d/%m/%Y or ISO', True)
    >>> told_apart(["5/6/2026", "6/6/2026"])
    ('%d/%m/%Y', False)
    """
    ways: dict[str, list[str]] = {}
    for text in texts:
        forms = date_forms(text)
        if forms:
            way = ISO if forms == (ISO,) else "B" if "%B" in forms[0] else forms[0][2]
            year = "%y" if forms[0].endswith("%y") else "%Y"
            ways.setdefault(way + year, []).append(text)
    found, sure = [], True
    for cells in ways.values():
        common = [
            form for form in date_forms(cells[0]) if all(form in date_forms(c) for c in cells)
        ]
        if not common:  # both orders stand in one column: what fits only one is read, the rest told
            common = list(
                dict.fromkeys(f for c in cells for f in date_forms(c) if len(date_forms(c)) == 1)
            )
            found += common
            continue
        onward = {form: _onward([_read(cell, form) for cell in cells]) for form in common}
        best = max(common, key=lambda form: (onward[form], -common.index(form)))
        sure = sure and [*onward.values()].count(onward[best]) == 1
        found.append(best)
    return OR.join(dict.fromkeys(found)), sure


def _onward(days: list[date | None]) -> float:
    """Return the share of steps from row to row that go on in time, but not by a long leap."""
    steps = [b - a for a, b in pairwise(days) if a and b]
    good = sum(1.0 for step in steps if 0 <= step.days <= 45)
    return good / len(steps) if steps else 1.0


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


def both_orders(forms: str) -> tuple[str, ...]:
    """Return forms of dates with day before month, and with month before day."""
    day = forms.replace("%m.%d", "%d.%m").replace("%m/%d", "%d/%m").replace("%m-%d", "%d-%m")
    month = day.replace("%d.%m", "%m.%d").replace("%d/%m", "%m/%d").replace("%d-%m", "%m-%d")
    return (day, month)
