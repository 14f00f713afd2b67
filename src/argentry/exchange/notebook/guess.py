"""What the cells of a column say: its unit, and the maker's own words in ours."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import Any

from argentry.exchange.plates.cells import parts_of, plain
from argentry.exchange.plates.mapping import LUX, fields, units, units_of
from argentry.exchange.plates.moments import span_of
from argentry.exchange.plates.numbers import CLOCKS, DURATIONS, amount
from argentry.trade.notebook import notebook_words, plain_word
from argentry.trade.sizes import plate_sizes

SPAN = ("development_start", "development_end")  # of this the house keeps both
LX_OF_EV = (300.0, 330_000.0)  # EV 7 to 17
_COLON = re.compile(r"\d{1,3}:\d{2}")
_SIDE = r"(\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?)\s*(cm|mm|in|inch|inches|\"|zoll)?"
_SIZE = re.compile(rf"{_SIDE}\s*[x\u00d7*]\s*{_SIDE}", re.IGNORECASE)


def told_by_span(found: tuple[str, ...], cells: Sequence[Any]) -> tuple[str, ...]:
    """Return the fields that a name may mean; of a development told by spans, its start."""
    if any(one.startswith(SPAN[0].partition("_")[0]) for one in found) and spans(cells):
        return SPAN[:1]
    return found


def spans(cells: Sequence[Any]) -> bool:
    """Say whether cells are spans of clock times, start and end in one."""
    found = sum(isinstance(cell, str) and span_of(cell) is not None for cell in cells)
    return 2 * found > len(cells)


def unit_of(field: str, named: str, cells: Sequence[Any], decimal: str) -> tuple[str, bool]:
    """Return the unit of a column of numbers, empty for the field's own, and whether it is sure.

    Parameters
    ----------
    field : str
        The field.
    named : str
        Unit that the column's name says; empty: none.
    cells : sequence
        Its cells that are not empty.
    decimal : str
        Decimal sign.
    """
    column = fields()[field]
    allowed = tuple(unit for unit in units_of(column) if unit not in CLOCKS)
    texts = [
        plain(cell).removesuffix(":00") if ":" in plain(cell) else plain(cell) for cell in cells
    ]
    colons = [text for text in texts if _COLON.fullmatch(text)]
    read = [one for text in texts if (one := amount(text, decimal, allowed))]
    bare = [number for number, unit in read if not unit]
    own = [unit for _, unit in read if unit]
    if named:
        return named, True
    if colons and not bare and column.unit in DURATIONS:
        return _clock(field, colons)
    if not bare:
        return "", True
    middle = median(bare)
    fits = [unit for unit in allowed if usual(field, middle, unit)]
    voted = max(dict.fromkeys(own), key=own.count, default="")
    if voted and (voted in fits or not fits):  # 90 beside 1h45, which is read in seconds: minutes
        return voted, True
    if len(fits) == 1 or not fits or column.unit not in DURATIONS:
        unit = fits[0] if fits and column.unit not in fits else column.unit
        return ("" if unit == column.unit else unit), bool(fits) or not column.unit
    return ("" if fits[0] == column.unit else fits[0]), False


def usual(field: str, number: float, unit: str) -> bool:
    """Say whether a figure in a unit is one that plates usually have."""
    column = fields()[field]
    if unit == LUX:
        return LX_OF_EV[0] <= number <= LX_OF_EV[1]
    if unit != column.unit:
        factor, offset = units()[column.unit][unit]
        number = (number + offset) * factor
    low, high = notebook_words().usual.get(field, (column.low, column.high))
    return low <= number <= high


def _clock(field: str, colons: Sequence[str]) -> tuple[str, bool]:
    column = fields()[field]
    fits = []
    for form in CLOCKS:
        seconds = [amount(text, ".", ("s",), form) for text in colons]
        middle = median(one[0] for one in seconds if one is not None)
        if usual(field, middle, "s"):
            fits.append(form)
    if len(fits) == 1:
        return fits[0], True
    return ("min:s" if column.unit == "s" else (fits or ["h:min"])[0]), False


def words_of(
    field: str, cells: Iterable[Any], known: Mapping[str, str]
) -> tuple[Mapping[str, str], tuple[str, ...]]:
    """Return the maker's words in ours, and those that nobody knows yet.

    Parameters
    ----------
    field : str
        A field of words or of defects.
    cells : iterable
        Its cells that are not empty.
    known : Mapping[str, str]
        Words that this studio has answered for, by `word_key`.
    """
    column = fields()[field]
    book = {**notebook_words().words.get(field, {}), **known}
    nothing = notebook_words().nothing.get(field, frozenset())
    out: dict[str, str] = {}
    unknown: list[str] = []
    for text in dict.fromkeys(plain(cell) for cell in cells):
        key = word_key(text)
        if text in column.words:
            continue
        if key in book:
            out[text] = book[key]
        elif key in nothing:
            out[text] = ""
        elif column.kind == "defects":
            for part in parts_of(text):
                if word_key(part) in book:
                    out[part] = book[word_key(part)]
                elif word_key(part) in nothing:
                    out[part] = ""
                elif "@" not in part:
                    unknown.append(part)
        elif (ours := _in_ours(field, key, text, column.words)) is not None:
            out[text] = ours
        else:
            unknown.append(text)
    return out, tuple(dict.fromkeys(unknown))


def word_key(text: str) -> str:
    """Return a word of a cell as it is remembered; signs alone, such as ``"++"``, stay."""
    return plain_word(text) or text


def _in_ours(field: str, key: str, text: str, words: Sequence[str]) -> str | None:
    same = next((word for word in words if word_key(word) == key), None)
    return same if same is not None or field != "size" else _size(text)


def _side(text: str) -> float:
    whole, _, part = text.replace(",", ".").partition(" ")
    over, _, under = part.strip().partition("/")
    return float(whole) + (float(over) / float(under) if under.strip("0") else 0.0)


def _size(text: str) -> str | None:
    """Return the trade size of two sides such as ``"6,5 x 8,5 in"``, or None."""
    match = _SIZE.search(text)
    if match is None:
        return None
    sides = sorted(_side(side) for side in (match[1], match[3]))
    unit = (match[4] or match[2] or "").casefold()
    factors = {"cm": (10.0,), "mm": (1.0,), "": (25.4, 10.0, 1.0)}.get(unit, (25.4,))
    fits = [
        size.name
        for factor in factors
        for size in plate_sizes()
        if all(
            abs(side * factor - mm) <= 0.02 * mm
            for side, mm in zip(sides, sorted((size.width_mm, size.height_mm)), strict=True)
        )
    ]
    return fits[0] if fits else None
