"""All that is not known of an answer, put together by one rule.

Parts are standard deviations in stops and independent of each other, so that they add as squares.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from argentry.arrays import Floats
from argentry.physics.stops import Z80
from argentry.records.answers.doubt import Doubt, DoubtPart, Narrowed, together
from argentry.sky.light_doubt import METER

NOISE, WEATHER, LAMP = "plate to plate", "weather", "lamp"
LAMP_BY_LOG = "halogen lamp"
OTHER_LIGHT = "dose learned in another light"
NOT_SHOWN = (
    OTHER_LIGHT,
    WEATHER,
    LAMP,
    LAMP_BY_LOG,
    METER,
)  # parts that differ from what the studio's plates were made in
LEAST = 0.005  # stops: less is not listed


def compose(
    parts: Sequence[DoubtPart],
    measured: Sequence[tuple[str, Sequence[DoubtPart]]] = (),
    scatter: float = 1.0,
) -> Doubt:
    """Return doubts put together, the largest first.

    Parts are judged before any plate. What the studio's own plates have shown of them together is
    put in here and nowhere else: each part that was at work in those plates is taken `scatter`
    times as large, so that the whole is what their residuals ask for.

    Parameters
    ----------
    parts : sequence of DoubtPart
        Independent.
    measured : sequence of (str, sequence of DoubtPart)
        Measurements in words, each with the parts as they would be after it.
    scatter : float
        From `argentry.learn.numbers.held_out`; 1 while no plate has shown anything. [1]
    """
    shown = _as_shown(parts, scatter)
    known = sorted((p for p in shown if p.sigma_stops >= LEAST), key=lambda p: -p.sigma_stops)
    whole = together(known)
    after = (Narrowed(by, together(_as_shown(left, scatter))) for by, left in measured)
    useful = sorted((n for n in after if n.sigma_stops < 0.98 * whole), key=lambda n: n.sigma_stops)
    return Doubt(whole, tuple(known), tuple(useful), scatter)


def _as_shown(parts: Sequence[DoubtPart], scatter: float) -> list[DoubtPart]:
    return [
        part
        if part.cause in NOT_SHOWN
        else DoubtPart(part.cause, scatter * part.sigma_stops, part.shared)
        for part in parts
    ]


def weather_turns(sigma_stops: float | None) -> tuple[DoubtPart, ...]:
    """Return the doubt of weather that is known as a spread; nothing where none is. [stops]."""
    return () if sigma_stops is None else (DoubtPart(WEATHER, sigma_stops),)


def weather_part(days_w_m2: Floats) -> DoubtPart:
    """Return the doubt that drawn skies leave of the light of a span.

    Parameters
    ----------
    days_w_m2 : Floats, shape (k, n)
        The light of that span under each sky. [W/m2]
    """
    low, high = np.quantile(days_w_m2.mean(axis=-1), (0.1, 0.9))
    return DoubtPart(WEATHER, float(np.log2(max(high, 1e-9) / max(low, 1e-9))) / (2.0 * Z80))
