"""The words of a maker's own notebook: names of columns, words in cells, units, months, marks."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from argentry.trade.entries import wrong
from argentry.trade.facts import toml

FILE = "notebook.toml"
PARTS = ("heads", "words", "nothing", "units", "usual", "months", "marks")
T = TypeVar("T")
_APART = re.compile(r"[\W_]+")


@dataclass(frozen=True)
class NotebookWords:
    """What makers write, and what it stands for.

    Attributes
    ----------
    heads : Mapping[str, tuple of str]
        Name of a column, as `plain_words` gives it, to the fields it may mean.
    words : Mapping[str, Mapping[str, str]]
        Field to the maker's word to ours; of defects to key@stage.
    nothing : Mapping[str, frozenset of str]
        Field to the words that say there was nothing.
    units : Mapping[str, tuple of str]
        Spelling, as `plain_unit` gives it, to the units it may mean.
    usual : Mapping[str, tuple of float]
        Field to the lowest and highest figure that is usual. [in the unit of the field]
    months : Mapping[str, int]
        Name to number.
    marks : Mapping[str, tuple of str]
        Signs for "as above", "not known", "about", and between two plates.
    """

    heads: Mapping[str, tuple[str, ...]]
    words: Mapping[str, Mapping[str, str]]
    nothing: Mapping[str, frozenset[str]]
    units: Mapping[str, tuple[str, ...]]
    usual: Mapping[str, tuple[float, float]]
    months: Mapping[str, int]
    marks: Mapping[str, tuple[str, ...]]


def plain_words(text: str) -> str:
    """Return a text without case, accents and signs, its words parted by single spaces.

    Examples
    --------
    >>> plain_words("  N° de Plaque:"), plain_words("Bel.-Zeit"), plain_words("Größe")
    ('n de plaque', 'bel zeit', 'grosse')
    """
    letters = unicodedata.normalize("NFKD", text).casefold()
    bare = "".join(one for one in letters if not unicodedata.combining(one))
    return _APART.sub(" ", bare).strip()


def meant(name: str, known: Iterable[tuple[str, T]]) -> T | None:
    """Return what the longest known phrase in a name stands for; None when none is in it.

    Parameters
    ----------
    name : str
        As the maker writes it, in any case, with accents and signs or without.
    known : iterable of (str, T)
        Phrases as `plain_words` gives them, and what they stand for; of two of one length the
        first decides.

    Examples
    --------
    >>> known = [("jod", 1), ("jod resublimiert", 2)]
    >>> meant("Jod, resublimiert", known), meant("Jodid", known)
    (2, None)
    """
    said = f" {plain_words(name)} "
    fits = [(len(phrase), one) for phrase, one in known if f" {phrase} " in said]
    return max(fits, key=lambda fit: fit[0])[1] if fits else None


def plain_unit(text: str) -> str:
    """Return a unit as it is looked up: without case, spaces and the last point.

    Examples
    --------
    >>> plain_unit(" Sek. "), plain_unit("° F")
    ('sek', '°f')
    """
    return "".join(text.split()).casefold().rstrip(".")


def plain_word(text: str) -> str:
    """Return a word of a cell as it is looked up; a fraction such as 1/4 keeps its stroke."""
    bare = "".join(text.split())
    return bare if re.fullmatch(r"\d+/\d+", bare) else plain_words(text)


@cache
def notebook_words() -> NotebookWords:
    """Return the words of ``notebook.toml``.

    Raises
    ------
    ArgentryError
        If a part is missing or one word of a field has two meanings.
    """
    data = toml("notebook")
    missing = [part for part in PARTS if part not in data]
    if missing:
        raise wrong(FILE, "it lacks {parts}", "give them", parts=", ".join(missing))
    return NotebookWords(
        heads=_many(data["heads"], plain_words),
        words={field: _one(field, named) for field, named in data["words"].items()},
        nothing={key: frozenset(map(plain_word, words)) for key, words in data["nothing"].items()},
        units=_many(data["units"], plain_unit),
        usual={field: (float(low), float(high)) for field, (low, high) in data["usual"].items()},
        months={plain_words(n): int(key) for key, names in data["months"].items() for n in names},
        marks={key: tuple(words) for key, words in data["marks"].items()},
    )


def _many(
    named: Mapping[str, Iterable[str]], form: Callable[[str], str]
) -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for meaning, names in named.items():
        for name in names:
            key = form(name)
            out[key] = (*out.get(key, ()), meaning)
    return out


def _one(field: str, named: Mapping[str, Iterable[str]]) -> dict[str, str]:
    out: dict[str, str] = {}
    for ours, names in named.items():
        for name in (ours.partition("@")[0], *names):
            key = plain_word(name)
            if out.setdefault(key, ours) != ours:
                raise wrong(
                    "{file}, words of {field}".format(file=FILE, field=field),
                    "{name!r} stands for {one} and {other}",
                    "keep one of them",
                    name=name,
                    one=out[key],
                    other=ours,
                )
    return out
