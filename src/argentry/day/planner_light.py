"""The light of the planned day, as the weather may turn it, in the form the planner takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.needs.camera import Camera, camera_values
from argentry.needs.camera_time import camera_ends, camera_time, exposure_dose, middle_end
from argentry.needs.development_time import development_dose, kept_stops, ripening
from argentry.needs.doubt.development import (
    development_doubt,
    fading_part,
    lamp_doubt,
    other_light_part,
    red_light_doubt,
)
from argentry.needs.lamp import lamp_of, longest_lamp_minutes
from argentry.needs.numbers import dose_sigma_stops, veil_known
from argentry.physics.picture import dose
from argentry.physics.picture.development import fading_stops
from argentry.physics.stops import even_draws
from argentry.plan.daylight import DayLight, Frames
from argentry.records.day import Range
from argentry.sky.weather.days import SEED

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.needs.camera import CameraValues
    from argentry.physics.lights.light import LightSeries
    from argentry.records.answers.doubt import Doubt
    from argentry.records.instruments import DevelopmentFrame
    from argentry.records.studio import Studio
    from argentry.sky.sky_day import Filter, SkyDay
    from argentry.sky.weather.days import SkyDays


MINUTE_S, LN2 = 60.0, float(np.log(2.0))


@dataclass(frozen=True)
class Known:
    """How long a step in the light lasts, and what its range is made of.

    Attributes
    ----------
    minutes : Range
        [min]
    doubt : Doubt or None
        None where it cannot be done.
    veiled : float or None
        When the shadows of a developing plate veil; None where the light ends before. [min]
    """

    minutes: Range
    doubt: Doubt | None = None
    veiled: float | None = None


NEVER = Known(Range(float("inf"), float("inf"), float("inf")))


@dataclass(frozen=True)
class DayNeeds:
    """What plates need on a day, begun at any minute of its hours, as any other door answers it.

    Attributes
    ----------
    studio : Studio
        With its own numbers put in.
    camera : CameraValues
        Lens, plate and usual subject.
    by_filter : Mapping
        The light from the first minute of the hours to the end of the day, by filter: first the
        likely sky, then those that it may turn into.
    elevation_deg : Floats
        Of the sun, by minute. [deg]
    last_sight : int
        Minute after the sun's last sight over the skyline. [min]
    haze_named : bool
        True when the haze was given.
    varied : bool
        True when a weather file says how the sky may turn; else it is clear.
    """

    studio: Studio
    camera: CameraValues
    by_filter: dict[Filter, LightSeries]
    elevation_deg: Floats
    last_sight: int
    haze_named: bool
    varied: bool

    def camera_minutes(self, minute: float) -> Known:
        """Return the minutes before the camera begun then; infinite where it cannot be done."""
        light = next(iter(self.by_filter.values())).exposure_w_m2
        end = self.last_sight if self.studio.subject.plane == "sun" else light.shape[-1]
        if minute >= end or not self.elevation_deg[int(minute)] > 0.0:
            return NEVER
        found = camera_time(
            light[0, :end],
            minute,
            self.camera,
            elevation_deg=float(self.elevation_deg[int(minute)]),
            haze_named=self.haze_named,
            days_w_m2=light[1:, :end] if self.varied else None,
        )
        longest = trade.value("exposure", "longest_exposure")
        low, middle, high = (
            s / 60.0 for s in (found.seconds.low, found.seconds.middle, found.seconds.high)
        )
        shown = Range(low, middle if middle <= longest else float("inf"), high)
        return Known(shown, found.doubt)

    def development_minutes(
        self, minute: float, frame: DevelopmentFrame, waited_min: float
    ) -> Known:
        """Return the minutes under the filter put out then; infinite where it is never ripe.

        Parameters
        ----------
        minute : float
            When it is put out. [min]
        frame : DevelopmentFrame
            Its filter and lamp.
        waited_min : float
            Since the end of the exposure. [min]
        """
        days, last = None, float(self.last_sight)
        if frame.lamp is not None:
            lit = lamp_of(self.studio, frame, frame.lamp)
            behind = np.full(longest_lamp_minutes(), lit.development_w_m2)
            minute, last, doubts = 0.0, float(len(behind)), lamp_doubt(frame.lamp)
        elif minute >= last:
            return NEVER
        else:
            light = self.by_filter[frame.through].development_w_m2
            behind, days = light[0], light[1:] if self.varied else None
            doubts = red_light_doubt(
                float(self.elevation_deg[int(minute)]), haze_named=self.haze_named or self.varied
            )
        found = ripening(
            behind,
            minute,
            development_dose(self.studio.habits, waited_min=waited_min),
            last,
            light=(
                *doubts,
                fading_part(waited_min),
                *other_light_part(self.studio, frame.through, frame.lamp),
            ),
            days_w_m2=days,
            sigma_stops=dose_sigma_stops(self.studio.habits),
            scatter=self.studio.habits.strayed("development"),
            veil=veil_known(self.studio.habits),
            exposure_stops=kept_stops(0.0, waited_min),
        )
        ripe = found.ripening
        low, middle, high = (
            float(np.nan_to_num(end - minute, nan=np.inf))
            for end in (ripe.low_index, ripe.end_index, ripe.high_index)
        )
        veiled = float(found.veiled.end_index - minute)
        return Known(Range(low, middle, high), found.doubt, veiled if np.isfinite(veiled) else None)


@dataclass(frozen=True)
class LitDay:
    """The day's light twice: as running sums for the planner, and plain for the sheet.

    Attributes
    ----------
    day : DayLight
        For the planner.
    needs : DayNeeds
        What a plate needs, begun at some minute.
    elevation_deg : Floats, shape (m,)
        Apparent height of the sun by minute. [deg]
    exposure_w_m2, development_w_m2 : Floats, shape (k, m)
        Light by weather and minute; development behind the first frame's filter. [W/m2]
    violet_on_frame_j_m2 : float
        Exposure-band light that falls on the plane of the frame during a development at noon;
        what the filter must hold back. [J/m2]
    """

    day: DayLight
    needs: DayNeeds
    elevation_deg: Floats
    exposure_w_m2: Floats
    development_w_m2: Floats
    violet_on_frame_j_m2: float


def longest_pose_min(studio: Studio) -> float:
    """Return the longest exposure that is planned: the trade's, or a shorter one wished [min]."""
    longest, own = trade.value("exposure", "longest_exposure"), studio.habits.longest_pose_min
    return longest if own is None else min(longest, own)


