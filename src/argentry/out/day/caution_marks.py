"""Cautions told once each and pointed to by number, so that every one of them finds room."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from argentry.records.day import DayPlan


def numbered_cautions(plan: DayPlan) -> dict[str, int]:
    """Return every caution of the day once with its number: those of steps in order, then the rest.

    Returns
    -------
    dict
        Number by text, from 1.
    """
    texts = [text for step in plan.steps for text in step.cautions] + list(plan.cautions)
    return {text: number for number, text in enumerate(dict.fromkeys(texts), start=1)}


def marks(cautions: Iterable[str], numbered: Mapping[str, int]) -> str:
    """Return the marks of some cautions, ``!2 !5``; empty for none."""
    return " ".join(f"!{number}" for number in sorted({numbered[text] for text in cautions}))
