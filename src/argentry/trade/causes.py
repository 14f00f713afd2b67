"""What goes wrong with a plate: causes, how they show, and the check that would prove each.

Read from ``causes.toml`` and checked once against the defects and the conditions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from argentry.errors import ArgentryError
from argentry.trade.columns import columns
from argentry.trade.conditions import conditions, stage_priors
from argentry.trade.facts import BASES, toml, value

SIDES = ("low", "high", "words")


@dataclass(frozen=True)
class KnownCause:
    """One cause that the trade knows.

    Attributes
    ----------
    key, title : str
        Its name, and what went wrong in words.
    stage : str
        The stage it spoils.
    prior : float
        Share of plates that have it, before anything is known. [1]
    through : tuple of (str, str)
        Conditions by which it acts, each with its bad side, one of `SIDES`.
    links : Mapping[str, float]
        Defect to the probability that this cause alone makes it. [1]
    verdicts : tuple of str
        What the exposure then looks like.
    check : str
        The cheapest check that would prove it.
    check_minutes : float
        What that costs the maker. [min]
    basis, source : str
        Where it was read.
    length : str
        Column of the length of the step that was too short or too long; empty where it was no
        length.
    """

    key: str
    title: str
    stage: str
    prior: float
    through: tuple[tuple[str, str], ...]
    links: Mapping[str, float]
    verdicts: tuple[str, ...]
    check: str
    check_minutes: float
    basis: str
    source: str
    length: str = ""


@cache
def known_causes() -> tuple[KnownCause, ...]:
    """Return every cause, in the order of the file.

    Raises
    ------
    ArgentryError
        If an entry lacks a field or names a defect, a condition or a stage that is not known.
    """
    return tuple(_cause(entry) for entry in toml("causes")["cause"])


def _cause(entry: Mapping[str, Any]) -> KnownCause:
    name = f"causes.{entry.get('key')}"
    try:
        through = tuple(_side(name, text) for text in entry["through"])
        links = {d: value("causes", f"link_{w}") for w in _WORDS for d in entry[w]}
        cause = KnownCause(
            key=entry["key"],
            title=entry["title"],
            stage=entry["stage"],
            prior=value("causes", f"prior_{entry['how']}"),
            through=through,
            links=links,
            verdicts=tuple(entry.get("verdicts", ())),
            check=entry["check"],
            check_minutes=float(entry["check_minutes"]),
            basis=entry["basis"],
            source=entry["source"],
            length=entry.get("length", ""),
        )
    except KeyError as missing:
        raise ArgentryError(
            "{name} lacks {missing} or names an unknown word.".format(name=name, missing=missing)
        ) from None
    unknown = set(links) - {row["key"] for row in toml("defects")["defect"]}
    if unknown or cause.stage not in stage_priors() or cause.basis not in BASES:
        raise ArgentryError("{name} names an unknown defect, stage or basis.".format(name=name))
    if cause.length and cause.length not in columns():
        raise ArgentryError("{name} names an unknown column of a length.".format(name=name))
    return cause


def _side(name: str, text: str) -> tuple[str, str]:
    condition, _, side = text.partition(" ")
    if condition not in {c.key for c in conditions()} or side not in SIDES:
        raise ArgentryError(
            "{name} acts through {text!r}, which is not a condition and a side.".format(
                name=name, text=text
            )
        )
    return condition, side


_WORDS = ("rarely", "sometimes", "usually")
