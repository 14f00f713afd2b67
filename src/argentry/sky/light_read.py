"""What readings of daylight say of the sky now, and which of them are not believed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights.cloud import okta_at_beam
from argentry.records.run import RunReading
from argentry.records.studio import Studio
from argentry.records.weather import LightRead, Weather
from argentry.sky.clear_day import Found, against_clear, clear_day, frame_of, number_of
from argentry.sky.light_doubt import CLOUD, METER
from argentry.sky.place import resolve_place, to_local
from argentry.sky.sky_day import okta_shares, sky_day
from argentry.sky.weather.as_read import counts_until
from argentry.sky.weather.days import place_under, shares_at
from argentry.sky.weather.usual import usual_cloud
from argentry.trade.readings import LIGHT_LAWS, quantities

TOGETHER = timedelta(minutes=15)  # under broken cloud one reading says little
SAME, SAME_FOR = 3, timedelta(minutes=30)  # as often to the last digit: the end of its scale
FAR_OKTA = 3.0  # in widths of a forecast's own miss
FORECAST, USUAL = "was forecast", "is usual at this season"
READ = (
    "The light was read at {time:%H:%M} ({words}): {share:.2f} of what {expected}. That counts, "
    "less by the hour, until about {until:%H:%M}."
)
NOT_USED = "The reading of light at {time:%H:%M} ({words}) is not used: {why}."
NO_SKY = "no sky gives that here, so the instrument was covered, in a shadow or at its limit"
STUCK = "it was said {count} times to the last digit, as at the end of a scale"
FAR = "it is far from the forecast; take a second one, and both count"


def light_read(
    studio: Studio, readings: Sequence[RunReading], weather: Weather | None, now: datetime
) -> tuple[LightRead | None, tuple[str, ...]]:
    """Return what the light was last read to be, and what is said of a reading not believed.

    Parameters
    ----------
    studio : Studio
        Place, subject, frames.
    readings : sequence of RunReading
        Of any quantity, of one day, in order of time.
    weather : Weather or None
        What was expected, a forecast or the climate's days; None: the clouds usual at the season.
    now : datetime
        Readings that count no more by then are left out.
    """
    laws = {what: one.law for what, one in quantities().items()}
    lit = [
        one
        for one in readings
        if laws.get(one.what) in LIGHT_LAWS and one.at <= now < counts_until(one.at)
    ]
    frame, forecast = frame_of(studio, None), weather is not None and weather.kind == "forecast"
    believed: list[tuple[RunReading, Found]] = []
    doubted: tuple[str, ...] = ()
    unsure: tuple[RunReading, Found] | None = None
    for one in lit:
        if clear_day(studio, frame, one.at).is_dark(one.at):
            continue
        expected = _expected(studio, weather, one.at)
        found = against_clear(studio, frame, one, expected[0])
        why = ""
        same = [r for r in lit if (r.what, r.source, r.value) == (one.what, one.source, one.value)]
        same = [r for r in same if timedelta(0) <= one.at - r.at <= SAME_FOR]
        if found is None:
            why = NO_SKY
        elif found.under_filter is not None:  # of a lamp: it says nothing of the sky
            continue
        elif laws[one.what] != "cloud" and len(same) >= SAME:
            why = STUCK.format(count=len(same))
            believed = [(r, f) for r, f in believed if f.at < same[0].at]
        elif forecast and _far(found, expected[0]):
            if unsure is None or one.at - unsure[1].at > TOGETHER:
                unsure, why = (one, found), FAR
            else:
                believed += [unsure, (one, found)]
        else:
            believed.append((one, found))
        doubted = (_doubt(studio, one, why),) if why else ()
    if not believed:
        return None, doubted
    reading, last = believed[-1]
    near = [found for _, found in believed if last.at - found.at <= TOGETHER]
    return _together(studio, weather, near, number_of(reading)), doubted


def _together(
    studio: Studio, weather: Weather | None, found: Sequence[Found], words: str
) -> LightRead:
    last, count = found[-1], len(found)
    beam = float(sum(one.beam for one in found)) / count
    level = float(sum(one.level for one in found)) / count
    share = _exposure(studio, last.at, beam, level) / _exposure(
        studio, last.at, *_expected(studio, weather, last.at)
    )
    place, until = resolve_place(studio), counts_until(last.at)
    doubts = [part.sigma_stops for part in last.doubts if part.cause in (CLOUD, METER)]
    return LightRead(
        at=last.at,
        until=until,
        beam_share=beam,
        global_share=level,
        sigma_stops=float(np.hypot.reduce(doubts)),
        of_expected=share,
        sentence=READ.format(
            time=to_local(last.at, place),
            words=words,
            share=share,
            expected=FORECAST if weather and weather.kind == "forecast" else USUAL,
            until=to_local(until, place),
        ),
    )


def _expected(studio: Studio, weather: Weather | None, moment: datetime) -> tuple[float, float]:
    """Return the shares of beam and of light on the level that were expected of a moment."""
    time = np.array([moment.astimezone(UTC).replace(tzinfo=None)], dtype="datetime64[s]")
    place = resolve_place(studio)
    if weather is not None:
        try:
            beam, level = shares_at(weather, sky_day(place_under(weather, place, time), time, ()))
            return float(beam[0]), float(level[0])
        except BadInput:  # it does not cover the moment
            pass
    usual = usual_cloud(place.latitude_deg, to_local(moment, place).date())
    beam, level = okta_shares(8.0 * usual, time)
    return float(beam[0]), float(level[0])


def _exposure(studio: Studio, moment: datetime, beam: float, level: float) -> float:
    """Return exposure light on the subject under these shares. [W/m2]."""
    time = np.array([moment.astimezone(UTC).replace(tzinfo=None)], dtype="datetime64[s]")
    through = frame_of(studio, None).through
    day = sky_day(resolve_place(studio), time, (through,))
    shares: dict[str, Any] = {"beam_share": np.array([beam]), "global_share": np.array([level])}
    light = day.light(through, exposure_plane=studio.subject.plane, **shares)
    return max(float(light.exposure_w_m2[0]), 1e-9)


def _far(found: Found, expected_beam: float) -> bool:
    """Tell whether a reading finds another sky than the forecast's by more than it ever misses."""
    read, expected = (
        float(okta_at_beam(np.clip(beam, 0.0, 1.0))) for beam in (found.beam, expected_beam)
    )
    return abs(read - expected) > FAR_OKTA * trade.value("cloud", "forecast_sd_okta")


def _doubt(studio: Studio, one: RunReading, why: str) -> str:
    time = to_local(one.at, resolve_place(studio))
    return NOT_USED.format(time=time, words=number_of(one), why=why)
