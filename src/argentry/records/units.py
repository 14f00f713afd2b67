"""How a studio likes to read and type temperatures, lengths and money.

Everything is computed, stored and sent in SI units; sentences are written in them too. At the last
door before eyes, `told` turns the quantities of a sentence into the studio's units; at the first
door after hands, `read` takes a number as the studio means it, or in the unit typed with it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from argentry.errors import BadInput

FAHRENHEIT, INCH = "fahrenheit", "inch"
INCH_MM, FOOT_M = 25.4, 0.3048  # exactly: international yard and pound agreement of 1959

# A number or a range with its unit: "19 °C", "25 to 30 °C", "74 (58–95) mm". Not "9x12 cm", the
# name of a plate size, and nothing per length ("W/m2", "2 m/s").
_NUMBER = r"[-−]?\d+(?:\.\d+)?"
_RANGE = _NUMBER + r"(?:(?:–| to | of | × )" + _NUMBER + ")?"
QUANTITY = re.compile(
    rf"(?<![\w.,×–/])({_RANGE})( \({_RANGE}\))? (°C|K|mm|cm²|cm2|cm|m)(?![\w²³/])"
    r"( above| below| warmer| cooler)?"  # follows a difference of temperatures
)
LARGEST_K = 100.0  # above it a kelvin is the colour of a lamp, not a difference in a room
AREA = ("cm2", "cm²")

# Units that may be typed, with the factor and offset to the one before the colon.
TYPED = {
    "°C": {"c": (1.0, 0.0), "f": (5.0 / 9.0, -32.0), "k": (1.0, -273.15)},
    "m": {"m": (1.0, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0), "ft": (FOOT_M, 0.0),
          "in": (0.0254, 0.0)},
    "mm": {"mm": (1.0, 0.0), "cm": (10.0, 0.0), "m": (1000.0, 0.0), "in": (INCH_MM, 0.0),
           "ft": (12.0 * INCH_MM, 0.0)},
}  # fmt: skip
ALLOWED = {"°C": "68F or 20C", "m": "2m, 6.5ft or 78in", "mm": "20mm or 0.8in"}
_TYPED = re.compile(r"\s*([-+−]?\d*\.?\d+(?:e[-+]?\d+)?)\s*(?:°\s*|deg\s*)?([a-zA-Z]*|\"|')\s*")


@dataclass(frozen=True)
class Units:
    """How the studio reads and types quantities; numbers in files and JSON keep the unit they name.

    Attributes
    ----------
    temperature : str
        ``"celsius"`` or ``"fahrenheit"``.
    length : str
        ``"metric"`` or ``"inch"``.
    currency : str
        Code or sign of the studio's money.
    per_euro : float or None
        What one euro costs in it, for prices that are the trade's. [1]
    """

    temperature: str = "celsius"
    length: str = "metric"
    currency: str = "EUR"
    per_euro: float | None = None

    @property
    def as_written(self) -> bool:
        """True when sentences need no change."""
        return self.temperature != FAHRENHEIT and self.length != INCH


def told(words: str, units: Units) -> str:
    """Return words with their temperatures and lengths in a studio's units.

    Parameters
    ----------
    words : str
        Written in °C, K, m, cm, mm and cm².
    units : Units
        The studio's.

    Examples
    --------
    >>> american = Units("fahrenheit", "inch", "USD")
    >>> told("Plate at 25 to 30 °C, 3 °C above the dew point; box 20 mm deep.", american)
    'Plate at 77 to 86 °F, 5 °F above the dew point; box 0.79 in deep.'
    """
    out, end = "", 0
    for start, stop, new in changes(words, units):
        out, end = f"{out}{words[end:start]}{new}", stop
    return out + words[end:]


def changes(words: str, units: Units) -> tuple[tuple[int, int, str], ...]:
    """Return the parts that `told` changes: where each begins and ends, and its new words."""
    if units.as_written:
        return ()
    found = ((one, _changed(one, units)) for one in QUANTITY.finditer(words))
    return tuple((one.start(), one.end(), new) for one, new in found if new)


def _changed(found: re.Match[str], units: Units) -> str:
    """Return a quantity in a studio's units; no words where it stays as it is."""
    number, spread, unit, after = found.groups()
    most = max(_values(number))
    if unit in ("°C", "K"):
        if units.temperature != FAHRENHEIT or (unit == "K" and most > LARGEST_K):
            return ""
        shift, shown = (0.0 if unit == "K" or after else 32.0), "°F"
        parts = [
            _each(part, lambda text: _same_places(1.8 * float(text) + shift, text))
            for part in (number, spread)
        ]
    elif units.length == INCH:
        factor, shown = _inches(unit, most)
        parts = [
            _each(part, lambda text: _same_digits(factor * float(text), text))
            for part in (number, spread)
        ]
    else:
        return ""
    return f"{''.join(parts)} {shown}{after or ''}"


