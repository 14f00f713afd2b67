"""Weather years of a season as a maker asks for them: days, weeks, months, the best, the spread."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.records.answers.season import (
    SeasonDay,
    SeasonMonth,
    SeasonPlace,
    SeasonWeek,
    SeasonYear,
)
from argentry.records.day import Range, day_in_words
from argentry.sky.weather.cover import clock_doubt

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from argentry.arrays import Floats, Truth, Whole
    from argentry.day.season.years import SeasonAsked, SeasonYears

BEST = 5  # weeks that are named
USUAL = (
    "clouds usual at {latitude:.0f}° {side} and at the season (from memory, good to a tenth); "
    "coasts, mountains, deserts and monsoons differ: give a climate file of the place"
)
DRAWN = (
    "Its {count} weather years are drawn: each day leans on the one before, but no year is dull or "
    "bright as a whole, so that real years differ by more."
)
ONE_YEAR = "It rests on a single year: what other years bring it does not say."
GAPS = "Left out, as the file has gaps in bright hours: {years}."
NO_SUN = "The sun is not seen within the hours from {first} to {last}: no plate under it."
NO_PLATE = "No day holds a plate in any of the weather years, as the studio works now."


def range_of(values: Whole) -> Range:
    """Return what a tenth, a half and nine tenths of values stay under."""
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9), method="nearest")
    return Range(float(low), float(middle), float(high))


def climate_words(asked: SeasonAsked) -> str:
    """Return where the weather years come from."""
    if asked.climate.weather is not None:
        return asked.climate.weather.source
    latitude = asked.studio.site.latitude_deg
    side = "south" if latitude < 0.0 else "north"
    return USUAL.format(latitude=abs(latitude), side=side)


def season_place(asked: SeasonAsked, found: SeasonYears) -> SeasonPlace:
    """Return a season at a place as it is told."""
    site, climate, dates = asked.studio.site, asked.climate, asked.dates
    some = found.plates > 0
    weeks = _weeks(found, dates)
    start = asked.studio.hours.start
    into = 60 * int(start[:2]) + int(start[3:5])
    sitting = sorted(weeks, key=lambda week: (-week.sitter_hours, week.first))
    workshop = sorted(weeks, key=lambda w: (-w.plates.low, -w.plates.middle, w.first))
    return SeasonPlace(
        place=site.name,
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        time_zone=site.time_zone,
        climate=climate_words(asked),
        real_years=climate.real,
        hours=tuple(_clock(into + at) for at in found.hours),
        plates=range_of(found.plates.sum(axis=1)),
        plate_days=range_of(some.sum(axis=1)),
        days=_days(found, dates),
        weeks=weeks,
        months=_months(found, dates),
        years=tuple(
            SeasonYear(year, int(plates.sum()), int((plates > 0).sum()))
            for year, plates in zip(found.years, found.plates, strict=True)
        ),
        sitting_weeks=tuple(week.first for week in sitting[:BEST] if week.sitter_hours > 0.0),
        workshop_weeks=tuple(week.first for week in workshop[:BEST] if week.plates.high > 0.0),
        notes=_notes(asked, found),
    )


def _clock(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours % 24:02d}:{rest:02d}"


def _middle(values: Floats) -> float | None:
    """Return the middle of values, those that never come counted as endless; None for such."""
    found = float(np.quantile(np.nan_to_num(values, nan=np.inf), 0.5, method="nearest"))
    return found if np.isfinite(found) else None


def _days(found: SeasonYears, dates: Sequence[date]) -> tuple[SeasonDay, ...]:
    exposure, finished = found.exposure.mean(axis=0), found.finished.mean(axis=0)
    some = (found.plates > 0).mean(axis=0)
    return tuple(
        SeasonDay(
            date=day,
            plates=range_of(found.plates[:, at]),
            some_plate=float(some[at]),
            pose_minutes=_middle(found.pose_minutes[:, at]),
            exposure_odds=tuple(exposure[at].round(4).tolist()),
            finished_odds=tuple(finished[at].round(4).tolist()),
        )
        for at, day in enumerate(dates)
    )


def _weeks(found: SeasonYears, dates: Sequence[date]) -> tuple[SeasonWeek, ...]:
    rows = []
    for at in range(-dates[0].weekday() % 7, len(dates) - 6, 7):
        days = slice(at, at + 7)
        plates, some = found.plates[:, days], (found.plates[:, days] > 0).sum(axis=1)
        rows.append(
            SeasonWeek(
                first=dates[at],
                plates=range_of(plates.sum(axis=1)),
                plate_days=range_of(some),
                five_days_odds=float((some >= 5).mean()),
                sitter_hours=float(found.finished[:, days].sum(axis=2).mean()),
                pose_minutes=_middle(found.pose_minutes[:, days]),
            )
        )
    return tuple(rows)


def _months(found: SeasonYears, dates: Sequence[date]) -> tuple[SeasonMonth, ...]:
    months = [(day.year, day.month) for day in dates]
    rows = []
    for month in dict.fromkeys(months):
        days = np.array([at for at, one in enumerate(months) if one == month])
        plates = found.plates[:, days]
        rows.append(
            SeasonMonth(
                first=dates[days[0]],
                days=len(days),
                plate_days=range_of((plates > 0).sum(axis=1)),
                plates_a_day=float(plates.mean()),
                pose_minutes=_middle(found.pose_minutes[:, days]),
            )
        )
    return tuple(rows)


def _notes(asked: SeasonAsked, found: SeasonYears) -> tuple[str, ...]:
    notes = [
        NO_SUN.format(
            first=day_in_words(asked.dates[low], year=False),
            last=day_in_words(asked.dates[high], year=False),
        )
        for low, high in _runs(~found.sun_up)
    ]
    weather, site = asked.climate.weather, asked.studio.site
    doubt = weather and clock_doubt(weather, site.latitude_deg, site.longitude_deg)
    if doubt:
        notes.insert(0, doubt)
    if not found.plates.any():
        notes.append(NO_PLATE)
    if not asked.climate.real:
        notes.append(DRAWN.format(count=len(found.years)))
    elif len(found.years) == 1:
        notes.append(ONE_YEAR)
    if found.gaps:
        notes.append(GAPS.format(years=", ".join(map(str, found.gaps))))
    return tuple(notes)


def _runs(flags: Truth) -> list[tuple[int, int]]:
    """Return the runs of true flags, first and last index."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int64), [0]))))
    return [(int(low), int(high) - 1) for low, high in edges.reshape(-1, 2)]
