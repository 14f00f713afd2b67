"""Checks at the checkpoints, limits of trials and ways back, as the trade has them.

Read from ``decide.toml`` and checked once against the stages and the conditions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from argentry.errors import ArgentryError
from argentry.trade.conditions import conditions, stage_priors
from argentry.trade.facts import BASES, toml
from argentry.trade.steps import steps


@dataclass(frozen=True)
class KnownCheck:
    """A cheap check after a stage, before the next costly step.

    Attributes
    ----------
    key, title : str
        Its name, and what the hands do.
    stage : str
        The stage it looks back on.
    minutes : float
        What it costs. [min]
    quality, low, high : float
        By how many standard deviations a fault moves what it shows, with range. [1]
    basis, source : str
        Where that comes from.
    """

    key: str
    title: str
    stage: str
    minutes: float
    quality: float
    low: float
    high: float
    basis: str
    source: str


@dataclass(frozen=True)
class Setting:
    """A condition that the maker can set, and how far a trial may go.

    Attributes
    ----------
    key : str
        A condition of ``conditions.toml``.
    low, high : float
        Hard limits: safety, keeping times, stock. [unit of the condition]
    step : float
        Largest change at once. [widths of the condition]
    minutes : float
        What one unit more costs of the day. [min]
    basis, source : str
        Why.
    silver_um : float
        Silver that one unit more takes off the plate. [µm]
    renews : str
        The bath, ``"gold"`` or ``"fixer"``, that is new at 0: it grows from plate to plate until
        then, and less of it means a new bath that much sooner.
    counted_by : str
        The condition that counts the plates through that bath, where this one counts days; while
        nobody writes it down, a plate a day is taken.
    """

    key: str
    low: float
    high: float
    step: float
    minutes: float
    basis: str
    source: str
    silver_um: float = 0.0
    renews: str = ""
    counted_by: str = ""


@dataclass(frozen=True)
class WayBack:
    """Where a stage that is done once more begins.

    Attributes
    ----------
    key : str
        The stage.
    step : str
        Key of the step that hands go back to.
    basis, source : str
        Why there.
    """

    key: str
    step: str
    basis: str
    source: str


@cache
def known_checks() -> tuple[KnownCheck, ...]:
    """Return every check, in the order of the work.

    Raises
    ------
    ArgentryError
        If an entry lacks a field or contradicts itself.
    """
    checks = tuple(_made(KnownCheck, entry) for entry in toml("decide")["check"])
    for check in checks:
        if check.stage not in stage_priors() or not check.low <= check.quality <= check.high:
            raise ArgentryError(
                "decide: check {key} has no stage, or lies out of its range.".format(key=check.key)
            )
    return checks


@cache
def settings() -> Mapping[str, Setting]:
    """Return every setting by the key of its condition.

    Raises
    ------
    ArgentryError
        If an entry names no condition, or has no room.
    """
    known = {condition.key for condition in conditions()}
    made = [_made(Setting, entry) for entry in toml("decide")["setting"]]
    for setting in made:
        counted = setting.counted_by in known or not setting.counted_by
        room = setting.low < setting.high and setting.step > 0.0
        if not (setting.key in known and counted and room):
            raise ArgentryError(
                "decide: setting {key} is not a condition, or has no room.".format(key=setting.key)
            )
    return {setting.key: setting for setting in made}


@cache
def ways_back() -> Mapping[str, WayBack]:
    """Return the way back by stage, of the stages that can be done once more.

    Raises
    ------
    ArgentryError
        If an entry names no stage or no step.
    """
    made = [_made(WayBack, entry) for entry in toml("decide")["redo"]]
    known = {rule.key for rule in steps()}
    for way in made:
        if way.key not in stage_priors() or way.step not in known:
            raise ArgentryError(
                "decide: the way back of {key} has no stage, or no step.".format(key=way.key)
            )
    return {way.key: way for way in made}


def again_from(step: str) -> str:
    """Return the step from which one is done again: itself, but a coat is put on bare silver."""
    rule = next((one for one in steps() if one.key == step), None)
    coats = rule is not None and rule.law == "fuming" and rule.stage in ways_back()
    return ways_back()[rule.stage].step if rule is not None and coats else step


def _made(kind: Any, entry: Mapping[str, Any]) -> Any:
    try:
        made = kind(**entry)
    except TypeError as wrong:
        raise ArgentryError(
            "decide.{key}: missing or unknown fields.".format(key=entry.get("key"))
        ) from wrong
    if made.basis not in BASES:
        raise ArgentryError(
            "decide.{key} has the unknown basis {basis!r}.".format(key=made.key, basis=made.basis)
        )
    return made
