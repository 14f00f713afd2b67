"""Words of the trade in one sentence each. Read from ``terms.toml``, checked once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from argentry.trade.entries import made, wrong
from argentry.trade.facts import toml

TWICE = "{word!r} stands twice"
ONE_SENTENCE = "its meaning is not one sentence"


@dataclass(frozen=True)
class Term:
    """A word with its meaning.

    Attributes
    ----------
    word : str
        As it is listed.
    forms : tuple of str
        Other forms of it.
    meaning : str
        One sentence.
    """

    word: str
    forms: tuple[str, ...]
    meaning: str

    @property
    def spellings(self) -> tuple[str, ...]:
        """The word and its other forms."""
        return (self.word, *self.forms)

    @property
    def key(self) -> str:
        """The word as a name of a page's parts."""
        return "".join(letter if letter.isalnum() else "-" for letter in self.word)


@cache
def terms() -> tuple[Term, ...]:
    """Return every term, by the alphabet.

    Raises
    ------
    ArgentryError
        If an entry lacks a field, a word stands twice, or a meaning is not one sentence.
    """
    found: list[Term] = []
    known: set[str] = set()
    for entry in toml("terms")["term"]:
        where = "terms.toml, {word}".format(word=entry.get("word", "?"))
        one: Term = made(Term, where, entry, empty=["forms"])
        if not one.meaning.endswith(".") or ". " in one.meaning:
            raise wrong(where, ONE_SENTENCE, "end it with the only full stop")
        for word in one.spellings:
            if word in known:
                raise wrong(where, TWICE, "leave one out", word=word)
            known.add(word)
        found.append(one)
    return tuple(sorted(found, key=lambda term: term.word.casefold()))
