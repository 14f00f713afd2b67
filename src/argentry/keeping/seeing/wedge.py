"""What a photograph says of a step wedge on a plate, in an answer and in one line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite, log, log10
from pathlib import Path
from typing import Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.judge import wedge as seeing
from argentry.judge.grey_scale import Line
from argentry.judge.wedge import Wedge, WedgeLook, known, see_wedge
from argentry.keeping.seeing.picture import (
    LOOKED_AT_PX,
    check_place,
    grey_densities,
    of_file,
    opened,
    shrunk,
)
from argentry.records.answers.seen import NotTold
from argentry.records.answers.wedge_seen import CurvePoint, WedgeSeen, WedgeStep, WedgeStrip

FEWEST, MOST = 4, 41
ENDS = ("left", "right")
FEW, GIVE = "a wedge of {steps} steps cannot be read", "give {fewest} to {most}"
NOT_AN_END, USE_ENDS = "{end!r} is not an end of the wedge", "use left or right"
CANNOT = "cannot tell: {why}"
SPEED = "speed point at {at:+.2f} log exposure"
NO_SPEED = "speed point not told"
STEEP = "gradient up to {steepest:.2f}"
SOLARISED = "solarised above {at:+.2f}"
STRAIGHT, TURNED = "not solarised", "solarised, from where is not told"
RIGHT = "a middle tone is right from {low:+.1f} to {high:+.1f} stops"
DARK_NOTE = "Steps darker than the darkest grey of the scale are read as that grey."
RELATIVE = (
    "These are relative densities by the scattered light; they judge the plate, not a calibrated "
    "print."
)
NO_EDGES = NotTold("plate", "the plate's edges are not looked for around a wedge")
ALL = ("veil_share", "speed_point_log_exposure", "steepest", "latitude", "peak_log_exposure",
       "turns", "steps", "right_stops", "strips")  # fmt: skip


@dataclass(frozen=True)
class AskedWedge:
    """How a wedge was made and photographed.

    Attributes
    ----------
    steps : int
        How many.
    increment : float
        Density from step to step. [1]
    first : float
        Log exposure of the step that had most light, against the light the plate's record has. [1]
    ends : (x1, y1, x2, y2) or None
        Middles of the two end steps, from left to right. [px]
    brightest : str
        The end that had most light: left or right.
    grey : (x1, y1, x2, y2) or None
        Middles of the lightest patch of a grey scale and of the darkest. [px]
    grey_densities : tuple of float or None
        Of its patches, the lightest first; None: those of a usual scale. [1]
    """

    steps: int = 21
    increment: float = 0.15
    first: float = 0.0
    ends: Line | None = None
    brightest: str = "left"
    grey: Line | None = None
    grey_densities: tuple[float, ...] | None = None


def judge_wedge(file: Path, name: str, sha256: str, asked: AskedWedge) -> WedgeSeen:
    """Return what a picture says of a step wedge, whatever its file is called."""
    densities = _checked(asked)
    picture = opened(file, name, sha256, LOOKED_AT_PX)
    first_end = asked.ends
    if first_end is not None and asked.brightest == "right":
        first_end = (*first_end[2:], *first_end[:2])
    look = WedgeLook(
        asked.steps, asked.increment, asked.first, shrunk(first_end, picture.scale),
        shrunk(asked.grey, picture.scale), densities,
    )  # fmt: skip
    seen = see_wedge(picture.pixels, look)
    made = WedgeSeen(**picture.facts)
    if seen.curve is None:
        return replace(
            made, line=CANNOT.format(why=seen.why),
            not_told=(NO_EDGES, *(NotTold(what, seen.why) for what in ALL)),
        )  # fmt: skip
    assert asked.ends is not None
    x1, y1, x2, y2 = asked.ends
    places = [
        (round(float(x), 1), round(float(y), 1))
        for x, y in zip(
            np.linspace(x1, x2, asked.steps), np.linspace(y1, y2, asked.steps), strict=True
        )
    ]
    made = _told(made, seen, places[::-1] if asked.brightest == "left" else places)
    return replace(made, line=_line(made))


judge_wedge_file = of_file(judge_wedge)


def _checked(asked: AskedWedge) -> tuple[float, ...]:
    """Return the densities of the grey scale."""
    if not FEWEST <= asked.steps <= MOST:
        raise BadInput("--steps", FEW, GIVE, fewest=FEWEST, most=MOST, steps=asked.steps)
    check_range("--increment", asked.increment, 0.02, 1.0, "1")
    check_range("--first", asked.first, -5.0, 5.0, "1")
    if asked.brightest not in ENDS:
        raise BadInput("--brightest", NOT_AN_END, USE_ENDS, end=asked.brightest)
    for where, line in (("--ends", asked.ends), ("--grey", asked.grey)):
        check_place(where, line)
        if line is not None and np.hypot(line[2] - line[0], line[3] - line[1]) < 1.0:
            raise BadInput(where, "both places are the same", "give the middles of both ends")
    return grey_densities(asked.grey_densities)


def _told(made: WedgeSeen, seen: Wedge, places: list[tuple[float, float]]) -> WedgeSeen:
    curve = seen.curve
    assert curve is not None
    most, stop = trade.value("seeing", "wedge_sd_most"), log10(2.0)
    missing = [NO_EDGES]
    figures: dict[str, Any] = {}
    veil = 10.0**curve.veil.value
    low = seen.log_exposure[0] - (seen.log_exposure[1] - seen.log_exposure[0])
    begins = curve.speed_point.value > low and min(seen.density) < 0.15
    dark = seeing.TOO_DARK if seen.dark else None
    whys = {
        "veil_share": dark or (None if begins else seeing.NO_DARK_STEP),
        "speed_point_log_exposure": dark or (
            None if begins and isfinite(curve.speed_point.value) else seeing.NO_DARK_STEP
        ),
        "steepest": None,
        "latitude": dark or (
            seeing.NO_DARK_STEP if not begins else None if seen.verdicts else seeing.NO_BRIGHT_STEP
        ),
        "peak_log_exposure": None if curve.turns else seeing.NO_TURN,
    }  # fmt: skip
    values = {
        "veil_share": (veil, veil * log(10.0) * curve.veil.sd, veil),
        "speed_point_log_exposure": (curve.speed_point.value, curve.speed_point.sd, most),
        "steepest": (curve.steepest.value, curve.steepest.sd, 0.5 * curve.steepest.value),
        "latitude": (curve.latitude.value, curve.latitude.sd, 1.5 * most),
        "peak_log_exposure": (curve.peak.value, curve.peak.sd, most),
    }
    for what, (value, sd, worst) in values.items():
        why = whys[what] or (None if known(sd, worst) else seeing.OFF)
        if why is not None:
            missing.append(NotTold(what, why))
        figures[what] = None if why else round(value, 4)
        figures[f"{what}_sd"] = None if why else round(sd, 4)
    if not seen.verdicts:
        missing += [NotTold(one, seeing.NO_BRIGHT_STEP) for one in ("right_stops", "strips")]
    steps = tuple(
        WedgeStep(round(at, 4), round(density, 4), round(doubt, 4), place)
        for at, density, doubt, place in zip(
            seen.log_exposure, seen.density, seen.doubt, places, strict=True
        )
    )
    within = (curve.x >= seen.log_exposure[0] - 1e-9) & (curve.x <= seen.log_exposure[-1] + 1e-9)
    points = [
        CurvePoint(round(float(x), 3), round(float(s), 4))
        for x, s in zip(curve.x[within][::10], curve.s[within][::10], strict=True)
    ]
    return replace(
        made, steps=steps, turns=curve.turns, curve=tuple(points), not_told=tuple(missing),
        cautions=(RELATIVE,),
        strips=tuple(
            WedgeStrip(round(at / stop, 3), verdict)
            for at, verdict in zip(seen.log_exposure, seen.verdicts, strict=False)
        ),
        right_stops=seen.right and (round(seen.right[0] / stop, 2), round(seen.right[1] / stop, 2)),
        notes=(*made.notes, DARK_NOTE) if seen.dark else made.notes,
        **figures,
    )  # fmt: skip


def _line(seen: WedgeSeen) -> str:
    speed = seen.speed_point_log_exposure
    parts = [NO_SPEED if speed is None else SPEED.format(at=speed)]
    if seen.steepest is not None:
        parts.append(STEEP.format(steepest=seen.steepest))
    peak = seen.peak_log_exposure
    if peak is not None:
        parts.append(SOLARISED.format(at=peak))
    else:
        parts.append(TURNED if seen.turns else STRAIGHT)
    if seen.right_stops is not None:
        low, high = seen.right_stops
        parts.append(RIGHT.format(low=low, high=high))
    return "; ".join(parts)
