"""Files of version 1, which say what a studio believes but not what it began with.

It began with the trade's word. Effects began as far below it as conditions were taken to matter at
their stage, which the file does not say: most conditions of a stage have taught nothing and stand
where they began, so the middle one of them tells.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp
from statistics import median

from argentry.learn.pooling.scales import scale_of, with_trade
from argentry.records.learned import OLD_VERSION, SharedFigure, SharedStudio
from argentry.trade.conditions import conditions, usual_strength

LEAST = 3  # effects of a stage, under which the usual strength is taken


def as_now(file: SharedStudio) -> SharedStudio:
    """Return a file with what it began with; a new one as it is."""
    if file.version != OLD_VERSION:
        return file
    strength = _strengths(file.figures)
    figures = tuple(_figure(one, strength.get(one.stage, 1.0)) for one in file.figures)
    return replace(file, figures=figures)


def _strengths(figures: tuple[SharedFigure, ...]) -> dict[str, float]:
    """Return by stage how much its conditions were taken to matter, against the trade's word."""
    sized = {(c.stage, c.key) for c in conditions() if c.form not in ("free", "switch")}
    off: dict[str, list[float]] = {}
    for one in figures:
        scale = scale_of(*one.key)
        if one.kind == "effect" and scale is not None:
            logs = off.setdefault(one.stage, [])
            if (one.stage, one.of) in sized:
                logs.append(scale.to(one.value) - scale.mean)
    return {
        stage: exp(median(logs)) if len(logs) >= LEAST else usual_strength()
        for stage, logs in off.items()
    }


def _figure(one: SharedFigure, strength: float) -> SharedFigure:
    if one.kind == "effect":
        one = replace(
            one,
            value=one.value / strength, low=one.low / strength, high=one.high / strength,
        )  # fmt: skip
    return with_trade(one)