def typed_unit(own: str, units: Units) -> str:
    """Return the unit in which a number without one is typed: a quantity's own, or the studio's."""
    return "°F" if own == "°C" and units.temperature == FAHRENHEIT else own


def read(where: str, text: str, unit: str, units: Units, *, named: bool = False) -> float:
    """Return what a maker typed, in the unit it is kept in.

    Parameters
    ----------
    where : str
        Option or field, for the sentence.
    text : str
        A number, with or without its unit: ``"68"``, ``"68F"``, ``"6.5 ft"``.
    unit : str
        The unit it is kept in: ``"°C"``, ``"m"`` or ``"mm"``.
    units : Units
        The studio's: what a number alone means.
    named : bool
        True where the option's own name says its unit, as ``--gap-mm`` does: a number alone means
        that.

    Raises
    ------
    BadInput
        If it is not a number, or its unit is not one of a temperature or length.

    Examples
    --------
    >>> read("--temp", "68", "°C", Units("fahrenheit")), read("--temp", "20C", "°C", Units())
    (20.0, 20.0)
    """
    found = _TYPED.fullmatch(text)
    known = TYPED[unit]
    typed = {'"': "in", "'": "ft"}.get(found[2], found[2].lower()) if found else ""
    if found is None or (typed and typed not in known):
        raise BadInput(
            where,
            "{text!r} is not {kind}",
            "give a number, or a number with its unit: {allowed}",
            text=text,
            kind="a temperature" if unit == "°C" else "a length",
            allowed=ALLOWED[unit],
        )
    if not typed:
        liked = {"°C": ("f", units.temperature == FAHRENHEIT)}
        own, differs = liked.get(unit, ("in", units.length == INCH))
        typed = own if differs and not named else unit.strip("°").lower()
    factor, offset = known[typed]
    return round((float(found[1].replace("−", "-")) + offset) * factor, 9)


def _values(number: str) -> list[float]:
    return [float(one.replace("−", "-")) for one in re.findall(_NUMBER, number)]


def _each(part: str | None, change: Callable[[str], str]) -> str:
    return re.sub(
        r"(?<![\d.])[-−]?\d+(?:\.\d+)?", lambda one: change(one[0].replace("−", "-")), part or ""
    )


def _same_places(value: float, text: str) -> str:
    places = len(text.partition(".")[2])
    return f"{value:.{places}f}"


def _inches(unit: str, most: float) -> tuple[float, str]:
    """Return the factor and name of the unit in which a length or area is told."""
    if unit in AREA:
        return 1.0 / 6.4516, "in²"
    metres = most * {"mm": 0.001, "cm": 0.01, "m": 1.0}[unit]
    if unit == "m" and metres >= 1.0:
        return 1.0 / FOOT_M, "ft"
    return {"mm": 1.0, "cm": 10.0, "m": 1000.0}[unit] / INCH_MM, "in"


def _same_digits(value: float, text: str) -> str:
    """Return a length with as many digits as it was given with, but two or three."""
    if value == 0.0:
        return "0"
    digits = min(max(2, len(text.replace(".", "").lstrip("-0"))), 3)
    places = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, places):.{max(0, places)}f}"