def filters_of(studio: Studio) -> tuple[Filter, ...]:
    """Return the red filters of a studio's frames, each once, the first frame's first. [nm, 1]."""
    return tuple(dict.fromkeys(f.through for f in studio.frames))


def lit_day(
    studio: Studio, day: SkyDay, skies: SkyDays, minutes: int, *, varied: bool = True
) -> LitDay:
    """Return the light of a day minute by minute under every weather it may have.

    Parameters
    ----------
    studio : Studio
        Lens, subject, frames and the maker's numbers.
    day : SkyDay
        From the first minute of the hours on, with the filters of the studio's frames.
    skies : SkyDays
        The weathers.
    minutes : int
        Length of the hours. [min]
    varied : bool
        False without a weather file: the likely day is clear, the others are those of the season.
    """
    # The middle day travels as one more weather, so that every band is computed once.
    beam = np.vstack([skies.middle_beam, skies.beam_share])
    level = np.vstack([skies.middle_global, skies.global_share])
    by_filter = {
        through: day.light(
            through, exposure_plane=studio.subject.plane, beam_share=beam, global_share=level
        )
        for through in filters_of(studio)
    }
    over = np.flatnonzero(day.over_skyline)
    needs = DayNeeds(
        studio=studio,
        camera=camera_values(Camera(), studio),
        by_filter=by_filter,
        elevation_deg=day.path.elevation_deg,
        last_sight=int(over[-1]) + 1 if over.size else 0,
        haze_named=day.place.haze_aod is not None,
        varied=varied,
    )
    # A frame is not left out for the glow after sunset: what it adds is little and not to be
    # relied on, so the plan does not count it.
    seen = (np.arange(minutes) < needs.last_sight) * 1.0
    hours = {through: light.part(0, minutes) for through, light in by_filter.items()}
    first = hours[filters_of(studio)[0]]
    frames = tuple(
        frames_of(
            studio,
            frame,
            hours[frame.through].development_w_m2 * seen,
            varied=varied,
            noon_deg=float(day.path.elevation_deg.max()),
        )
        for frame in studio.frames
    )
    facing = day.light(filters_of(studio)[0], beam_share=beam[0], global_share=level[0])
    sums = dose.cumulative_j_m2(first.exposure_w_m2, MINUTE_S)
    return LitDay(
        day=DayLight(
            exposure_middle=sums[0],
            exposure_days=sums[1:],
            exposure_dose=exposure_dose(needs.camera),
            longest_exposure=longest_pose_min(studio),
            patience=trade.value("day", "exposure_patience"),
            frames=frames,
            expected=(
                camera_ends(first.exposure_w_m2[1:], needs.camera, first.elevation_deg)
                if varied
                else None
            ),
            sky_seen=not varied,
            law=needs.camera.law,
            fading=fading_log(),
        ),
        needs=needs,
        elevation_deg=first.elevation_deg,
        exposure_w_m2=first.exposure_w_m2[1:],
        development_w_m2=first.development_w_m2[1:] * seen,
        violet_on_frame_j_m2=_violet(facing.exposure_w_m2[:minutes] * seen, frames),
    )


