"""Numbers as makers write them: "62 %", "64F", "4 min", "1:40", "17,5", "1.200", "ca. 90 s"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from unicodedata import numeric

from argentry.trade.notebook import notebook_words, plain_unit

# How a number with colons is meant, beside the units of docs/import.md.
CLOCKS = {"min:s": (1 / 60, 60.0), "h:min": (60.0, 1.0)}  # first and second part [min], [s]
DURATIONS = ("s", "min", "h")
DECIMALS = (".", ",", "either")
_AMOUNT = re.compile(r"([-+\u2212]?[\d.,'\u2019\u00a0\u202f ]*\d[.,]?)\s*(\D*)")
_SPACES = re.compile(r"(?<=\d)[ '\u2019\u00a0\u202f](?=\d{3}(?!\d))")
_CLOCK = re.compile(r"(\d{1,3}):(\d{2})(?::(\d{2}))?")
_F_STOP = re.compile(r"f\s*[/:]?\s*(?=\d)|1\s*:\s*(?=\d)", re.IGNORECASE)
_PART = re.compile(r"(\d+(?:[.,]\d+)?)\s*([^\d\s.,]+)\.?\s*")

_REST = re.compile(r"[0-5]?\d")
# a number whose thousands are parted, by the decimal sign it has
_PARTED = {
    sign: re.compile(rf"[-+]?[1-9]\d{{0,2}}(\{other}\d{{3}})+(\{sign}\d*)?")
    for sign, other in (".,", ",.")
}


def plain_number(text: str, decimal: str) -> float | None:
    """Return the number a text is, or None when it is none or could be two.

    Parameters
    ----------
    text : str
        Digits with signs; thousands may be parted by a blank, an apostrophe or the other sign.
    decimal : str
        ``"."`` or ``","``; ``"either"`` when the digits say which it is; empty: a point, and
        thousands are not parted.

    Examples
    --------
    >>> plain_number("17,5", "either"), plain_number("1,200", "either"), plain_number("1,200", "")
    (17.5, None, None)
    >>> plain_number("17,5", ","), plain_number("1.200", ","), plain_number("1 200.5", ".")
    (17.5, 1200.0, 1200.5)
    >>> plain_number("1.2,3", "."), plain_number("12,34", ".")
    (None, None)
    """
    if decimal == "either":
        both = {plain_number(text, sign) for sign in ".,"} - {None}
        return both.pop() if len(both) == 1 else None
    text = _SPACES.sub("", text.strip().replace("\u2212", "-"))
    other = "." if decimal == "," else ","
    if decimal and other in text and _PARTED[decimal].fullmatch(text):
        text = text.replace(other, "")
    elif other in text:
        return None
    text = text.replace(",", ".")
    if not text.isascii() or "_" in text:
        return None
    try:
        return float(text)
    except ValueError:
        return None


def typed_number(text: str) -> float | None:
    """Return the number that one hand typed now, or None when it is none or could be two.

    A point is a decimal point, as in every number that argentry shows and as in the terminal; a
    comma need not be one. Cells of a file are another matter: see `plain_number`.

    Parameters
    ----------
    text : str
        Of a form, or of a reading at the bench.

    Examples
    --------
    >>> typed_number("1.234"), typed_number("17,5"), typed_number("1,234"), typed_number("1.234,5")
    (1.234, 17.5, None, 1234.5)
    """
    number = plain_number(text, "")
    return plain_number(text, "either") if number is None else number


@cache
def spelt_unit(text: str, allowed: Sequence[str]) -> str | None:
    """Return the unit of those allowed that a text spells, or None."""
    plain = plain_unit(text)
    exact = next((unit for unit in allowed if unit and plain_unit(unit) == plain), None)
    return exact or next(
        (unit for unit in notebook_words().units.get(plain, ()) if unit in allowed), None
    )


def amount(
    text: str, decimal: str, allowed: Sequence[str], clock: str = ""
) -> tuple[float, str] | None:
    """Return a number with the unit that is written with it, or None when it cannot be read.

    Parameters
    ----------
    text : str
        The cell.
    decimal : str
        As `plain_number` takes it.
    allowed : sequence of str
        Units it may have.
    clock : str
        One of `CLOCKS`: how ``"1:40"`` is meant; empty: it cannot be read.

    Returns
    -------
    tuple of (float, str) or None
        Number and unit; the unit is empty when none is written.

    Examples
    --------
    >>> amount("64F", ".", ("°C", "°F")), amount("1:40", ".", ("s", "min"), "min:s")
    ((64.0, '°F'), (100.0, 's'))
    >>> amount("1 min 40 s", ".", ("s", "min", "h")), amount("~ 90", ".", ("s",))
    ((100.0, 's'), (90.0, ''))
    >>> amount("4m30", ".", ("s", "min")), amount("1 min 5", ".", ("s", "min"))
    ((270.0, 's'), (65.0, 's'))
    >>> amount("2 1/2 min", ",", ("s", "min")), amount("2½", ".", ("s",))
    ((2.5, 'min'), (2.5, ''))
    >>> amount("12345 1/4 s", ".", ("s",))
    (12345.25, 's')
    """
    text = _without_fraction(_without_about(text.strip()), decimal)
    number = plain_number(text, decimal)
    if number is not None:
        return number, ""
    if not any(unit in allowed for unit in DURATIONS):
        text = _F_STOP.sub("", text, count=1) if allowed[:1] == ("",) else text
    elif (length := _length(text, clock)) is not None:
        return length, "s"
    match = _AMOUNT.fullmatch(text)
    if match is None:
        return None
    number = plain_number(match[1], decimal)
    unit = spelt_unit(match[2], tuple(allowed)) if match[2] else ""
    return None if number is None or unit is None else (number, unit)


def two_numbers(text: str, decimal: str, allowed: Sequence[str]) -> tuple[float, float] | None:
    """Return both numbers that a text can be where its column leaves the decimal sign open.

    Examples
    --------
    >>> two_numbers("1.234 s", "either", ("s",)), two_numbers("17,5", "either", ("s",))
    ((1.234, 1234.0), None)
    """
    read = [amount(text, sign, allowed) for sign in ".,"] if decimal == "either" else []
    found = sorted({one[0] for one in read if one is not None})
    return (found[0], found[1]) if len(found) == 2 else None


@cache
def _about() -> tuple[str, ...]:
    """Return the words for "about", the longest first."""
    return tuple(sorted(notebook_words().marks["about"], key=len, reverse=True))


def _without_about(text: str) -> str:
    low = text.casefold()
    if not low.startswith(_about()):
        return text
    for word in _about():
        rest = text[len(word) :]
        if low.startswith(word) and rest[:1] in (" ", "\u00a0", *"0123456789"):
            return rest.strip()
    return text


_FRACTION = re.compile(r"(?:(\d+)\s+)?(\d)/([2348])(?![\d/.,])|(\d*)\s*([¼½¾⅓⅔⅛⅜⅝⅞])")


def _without_fraction(text: str, decimal: str) -> str:
    """Return a text that begins with a fraction with its number as digits."""
    match = _FRACTION.match(text)
    if match is None:
        return text
    whole, above, below, before, one = match.groups()
    part = numeric(one) if one else int(above) / int(below)
    number = repr(round(int(whole or before or 0) + part, 4))
    return number.replace(".", "," if decimal == "," else ".") + text[match.end() :]


def _length(text: str, clock: str) -> float | None:
    """Return a length of time in seconds that is written in parts, or None."""
    match = _CLOCK.match(text)
    rest = text[match.end() :] if match is not None else ""
    if rest:  # "1:40 min", "0:30 h"
        unit = spelt_unit(rest, DURATIONS)
        clock = {"min": "min:s", "h": "h:min"}.get(unit or "", "")
        match = match if clock else None
    if match is not None:
        first, second, third = (int(part or 0) for part in match.groups())
        if second > 59 or third > 59:
            return None
        if match[3] is not None or clock == "h:min":
            return 3600.0 * first + 60 * second + third
        return 60.0 * first + second if clock else None
    seconds, end, before, count = 0.0, 0, len(DURATIONS), 0
    for part in _PART.finditer(text):
        unit = spelt_unit(part[2], DURATIONS)
        if part.start() != end or unit is None or DURATIONS.index(unit) >= before:
            return None
        before, end, count = DURATIONS.index(unit), part.end(), count + 1
        seconds += float(part[1].replace(",", ".")) * (1, 60, 3600)[before]
    if (
        count and before and _REST.fullmatch(text, end)
    ):  # "4m30", "1 h 05": of the next smaller unit
        seconds, count, end = seconds + int(text[end:]) * (1, 60)[before - 1], count + 1, len(text)
    return seconds if count > 1 and end == len(text) else None
