"""Conditions that may decide a plate, and what the trade believes of each beforehand.

Read from ``conditions.toml`` and checked once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import exp, log
from statistics import NormalDist
from typing import Any

from argentry.trade.columns import columns
from argentry.trade.entries import made, one_of, wrong
from argentry.trade.facts import BASES, toml

FORMS = ("more is worse", "more is better", "window", "free", "switch")
SCALES = ("plain", "doublings")
ORDER = "give low < middle < high"
# laws of physics and plain sums by which a condition is worked out of its columns, with their count
LAWS = {
    "": 1,
    "dew margin": 3,
    "coat thickness": 3,
    "at 20 °C": 2,
    "stops": 3,
    "minutes between": 2,
    "hour of day": 1,
}
_Z80 = NormalDist().inv_cdf(0.9)  # low to high holds four chances in five; physics lies above


@dataclass(frozen=True)
class Condition:
    """One condition of a stage, with its prior.

    Attributes
    ----------
    key : str
        Its name: a column of the table of plates, or a quantity worked out from some of them.
    stage : str
        The stage whose outcome it acts on.
    title : str
        In words.
    form : str
        One of `FORMS`.
    scale : str
        ``"plain"``: (value - centre)/width; ``"doublings"``: log2(value/centre)/width.
    centre, width : float
        Of the trade, by which the condition is standardised. [unit, or doublings]
    unit : str
        Unit of the value.
    effect_low, effect_middle, effect_high : float
        Prior of the effect: four chances in five between low and high. [probit per width]
    inclusion : float
        Chance that it matters at all. [1]
    columns : tuple of str
        Columns of the table of plates from which it is worked out, in the order its law takes.
    basis, source : str
        Where it was read; effects, widths and inclusions are seeds.
    optimum_sd : float
        How far a window's best value may lie from the centre, one standard deviation. [widths]
    words : tuple of str
        Words that switch it on; empty: each word is a switch of its own.
    law : str
        How it is worked out of its columns: one of `LAWS`; empty: it is its column as it stands.
    """

    key: str
    stage: str
    title: str
    form: str
    scale: str
    centre: float
    width: float
    unit: str
    effect_low: float
    effect_middle: float
    effect_high: float
    inclusion: float
    columns: tuple[str, ...]
    basis: str
    source: str
    optimum_sd: float = 0.5
    words: tuple[str, ...] = ()
    law: str = ""

    @property
    def expected_effect(self) -> float:
        """Mean of the size of its effect, as far as it is believed to matter [probit per width].

        The size is log-normal, four chances in five between low and high.
        """
        log_sd = log(self.effect_high / self.effect_low) / (2.0 * _Z80)
        return self.inclusion * self.effect_middle * exp(0.5 * log_sd**2)

    @property
    def sign(self) -> int:
        """Return the direction of a one-direction condition: +1, -1, or 0 for other forms."""
        return {"more is better": 1, "more is worse": -1}.get(self.form, 0)


@dataclass(frozen=True)
class StagePrior:
    """What is believed of a stage with every condition at its centre.

    Attributes
    ----------
    key : str
        The stage.
    ok_low, ok_middle, ok_high : float
        Share that comes out ok; four chances in five between low and high. [1]
    basis, source : str
        Why.
    """

    key: str
    ok_low: float
    ok_middle: float
    ok_high: float
    basis: str
    source: str

    @property
    def probit(self) -> tuple[float, float]:
        """Return mean and standard deviation of the share's probit."""
        normal = NormalDist()
        low, high = normal.inv_cdf(self.ok_low), normal.inv_cdf(self.ok_high)
        return normal.inv_cdf(self.ok_middle), (high - low) / (2.0 * _Z80)


@cache
def conditions() -> tuple[Condition, ...]:
    """Return every condition, in the order of the file.

    Raises
    ------
    ArgentryError
        If an entry lacks a field or contradicts itself.
    """
    return tuple(_condition(entry) for entry in toml("conditions")["condition"])


@cache
def stage_priors() -> Mapping[str, StagePrior]:
    """Return the prior of each stage by its key, in the order of the work.

    Raises
    ------
    ArgentryError
        If an entry contradicts itself.
    """
    priors = [StagePrior(**entry) for entry in toml("conditions")["stage"]]
    for prior in priors:
        if not 0.0 < prior.ok_low < prior.ok_middle < prior.ok_high < 1.0:
            raise wrong("conditions.toml, stage " + prior.key, "its share is out of order", ORDER)
    return {prior.key: prior for prior in priors}


@cache
def drifts() -> Mapping[float, float]:
    """Return how far a stage's luck may wander between sessions [probit], and the share of each."""
    return _shares("drifts", "spread")


@cache
def strengths() -> Mapping[float, float]:
    """Return how much all conditions of a stage may matter against their priors, and the shares."""
    return _shares("strengths", "factor")


@cache
def usual_strength() -> float:
    """Return how much conditions are taken to matter before any plate: the mean of the factors."""
    return exp(sum(share * log(factor) for factor, share in strengths().items()))


def _shares(name: str, key: str) -> Mapping[float, float]:
    shares = {float(row[key]): float(row["share"]) for row in toml("conditions")[name]}
    if min(shares) <= 0.0 or min(shares.values()) <= 0.0 or abs(sum(shares.values()) - 1.0) > 1e-9:
        right = "give values above 0 and shares that add up to 1"
        raise wrong("conditions.toml, " + name, "its shares are not usable", right)
    return shares


@cache
def not_conditions() -> frozenset[str]:
    """Return the documented columns that are not conditions and are not read for one."""
    return frozenset(toml("conditions")["not_conditions"])


def _condition(entry: Mapping[str, Any]) -> Condition:
    where = "conditions.toml, condition " + str(entry.get("key", "?"))
    read: Condition = made(Condition, where, entry, empty=["unit"])
    for name, value, known in (
        ("form", read.form, FORMS),
        ("scale", read.scale, SCALES),
        ("basis", read.basis, tuple(BASES)),
        ("stage", read.stage, tuple(stage_priors())),
        ("law", read.law, tuple(LAWS)),
        *(("columns", column, tuple(columns())) for column in read.columns),
    ):
        one_of(where, name, value, known)
    if (count := len(read.columns)) != (taken := LAWS[read.law]):
        what = "it has {count} columns and its law takes {taken}"
        raise wrong(where, what, "give {taken}", count=count, taken=taken)
    if not read.effect_low < read.effect_middle < read.effect_high:
        raise wrong(where, "its effect is out of order", ORDER)
    if read.form in FORMS[:3] and read.effect_low <= 0.0:
        what = "effect_low of a {form} is not above 0"
        raise wrong(where, what, "give its size alone", form=read.form)
    if read.width <= 0.0 or not 0.0 < read.inclusion < 1.0:
        raise wrong(where, "its width or inclusion is out of range", "give both above 0")
    if read.scale == "doublings" and read.centre <= 0.0:
        raise wrong(where, "it doubles from a centre that is not above 0", "give a centre above 0")
    return read
