"""What light meters show at a moment under each amount of cloud, and which sky a reading tells of.

A lux meter in open shade, one in the sun and a pyranometer on level ground lose different shares of
their light to the same cloud, and the violet and the red that plates go by others again. So a
reading is first turned into the sky under which its instrument would show it, by the plan's own
rule for cloud, and that sky then lights subject and frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.lights.cloud import okta_at_beam
from argentry.records.instruments import DevelopmentFrame
from argentry.records.studio import Studio
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import okta_shares, sky_day

EIGHTHS = np.arange(0.0, 8.01, 0.25)
CLEARER = -0.25  # stands for a sky without any cloud: hours called cloudless have a little haze
THICKER = 0.25  # of a reading: so far off it a covered sky still explains it
AMOUNTS = np.concatenate(([CLEARER], EIGHTHS))


@dataclass(frozen=True)
class Meters:
    """What instruments show at one moment under the skies of `AMOUNTS`.

    Attributes
    ----------
    beam_share, global_share : Floats, shape (n,)
        Of the clear sky's light. [1]
    exposure, development : Floats, shape (n,)
        Light on the subject and behind the red filter. [W/m2]
    lux_subject, lux_frame, ghi : Floats, shape (n,)
        Illuminance at the subject and at the frame [lx], irradiance on level ground [W/m2].
    """

    beam_share: Floats
    global_share: Floats
    exposure: Floats
    development: Floats
    lux_subject: Floats
    lux_frame: Floats
    ghi: Floats

    def share(self, light: Floats, eighths: float) -> float:
        """Return a light under an amount of cloud over that of the clear sky; 1 in the dark [1]."""
        whole = float(light[0])
        return float(np.interp(eighths, AMOUNTS, light)) / whole if whole > 0.0 else 1.0


@lru_cache(maxsize=256)  # a run's readings are gone through at each of its events
def meters_at(studio: Studio, frame: DevelopmentFrame, moment: datetime) -> Meters:
    """Return what instruments show at a moment, by day.

    Parameters
    ----------
    studio : Studio
        Place and the plane of its subject.
    frame : DevelopmentFrame
        Its filter.
    moment : datetime
        With a zone.
    """
    time = np.array([moment.astimezone(UTC).replace(tzinfo=None)], dtype="datetime64[s]")
    day = sky_day(resolve_place(studio), time, (frame.through,))
    beam, level = okta_shares(EIGHTHS, np.broadcast_to(time, EIGHTHS.shape))
    beam, level = np.append(1.0, beam), np.append(1.0, level)
    shares: dict[str, Any] = {"beam_share": beam[:, None], "global_share": level[:, None]}
    subject = day.light(frame.through, exposure_plane=studio.subject.plane, **shares)
    facing = day.light(frame.through, **shares)
    return Meters(
        beam_share=beam,
        global_share=level,
        exposure=subject.exposure_w_m2[:, 0],
        development=subject.development_w_m2[:, 0],
        lux_subject=subject.illuminance_lux[:, 0],
        lux_frame=facing.illuminance_lux[:, 0],
        ghi=subject.ghi_w_m2[:, 0],
    )


def cloud_shown(light: Floats, value: float, expected_beam: float | None) -> float | None:
    """Return the cloud under which an instrument shows a value; None where no sky explains it.

    In shade and beside a window broken cloud gives more light than either a clear or a covered sky:
    of two amounts that explain a reading the one nearer to what was expected is taken.

    Parameters
    ----------
    light : Floats, shape (n,)
        What the instrument shows under the skies of `AMOUNTS`.
    value : float
        What it shows, same unit.
    expected_beam : float or None
        Share of the clear beam that was expected; None: the clearer sky is taken. [1]

    Returns
    -------
    float or None
        [okta]
    """
    low, high = (trade.value("bench", name) for name in ("least_light", "most_light"))
    if not low * light.min() <= value <= high * light.max():
        return None
    over = light - value
    at = np.flatnonzero(over[:-1] * over[1:] <= 0.0)
    if at.size:
        steps = over[at] - over[at + 1]
        into = np.divide(over[at], steps, out=np.zeros_like(steps), where=steps != 0.0)
        found = AMOUNTS[at] + into * (AMOUNTS[at + 1] - AMOUNTS[at])
    else:
        found = AMOUNTS[[int(np.argmin(np.abs(over)))]]
    if abs(over[-1]) <= THICKER * value:  # a covered sky may be thicker or thinner than usual
        found = np.append(found, AMOUNTS[-1])
    if expected_beam is None:
        return float(found[0])
    near = float(okta_at_beam(np.clip(expected_beam, 0.0, 1.0)))
    return float(found[np.argmin(np.abs(found - near))])
