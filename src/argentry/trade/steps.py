"""The steps of a plate and the cautions that go with them, each stated once.

Read from ``steps.toml`` and ``cautions.toml`` and checked once: an entry that is incomplete or
contradicts itself is refused in one sentence. Plate sizes and materials are passed on from their
own files.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from types import MappingProxyType
from typing import Any

from argentry.errors import BadInput
from argentry.trade.cautions import Caution, cautions
from argentry.trade.entries import made, one_of, wrong
from argentry.trade.facts import facts, toml
from argentry.trade.materials import Material, materials
from argentry.trade.sizes import PlateSize, area_ratio, plate_size, plate_sizes
from argentry.trade.step_check import check_step, check_together
from argentry.trade.step_rule import Check, Feed, Resource, StepRule

__all__ = [
    "Caution",
    "Check",
    "Feed",
    "Material",
    "PlateSize",
    "Resource",
    "StepRule",
    "by_law",
    "cautions",
    "materials",
    "plate_size",
    "plate_sizes",
    "resources",
    "stage_of",
    "step",
    "step_minutes",
    "steps",
]


@cache
def resources() -> Mapping[str, Resource]:
    """Return what a step may hold, by its key.

    Raises
    ------
    ArgentryError
        If an entry is incomplete or names an unknown caution.
    """
    out: dict[str, Resource] = {}
    for entry in toml("steps")["resource"]:
        where = "steps.toml, resource {key}".format(key=entry.get("key", "?"))
        read: Resource = made(Resource, where, entry)
        if read.key in out:
            raise wrong(where, "the key is used twice", "give each resource a key of its own")
        if read.caution:
            one_of(where, "caution", read.caution, cautions())
        out[read.key] = read
    return MappingProxyType(out)


@cache
def steps() -> tuple[StepRule, ...]:
    """Return the steps of a day and a plate, in the order of the work.

    Raises
    ------
    ArgentryError
        If an entry is incomplete, contradicts itself or another, or names something unknown.
    """
    return read_steps(toml("steps")["step"])


def read_steps(entries: Sequence[Mapping[str, Any]]) -> tuple[StepRule, ...]:
    """Return the steps that a list of entries states, checked each and together."""
    rules = tuple(_step(entry) for entry in entries)
    check_together(rules, resources())
    return rules


@cache
def by_law(law: str) -> StepRule:
    """Return the one step that a law of physics decides: where code must mean that step.

    Parameters
    ----------
    law : str
        ``"fuming"``, ``"exposure"`` or ``"development"``.

    Examples
    --------
    >>> by_law("development").stage
    'development'
    """
    return next(rule for rule in steps() if rule.law == law)


@cache
def stage_of() -> Mapping[str, str]:
    """Return the stage that each step, and each origin before the day, belongs to."""
    before = dict(toml("steps")["before_the_day"])
    return MappingProxyType({**before, **{rule.key: rule.stage for rule in steps()}})


def step(key: str) -> StepRule:
    """Return one step by its key.

    Raises
    ------
    BadInput
        If there is no such step; the sentence lists them.
    """
    for rule in steps():
        if rule.key == key:
            return rule
    names = ", ".join(rule.key for rule in steps())
    raise BadInput("step", "{key!r} is not a step", "use one of {names}", key=key, names=names)


def _step(entry: Mapping[str, Any]) -> StepRule:
    where = "steps.toml, step {key}".format(key=entry.get("key", "?"))
    amounts = facts("materials")
    given = dict(entry)
    for name, kind in (("checks", Check), ("feeds", Feed)):
        rows = given.get(name, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise wrong(
                where,
                "{name} is not a list of tables".format(name=name),
                "write [{ ... }, { ... }]",
            )
        given[name] = tuple(made(kind, f"{where}, {name}", row) for row in rows)
    for name in given.get("uses", []):
        one_of(where, "uses", name, amounts)
    rule: StepRule = made(StepRule, where, given)
    rule = replace(
        rule, uses=tuple((str(m), amounts[str(m)].value, amounts[str(m)].unit) for m in rule.uses)
    )
    check_step(where, rule, resources())
    return rule


def step_minutes(rule: StepRule, area_cm2: float) -> tuple[float, float, float]:
    """Return the low, typical and high minutes of a step for a plate of this area.

    Parameters
    ----------
    rule : StepRule
        The step.
    area_cm2 : float
        Plate area. [cm2] Within 1 to 5000.

    Returns
    -------
    tuple of float
        Low, typical and high duration at the reference temperature. [min]

    Raises
    ------
    BadInput
        If the area is not a number in its range.
    """
    scale = area_ratio(area_cm2) ** rule.area_exponent
    return rule.low_minutes * scale, rule.typical_minutes * scale, rule.high_minutes * scale
