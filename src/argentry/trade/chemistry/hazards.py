"""What materials can do, by the GHS, and what to do first: ``hazards.toml``, checked once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from argentry.errors import BadInput, did_you_mean
from argentry.trade.entries import made, one_of
from argentry.trade.facts import BASES, Fact, toml
from argentry.trade.notebook import meant
from argentry.trade.refusals import HARMLESS, check_recipe, read_name, refusals
from argentry.trade.stock import stuffs

PICTOGRAMS = {
    "GHS02": "flame",
    "GHS03": "flame over circle",
    "GHS05": "corrosion",
    "GHS07": "exclamation mark",
    "GHS08": "health hazard",
    "GHS09": "environment",
}
SIGNALS = ("Danger", "Warning", "")


@dataclass(frozen=True)
class Hazard:
    """What one material can do, and what to do first.

    Attributes
    ----------
    key, title, number : str
        Name within ``hazards.toml``, in words, and CAS number; the last may be empty.
    words : tuple of str
        By which a lot or bottle is known, those of its stuffs included.
    classes : tuple of str
        Classes of ``refusals.toml``: what it must never meet follows from them.
    shelf : str
        Storage group: a key of ``shelves``.
    signal : str
        Danger, Warning or empty.
    pictograms : tuple of str
        Keys of `PICTOGRAMS`.
    h, p : tuple of str
        Codes of statements and advice.
    eyes, skin, breathed, swallowed : str
        What to do first.
    spill : str
        What to do when it is spilt.
    basis, source : str
        Where it was read.
    stuff : tuple of str
        Keys of ``stock.toml`` that are this material too: their words are known for it.
    """

    key: str
    title: str
    number: str
    words: tuple[str, ...]
    classes: tuple[str, ...]
    shelf: str
    signal: str
    pictograms: tuple[str, ...]
    h: tuple[str, ...]
    p: tuple[str, ...]
    eyes: str
    skin: str
    breathed: str
    swallowed: str
    spill: str
    basis: str
    source: str
    stuff: tuple[str, ...] = ()


@dataclass(frozen=True)
class Limit:
    """A published limit for waste.

    Attributes
    ----------
    fact : Fact
        The limit with its range and source.
    what : str
        ``"silver"`` or ``"copper"``.
    name, year : str
        Whose limit, and of when.
    """

    fact: Fact
    what: str
    name: str
    year: str


@cache
def hazards() -> tuple[Hazard, ...]:
    """Return the materials of ``hazards.toml``.

    Raises
    ------
    ArgentryError
        If an entry is incomplete or names a code, shelf, pictogram or class that there is not.
    """
    data, out = toml("hazards"), []
    classes = {name for refusal in refusals() for name in refusal.classes}
    kept = {one.key: one.words for one in stuffs()}
    for entry in data["material"]:
        where = "hazards.toml, {key}".format(key=entry.get("key"))
        read: Hazard = made(Hazard, where, entry, empty=["number", "signal"])
        one_of(where, "basis", read.basis, BASES)
        one_of(where, "signal", read.signal, SIGNALS)
        one_of(where, "shelf", read.shelf, data["shelves"])
        known = (
            ("h", read.h, data["statements"]),
            ("p", read.p, data["advice"]),
            ("pictogram", read.pictograms, PICTOGRAMS),
            ("class", read.classes, classes),
            ("stuff", read.stuff, kept),
        )
        for field, given, among in known:
            for one in given:
                one_of(where, field, one, among)
        too = (word for key in read.stuff for word in kept[key])
        out.append(replace(read, words=(*read.words, *too)))
    return tuple(out)


@cache
def limits() -> tuple[Limit, ...]:
    """Return the published limits for waste."""
    out = []
    for key, entry in toml("hazards")["limits"].items():
        own = {name: entry[name] for name in ("value", "unit", "low", "high", "basis", "source")}
        fact = Fact(name=f"hazards.limits.{key}", **own)
        out.append(Limit(fact, entry["what"], entry["name"], entry["year"]))
    return tuple(out)


def statement(code: str) -> str:
    """Return the text of an H or EUH code."""
    return str(toml("hazards")["statements"][code])


def advice(code: str) -> str:
    """Return the text of a P code; combined codes are joined by ``_``."""
    return str(toml("hazards")["advice"][code])


def shelf(hazard: Hazard) -> str:
    """Return how a material is stored."""
    return str(toml("hazards")["shelves"][hazard.shelf])


def hazard_named(name: str) -> Hazard | None:
    """Return what a lot or bottle is by its name; None when it is not known here.

    >>> hazard_named("Iodine, resublimed").key
    'iodine'
    """
    return meant(name, ((word, one) for one in hazards() for word in one.words))


def hazard_of(name: str) -> Hazard:
    """Return a material by its key or name.

    Raises
    ------
    BadInput
        If it is refused, or not known here; the sentence says what to do.
    """
    found = next((one for one in hazards() if one.key == name.strip().casefold()), None)
    found = found or hazard_named(name)
    if found is not None:
        return found
    if name.strip():
        check_recipe([name])
    what = "{name!r} is not known here"
    keys = [one.key for one in hazards()]
    right = did_you_mean(name, keys, "read its safety data sheet; known: " + ", ".join(keys), 0.6)
    raise BadInput("material", what, right, name=name[:40])


def never_with(hazard: Hazard) -> tuple[tuple[str, str], ...]:
    """Return what a material must never meet, each with the reason."""
    out: dict[str, str] = {}
    for refusal in refusals():
        if len(refusal.classes) == 2:
            first, second = refusal.classes
            for own, other in ((first, second), (second, first)):
                if own in hazard.classes and other not in hazard.classes:
                    out.setdefault(class_name(other), refusal.why)
    return tuple(out.items())


def class_name(key: str) -> str:
    """Return a class of substances in words."""
    return str(toml("refusals")["substances"][key]["name"])


def apart(names: Sequence[str]) -> tuple[tuple[str, str, str], ...]:
    """Return which of several things must not stand or be poured together, and why."""
    return _apart(tuple(dict.fromkeys(names)))


@lru_cache(maxsize=16)  # a page asks for the same bottles again
def _apart(names: tuple[str, ...]) -> tuple[tuple[str, str, str], ...]:
    held = {name: _classes(name) for name in names}
    out = []
    for place, one in enumerate(names):
        for other in names[place + 1 :]:
            why = _refused(held[one], held[other])
            if why:
                out.append((one, other, why))
    return tuple(out)


def _classes(name: str) -> frozenset[str]:
    hazard = hazard_named(name)
    read = frozenset().union(*(found.classes for found in read_name(name).found))
    return (read | frozenset(hazard.classes if hazard else ())) - {HARMLESS}


def _refused(own: frozenset[str], others: frozenset[str]) -> str:
    for refusal in refusals():
        if len(refusal.classes) == 2:
            first, second = refusal.classes
            if (first in own and second in others) or (second in own and first in others):
                return refusal.why
    return ""


def equipment() -> Mapping[str, Sequence[str]]:
    """Return what each caution asks to be worn or had ready."""
    asked: Mapping[str, Sequence[str]] = toml("hazards")["equipment"]
    return asked
