"""Plan a day: join the studio, the weather, the light, the trade's steps and the planner."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import numpy as np

from argentry.day import notes as day_notes
from argentry.day import planner_light as day_light
from argentry.day import tables as day_tables
from argentry.day.day_clock import Clock, clock_of, wall_time
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.needs.numbers import NAMES, numbers_in_use, studio_now
from argentry.needs.over_iodine import box_today, seconds_over_iodine
from argentry.physics import sun
from argentry.plan.day import plan_day
from argentry.plan.problem import Day
from argentry.plan.tasks import blocks_of
from argentry.records.day import MOST_PLATES, DayPlan, Pause, Proof
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.climate import season_days
from argentry.sky.weather.days import sky_and_skies
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from argentry.records.decision import OwnNumbers
    from argentry.records.learned import Share
    from argentry.records.studio import Studio
    from argentry.records.weather import Weather
    from argentry.sky.place import Place
    from argentry.sky.sky_day import SkyDay

MINUTE = np.timedelta64(60, "s")


def make_day(
    studio: Studio,
    day: date,
    *,
    plates: int | None = None,
    weather: Weather | None = None,
    haze: float | None = None,
    learned: OwnNumbers | None = None,
    as_written: bool = False,
    good: Callable[[], Share | None] | None = None,
    effort: float = 1.5,
    simulated_days: int = 200,
    seed: int = 1,
    now: datetime | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> DayPlan:
    """Plan a day at a studio.

    Parameters
    ----------
    studio : Studio
        The studio.
    day : date
        The date, in the studio's zone.
    plates : int or None
        How many plates are wanted, 1 to 12; None: the most that are all finished on four days in
        five.
    weather : Weather or None
        A forecast or typical year; None: times for a clear sky, odds for the season's clouds.
    haze : float or None
        Aerosol optical depth at 500 nm, when known better. [1]
    learned : OwnNumbers or None
        What the studio's plates have taught: it takes the place of what was believed.
    as_written : bool
        True when learned numbers are left out because that was asked for.
    good : callable, optional
        Tells the odds of a good plate when they are wanted, at the end; else those of `learned`.
    effort : float
        Longest search of the solver, see `argentry.plan.solve.solve`. [1]
    simulated_days : int
        Days behind every range.
    seed : int
        For weathers and durations; the same seed gives the same sheet.
    now : datetime, optional
        The moment of planning: hours of this day that are gone by then are left out.
    progress : callable
        Is told in words what is being worked on.

    Returns
    -------
    DayPlan
        The day, with no plates placed when it holds none.

    Raises
    ------
    BadInput
        For an impossible number of plates, a weather file that does not cover the day, or a day
        whose hours are over.
    """
    if plates is not None and not 1 <= plates <= MOST_PLATES:
        raise BadInput(
            "--plates",
            "{plates} plates cannot be planned",
            "give 1 to {most_plates} plates",
            plates=plates,
            most_plates=MOST_PLATES,
        )
    known = studio_now(studio, learned, as_written=as_written)
    assert known.studio is not None
    studio = known.studio
    progress("light and weather")
    place = resolve_place(studio, haze=haze)
    clock = clock_of(studio, day, now)
    times = _times_of_day(place, clock, day)
    first, last = clock.first_in(times), len(times)
    need = slice(first, first + clock.minutes)
    through = day_light.filters_of(studio)
    if weather is None:
        sky = sky_day(place, times, through)
        skies = season_days(sky, day, seed=seed)
    else:
        sky, skies = sky_and_skies(weather, place, times, through, need, seed=seed)
    lit = day_light.lit_day(
        studio,
        sky.part(first, last),
        skies.part(first, last),
        clock.minutes,
        varied=weather is not None,
    )

    box = box_today(studio)
    over_iodine = seconds_over_iodine(box, studio.habits.coat_nm)
    lengths = step_lengths.lengths_today(studio)
    tasks = step_lengths.tasks_today(lengths, over_iodine)
    ready = sum(rule.typical_minutes for rule in step_lengths.day_rules())
    breaks = _breaks(studio, day, clock)

    progress("order of the day and its proof, hundreds of simulated days")
    planned = plan_day(
        Day(
            tasks=tasks,
            plates=plates,
            workers=studio.hours.workers,
            first_minute=min(float(ready), clock.minutes - 1.0),
            last_minute=float(clock.minutes),
            breaks=breaks,
            light=lit.day,
        ),
        effort=effort,
        simulated_days=simulated_days,
        seed=seed,
    )
    asked = planned.placed if plates is None else plates
    progress("sheet")
    blocks = blocks_of(tasks)
    tables = day_tables.end_tables(lit, seed)
    hours = day_tables.hours(clock, lit, blocks, tables)
    light_odds = day_tables.light_odds(planned, blocks, float(clock.minutes), tables)
    odds = good() if good is not None else None if learned is None else learned.good
    share, behind = day_tables.good_share(studio, odds)
    sunrise, sunset = _sun_times(sky, day, clock)
    area = trade_steps.plate_size(studio.habits.plate_size).area_cm2
    return DayPlan(
        studio=studio.name,
        place=studio.site.name,
        invented=studio.invented,
        date=day,
        time_zone=str(clock.zone),
        begin=clock.begin,
        end=clock.end,
        breaks=tuple(Pause(clock.at(low), clock.at(high)) for low, high in breaks),
        sunrise=sunrise,
        sunset=sunset,
        weather=skies.note,
        warnings=day_notes.warnings(studio, skies, lit, planned, hours, box, asked),
        plates_asked=asked,
        plates_placed=planned.placed,
        plates_most=planned.most,
        plates_most_proved=planned.most_proved,
        plates_one_by_one=planned.one_by_one,
        steps=day_tables.steps(clock, planned, studio, lit, lengths),
        hours=hours,
        minutes_overlapped=planned.finish,
        minutes_one_by_one=planned.one_by_one_minutes,
        finished=day_tables.finished(planned),
        all_finished_share=planned.days.all_sound if planned.days is not None else 0.0,
        light_odds=light_odds,
        good_share=share,
        good_share_plates=behind,
        good_plates=day_tables.good_plates(planned, studio, seed, odds),
        proof=Proof(
            finish_minutes=planned.finish,
            bound_minutes=planned.bound,
            optimal=planned.proved,
            first_plan_seconds=planned.first_plan_seconds,
            seconds=planned.seconds,
            earliest_minutes=planned.earliest,
        ),
        days_simulated=simulated_days if planned.placed else 0,
        materials=day_notes.materials(area, planned.placed),
        coat=day_notes.coat(studio, box, over_iodine),
        cautions=day_notes.cautions(),
        learned=known.learned,
        over_iodine_seconds=over_iodine,
        numbers_in_use=numbers_in_use(known, *NAMES),
        as_written=known.as_written,
    )


def _breaks(studio: Studio, day: date, clock: Clock) -> tuple[tuple[float, float], ...]:
    spans = [
        [clock.minute(wall_time("studio.toml hours.breaks", day, at, clock.zone)) for at in span]
        for span in studio.hours.breaks
    ]
    return tuple((max(low, 0.0), high) for low, high in spans if high > 0.0)


def _times_of_day(place: Place, clock: Clock, day: date) -> NDArray[np.datetime64]:
    """Return the middles of the clock's minutes from before the sun's midnight to after it."""
    first, last = sun.solar_day(day, place.longitude_deg)
    hands = clock.times_utc()
    before = max(math.ceil((hands[0] - first) / MINUTE), 0)
    after = max(math.ceil((last - hands[0]) / MINUTE) + 1, clock.minutes)
    return np.asarray(hands[0] + np.arange(-before, after) * MINUTE)


def _sun_times(sky: SkyDay, day: date, clock: Clock) -> tuple[datetime | None, datetime | None]:
    first, last = sun.solar_day(day, sky.place.longitude_deg)
    low = int(np.searchsorted(sky.times_utc, first, side="right")) - 1
    whole = sky.part(max(low, 0), int(np.searchsorted(sky.times_utc, last)) + 1)
    found = sun.first_and_last_sight(whole.times_utc, whole.path, sky.place.horizon)
    local: list[datetime | None] = []
    for moment in found:
        if moment is None:
            local.append(None)
        else:
            utc: datetime = moment.astype("datetime64[s]").astype(datetime)
            local.append(utc.replace(tzinfo=UTC).astimezone(clock.zone))
    return local[0], local[1]
