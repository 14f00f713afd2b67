"""The cautions shown before the steps that need them. Read from ``cautions.toml``, checked once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

from argentry.errors import ArgentryError
from argentry.trade.entries import made, one_of
from argentry.trade.facts import BASES, facts, toml


@dataclass(frozen=True)
class Caution:
    """One caution, shown before the steps that need it.

    Attributes
    ----------
    key : str
        Name within ``cautions.toml``.
    text : str
        What to do, as printed; where a limit is meant it defers to local rules.
    hazard : str
        What it is about, in a word or two.
    figures : str
        Published limits and computed figures, or an empty string.
    source, basis : str
        Where they were read.
    asks_again : bool
        True for what can explode, burn or poison: confirmed at its step too, not only with all
        others at the run's start.
    under : tuple of str
        Lights under which alone it is told, ``"sun"`` or kinds of lamp; empty: always.
    """

    key: str
    text: str
    hazard: str
    figures: str
    source: str
    basis: str
    asks_again: bool = False
    under: tuple[str, ...] = ()


@cache
def cautions() -> Mapping[str, Caution]:
    """Return every caution of ``cautions.toml`` by key.

    Raises
    ------
    ArgentryError
        If an entry is incomplete or names an unknown basis.
    """
    out: dict[str, Caution] = {}
    for key, entry in toml("cautions").items():
        where = "cautions.toml, {key}".format(key=key)
        read: Caution = made(Caution, where, {"key": key, **entry}, empty=["figures"])
        one_of(where, "basis", read.basis, BASES)
        out[key] = replace(read, figures=_with_facts(read.figures))
    return MappingProxyType(out)


def _with_facts(words: str) -> str:
    """Return words in which each ``{subject.key}`` is that fact, with its unit."""

    def shown(place: re.Match[str]) -> str:
        subject, key = place.groups()
        if key not in facts(subject):
            raise ArgentryError(
                "cautions.toml names the unknown fact {subject}.{key}.".format(
                    subject=subject, key=key
                )
            )
        fact = facts(subject)[key]
        return f"{fact.value:g} {fact.unit}"

    return re.sub(r"\{(\w+)\.(\w+)\}", shown, words)
