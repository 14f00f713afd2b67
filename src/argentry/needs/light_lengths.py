"""How long an exposure or a development lasts at the bench, by the light it gets as it goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.needs.camera import Camera, camera_values
from argentry.needs.camera_time import exposure_doses
from argentry.needs.development_time import development_dose
from argentry.needs.frame import lamp_of, longest_lamp_minutes
from argentry.needs.step_lengths import Length
from argentry.sky.clear_day import MINUTE_S, clear_day, frame_of, light_of
from argentry.sky.light_doubt import light_doubt_stops

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from argentry.records.day import Range
    from argentry.records.studio import Studio
    from argentry.sky.clear_day import ClearDay, Found

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Lit:
    """How long a step in the light lasts.

    Attributes
    ----------
    length : Length
        From its begin, without pauses.
    ripe_at : datetime or None
        When the middle plate has its light; None when the light ends first.
    share : float
        Share of the dose that has come in by now. [1]
    """

    length: Length
    ripe_at: datetime | None
    share: float


ENDS_WITH = "{why}, the light ends with {percent:.0f} % of what the plate needs"


def light_length(
    studio: Studio,
    law: str,
    begun: datetime,
    now: datetime,
    *,
    stops: Sequence[tuple[datetime, datetime | None]] = (),
    constants: Mapping[str, Any],
    found: Sequence[Found] = (),
) -> Lit | None:
    """Return how long an exposure or a development lasts, by the light it gets.

    Parameters
    ----------
    studio : Studio
        Place, instruments and the maker's numbers.
    law : str
        ``"exposure"`` or ``"development"``.
    begun : datetime
        When it was or will be begun, UTC.
    now : datetime
        UTC; light up to now is counted with the readings taken, later light is expected.
    stops : sequence of (datetime, datetime or None)
        When it was covered.
    constants : Mapping[str, Any]
        Of the run: ``frame``, ``hours``.
    found : sequence of Found
        Light readings in order of time.

    Returns
    -------
    Lit or None
        None when it is dark at its begin.
    """
    frame = frame_of(studio, constants.get("frame"))
    lamp = frame.lamp if law == "development" else None
    day = clear_day(studio, frame, begun)
    start, here = day.index(begun), day.index(max(now, begun))
    if lamp is None:
        total, last = light_of(day, law, constants, found), float(day.last_index)
    else:  # neither sky nor readings count; it may burn past midnight
        lit = lamp_of(studio, frame, lamp)
        last = start + longest_lamp_minutes()
        total = np.arange(np.ceil(last) + 1.0) * (lit.development_w_m2 * MINUTE_S)
    edges = np.arange(len(total))

    def sum_to(index: float) -> float:
        return float(np.interp(index, edges, total))

    so_far = sum_to(here) - sum_to(start)
    covered_s = 0.0
    for low, high in stops:
        first = max(day.index(low), start)
        after = here if high is None else min(day.index(high), here)
        if after > first:
            so_far -= sum_to(after) - sum_to(first)
            covered_s += (after - first) * MINUTE_S
    ahead = sum_to(last) - sum_to(min(here, last))
    dark_at_first = sum_to(min(start + 1.0, edges[-1])) <= sum_to(start)
    if dark_at_first or so_far + ahead <= 0.0:
        return None
    elapsed = (here - start) * MINUTE_S - covered_s
    doses = _doses(studio, law, day, start, total, found)

    def seconds(dose: float) -> tuple[float, bool]:
        left = dose - so_far
        if left <= 0.0:
            return elapsed * dose / so_far, True
        if left > ahead:
            return elapsed + max(last - here, 0.0) * MINUTE_S, False
        reached = float(np.interp(sum_to(here) + left, total, edges))
        return elapsed + (max(reached, here) - here) * MINUTE_S, True

    (low_s, _), (middle_s, ripe), (high_s, _) = (
        seconds(dose) for dose in (doses.low, doses.middle, doses.high)
    )
    why = "lamp" if lamp else found[-1].words if found else "the sun as it stands"
    if not ripe:
        why = ENDS_WITH.format(why=why, percent=100.0 * (so_far + ahead) / doses.middle)
    return Lit(
        length=Length(middle_s, min(low_s, middle_s), max(high_s, middle_s), why),
        ripe_at=day.moment(here + (middle_s - elapsed) / MINUTE_S) if ripe else None,
        share=so_far / doses.middle,
    )


def _doses(
    studio: Studio,
    law: str,
    day: ClearDay,
    start: float,
    total: Array,
    found: Sequence[Found],
) -> Range:
    """Return the light the plates need, with every doubt of plate and light. [J/m2]."""
    if law == "development":
        return development_dose(studio.habits)
    at = min(max(int(start), 0), len(day.elevation_deg) - 1)
    if found:
        known = found[-1].light_sd
    else:  # what the plan expected in place of the clear sky's light it lost to cloud
        clear = float(day.exposure_w_m2[at]) * MINUTE_S
        share = float(total[at + 1] - total[at]) / clear if clear > 0.0 else 1.0
        known = light_doubt_stops(
            float(day.elevation_deg[at]),
            haze_named=studio.site.haze_aod is not None,
            under_cloud=0.0 if share > 1.0 - 1e-9 else 1.0 - share,
        )
    return exposure_doses(camera_values(Camera(), studio), known)
