"""The step sequence of a plate and the cautions that go with it, as records.

Read from ``steps.toml`` and ``cautions.toml`` and checked once; every minute and limit carries its
basis and source. Plate sizes and materials are passed on from their own files.
"""

from __future__ import annotations

import re
from dataclasses import MISSING, dataclass, fields
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError, BadInput
from argentry.trade.facts import BASES, facts, toml
from argentry.trade.materials import Material, materials
from argentry.trade.sizes import PlateSize, area_ratio, plate_size, plate_sizes

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Caution",
    "Material",
    "PlateSize",
    "StepRule",
    "cautions",
    "materials",
    "plate_size",
    "plate_sizes",
    "step",
    "step_minutes",
    "steps",
]

SCOPES = ("day", "plate")
LAWS = ("fixed", "temperature", "fuming", "exposure", "development", "drying")
RESOURCES = ("", "box", "camera", "frame", "fire")
GATES = ("", "polish", "coat", "development", "fix", "finish")


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
    """

    key: str
    text: str
    hazard: str
    figures: str
    source: str
    basis: str
    asks_again: bool = False


@dataclass(frozen=True)
class StepRule:
    """One step of the trade: what the hands do, how long it takes, what it needs and allows.

    Attributes
    ----------
    key : str
        Name of the step in ``steps.toml``.
    title : str
        What the hands do, as printed.
    scope : str
        ``"day"`` (once a day) or ``"plate"``.
    law : str
        What decides the duration: ``"fixed"``, ``"temperature"`` (Arrhenius about `reference_c`),
        ``"fuming"``, ``"exposure"``, ``"development"`` (physics computes it) or ``"drying"``.
    low_minutes, typical_minutes, high_minutes : float
        For a quarter plate; starting values where physics does not compute it. [min]
    activation_kj_mol : float or None
        For the temperature law. [kJ/mol]
    reference_c : float or None
        Temperature at which the minutes hold. [°C]
    area_exponent : float
        Minutes scale with (area / quarter-plate area) to this power. [1]
    attended : bool
        True when it needs hands all the time.
    resource : str
        ``""``, ``"box"``, ``"camera"``, ``"frame"`` or ``"fire"``. A frame taken for ``to_frame``
        is held until ``fix`` begins.
    start_within_minutes : float or None
        Latest start after the end of the step before; 0 at once, None no limit. [min]
    keep_basis, keep_source : str
        Where that limit comes from.
    look_for, goes_wrong : str
        The sign that it is right; what fails and when it is first seen.
    check : str
        A cheap check, or an empty string.
    check_minutes : float
        What the check costs. [min]
    gate : str
        Checkpoint passed at the end of the step: one of `GATES`.
    cautions : tuple of str
        Keys of ``cautions.toml``.
    uses : tuple of (str, float, str)
        Material key, amount for a quarter plate, unit.
    basis, source : str
        Where the minutes and the rest were read.
    """

    key: str
    title: str
    scope: str
    law: str
    low_minutes: float
    typical_minutes: float
    high_minutes: float
    attended: bool
    look_for: str
    goes_wrong: str
    basis: str
    source: str
    activation_kj_mol: float | None = None
    reference_c: float | None = None
    area_exponent: float = 0.0
    resource: str = ""
    start_within_minutes: float | None = None
    keep_basis: str = ""
    keep_source: str = ""
    check: str = ""
    check_minutes: float = 0.0
    gate: str = ""
    cautions: tuple[str, ...] = ()
    uses: tuple[tuple[str, float, str], ...] = ()


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
        _check_fields(f"caution {key}", entry, Caution, {"key"})
        out[key] = Caution(key=key, **{**entry, "figures": _with_facts(entry["figures"])})
        if out[key].basis not in BASES:
            raise ArgentryError(f"caution {key} has the unknown basis {out[key].basis!r}.")
        if not isinstance(out[key].asks_again, bool):
            raise ArgentryError(f"asks_again of caution {key} must be true or false.")
    return MappingProxyType(out)


def _with_facts(words: str) -> str:
    """Return words in which each ``{subject.key}`` is that fact, with its unit."""

    def shown(place: re.Match[str]) -> str:
        subject, key = place.groups()
        if key not in facts(subject):
            raise ArgentryError(f"cautions.toml names the unknown fact {subject}.{key}.")
        fact = facts(subject)[key]
        return f"{fact.value:g} {fact.unit}"

    return re.sub(r"\{(\w+)\.(\w+)\}", shown, words)


@cache
def steps() -> tuple[StepRule, ...]:
    """Return the steps of a day and a plate, in the order of the work.

    Raises
    ------
    ArgentryError
        If an entry is incomplete, contradicts itself, or names an unknown caution or material.
    """
    rules = tuple(_step(dict(entry)) for entry in toml("steps")["step"])
    if len({rule.key for rule in rules}) != len(rules):
        raise ArgentryError("two steps of steps.toml share a key.")
    return rules


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
    raise BadInput("step", f"{key!r} is no step", f"use one of {names}")


def _step(entry: dict[str, Any]) -> StepRule:
    name = f"step {entry.get('key')!r}"
    _check_fields(name, entry, StepRule, set())
    amounts = facts("materials")
    try:
        entry["uses"] = tuple((m, amounts[m].value, amounts[m].unit) for m in entry["uses"])
    except KeyError as error:
        raise ArgentryError(f"{name} uses the unknown material {error}.") from None
    entry["cautions"] = tuple(entry["cautions"])
    rule = StepRule(**entry)
    limited = rule.start_within_minutes is not None
    right = {
        "scope": rule.scope in SCOPES,
        "law": rule.law in LAWS,
        "resource": rule.resource in RESOURCES,
        "gate": rule.gate in GATES,
        "basis": rule.basis in BASES,
        "keep_basis": rule.keep_basis in BASES if limited else rule.keep_basis in {"", *BASES},
        "keep_source": bool(rule.keep_source) or not limited,
        "minutes": 0 < rule.low_minutes <= rule.typical_minutes <= rule.high_minutes,
        "activation_kj_mol": (rule.activation_kj_mol is not None) == (rule.law == "temperature"),
        "reference_c": (rule.reference_c is not None) == (rule.law == "temperature"),
        "check_minutes": (rule.check_minutes > 0) == bool(rule.check),
        "cautions": all(key in cautions() for key in rule.cautions),
    }
    wrong = [field for field, good in right.items() if not good]
    if wrong:
        raise ArgentryError(f"{name} of steps.toml has a wrong {', '.join(wrong)}.")
    return rule


def _check_fields(name: str, entry: Mapping[str, Any], kind: Any, given: set[str]) -> None:
    known = {field.name for field in fields(kind)}
    needed = {f.name for f in fields(kind) if f.default is MISSING} - given
    if unknown := sorted(set(entry) - known):
        raise ArgentryError(f"{name} has unknown fields {', '.join(unknown)}.")
    if missing := sorted(needed - set(entry)):
        raise ArgentryError(f"{name} lacks {', '.join(missing)}.")


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
