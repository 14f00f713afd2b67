"""Stock in words: what is left, and for how many plates."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any

from argentry.out.wording import count_range, plates
from argentry.records.day import Range

if TYPE_CHECKING:
    from collections.abc import Mapping


def whole(number: float) -> int:
    """Return how many whole plates, told to two digits: more than that no stock is known to."""
    count = floor(number + 1e-9)  # adding decimals leaves 12.999999
    place: int = 10 ** max(0, len(str(count)) - 2)
    return count // place * place


def will_do(row: Mapping[str, Any]) -> str:
    """Return how many plates a lot will do: ``12 (3–33)``; a dash when it is not known."""
    if row["plates_left"] is None:
        return "–"
    keys = ("plates_left_low", "plates_left", "plates_left_high")
    return count_range(Range(*(float(whole(row[key])) for key in keys)))


def lot_line(row: Mapping[str, Any]) -> str:
    """Return a lot in one line: ``Lot Iodine: 88 g of 100 g left, for 11000 (2900–29000) plates``.

    Parameters
    ----------
    row : Mapping
        Of `argentry.desk.stock.lots`.
    """
    unit = row["unit"]
    line = f"Lot {row['name']}: {row['left']:g} {unit} of {row['amount']:g} {unit} left"
    if row["plates_left"] is not None:
        line += f", for {will_do(row)} {'plate' if will_do(row) == '1' else 'plates'}"
    return line


def stock_notes(found: Mapping[str, Any]) -> list[str]:
    """Return what to know of the whole stock: what runs out, what is used up.

    Parameters
    ----------
    found : Mapping
        Of `argentry.desk.stock.lots.list_stock`.
    """
    notes = []
    within = "the next plate" if found["ahead"] == 1 else f"the next {plates(found['ahead'])}"
    for row in found["lots"]:
        if row["runs_out"]:
            then = f"; then there is {', '.join(row['then'])}" if row["then"] else ""
            notes.append(f"{row['name']} runs out within {within}{then}.")
    notes += [f"Nothing is left of: {material}." for material in found["used_up"]]
    return notes
