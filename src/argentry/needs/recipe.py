"""Baths: amounts for a volume, and whether a mixture must be refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from argentry.trade.chemistry.gilding import check_gilding
from argentry.trade.facts import value
from argentry.trade.recipes import check_recipe, mix, recipe, recipes
from argentry.trade.refusals import HARMLESS, read_name
from argentry.trade.steps import cautions

NO_PROMISE = "Nothing here is refused; that is not a promise that it is safe."
NOT_KNOWN = "{name} is not known here: read its safety data sheet before you mix it."
OTHERS = "argentry cannot judge the mixture."
READ = "Read the safety data sheets and your local rules."


@dataclass(frozen=True)
class Ingredient:
    """What is known of one ingredient by its name.

    Attributes
    ----------
    ingredient : str
        As it was named.
    holds : tuple of str
        What it is or holds, in words; empty when nothing is known of it.
    not_known : tuple of str
        Words of it that nothing is known of.
    """

    ingredient: str
    holds: tuple[str, ...]
    not_known: tuple[str, ...]


@dataclass(frozen=True)
class Allowed:
    """A mixture that is not refused; a refused one ends in a sentence and exit code 2, no JSON.

    Attributes
    ----------
    refused : bool or None
        False: nothing is refused. Null: it cannot be said, as an ingredient is not known.
    ingredients : tuple of Ingredient
        How each name was read.
    note : str
        What that means: no promise that it is safe.
    """

    refused: bool | None
    ingredients: tuple[Ingredient, ...]
    note: str


@dataclass(frozen=True)
class Solution:
    """One solution of a bath.

    Attributes
    ----------
    substance : str
        Formula of the substance.
    grams : float
        How much of it. [g]
    water_ml : float
        In how much water. [mL]
    as_written : str
        As the source writes it.
    """

    substance: str
    grams: float
    water_ml: float
    as_written: str


@dataclass(frozen=True)
class Title:
    """A bath that can be mixed.

    Attributes
    ----------
    recipe : str
        Key of the bath.
    title : str
        Its name in words.
    """

    recipe: str
    title: str


@dataclass(frozen=True)
class Titles:
    """The baths there are, when none is named.

    Attributes
    ----------
    recipes : tuple of Title
        The baths.
    """

    recipes: tuple[Title, ...]


@dataclass(frozen=True)
class Mixture(Title):
    """A published bath scaled to a volume.

    Attributes
    ----------
    volume_ml : float
        Volume of the joined bath. [mL]
    parts : tuple of Solution
        What is dissolved, each in its own water.
    thiosulfate_per_gold : float or None
        Thiosulfate ions for each atom of gold, four at the least; null for a fixing bath. [1]
    keeps_hours : float or None
        How long a gilding bath keeps; null for a fixing bath, which ends by its silver, age and
        dirt. [h]
    order : str
        How to join them.
    cautions : tuple of str
        Cautions; local codes and suppliers' safety data sheets decide.
    basis : str
        What it rests on: published, computed, common practice, recalled or seed.
    source : str
        Where it was read.
    """

    volume_ml: float
    parts: tuple[Solution, ...]
    thiosulfate_per_gold: float | None
    keeps_hours: float | None
    order: str
    cautions: tuple[str, ...]
    basis: str
    source: str


def recipe_check(ingredients: Sequence[str]) -> Allowed:
    """Judge a mixture by its ingredients.

    Parameters
    ----------
    ingredients : sequence of str
        Names or formulas.

    Raises
    ------
    BadInput
        If the mixture is refused; the sentence says why and what to do instead.
    """
    check_recipe(ingredients)
    read = tuple(_ingredient(text) for text in ingredients if text.strip())
    unknown = [NOT_KNOWN.format(name=repr(one.ingredient)) for one in read if one.not_known]
    notes = [*unknown, OTHERS] if unknown else [NO_PROMISE]
    return Allowed(None if unknown else False, read, " ".join([*notes, READ]))


def _ingredient(text: str) -> Ingredient:
    reading = read_name(text)
    telling = [found for found in reading.found if HARMLESS not in found.classes]
    holds = dict.fromkeys(found.what for found in telling or reading.found)
    return Ingredient(text, tuple(holds), reading.not_known)


def recipe_mix(key: str, volume_ml: float) -> Mixture:
    """Scale a published bath to a volume.

    Parameters
    ----------
    key : str
        A key of ``recipes.toml``.
    volume_ml : float
        Volume of the joined bath. [mL]

    Raises
    ------
    BadInput
        If there is no such bath or the volume is out of range.
    """
    bath, parts = recipe(key), mix(key, volume_ml)
    gilds = bath.kind == "gild"
    return Mixture(
        recipe=bath.key,
        title=bath.title,
        volume_ml=volume_ml,
        parts=tuple(
            Solution(part.substance, part.grams, part.litres * 1000.0, part.as_written)
            for part in parts
        ),
        thiosulfate_per_gold=check_gilding(parts[0].grams, parts[1].grams)[0] if gilds else None,
        keeps_hours=value("recipes", "gild_keeps") if gilds else None,
        order=bath.order,
        cautions=tuple(cautions()[caution].text for caution in bath.cautions),
        basis=bath.basis,
        source=bath.source,
    )


def recipe_names() -> Titles:
    """Return the baths there are."""
    return Titles(tuple(Title(bath.key, bath.title) for bath in recipes()))
