"""What argentry refuses to guide: mixtures that explode or poison, and banned substances.

Understands common, old and foreign names and formulas; where in doubt it refuses. That nothing is
refused is not a promise that a mixture is safe.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.trade.facts import toml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

HARMLESS = "harmless"
_FORMULA = re.compile(r"(?:[A-Z][a-z]?\d*|[()\[\]]\d*)+")
_ELEMENTS = ("Hg", "Br", "Au")  # an element whose every compound belongs to one class
_ELEMENT_CLASS = {"Hg": "mercury", "Br": "bromine", "Au": "gold"}
_TYPO = 0.82  # likeness at which an unknown word is taken for a known hazard


@dataclass(frozen=True)
class Refusal:
    """One thing that is refused.

    Attributes
    ----------
    classes : tuple of str
        Classes of substance that must all be present.
    why, right : str
        The reason, and what to do instead.
    basis, source : str
        Where it was read.
    """

    classes: tuple[str, ...]
    why: str
    right: str
    basis: str
    source: str


@cache
def refusals() -> tuple[Refusal, ...]:
    """Return everything that is refused, the worst first."""
    rows = toml("refusals")["refusal"]
    return tuple(Refusal(**{**row, "classes": tuple(row["classes"])}) for row in rows)


@cache
def _classes() -> Mapping[str, Mapping[str, list[str]]]:
    data = toml("refusals")
    return {**data["substances"], HARMLESS: data["harmless"]}


@cache
def _terms() -> tuple[tuple[str, bool, tuple[str, ...]], ...]:
    """Every (word or stem, is a stem, classes), the longest first so that exceptions win."""
    terms: dict[tuple[str, bool], list[str]] = {}
    for name, entry in _classes().items():
        for stem, key in ((False, "words"), (True, "stems")):
            for term in entry[key]:
                terms.setdefault((term, stem), []).append(name)
    rows = [(term, stem, tuple(names)) for (term, stem), names in terms.items()]
    return tuple(sorted(rows, key=lambda row: (-len(row[0]), row[1])))


@cache
def _formulas() -> Mapping[str, str]:
    return {
        formula.casefold(): name
        for name, entry in _classes().items()
        for formula in entry["formulas"]
    }


def substances(ingredient: str) -> frozenset[str]:
    """Return the classes of substance an ingredient belongs to.

    Parameters
    ----------
    ingredient : str
        A name or formula as a person writes it: ``"sel d'or"``, ``"NH₃"``, ``"Chloride of gold"``.

    Returns
    -------
    frozenset of str
        Keys of ``refusals.toml``, ``"harmless"`` among them; empty when nothing is known of it.
    """
    plain = unicodedata.normalize("NFKC", ingredient)
    found = set(_by_formula(plain))
    rest = f" {_words(plain)} "
    for term, stem, names in _terms():
        pattern = rf"(?<= ){re.escape(term)}{'[a-z]*' if stem else ''}(?= )"
        rest, hits = re.subn(pattern, "", rest)
        if hits:
            found.update(names)
    found.update(_by_likeness(word for word in rest.split() if len(word) >= 5))
    return frozenset(found)


def _words(text: str) -> str:
    bare = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    return re.sub(r"[^a-z0-9]+", " ", bare).strip()


def _by_formula(text: str) -> Iterator[str]:
    for token in re.split(r"[^A-Za-z0-9()\[\]]+", text):
        bare = re.sub(r"[()\[\]]", "", token)
        if name := _formulas().get(bare.casefold()):
            yield name
        if not _FORMULA.fullmatch(token):
            continue
        elements = set(re.findall(r"[A-Z][a-z]?", token))
        yield from (_ELEMENT_CLASS[e] for e in _ELEMENTS if e in elements)
        if "CN" in bare:
            yield "cyanide"
        if re.search(r"NH[34]", bare):
            yield "ammonia"
        if "S2O3" in bare:
            yield "thiosulfate"
        if "ClO" in bare or "OCl" in bare:
            yield "chlorine"


def _by_likeness(words: Iterator[str]) -> Iterator[str]:
    known = {term: names for term, _, names in _terms() if HARMLESS not in names and len(term) >= 5}
    for word in words:
        for near in get_close_matches(word, known, n=1, cutoff=_TYPO):
            yield from known[near]


def check_recipe(ingredients: Sequence[str]) -> None:
    """Refuse a mixture that explodes or poisons, or anything argentry does not guide.

    Parameters
    ----------
    ingredients : sequence of str
        Names or formulas, one substance or product each.

    Raises
    ------
    BadInput
        If the mixture is refused, in one sentence that says why and what to do instead; or if no
        ingredient is named.
    """
    named = [text for text in ingredients if text.strip()]
    if not named:
        raise BadInput("recipe", "no ingredient is named", "name each one, by name or formula")
    present = {text: substances(text) for text in named}
    every = frozenset().union(*present.values())
    for refusal in refusals():
        if every.issuperset(refusal.classes):
            blamed = [text for text in named if present[text].intersection(refusal.classes)]
            what = "{repr} is refused: {why}".format(
                repr=" with ".join(map(repr, dict.fromkeys(blamed))), why=refusal.why
            )
            raise BadInput("recipe", what, refusal.right)


def unknown_ingredients(ingredients: Sequence[str]) -> tuple[str, ...]:
    """Return the ingredients nothing is known of: for these, silence is not consent."""
    return tuple(text for text in ingredients if not substances(text))
