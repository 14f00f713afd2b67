"""What may be measured: quantities with their unit, believable range, speed and shelf life.

Read from ``readings.toml`` and checked once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError, BadInput, check_range
from argentry.trade.facts import BASES, toml

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Quantity", "in_own_unit", "quantities", "quantity", "value_in"]

# Other spellings of a unit that keyboards and small controllers send. The two signs for micro
# (U+00B5 and U+03BC) look alike and are both in use.
SPELLINGS = {
    "c": "°C",
    "degc": "°C",
    "f": "°F",
    "degf": "°F",
    "percent": "%",
    "lux": "lx",
    "w/m²": "W/m2",
    "mw/cm²": "mW/cm2",
    "µw/cm2": "uW/cm2",
    "µw/cm²": "uW/cm2",
    "µs/cm": "µS/cm",
    "us/cm": "uS/cm",
    "oktas": "okta",
}


@dataclass(frozen=True)
class Quantity:
    """One quantity that may be measured.

    Attributes
    ----------
    key : str
        Name within ``readings.toml``.
    title : str
        What it is, as printed.
    unit : str
        The unit it is kept in.
    low, high : float
        Range in which a value can be true. [unit]
    longest_jump_per_minute : float
        A faster change marks a reading as doubtful. [unit/min]
    stale_after_s : float
        Older readings are not used for what comes next. [s]
    also : Mapping[str, tuple of (float, float)]
        Other unit to (factor, offset); value in `unit` = (given + offset) * factor.
    """

    key: str
    title: str
    unit: str
    low: float
    high: float
    longest_jump_per_minute: float
    stale_after_s: float
    also: Mapping[str, tuple[float, float]]

    def units(self) -> str:
        """Return the units allowed, in words: ``"°C, °F or K"``."""
        names = [self.unit, *self.also]
        return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


@cache
def quantities() -> Mapping[str, Quantity]:
    """Return every quantity by its key, in the order of the file.

    Raises
    ------
    ArgentryError
        If an entry lacks a field, names an unknown basis, or has an empty range.
    """
    read = [_quantity(entry) for entry in toml("readings")["reading"]]
    return MappingProxyType({each.key: each for each in read})


def _quantity(entry: Mapping[str, Any]) -> Quantity:
    name = f"readings.{entry.get('key')}"
    fields = set(Quantity.__dataclass_fields__) - {"also"} | {"basis", "source"}
    if set(entry) - {"also", "note"} != fields:
        raise ArgentryError(f"{name} must hold {', '.join(sorted(fields))}.")
    if entry["basis"] not in BASES or not entry["low"] < entry["high"]:
        raise ArgentryError(f"{name} has an unknown basis or an empty range.")
    also = {u["unit"]: (float(u["factor"]), float(u["offset"])) for u in entry.get("also", ())}
    kept = {key: entry[key] for key in fields - {"basis", "source"}}
    return Quantity(**kept, also=MappingProxyType(also))


def quantity(where: str, key: str) -> Quantity:
    """Return one quantity.

    Raises
    ------
    BadInput
        If there is none of that name.
    """
    try:
        return quantities()[key]
    except KeyError:
        raise BadInput(
            where, f"{key[:40]!r} is not measured here", f"give one of {', '.join(quantities())}"
        ) from None


def in_own_unit(where: str, key: str, value: float, unit: str) -> float:
    """Return a value in the quantity's own unit, checked to lie where it can be true.

    Parameters
    ----------
    where : str
        Name of the option, field or topic, for the sentence.
    key : str
        Quantity.
    value : float
        As given. [unit]
    unit : str
        As given; an empty string means the quantity's own unit.

    Returns
    -------
    float
        The value. [the quantity's unit]

    Raises
    ------
    BadInput
        If the quantity or the unit is not known, or the value is no finite number in its range.

    Examples
    --------
    >>> round(in_own_unit("value", "room_c", 68.0, "°F"), 6)
    20.0
    """
    asked = quantity(where, key)
    own = value_in(where, asked, value, unit)
    return check_range(where, own, asked.low, asked.high, asked.unit)


def value_in(where: str, asked: Quantity, value: float, unit: str) -> float:
    """Return a value in the quantity's own unit, without asking whether it can be true.

    Raises
    ------
    BadInput
        If the unit is not one of the quantity's.
    """
    given = unit.strip().replace("\u03bc", "µ")
    given = given if given in (asked.unit, *asked.also) else SPELLINGS.get(given.lower(), given)
    if given in ("", asked.unit):
        return value
    if given not in asked.also:
        raise BadInput(
            where, f"{unit[:20]!r} is no unit of {asked.key}", f"give it in {asked.units()}"
        )
    factor, offset = asked.also[given]
    # rounded far below any sensor's last digit, so that equal readings stay equal
    return round((value + offset) * factor, 9)
