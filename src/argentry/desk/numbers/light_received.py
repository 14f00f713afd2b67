"""The exposure that a plate received, by the light of its place and hour, as a condition of it.

A meter's figure alone knows neither the violet of that hour nor the coat. So the condition is the
light that the plate's record shows, against what the starting speed asks for, wherever its start
and length are known; else what lens, seconds and meter say by themselves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

import numpy as np

from argentry import trade
from argentry.desk.numbers.plates_seen import stops_given
from argentry.learn.stages.derived_conditions import value_of
from argentry.learn.stages.unknowns import seen_moments
from argentry.needs.plate_light import shots
from argentry.records.plate import Making
from argentry.records.studio import Studio
from argentry.trade.conditions import conditions

Known = Mapping[str, float | str]

# what the exposure received is worked out from, beside the studio
FROM = (
    "exposure_start", "exposure_seconds", "exposure_to_development_minutes", "f_number", "lens",
    "subject_plane", "meter_ev", "cloud_okta", "coat_nm", "coat_colour", "coat_cycle", "box_c",
)  # fmt: skip
KEPT = 8000  # exposures whose light is kept
LEAST_TRUE = 0.25  # of the spread seen that is taken to be the plates' own, however doubtful [1]
_kept: dict[Studio, dict[tuple[float | str | None, ...], tuple[float, float] | None]] = {}


@dataclass(frozen=True)
class Lit:
    """What the exposures of a studio are like, by which one whose light is in doubt is judged.

    Attributes
    ----------
    studio : Studio
        Place, lens, subject.
    mean, variance : float
        Of the exposures received, without the doubt of their light. [stops; stops squared]
    apart : float
        By which they lie off what lens, seconds and meter say. [stops]
    """

    studio: Studio
    mean: float
    variance: float
    apart: float

    def known(self, known: Known) -> dict[str, float | str]:
        """Return what is known of a plate, with the exposure that it received.

        Light in doubt is drawn towards the studio's usual exposure as far as it is in doubt; what
        then is left of the doubt is little against the luck of a plate.

        References
        ----------
        R. J. Carroll and others, Measurement Error in Nonlinear Models, 2nd ed. 2006, ch. 4
        (regression calibration).
        """
        keys = condition_keys()
        if any(key in known for key in keys):
            return dict(known)
        light = _received(self.studio, [known])[0]
        if light is not None:
            stops, sd = light
            believed = self.variance / (self.variance + sd**2)
            found = self.mean + believed * (stops - self.mean)
        elif (metered := by_meter_alone(known, self)) is not None:
            found = metered
        else:
            return dict(known)
        return {**known, **dict.fromkeys(keys, found)}

    def again(self, known: Known, changed: Known) -> dict[str, float | str]:
        """Return what is known of a plate after a change of some of it."""
        keys = condition_keys()
        whole = {**known, **changed}
        if any(key in FROM for key in changed):
            whole = {k: v for k, v in whole.items() if k not in keys or k in changed}
        return self.known(whole)


def by_meter_alone(known: Known, lit: Lit) -> float | None:
    """Return the exposure by lens, seconds and meter alone, on the scale of what is received."""
    bare = {key: value for key, value in known.items() if key not in condition_keys()}
    metered = value_of(condition_keys()[0], bare)
    return None if metered is None else metered + lit.apart


@cache
def condition_keys() -> tuple[str, ...]:
    """Return the conditions that are the exposure received."""
    return tuple(c.key for c in conditions() if c.law == "stops")


def lit_by(studio: Studio, makings: Sequence[Making]) -> Lit:
    """Return what the exposures of a studio are like, with four usual plates put in."""
    plates = [one.conditions for one in makings if condition_keys()[0] not in one.conditions]
    pairs = list(zip(plates, _received(studio, plates), strict=True))
    seen = np.array([light for _, light in pairs if light is not None]).reshape(-1, 2)
    (mean,), (variance,) = seen_moments(seen[:, :1])
    doubt = float((seen[:, 1] ** 2).sum()) / (len(seen) + 4.0)
    off = [
        light[0] - metered
        for known, light in pairs
        if light is not None and (metered := value_of(condition_keys()[0], known)) is not None
    ]
    return Lit(
        studio,
        float(mean),
        max(float(variance) - doubt, LEAST_TRUE * float(variance)),
        sum(off) / (len(off) + 4.0),
    )


def with_light(makings: Sequence[Making], lit: Lit) -> tuple[Making, ...]:
    """Return makings with the exposure that each received."""
    return tuple(replace(one, conditions=lit.known(one.conditions)) for one in makings)


def _received(studio: Studio, plates: Sequence[Known]) -> list[tuple[float, float] | None]:
    """Return each plate's exposure and the doubt of its light, where they can be told. [stops]."""
    if studio not in _kept:
        _kept.clear()
        _kept[studio] = {}
    kept = _kept[studio]
    told = [tuple(known.get(column) for column in FROM) for known in plates]
    new = [one for one in dict.fromkeys(told) if one not in kept]
    if not new:  # else a book of more than are kept would be worked out plate by plate
        return [kept[one] for one in told]
    if len(kept) + len(new) > KEPT:
        kept.clear()
        new = list(dict.fromkeys(told))
    kept.update(dict.fromkeys(new))
    speed = trade.value("exposure", "plate_speed")
    asked = [
        Making(str(i), "", None, "", 0, date.min, conditions=_said(one))
        for i, one in enumerate(new)
    ]
    for shot in shots(studio, asked):
        stops = stops_given(studio, shot, speed)
        if stops is not None:
            kept[new[int(shot.making.id)]] = stops, shot.light_sd
    return [kept[one] for one in told]


def _said(values: Sequence[float | str | None]) -> dict[str, float | str]:
    return {k: v for k, v in zip(FROM, values, strict=True) if v is not None}
