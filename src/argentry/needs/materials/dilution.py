"""Strengths and measures: two liquids into one, thinner spirit, an amount in the old measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from argentry.errors import BadInput
from argentry.physics.baths.solutions import blend, mixed_temperature_c, thin_spirit
from argentry.trade.chemistry.measures import measures, read_amount, written_in


@dataclass(frozen=True)
class Diluted:
    """Two liquids poured together.

    Attributes
    ----------
    first_ml, second_ml : float
        Of the stronger, and of the weaker or water. [mL]
    volume_ml : float
        What it makes; spirit and water shrink. [mL]
    temperature_c : float or None
        Of the mixture; null when no temperatures were given. [°C]
    """

    first_ml: float
    second_ml: float
    volume_ml: float
    temperature_c: float | None = None


@dataclass(frozen=True)
class InMeasure:
    """An amount in one measure.

    Attributes
    ----------
    amount : float
        How much of it. [unit]
    unit : str
        The measure.
    """

    amount: float
    unit: str


@dataclass(frozen=True)
class Converted:
    """An amount in other measures.

    Attributes
    ----------
    amount : float
        What was typed. [unit]
    unit : str
        ``"g"`` or ``"mL"``.
    also : tuple of InMeasure
        The same in every measure of its kind.
    """

    amount: float
    unit: str
    also: tuple[InMeasure, ...]


def dilution(
    strong: float,
    wanted: float,
    volume: float,
    weak: float = 0.0,
    temperatures_c: Sequence[float] = (),
) -> Diluted:
    """Return how to make a strength from two others, or from one and water.

    Parameters
    ----------
    strong, wanted, weak : float
        In one unit, grams a litre for example.
    volume : float
        Of what is wanted. [mL]
    temperatures_c : sequence of float
        Of the strong and the weak; none when they do not matter. [°C]

    Raises
    ------
    BadInput
        If the wanted strength does not lie between them, or one temperature alone is given.
    """
    first, second = blend(strong, weak, wanted, volume)
    if temperatures_c and len(temperatures_c) != 2:
        raise BadInput("--temp", "one of two temperatures is given", "give both, or neither")
    warm = mixed_temperature_c((first, second), temperatures_c) if temperatures_c else None
    return Diluted(first, second, volume, warm)


def spirit(have_pct: float, wanted_pct: float, volume: float) -> Diluted:
    """Return spirit and water for a thinner spirit, by the alcohol tables."""
    return Diluted(*thin_spirit(have_pct, wanted_pct, volume), volume)


def converted(text: str) -> Converted:
    """Return an amount as typed in today's and in the old measures."""
    amount, unit = read_amount(text)
    also = (
        InMeasure(written_in(amount, one.key), one.says) for one in measures() if one.kind == unit
    )
    return Converted(amount, unit, tuple(also))
