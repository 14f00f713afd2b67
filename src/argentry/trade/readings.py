"""What may be measured: quantities with their unit, believable range, speed and shelf life.

Read from ``readings.toml`` and checked once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType
from typing import Any

from argentry.errors import BadInput, check_range
from argentry.trade.entries import made, one_of, wrong
from argentry.trade.facts import BASES, toml

# Laws of physics that a reading feeds at the bench, with the unit that each takes.
AIR_LAWS = {
    "room temperature": "°C",
    "box temperature": "°C",
    "bath temperature": "°C",
    "humidity": "%",
}
# Light behind the red filter, where the plate lies: better known than any lamp by its watts.
FILTER_LAWS = {"light under the filter": "W/m2", "illuminance under the filter": "lx"}
LIGHT_LAWS = {
    "illuminance": "lx",
    "exposure value": "EV",
    "irradiance": "W/m2",
    "cloud": "okta",
    **FILTER_LAWS,
}

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
    short : tuple of str
        Short names that a hand at the bench may type.
    rests : tuple of float
        Values a live sensor may stay on as long as it likes. [unit]
    also : Mapping[str, tuple of (float, float)]
        Other unit to (factor, offset); value in `unit` = (given + offset) * factor.
    law : str
        What it changes at the bench: one of `AIR_LAWS` or `LIGHT_LAWS`; empty: nothing by itself.
    """

    key: str
    title: str
    unit: str
    low: float
    high: float
    longest_jump_per_minute: float
    stale_after_s: float
    short: tuple[str, ...] = ()
    rests: tuple[float, ...] = ()
    also: Mapping[str, tuple[float, float]] = field(default_factory=lambda: MappingProxyType({}))
    law: str = ""

    def units(self) -> str:
        """Return the units allowed, in words: ``"°C, °F or K"``."""
        names = [self.unit, *self.also]
        return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"

    def range_in(self, unit: str) -> tuple[float, float]:
        """Return the range in which a value can be true, in one of the units allowed.

        Examples
        --------
        >>> quantities()["box_c"].range_in("°F")
        (14.0, 140.0)
        """
        factor, offset = self.also.get(unit, (1.0, 0.0))
        low, high = (round(end / factor - offset, 6) for end in (self.low, self.high))
        return low, high


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
    where = "readings.toml, reading " + str(entry.get("key", "?"))
    stated = dict(entry)
    also = stated.pop("also", ())
    stated.pop("note", "")
    stated.pop("column", None)  # read by trade/columns.py
    basis, source = stated.pop("basis", ""), stated.pop("source", "")
    one_of(where, "basis", basis, BASES)
    if not source:
        raise wrong(where, "it names no source", "give source")
    read: Quantity = made(Quantity, where, stated)
    if not read.low < read.high:
        raise wrong(where, "its range is empty", "give low < high")
    if min(read.longest_jump_per_minute, read.stale_after_s) <= 0.0:
        raise wrong(where, "its speed or its age is not above 0", "give both above 0")
    if outside := [rest for rest in read.rests if not read.low <= rest <= read.high]:
        what = "it rests on {value:g}, which is out of its range"
        raise wrong(where, what, "give a value in it", value=outside[0])
    laws = {**AIR_LAWS, **LIGHT_LAWS}
    one_of(where, "law", read.law, ("", *laws))
    if read.law and read.unit != laws[read.law]:
        what, right = "its law {law} takes {taken}", "keep it in {taken}; give {unit} in also"
        raise wrong(where, what, right, law=read.law, taken=laws[read.law], unit=read.unit)
    units = {u["unit"]: (float(u["factor"]), float(u["offset"])) for u in also}
    return replace(read, also=MappingProxyType(units))


@cache
@cache
def measured_for(*laws: str) -> tuple[str, ...]:
    """Return the quantities that feed one of some laws of physics at the bench.

    Examples
    --------
    >>> measured_for("exposure value", "cloud")
    ('meter_ev', 'cloud_okta')
    """
    return tuple(key for key, each in quantities().items() if each.law in laws)


@cache
def short_names() -> Mapping[str, str]:
    """Return the quantity of each short name.

    Raises
    ------
    ArgentryError
        If two quantities share one, or one is the key of another.
    """
    out: dict[str, str] = {}
    for each in quantities().values():
        for name in each.short:
            if name in out or name in quantities():
                where = "readings.toml, reading " + each.key
                raise wrong(where, "the short name {name!r} is taken", "give another", name=name)
            out[name] = each.key
    return MappingProxyType(out)


def quantity(where: str, key: str) -> Quantity:
    """Return one quantity."""
    try:
        return quantities()[key]
    except KeyError:
        raise BadInput(
            where,
            "{key!r} is not measured here",
            "give one of {known}",
            key=key,
            known=", ".join(quantities()),
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
        If the quantity or the unit is not known, or the value is not a finite number in its range.

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
            where,
            "{unit!r} is not a unit of {key}",
            "give it in {units}",
            unit=unit[:20],
            key=asked.key,
            units=asked.units(),
        )
    factor, offset = asked.also[given]
    # rounded far below any sensor's last digit, so that equal readings stay equal
    return round((value + offset) * factor, 9)