def frames_of(
    studio: Studio,
    frame: DevelopmentFrame,
    sun_w_m2: Floats,
    *,
    varied: bool,
    noon_deg: float = 90.0,
) -> Frames:
    """Return frames of one kind as the planner takes them.

    Parameters
    ----------
    studio : Studio
        The maker's numbers.
    frame : DevelopmentFrame
        The kind.
    sun_w_m2 : Floats, shape (k, m)
        Light of the sun behind its filter: first the likely day's. [W/m2]
    varied : bool
        False without a weather file.
    noon_deg : float
        Highest that the sun stands that day. [deg]
    """
    behind = sun_w_m2
    if frame.lamp is not None:
        lit = lamp_of(studio, frame, frame.lamp)
        behind = np.full_like(sun_w_m2, lit.development_w_m2)
    sums = dose.cumulative_j_m2(behind, MINUTE_S)
    needed = development_dose(studio.habits)
    light = (
        lamp_doubt(frame.lamp)
        if frame.lamp is not None
        else red_light_doubt(noon_deg, haze_named=True)
    )
    scatter = studio.habits.strayed("development")
    light = (*light, *other_light_part(studio, frame.through, frame.lamp))
    doubt = development_doubt(dose_sigma_stops(studio.habits), light, scatter)
    expected = None
    if varied and frame.lamp is None:
        draws = even_draws(needed.middle, doubt.sigma_stops, len(sums) - 1, SEED)
        expected = middle_end(dose.end_table(sums[1:], draws))
    return Frames(
        name=frame.name,
        count=frame.count,
        middle=sums[0],
        days=sums[1:],
        dose=needed.middle,
        dose_log_sd=doubt.each_stops * LN2,
        dose_doubt_log_sd=doubt.shared_stops * LN2,
        lamp=frame.lamp is not None,
        expected=expected,
    )


def fading_log() -> float:
    """Return by how much a minute between camera and frame raises the log of the dose. [1/min]."""
    return trade.value("development", "exposure_power") * LN2 * fading_stops(1.0)


def _violet(exposure_w_m2: Floats, frames: tuple[Frames, ...]) -> float:
    """Return the violet that meets a frame in the sun while the middle plate develops [J/m2]."""
    sunlit = [f for f in frames if not f.lamp]
    if not sunlit:
        return 0.0
    noon = int(np.argmax(exposure_w_m2))
    ends = dose.end_table(sunlit[0].middle, sunlit[0].dose)
    begun = ends[: noon + 1]
    known = np.flatnonzero(np.isfinite(begun))
    if not known.size:
        return float(exposure_w_m2.sum() * MINUTE_S)
    start = int(known[-1])
    return float(exposure_w_m2[start : int(ends[start]) + 1].sum() * MINUTE_S)
