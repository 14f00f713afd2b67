"""What the name of a column says: the fields it may mean, its unit; and where the head stands."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType
from typing import Any

from argentry.exchange.plates.mapping import fields, units_of
from argentry.exchange.plates.numbers import spelt_unit
from argentry.exchange.sheets.grid import Grid
from argentry.exchange.sheets.layout import (
    MOST_IN_ROW,
    filled,
    names_of,
    side_by_side,
    used_columns,
    without_side,
)
from argentry.trade.notebook import notebook_words, plain_unit, plain_words
from argentry.trade.readings import quantities

TIMED = ("s", "min", "h", "°C")  # units of lengths and temperatures
LOOKED_AT = 40  # rows in which a head is looked for
_BRACKET = re.compile(r"[(\[{]([^()\[\]{}]*+)[)\]}]")  # the innermost


@cache
def names() -> Mapping[str, tuple[str, ...]]:
    """Return the fields a plain name may mean: words of the trade, and the fields' own names."""
    out = dict(notebook_words().heads)
    for name in fields():
        own = plain_words(name)
        out[own] = tuple(dict.fromkeys((name, *out.get(own, ()))))
        quantity = quantities().get(name)
        for short in () if quantity is None else (*quantity.short, quantity.title):
            out.setdefault(plain_words(short), (name,))
    return out


def head_says(name: str) -> tuple[tuple[str, ...], str, bool]:
    """Return the fields a column's name may mean, its unit, and whether the name is a known one.

    Examples
    --------
    >>> head_says("Raumtemp. (°F)"), head_says("Time over iodine in sec"), head_says("Moon")
    ((('room_c',), '°F', True), (('fuming_seconds',), 's', True), ((), '', False))
    """
    readings = _readings(name)
    for base, unit in readings:
        found = names().get(plain_words(base), ())
        allowed = [field for field in found if not unit or spelt_unit(unit, _units(field))]
        if allowed or (found and base.split() != name.split()[:-1]):  # "labo HR": of no such unit
            return tuple(allowed) or found, _spelt(unit, allowed), True
    for base, _ in readings:
        if (moment := _moment(base)) is not None:
            return moment, "", True
    for base, unit in readings:
        own = _under_group(base)
        if own:
            return own, _spelt(unit, own), True
    for base, unit in readings[::-1]:
        near = _near(plain_words(base))
        if near:
            return near, _spelt(unit, near), False
    return (), "", False


def says_another(name: str, needed: str) -> bool:
    """Say whether a column's name is known, and for another field: a length is no plate's label."""
    found, _, exact = head_says(re.sub(r" \([A-Z]{1,2}\)$", "", name))  # a second of that name
    return exact and bool(found) and needed not in found


def names_field(name: str, others: Collection[str]) -> bool:
    """Say whether a column's name is a known one for a field that no other column is named after.

    Examples
    --------
    >>> names_field("Temp", ["plate", "Temp"]), names_field("Temp", ["room_c", "Temp"])
    (True, False)
    """
    found, _, exact = head_says(name)
    return exact and name not in fields() and bool(found) and not {*found} & {*others}


def _moment(base: str) -> tuple[str, ...] | None:
    """Return the field of the start or end of what a name says, as ``"Entw. ab"``.

    None where the name tells neither; nothing where the house keeps no such moment.
    """
    words = plain_words(base).split()
    for edge, of in (("start", "starts"), ("end", "ends")):
        for at in (0, -1):
            if len(words) > 1 and words[at] in notebook_words().marks[of]:
                rest = words[1:] if at == 0 else words[:-1]
                for one in names().get(" ".join(rest), ()):
                    stage = one.partition("_")[0]
                    if any(f"{stage}_{end}" in fields() for end in ("start", "end")):
                        return (f"{stage}_{edge}",) if f"{stage}_{edge}" in fields() else ()
    return None


def _under_group(base: str) -> tuple[str, ...]:
    """Return the fields of a name that stands below its group's, as ``"Plate Size"``, or none.

    A length, time or temperature means what its group says it is of, and so does a number: neither
    ``"Plate Time"`` nor ``"Box No"`` tells one.
    """
    words = base.split()
    for cut in range(1, len(words)):
        parts = (" ".join(words[:cut]), " ".join(words[cut:]))
        group, own = (names().get(plain_words(part), ()) for part in parts)
        kind = own[0].partition("_")[0] if own else ""
        if not group or not own or kind == "plate":
            continue
        column = fields()[own[0]]
        timed = column.kind == "time" or column.unit in TIMED
        if kind == group[0].partition("_")[0] or not timed:
            return own
    return ()


