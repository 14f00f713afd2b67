"""Baths: amounts for a volume, and whether a mixture must be refused."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from argentry.trade.facts import value
from argentry.trade.recipes import (
    check_gilding,
    check_recipe,
    mix,
    recipe,
    recipes,
    unknown_ingredients,
)
from argentry.trade.steps import cautions

if TYPE_CHECKING:
    from collections.abc import Sequence


def recipe_check(ingredients: Sequence[str]) -> dict[str, Any]:
    """Judge a mixture by its ingredients.

    Parameters
    ----------
    ingredients : sequence of str
        Names or formulas.

    Returns
    -------
    dict
        ``refused`` (always false), ``known``, ``unknown`` and ``note``.

    Raises
    ------
    BadInput
        If the mixture is refused; the sentence says why and what to do instead.
    """
    check_recipe(ingredients)
    unknown = list(unknown_ingredients(ingredients))
    note = "Nothing here is refused; that is no promise that it is safe. "
    if unknown:
        note += f"Nothing is known of {', '.join(map(repr, unknown))}. "
    return {
        "refused": False,
        "known": [text for text in ingredients if text not in unknown],
        "unknown": unknown,
        "note": note + "Read the safety data sheets and your local rules.",
    }


def recipe_mix(key: str, volume_ml: float) -> dict[str, Any]:
    """Scale a published bath to a volume.

    Parameters
    ----------
    key : str
        A key of ``recipes.toml``.
    volume_ml : float
        Volume of the joined bath. [mL]

    Returns
    -------
    dict
        ``recipe``, ``title``, ``volume_ml``, ``parts`` (``substance``, ``grams``, ``water_ml``,
        ``as_written``), ``thiosulfate_per_gold`` and ``keeps_hours`` (null for a fixing
        bath), ``order``, ``cautions``, ``basis`` and ``source``.

    Raises
    ------
    BadInput
        If there is no such bath or the volume is out of range.
    """
    bath, parts = recipe(key), mix(key, volume_ml)
    ratio = check_gilding(parts[0].grams, parts[1].grams)[0] if bath.kind == "gild" else None
    return {
        "recipe": bath.key,
        "title": bath.title,
        "volume_ml": volume_ml,
        "parts": [
            {
                "substance": part.substance,
                "grams": part.grams,
                "water_ml": part.litres * 1000.0,
                "as_written": part.as_written,
            }
            for part in parts
        ],
        "thiosulfate_per_gold": ratio,
        "keeps_hours": value("recipes", "gild_keeps") if bath.kind == "gild" else None,
        "order": bath.order,
        "cautions": [cautions()[caution].text for caution in bath.cautions],
        "basis": bath.basis,
        "source": bath.source,
    }


def recipe_names() -> dict[str, Any]:
    """Return the baths there are: ``recipes``, each with ``recipe`` and ``title``."""
    return {"recipes": [{"recipe": bath.key, "title": bath.title} for bath in recipes()]}
