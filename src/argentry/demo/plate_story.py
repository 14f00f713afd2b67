"""What the invented year passes along: faults with their cause, the cells of a row, the truth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from typing import Any

from argentry import trade

Key = tuple[object, ...]


@dataclass(frozen=True)
class Fault:
    """One thing that spoilt a plate.

    Attributes
    ----------
    cause : str
        A key of ``demo.toml`` ``[[cause]]``.
    margin : float
        How far past its limit the cause was, in the cause's own measure; above 0.
    """

    cause: str
    margin: float

    @property
    def loses(self) -> bool:
        """Whether it loses the plate, rather than only marring it."""
        return self.margin > fact("lost_margin")


@dataclass(frozen=True)
class Done:
    """What one stage came to.

    Attributes
    ----------
    cells : Mapping[str, str]
        Column to cell, as the maker's readings.
    faults : tuple of Fault
        Empty when nothing went wrong.
    hidden : Mapping[str, Any]
        The true values behind it.
    """

    cells: Mapping[str, str]
    faults: tuple[Fault, ...]
    hidden: Mapping[str, Any] = field(default_factory=dict)


def fact(key: str) -> float:
    """Return one number of the hidden truth, in its own unit."""
    return trade.value("demo", key)


@cache
def causes() -> Mapping[str, Mapping[str, Any]]:
    """Return every cause by its key: ``stage``, ``main``, ``about``, ``defects``."""
    return {row["key"]: row for row in trade.toml("demo")["cause"]}


def day_of(name: str) -> date:
    """Return one date of the hidden truth."""
    return date.fromisoformat(trade.toml("demo")["dates"][name])


def within(day: date, season: str) -> bool:
    """Tell whether a day lies in a season of the hidden truth, ends included."""
    return day_of(f"{season}_first") <= day <= day_of(f"{season}_last")


def faults_of(margins: Mapping[str, float]) -> tuple[Fault, ...]:
    """Return the causes past their limit, the worst first."""
    found = [Fault(cause, margin) for cause, margin in margins.items() if margin > 0.0]
    return tuple(sorted(found, key=lambda fault: -fault.margin))


def written(value: float, digits: int) -> str:
    """Return a number as it stands in a cell: fixed digits, no minus before zero."""
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def plain(value: float) -> float:
    """Return a number of the truth, rounded so that every machine writes the same."""
    return float(f"{value:.5g}") + 0.0  # no minus before zero