def _readings(name: str) -> list[tuple[str, str]]:
    """Return the ways to part a column's name into the name itself and a unit."""
    out = [(name, "")]
    bracket = _BRACKET.search(name)
    if bracket is not None:
        bare = _BRACKET.sub(" ", name)
        out += [(bare, bracket[1]), (bare, "")]
    words = re.split(r"[\s,/]+(?:in\s+)?", name.strip())
    for count in (1, 2):
        unit = " ".join(words[-count:])
        if len(words) > count and plain_unit(unit) in notebook_words().units:
            out.append((" ".join(words[:-count]), unit))
    return out


def _units(field: str) -> tuple[str, ...]:
    return units_of(fields()[field])


def _spelt(unit: str, found: Iterable[str]) -> str:
    return next((one for field in found if (one := spelt_unit(unit, _units(field)))), "")


def _near(plain: str) -> tuple[str, ...]:
    """Return the fields of the known name that is within a name, or nearly like it."""
    words = set(plain.split())
    inside = [known for known in names() if len(known) > 3 and set(known.split()) <= words]
    if inside:
        return names()[max(inside, key=len)]
    like = get_close_matches(plain, list(names()), n=1, cutoff=0.86) if len(plain) > 4 else []
    return names()[like[0]] if like else ()


def find_head(
    grid: Grid, known: Mapping[str, tuple[str, str]] = MappingProxyType({})
) -> tuple[int, int]:
    """Return the row that names the columns, from 1, and how many rows do so together.

    Parameters
    ----------
    grid : Grid
        The cells of the file.
    known : Mapping[str, tuple of (str, str)]
        Plain names that this studio has answered for before, to their fields and units.
    """
    rows = filled(grid)

    def named(names: Iterable[str], *, near: bool) -> int:
        """Return how many fields some names mean."""
        found: set[str] = set()
        for name in names:
            fields_meant, _, exact = head_says(name)
            if plain_words(name) in known:
                found.add(known[plain_words(name)][0])
            elif fields_meant and (exact or near):
                found.add(fields_meant[0])
        return len(found)

    def texts(row: Sequence[Any]) -> list[str]:
        return [" ".join(cell.split()) for cell in row if isinstance(cell, str)]

    best, at, deep = 1, -1, 1
    for number, row in enumerate(rows[:LOOKED_AT]):
        count = named(texts(row), near=False)
        if count > best:
            best, at, deep = count, number, 1
        if _may_go_on(rows, number):
            both = named(names_of(grid, rows, number + 1, 2), near=True)
            # a title above the names adds nothing to them
            if both > max(best, named(texts(grid.rows[number + 1]), near=True)):
                best, at, deep = both, number, 2
    if at < 0:  # no word is known: the first row of texts
        at = next((n for n, row in enumerate(rows[:LOOKED_AT]) if len(texts(row)) > 1), 0)
    units = [cell for cell in rows[at + 1] if cell is not None] if at + 2 < len(rows) else []
    return at + 1, 2 if units and all(map(_is_unit, units)) else deep


def names_columns(texts: Iterable[str]) -> bool:
    """Say whether a row of words names columns: two of them at least are known for that."""
    return sum(plain_words(text) in names() for text in texts) > 1


def _is_unit(cell: Any) -> bool:
    return isinstance(cell, str) and plain_unit(cell.strip("()[]")) in notebook_words().units


def _may_go_on(rows: Sequence[Sequence[Any]], at: int) -> bool:
    """Say whether the row below may still name columns: the parts of a group above them."""
    if at + 2 >= len(rows):
        return False
    above, below = rows[at], rows[at + 1]
    plain_texts = all(
        isinstance(cell, str) and not any(letter.isdigit() for letter in cell)
        for cell in (*above, *below)
        if cell is not None
    )
    gaps = [True for up, down in zip(above, below, strict=True) if up is None and down is not None]
    return plain_texts and bool(gaps)


def plates_in_row(grid: Grid, head_row: int, head_rows: int) -> int:
    """Return how many plates stand side by side in each row, as the repeated names say."""
    rows = filled(grid)
    named = names_of(grid, rows, head_row, head_rows)
    used = [named[at] for at in used_columns(named, rows[head_row - 1 + head_rows :])]
    for count in range(MOST_IN_ROW, 1, -1):
        shared = side_by_side(used, count)
        if shared is None:
            continue
        own = used[shared : shared + (len(used) - shared) // count]
        if any("plate" in head_says(without_side(name))[0] for name in own):
            return count
    return 1
