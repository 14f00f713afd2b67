"""Stock in words: what is left, and for how many plates."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

from argentry.out.wording import count_range, length, plates
from argentry.records.day import Range

if TYPE_CHECKING:
    from argentry.desk.stock.baths import BathNow
    from argentry.desk.stock.lots import LotNow, Stock

LOT = "Lot {lot.name}: {lot.left:g} {lot.unit} of {lot.amount:g} {lot.unit} left"
FOR_ONE, FOR = ", for {count} plate", ", for {count} plates"
WITHIN_ONE, WITHIN = "the next plate", "the next {plates}"
RUNS_OUT = "{name} runs out within {within}."
THEN = "{name} runs out within {within}; then there is {then}."
TIRED = "{bath.name} ({title}) is {age} old, {plates} through it: mix another."
DAYS = "{days:.0f} days"
NOTHING_LEFT = "Nothing is left of: {material}."


def whole_plates(number: float) -> int:
    """Return how many whole plates, told to two digits: more than that no stock is known to."""
    count = floor(number + 1e-9)  # adding decimals leaves 12.999999
    place: int = 10 ** max(0, len(str(count)) - 2)
    return count // place * place


def will_do(row: LotNow) -> str:
    """Return how many plates a lot will do: ``12 (3–33)``; a dash when it is not known."""
    if row.plates_left is None:
        return "–"
    assert row.plates_left_low is not None
    assert row.plates_left_high is not None
    ends = (row.plates_left_low, row.plates_left, row.plates_left_high)
    return count_range(Range(*(float(whole_plates(end)) for end in ends)))


def lot_line(row: LotNow) -> str:
    """Return a lot in a line: ``Lot Iodine: 88 g of 100 g left, for 11000 (2900–29000) plates``."""
    line = LOT.format(lot=row)
    if row.plates_left is not None:
        count = will_do(row)
        line += (FOR_ONE if count == "1" else FOR).format(count=count)
    return line


def stock_notes(found: Stock) -> list[str]:
    """Return what to know of the whole stock: what runs out, what is used up."""
    within = (WITHIN_ONE if found.ahead == 1 else WITHIN).format(plates=plates(found.ahead))
    notes = [
        (THEN if row.then else RUNS_OUT).format(
            name=row.name, within=within, then=", ".join(row.then)
        )
        for row in found.lots
        if row.runs_out
    ]
    return notes + [NOTHING_LEFT.format(material=material) for material in found.used_up]


def tired_bath(bath: BathNow) -> str:
    """Return that a bath will not last."""
    age = length(1440.0 * bath.age_days) if bath.age_days < 2.0 else DAYS.format(days=bath.age_days)
    title = f"{bath.title[:1].lower()}{bath.title[1:]}"
    return TIRED.format(bath=bath, title=title, age=age, plates=plates(bath.plates_through))
