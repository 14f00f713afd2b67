"""Figures of a studio on scales on which they scatter evenly about the trade's word."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, log
from statistics import NormalDist

from argentry import trade
from argentry.physics.stops import Z80
from argentry.records.learned import SharedFigure
from argentry.trade.conditions import Condition, conditions, stage_priors

_NORMAL = NormalDist()


@dataclass(frozen=True)
class Scale:
    """How a figure is read on an even scale, and what the trade believes there.

    Attributes
    ----------
    to, back : Callable
        Onto the scale and back; `to` takes values strictly inside `low` and `high`.
    mean, sd : float
        The trade's word on the scale.
    low, high : float
        Between which a value must lie. [unit of the figure]
    """

    to: Callable[[float], float]
    back: Callable[[float], float]
    mean: float
    sd: float
    low: float
    high: float


def _logit(p: float) -> float:
    return log(p / (1.0 - p))


def _share(x: float) -> float:
    return 1.0 / (1.0 + exp(-x))


def scale_of(kind: str, stage: str, of: str) -> Scale | None:
    """Return the scale of a figure; None for one that is not known here."""
    if stage or kind not in ("good", "stage", "number"):
        found = next((c for c in conditions() if (c.stage, c.key) == (stage, of)), None)
        return None if found is None else _of_condition(kind, found)
    if kind == "number":
        return _number(of)
    if kind == "good":
        return None if of else _good()
    if of not in stage_priors():
        return None
    return Scale(_NORMAL.inv_cdf, _NORMAL.cdf, *stage_priors()[of].probit, 0.0, 1.0)


def _good() -> Scale:
    """Return the log odds of the share of good plates: of a Beta, by digamma and trigamma."""
    from scipy.special import digamma, polygamma

    a, b = trade.value("day", "good_alpha"), trade.value("day", "good_beta")
    sd = float(polygamma(1, a) + polygamma(1, b)) ** 0.5
    return Scale(_logit, _share, float(digamma(a) - digamma(b)), sd, 0.0, 1.0)


def _of_condition(kind: str, condition: Condition) -> Scale | None:
    if kind == "effect":
        return _effect(condition)
    if kind == "matters":
        return Scale(_logit, _share, _logit(condition.inclusion), 1.0, 0.0, 1.0)
    return _best(condition) if kind == "best" and condition.form == "window" else None


def _effect(c: Condition) -> Scale:
    if c.form in ("free", "switch"):
        sd = (c.effect_high - c.effect_low) / (2.0 * Z80)
        return Scale(float, float, c.effect_middle, sd, -10.0, 10.0)
    sd = log(c.effect_high / c.effect_low) / (2.0 * Z80)
    return Scale(log, exp, log(c.effect_middle), sd, 0.0, 10.0)


def _best(c: Condition) -> Scale:
    reach = 8.0 * c.width
    if c.scale == "doublings":
        return Scale(
            lambda v: log(v / c.centre) / log(2.0) / c.width,
            lambda x: c.centre * float(2.0 ** (x * c.width)),
            0.0,
            c.optimum_sd,
            c.centre * 2.0**-reach,
            c.centre * 2.0**reach,
        )
    return Scale(
        lambda v: (v - c.centre) / c.width,
        lambda x: c.centre + x * c.width,
        0.0,
        c.optimum_sd,
        c.centre - reach,
        c.centre + reach,
    )


def _number(of: str) -> Scale | None:
    two = log(2.0)
    known = {
        "plate_speed": (
            trade.value("exposure", "plate_speed"),
            two * trade.value("exposure", "plate_speed_sigma"),
        ),
        "half_latitude": (
            trade.value("decide", "half_latitude"),
            trade.value("decide", "half_latitude_log_sd"),
        ),
        "plate_noise": (
            trade.value("decide", "plate_noise"),
            trade.value("decide", "plate_noise_log_sd"),
        ),
        "box_factor": (1.0, trade.value("decide", "box_factor_log_sd")),
        "development_dose": (
            trade.value("development", "dose"),
            two * trade.value("development", "dose_sigma"),
        ),
    }
    if of not in known:
        return None
    middle, sd = known[of]
    return Scale(log, exp, log(middle), sd, middle * exp(-8.0), middle * exp(8.0))


def with_trade(figure: SharedFigure) -> SharedFigure:
    """Return a figure with the trade's word as what its studio began with."""
    scale = scale_of(*figure.key)
    if scale is None:
        return figure
    low, middle, high = (scale.back(scale.mean + z * scale.sd) for z in (-Z80, 0.0, Z80))
    return replace(figure, believed=middle, believed_low=low, believed_high=high)
