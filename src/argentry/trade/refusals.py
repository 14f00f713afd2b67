"""What argentry refuses to guide: mixtures that explode or poison, and banned substances.

Understands common, old and foreign names, kinds of bath and formulas; where in doubt it refuses.
That nothing is refused is not a promise that a mixture is safe, and a name that is not known is
sent to its safety data sheet.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, lru_cache
from itertools import permutations

from argentry.errors import BadInput
from argentry.trade.facts import toml

HARMLESS = "harmless"
# The elements of the workshop's formulas; other capitals make a word, not a formula.
_SYMBOLS = {*"HBCNOFPSKI", "Li", "Na", "Mg", "Al", "Si", "Cl", "Ca", "Cr", "Mn", "Fe", "Co", "Ni"}
_SYMBOLS |= {"Cu", "Zn", "Se", "Br", "Ag", "Sn", "Ba", "Pt", "Au", "Hg", "Pb"}
_FORMULA = re.compile(r"(?:[A-Z][a-z]?\d*|[()\[\]]\d*)+")
_WITHIN = {  # what within a formula puts it into a class
    r"Hg": "mercury",
    r"Br": "bromine",
    r"Au": "gold",
    r"CN": "cyanide",
    r"NH[34]": "ammonia",
    r"S2O3": "thiosulfate",
    r"ClO|OCl": "chlorine",
}
_TYPO = 0.82  # likeness at which an unknown word is taken for a known hazard
_ANYWHERE = 5  # letters from which on a stem is found within a word, not only at its beginning
_PLURAL = "(?:e?[nrs]|e)?"
_LONGEST = 60  # letters of a word that may be taken apart
_TAKEN = "~"  # stands where a term was understood
_LETTERS = {"æ": "a", "œ": "o", "ø": "o", "ae": "a", "oe": "o", "ue": "u", "ph": "f"}


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


@dataclass(frozen=True)
class Found:
    """One substance or kind of bath found in a name.

    Attributes
    ----------
    what : str
        What it is or holds, in words.
    classes : frozenset of str
        Its classes, keys of ``refusals.toml``.
    is_kind : bool
        True for a kind of bath or cleaner, which holds what its name does not say.
    """

    what: str
    classes: frozenset[str]
    is_kind: bool = False


@dataclass(frozen=True)
class Reading:
    """What is known of one ingredient by its name.

    Attributes
    ----------
    found : tuple of Found
        The substances it names.
    not_known : tuple of str
        Words of it that nothing is known of.
    """

    found: tuple[Found, ...]
    not_known: tuple[str, ...]


@cache
def refusals() -> tuple[Refusal, ...]:
    """Return everything that is refused, the worst first."""
    rows = toml("refusals")["refusal"]
    return tuple(Refusal(**{**row, "classes": tuple(row["classes"])}) for row in rows)


@cache
def _classes() -> Mapping[str, Mapping[str, list[str]]]:
    data = toml("refusals")
    return {**data["substances"], HARMLESS: data["harmless"]}


def _found(*names: str) -> Found:
    """Return what stands for classes by their names, with the classes these belong to as well."""
    entries = [_classes()[name] for name in dict.fromkeys(names)]
    also = {kin for entry in entries for kin in entry.get("also", ())}
    said = ", ".join(str(entry["name"]) for entry in entries)
    return Found(said, frozenset(names) | also)


@cache
def _named() -> Mapping[tuple[str, bool], Found]:
    """Every (folded word or stem, is a stem) and what it names; a kind of bath goes before."""
    by_term: dict[tuple[str, bool], list[str]] = {}
    for name, entry in _classes().items():
        for stem, key in ((False, "words"), (True, "stems")):
            for term in entry[key]:
                by_term.setdefault((_folded(term), stem), []).append(name)
    out = {term: _found(*names) for term, names in by_term.items()}
    for kind in toml("refusals")["kind"]:
        classes = _found(*kind["holds"]).classes
        held = Found(kind["contents"], classes, is_kind=True)
        out |= {(_folded(term), False): held for term in kind["words"]}
    return out


@cache
def _terms() -> tuple[tuple[re.Pattern[str], Found], ...]:
    """Return the pattern of every term, the longest first so that exceptions win."""
    rows = sorted(_named().items(), key=lambda row: (-len(row[0][0]), row[0][1]))
    return tuple((_pattern(term, stem=stem), found) for (term, stem), found in rows)


def _pattern(term: str, *, stem: bool) -> re.Pattern[str]:
    if stem:
        return re.compile((r"" if len(term) >= _ANYWHERE else r"(?<![a-z0-9])") + term)
    words = (word + _PLURAL * (len(word) >= _ANYWHERE - 1) for word in term.split())
    return re.compile(rf"(?<![a-z0-9]){' ?'.join(words)}(?![a-z0-9])")


@cache
def _fillers() -> frozenset[str]:
    return frozenset(map(_folded, toml("refusals")["fillers"]["words"]))


@cache
def _formulas() -> Mapping[str, str]:
    return {
        formula.casefold(): name
        for name, entry in _classes().items()
        for formula in entry["formulas"]
    }


@lru_cache(maxsize=1024)
def read_name(ingredient: str) -> Reading:
    """Return what an ingredient is or holds, and which of its words are not known.

    Parameters
    ----------
    ingredient : str
        A name or formula as a person writes it: ``"sel d'or"``, ``"NH₃"``, ``"Schnellfixierbad"``.

    Returns
    -------
    Reading
        Letter case, accents, plurals, hyphens and umlauts as ae, oe, ue make no difference.
    """
    plain = unicodedata.normalize("NFKC", ingredient)
    found: dict[Found, None] = {}
    tokens = []
    for token in re.split(r"[^\w()\[\]]+", plain):
        classes = tuple(_by_formula(token))
        found |= dict.fromkeys(map(_found, classes))
        if not classes:
            tokens.append(token)
    rest = _folded(" ".join(tokens))
    for pattern, named in _terms():
        rest, hits = pattern.subn(_TAKEN, rest)
        if hits:
            found[named] = None
    left = []
    for word in re.findall(r"(?<![~a-z])[a-z]{2,}(?![~a-z])", rest):
        if word in _fillers():
            continue
        guessed = _compound(word) or _by_likeness(word)
        found |= dict.fromkeys(guessed)
        if not guessed:
            left.append(word)
    if not found and not left:
        left = [ingredient.strip()]
    return Reading(tuple(found), tuple(left))


def substances(ingredient: str) -> frozenset[str]:
    """Return the classes of substance an ingredient belongs to, ``"harmless"`` among them.

    Parameters
    ----------
    ingredient : str
        As in `read_name`.

    Returns
    -------
    frozenset of str
        Keys of ``refusals.toml``; empty when nothing is known of it.
    """
    return frozenset().union(*(found.classes for found in read_name(ingredient).found))


def _folded(text: str) -> str:
    bare = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    for written, plain in _LETTERS.items():
        bare = bare.replace(written, plain)
    return re.sub(r"[^a-z0-9]+", " ", bare).strip()


def _by_formula(token: str) -> Iterator[str]:
    bare = re.sub(r"[()\[\]]", "", token)
    written = _FORMULA.fullmatch(token) and set(re.findall(r"[A-Z][a-z]?", token)) <= _SYMBOLS
    small = bare.casefold()
    if small in _formulas() and (written or small not in _fillers()):
        yield _formulas()[small]
    if written:
        yield from (name for within, name in _WITHIN.items() if re.search(within, bare))


def _compound(word: str) -> tuple[Found, ...]:
    """Return the hazards in joined words, as *Jodlösung*; nothing if a part is unknown."""
    for end in range(3, len(word) + 1 if len(word) <= _LONGEST else 0):
        part, rest = word[:end], word[end:]
        named = _named().get((part, False))
        if not named and not (part in _fillers() and end > 3):
            continue
        hazards = (named,) if named and HARMLESS not in named.classes else ()
        more = _compound(rest)
        told = not rest or rest in _fillers() or (rest, False) in _named()
        if (told or more) and (hazards or more):
            return (*hazards, *more)
    return ()


def _by_likeness(word: str) -> tuple[Found, ...]:
    """Return the hazard that a mistyped word seems to mean; few mistype the first letter."""
    if len(word) < _ANYWHERE:
        return ()
    known = {
        term: named
        for (term, _), named in _named().items()
        if HARMLESS not in named.classes and len(term) >= _ANYWHERE and term[0] == word[0]
    }
    return tuple(known[near] for near in get_close_matches(word, known, n=1, cutoff=_TYPO))


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
    present = {text: read_name(text).found for text in named}
    judged = _refused(frozenset(found for several in present.values() for found in several))
    if judged is not None:
        refusal, meeting = judged
        blamed = [_with_contents(text, present[text], meeting) for text in named]
        what = "{repr} is refused: {why}".format(
            repr=" with ".join(dict.fromkeys(filter(None, blamed))), why=refusal.why
        )
        raise BadInput("recipe", what, refusal.right)


@lru_cache(maxsize=8192)  # whatever is poured, the same few sets of substances stand in a vessel
def _refused(every: frozenset[Found]) -> tuple[Refusal, frozenset[Found]] | None:
    """Return the worst refusal for what stands in one vessel, and what meets in it.

    A product is not refused for what it holds by itself.
    """
    for refusal in refusals():
        fits = [f for f in every if f.classes.intersection(refusal.classes)]
        for some in permutations(fits, len(refusal.classes)):
            if all(key in found.classes for key, found in zip(refusal.classes, some, strict=True)):
                return refusal, frozenset(fits)
    return None


def _with_contents(text: str, found: Sequence[Found], meeting: frozenset[Found]) -> str:
    """Return an ingredient's name with what a kind of bath holds, or nothing if not to blame."""
    blamed = [one for one in found if one in meeting]
    held = ", ".join(one.what for one in blamed if one.is_kind)
    return (f"{text!r} ({held})" if held else repr(text)) if blamed else ""
