"""What a lot of stock is, by its name, and how many plates it will do.

Read from ``stock.toml`` and checked once against ``materials.toml``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from argentry.errors import ArgentryError
from argentry.trade.chemistry.measures import Measure, measures, one_named
from argentry.trade.entries import made
from argentry.trade.facts import BASES, Fact, facts, toml
from argentry.trade.materials import each_plate
from argentry.trade.notebook import meant, plain_words
from argentry.trade.sizes import plate_sizes


@dataclass(frozen=True)
class Stuff:
    """Something kept in stock that plates use up.

    Attributes
    ----------
    key : str
        Name within ``stock.toml``.
    material : str
        Key of the material it is or gives; empty when it only sounds like one.
    gives : Fact or None
        How much of the material a gram of it gives; None: it is the material itself.
    words : tuple of str
        By which its name is known.
    basis, source : str
        Where that comes from.
    """

    key: str
    material: str
    gives: Fact | None
    words: tuple[str, ...]
    basis: str
    source: str


@dataclass(frozen=True)
class PlatesLeft:
    """How many plates some stock will do.

    Attributes
    ----------
    middle, low, high : float
        Plates, with range: each plate's share is known no better than the material's. [plates]
    """

    middle: float
    low: float
    high: float


@cache
def stuffs() -> tuple[Stuff, ...]:
    """Return all stuffs of ``stock.toml``.

    Raises
    ------
    ArgentryError
        If an entry is incomplete, or names a material or a fact that there is not.
    """
    out = []
    for entry in toml("stock")["stuff"]:
        try:
            fact = _fact(entry["gives"])
            words = tuple(plain_words(word) for word in entry["words"])
            made = Stuff(**{**entry, "gives": fact, "words": words})
        except (KeyError, TypeError) as wrong:
            raise ArgentryError(
                "stock.{key}: {wrong} is missing or wrong.".format(
                    key=entry.get("key"), wrong=wrong
                )
            ) from None
        if made.basis not in BASES or made.material not in {"", *facts("materials")}:
            raise ArgentryError(
                "stock.{key} has an unknown basis or material.".format(key=made.key)
            )
        out.append(made)
    return tuple(out)


def _fact(name: str) -> Fact | None:
    if not name:
        return None
    subject, _, key = name.partition(".")
    return facts(subject)[key]


def stuff_named(name: str) -> Stuff | None:
    """Return the stuff a lot is, by its name; None when no material is meant.

    Parameters
    ----------
    name : str
        As the maker writes it: ``"Iodine, resublimed"``, ``"HAuCl4.3H2O"``.
    """
    found = meant(name, ((word, one) for one in stuffs() for word in one.words))
    return found if found is not None and found.material else None


def is_plates(name: str) -> bool:
    """Return True for a lot of silvered plates, which are bought by the piece.

    >>> is_plates("Silvered plates, quarter"), is_plates("Iodine")
    (True, False)
    """
    return meant(name, ((word, True) for word in toml("stock")["plates"]["words"])) is not None


def size_named(name: str) -> str:
    """Return the plate size that a lot's name says; empty without one.

    >>> size_named("Silvered plates, half"), size_named("Silvered plates 2026")
    ('half', '')
    """
    return meant(name, ((plain_words(one.name), one.name) for one in plate_sizes())) or ""


def size_of_piece(name: str, unit: str) -> str:
    """Return the plate size that a lot by the piece is cut for, as its name says; empty without.

    >>> size_of_piece("Cover glass, half", "pieces"), size_of_piece("Half a pound of rouge", "g")
    ('half', '')
    """
    counted = _unit(unit)
    return size_named(name) if counted is not None and counted.kind == "piece" else ""


def in_words(value: float, unit: str) -> str:
    """Return an amount in three digits, its unit in the plural where it is counted.

    >>> in_words(0.4567, "g"), in_words(1.0, "piece"), in_words(3.0, "piece")
    ('0.457 g', '1 piece', '3 pieces')
    """
    number = f"{float(f'{value:.3g}'):g}"
    return f"{number} {unit}s" if unit == "piece" and number != "1" else f"{number} {unit}"


def plates_left(
    stuff: Stuff, left: float, unit: str, area_cm2: float, session: int = 1
) -> PlatesLeft | None:
    """Return how many plates so much of a stuff will do.

    Parameters
    ----------
    stuff : Stuff
        What it is.
    left : float
        How much there is. [unit]
    unit : str
        Of the lot.
    area_cm2 : float
        Of one plate. [cm2]
    session : int
        How many share a tray.

    Returns
    -------
    PlatesLeft or None
        None when the unit does not measure what a plate uses up of it.
    """
    held = material_in(stuff, left, unit)
    if held is None:
        return None
    each = next(one for one in each_plate(area_cm2, session) if one.key == stuff.material)
    low, middle, high = held
    return PlatesLeft(middle / each.amount, low / each.high, high / each.low)


def material_in(stuff: Stuff, left: float, unit: str) -> tuple[float, float, float] | None:
    """Return how much of its material so much of a stuff gives.

    Parameters
    ----------
    stuff, left, unit
        As in `plates_left`.

    Returns
    -------
    tuple of float or None
        Low, middle, high. [unit of the material] None when the unit does not measure it.
    """
    have, need = _unit(unit), _unit(facts("materials")[stuff.material].unit)
    if have is None or need is None:
        return None
    gives, (low, middle, high) = _gives(stuff.gives, have.kind)
    amount = left * have.size / need.size
    return (amount * low, amount * middle, amount * high) if gives == need.kind else None


def _unit(name: str) -> Measure | None:
    """Return the unit of a lot or a material: a measure, a length, or pieces."""
    return one_named(name, (*measures(), *_counted()))


@cache
def _counted() -> tuple[Measure, ...]:
    return tuple(made(Measure, "stock." + row["key"], row) for row in toml("stock")["unit"])


def _gives(fact: Fact | None, measure: str) -> tuple[str, tuple[float, float, float]]:
    """Return what a stuff in this measure gives, and how much: low, middle, high."""
    if fact is None:
        return measure, (1.0, 1.0, 1.0)
    each = (fact.low, fact.value, fact.high)
    if fact.unit == "1":  # a share by mass
        return (measure if measure == "g" else "", each)
    made, _, of = fact.unit.partition("/")
    return (made if of == measure else "", each)
