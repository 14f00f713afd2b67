"""The light behind the red filter since a development began."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.needs.light_lengths import summed_light
from argentry.records.instruments import choose
from argentry.records.studio import Studio
from argentry.sky.clear_day import (
    Found,
)

DARK, LATER = "it is dark then", "name a time with light"


@dataclass(frozen=True)
class RedLight:
    """The running sum of light since a begin.

    Attributes
    ----------
    minutes : ndarray
        Since the begin, ascending. [min]
    sums : ndarray
        Never falling. [J/m2]
    """

    minutes: Floats
    sums: Floats

    def dose_at(self, minutes: float) -> float:
        """Return the light so long after the begin. [J/m2]."""
        return float(np.interp(minutes, self.minutes, self.sums))

    def minutes_at(self, dose: float) -> float | None:
        """Return when a dose is in, None when the light ends first. [min]."""
        if dose > self.sums[-1]:
            return None
        return float(self.minutes[int(np.searchsorted(self.sums, dose))])


def red_light(
    studio: Studio,
    begun: datetime,
    frame: str | None = None,
) -> RedLight:
    """Return the light behind a studio's filter since a development began.

    Parameters
    ----------
    studio : Studio
        Its place and frames.
    begun : datetime
        UTC.
    frame : str or None
        Which of them; None: the first. The sky is clear.

    Raises
    ------
    BadInput
        If it is dark then.
    """
    one = choose("--frame", frame, studio.frames, "name it in the studio file")
    return light_behind(studio, begun, {"frame": one and one.name}, where="--begun")


def light_behind(
    studio: Studio,
    begun: datetime,
    constants: Mapping[str, Any],
    found: Sequence[Found] = (),
    stops: Sequence[tuple[datetime, datetime]] = (),
    where: str = "plate",
) -> RedLight:
    """Return the light behind the filter since a development began, as the bench counts it.

    Parameters
    ----------
    studio, begun, constants, found, stops
        As in `light_length`; every stop with its end.
    where : str
        What a refusal is about.

    Raises
    ------
    BadInput
        If it is dark then.
    """
    light = summed_light(studio, "development", begun, constants, found)
    covers = [[max(light.day.index(one), light.start) for one in stop] for stop in stops]
    whole = np.arange(np.ceil(light.start + 1e-9), light.last + 1.0)
    at = np.unique(np.concatenate([[light.start], whole, *covers]))
    edges = np.arange(len(light.total))
    sums = np.interp(at, edges, light.total)
    if sums[min(1, len(sums) - 1)] <= sums[0]:
        raise BadInput(where, DARK, LATER)
    for first, after in covers:
        covered = np.interp(np.clip(at, first, after), edges, light.total)
        sums = sums - (covered - covered[0])
    return RedLight(at - light.start, np.maximum.accumulate(sums - sums[0]))
