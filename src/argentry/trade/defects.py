"""What can be wrong with a plate: look, origin, cause, remedy."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from argentry.errors import BadInput, did_you_mean
from argentry.trade.conditions import stage_priors
from argentry.trade.entries import made, one_of, wrong
from argentry.trade.facts import BASES, toml
from argentry.trade.steps import stage_of

ENDS = ("", "unripe", "too long")


@dataclass(frozen=True)
class Defect:
    """One defect of the catalogue.

    Attributes
    ----------
    key : str
        Its name within ``defects.toml``.
    look : str
        What it looks like.
    stages, steps : tuple of str
        Stages and steps it may come from.
    first_seen : str
        When it shows.
    causes : tuple of str
        In the order in which to look for them.
    remedy : str
        What to do on the next plate.
    mends : bool
        False when what is on the plate surely stays.
    basis, source : str
        What the entry rests on.
    ended : str
        What it says of when development ended, once put down to that: one of `ENDS`.
    """

    key: str
    look: str
    stages: tuple[str, ...]
    steps: tuple[str, ...]
    first_seen: str
    causes: tuple[str, ...]
    remedy: str
    basis: str
    source: str
    mends: bool = True
    ended: str = ""


@cache
def defects() -> Mapping[str, Defect]:
    """Return every defect by its key, in the order of the work.

    Raises
    ------
    ArgentryError
        If an entry lacks a field, or names a basis, step or stage that is not known.
    """
    read = [_defect(entry) for entry in toml("defects")["defect"]]
    return MappingProxyType({each.key: each for each in read})


def defect(where: str, key: str) -> Defect:
    """Return one defect."""
    if key in defects():
        return defects()[key]
    right = did_you_mean(key, defects(), "see the list: argentry plate defect --list", 0.5)
    raise BadInput(where, "{key!r} is not a known defect".format(key=key[:40]), right)


def defect_look(key: str) -> str:
    """Return what a defect is called wherever a person reads of it.

    Examples
    --------
    >>> defect_look("under_exposed"), defect_look("a_word_of_long_ago")
    ('faint or blank', 'a word of long ago')
    """
    entry = defects().get(key)
    return entry.look if entry else key.replace("_", " ")


def named_in(words: str) -> tuple[str, ...]:
    """Return the defects that a remark names by key or look, in the order of the catalogue.

    Examples
    --------
    >>> named_in("some Uneven coat, and Grey veil overall.")
    ('fog', 'uneven_coat')
    """
    said = f" {_plain(words)} "
    names = {key: {_plain(key), _plain(entry.look)} for key, entry in defects().items()}
    return tuple(key for key, own in names.items() if any(f" {name} " in said for name in own))


def _plain(words: str) -> str:
    """Return words in small letters, without marks, one space between them."""
    return " ".join(re.findall(r"\w+", words.casefold().replace("_", " ")))


def check_origin(where: str, key: str, origin: str) -> str:
    """Return the step or stage a defect is put down to, when it can come from there.

    Parameters
    ----------
    where : str
        Name of the option, for the sentence.
    key : str
        The defect.
    origin : str
        Key of a step, or a stage; empty: the defect's only stage, when it has one.

    Raises
    ------
    BadInput
        If the defect does not come from there, or several stages are possible and none is named.

    Examples
    --------
    >>> check_origin("--from", "fog", "develop"), check_origin("--from", "bubbles", "")
    ('develop', 'finish')
    """
    entry = defect(where, key)
    allowed = (*entry.stages, *entry.steps)
    if not origin and len(entry.stages) == 1:
        return entry.stages[0]
    if origin not in allowed:
        what = (
            "{key} does not come from {origin!r}".format(key=key, origin=origin[:40])
            if origin
            else "{key} has many origins".format(key=key)
        )
        raise BadInput(where, what, "give one of {allowed}".format(allowed=", ".join(allowed)))
    return origin


def _defect(entry: Mapping[str, Any]) -> Defect:
    where = "defects.toml, defect {key}".format(key=entry.get("key", "?"))
    read: Defect = made(Defect, where, entry)
    one_of(where, "basis", read.basis, BASES)
    one_of(where, "ended", read.ended, ENDS)
    for stage in read.stages:
        one_of(where, "stages", stage, stage_priors())
    for step in read.steps:
        one_of(where, "steps", step, stage_of())
    if not {stage_of()[step] for step in read.steps} & set(read.stages):
        raise wrong(where, "its steps are of none of its stages", "name a step of a stage it has")
    return read
