"""Fixing and gilding baths as published, scaled to a volume, and their gold arithmetic."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError, BadInput, check_range
from argentry.trade.chemistry.measures import measure
from argentry.trade.chemistry.pouring import Step, check_order, read_sequence
from argentry.trade.chemistry.substances import families, moles
from argentry.trade.facts import BASES, toml, value
from argentry.trade.refusals import check_recipe, unknown_ingredients
from argentry.trade.steps import cautions

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Part",
    "Recipe",
    "check_gilding",
    "check_recipe",
    "fix_plates",
    "mix",
    "recipe",
    "recipes",
    "thiosulfate_per_gold",
    "unknown_ingredients",
]

WATER = "distilled water"


@dataclass(frozen=True)
class Part:
    """One solution of a bath.

    Attributes
    ----------
    substance : str
        Formula of what is dissolved.
    grams : float
        [g]
    litres : float
        Volume of this solution. [L]
    as_written : str
        The amounts as the source writes them.
    solvent : str
        What it is dissolved or stirred in.
    """

    substance: str
    grams: float
    litres: float
    as_written: str
    solvent: str = WATER


@dataclass(frozen=True)
class Recipe:
    """A bath as published.

    Attributes
    ----------
    key, title, kind : str
        Name in ``recipes.toml``, as printed, and the kind of solution: ``"fix"``, ``"gild"``...
    parts : tuple of Part
        Solutions made apart, then joined.
    sequence : tuple of Step
        What is dissolved and poured, in order.
    order : str
        How they are made and joined.
    cautions : tuple of str
        Keys of ``cautions.toml``.
    basis, source : str
        Where it was read.
    """

    key: str
    title: str
    kind: str
    parts: tuple[Part, ...]
    sequence: tuple[Step, ...]
    order: str
    cautions: tuple[str, ...]
    basis: str
    source: str


@cache
def recipes() -> tuple[Recipe, ...]:
    """Return every bath of ``recipes.toml``.

    Raises
    ------
    ArgentryError
        If an entry is incomplete, or is itself one that must be refused.
    """
    return tuple(_recipe(dict(entry)) for entry in toml("recipes")["recipe"])


def _recipe(entry: dict[str, Any]) -> Recipe:
    where = "recipe {key}".format(key=entry.get("key"))
    parts = tuple(_part(part) for part in entry.pop("part"))
    sequence = read_sequence(where, entry.pop("sequence"))
    out = Recipe(**{**entry, "cautions": tuple(entry["cautions"])}, parts=parts, sequence=sequence)
    if out.basis not in BASES or not set(out.cautions) <= set(cautions()):
        raise ArgentryError(
            "recipe {key} has a wrong basis or an unknown caution.".format(key=out.key)
        )
    check_recipe([part.substance for part in parts])
    check_order(where, [(part.substance, part.solvent) for part in parts], sequence)
    return out


def _part(part: Mapping[str, Any]) -> Part:
    amount, unit = float(part["amount"]), measure(part["unit"])
    volume, volume_unit = float(part["volume"]), measure(part["volume_unit"])
    written = f"{amount:g} {unit.says} in {volume:g} {volume_unit.says}"
    return Part(
        part["substance"],
        amount * unit.size,
        volume * volume_unit.size / 1000.0,
        written,
        part.get("solvent", WATER),
    )


def recipe(key: str) -> Recipe:
    """Return one bath by its key.

    Raises
    ------
    BadInput
        If there is no such bath; the sentence lists them.
    """
    for entry in recipes():
        if entry.key == key:
            return entry
    names = ", ".join(entry.key for entry in recipes())
    raise BadInput("recipe", "{key!r} is not a recipe", "use one of {names}", key=key, names=names)


def mix(key: str, volume_ml: float) -> tuple[Part, ...]:
    """Return the parts of a bath scaled to `volume_ml` of the joined bath.

    Parameters
    ----------
    key : str
        A key of ``recipes.toml``.
    volume_ml : float
        Volume wanted. [mL] Above 0, up to 20,000.

    Returns
    -------
    tuple of Part
        Grams and litres of each solution.

    Raises
    ------
    BadInput
        If there is no such bath or the volume is out of range.
    """
    return scaled(recipe(key), volume_ml)


def scaled(bath: Recipe, volume_ml: float) -> tuple[Part, ...]:
    """Return the parts of any bath scaled to a volume, as `mix` does."""
    check_range("volume", volume_ml, 0.0, 20_000.0, "mL", open_low=True)
    scale = volume_ml / 1000.0 / sum(part.litres for part in bath.parts)
    return tuple(
        replace(part, grams=part.grams * scale, litres=part.litres * scale) for part in bath.parts
    )


def thiosulfate_per_gold(
    gold_g: float,
    thiosulfate_g: float,
    *,
    gold_salt: str = "HAuCl4.3H2O",
    thiosulfate: str = "Na2S2O3.5H2O",
) -> float:
    """Return moles of thiosulfate for each mole of gold in a gilding bath.

    Parameters
    ----------
    gold_g, thiosulfate_g : float
        Mass of the gold salt and of the thiosulfate. [g]
    gold_salt, thiosulfate : str
        Formulas of ``substances.toml``.

    Returns
    -------
    float
        [mol/mol]

    Raises
    ------
    BadInput
        If a salt is not known or a mass is not above zero.

    Examples
    --------
    >>> round(thiosulfate_per_gold(1.0, 4.0), 2)
    6.35
    """
    forms = {family.key: family.forms for family in families()}
    for where, salt, known in (
        ("gold salt", gold_salt, forms["gold"]),
        ("thiosulfate", thiosulfate, forms["thiosulfate"]),
    ):
        if salt not in known:
            right = "use one of {known}".format(known=", ".join(known))
            raise BadInput(where, "{salt!r} is not known".format(salt=salt[:40]), right)
    check_range("gold salt", gold_g, 0.0, 1000.0, "g", open_low=True)
    check_range("thiosulfate", thiosulfate_g, 0.0, 10_000.0, "g", open_low=True)
    return moles(thiosulfate, thiosulfate_g) / moles(gold_salt, gold_g)


def check_gilding(gold_g: float, thiosulfate_g: float, **salts: str) -> tuple[float, str]:
    """Return the thiosulfate to gold ratio and a warning when it is close to the least.

    Parameters
    ----------
    gold_g, thiosulfate_g : float
        Masses of the salts. [g]
    **salts : str
        ``gold_salt`` and ``thiosulfate`` as in `thiosulfate_per_gold`.

    Returns
    -------
    tuple of (float, str)
        Ratio [mol/mol]; an empty string when it is ample.

    Raises
    ------
    BadInput
        If there is too little thiosulfate to take up the gold.
    """
    ratio = thiosulfate_per_gold(gold_g, thiosulfate_g, **salts)
    least, close = value("recipes", "thiosulfate_gold_least"), _close()
    if ratio < least:
        raise BadInput(
            "gilding bath",
            "{ratio:.1f} thiosulfate for each gold is too lean and throws the gold down",
            "use at least {least:g} and better {close:g} for each, by number of molecules",
            ratio=ratio,
            least=least,
            close=close,
        )
    note = (
        "{ratio:.1f} thiosulfate for each gold is lean: published baths hold {close:g} or more."
    ).format(ratio=ratio, close=close)
    return ratio, note if ratio < close else ""


def _close() -> float:
    return value("recipes", "thiosulfate_gold_close")


def fix_plates(volume_ml: float, area_cm2: float, coat_nm: float) -> float:
    """Return how many plates a fixing bath takes before its silver limit.

    Parameters
    ----------
    volume_ml : float
        Bath. [mL]
    area_cm2 : float
        Area of one plate. [cm2]
    coat_nm : float
        Thickness of the coat. [nm]

    Returns
    -------
    float
        Plates; age and dirt end a bath sooner.

    Raises
    ------
    BadInput
        If a value is out of range.
    """
    check_range("volume", volume_ml, 0.0, 20_000.0, "mL", open_low=True)
    check_range("plate area", area_cm2, 1.0, 5000.0, "cm2")
    check_range("coat", coat_nm, 0.0, 1000.0, "nm", open_low=True)
    silver_mg = value("recipes", "silver_per_coat") * coat_nm * area_cm2 / 1000.0
    return value("recipes", "fix_silver_limit") * volume_ml / silver_mg
