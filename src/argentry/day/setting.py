"""What a day is planned by: the studio with its own numbers, the clock, the light, the steps."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np

from argentry.arrays import Times
from argentry.day import planner_light as day_light
from argentry.day.day_clock import Clock, clock_of, wall_time
from argentry.day.planner_light import LitDay
from argentry.day.sitters import Hall, Seat, seats_of
from argentry.needs import step_lengths
from argentry.needs.numbers import studio_now
from argentry.needs.over_iodine import BoxToday, box_today, seconds_over_iodine
from argentry.needs.step_lengths import Length
from argentry.physics.lights import sun
from argentry.plan.problem import Day, Special
from argentry.plan.tasks import Task
from argentry.records.day import MOST_PLATES, Range
from argentry.records.decision import OwnNumbers
from argentry.records.needs import StudioNow
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook
from argentry.records.wishes import NOTHING_WISHED, Wishes
from argentry.sky.place import Place, resolve_place
from argentry.sky.sky_day import SkyDay, sky_day
from argentry.sky.weather.climate import season_days
from argentry.sky.weather.days import DAYS, SEED, SkyDays
from argentry.sky.weather.whole_day import sky_and_skies
from argentry.trade import steps as trade_steps

MINUTE = np.timedelta64(60, "s")


@dataclass(frozen=True)
class DaySetting:
    """A day at a studio before anything is planned.

    Attributes
    ----------
    known : StudioNow
        The studio with the numbers behind it.
    studio : Studio
        With its own numbers put in.
    date : date
        In the studio's zone.
    clock : Clock
        Its hours; the grid of minutes begins with them.
    sky : SkyDay
        The sun's whole day.
    skies : SkyDays
        How the weather may turn, minute by minute of the hours.
    lit : LitDay
        Light, minute by minute of the hours.
    box : BoxToday
        The iodine box.
    over_iodine : Range
        Time over iodine. [s]
    lengths : Mapping[str, Length]
        Of a plate's steps.
    tasks : tuple of Task
        Those steps as the planner moves them.
    ready_minutes : float
        Until the room is ready for the first plate. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    wishes : Wishes
        What is asked of this day alone.
    seats : tuple of Seat
        Plates of sitters, the first who comes first.
    """

    known: StudioNow
    studio: Studio
    date: date
    clock: Clock
    sky: SkyDay
    skies: SkyDays
    lit: LitDay
    box: BoxToday
    over_iodine: Range
    lengths: Mapping[str, Length]
    tasks: tuple[Task, ...]
    ready_minutes: float
    breaks: tuple[tuple[float, float], ...]
    wishes: Wishes = NOTHING_WISHED
    seats: tuple[Seat, ...] = ()

    @property
    def special(self) -> tuple[Special | None, ...]:
        """What sets the first plates of the day apart: those of sitters, then polished ones."""
        habits, sitters = self.studio.habits, tuple(seat.special for seat in self.seats)
        polished = min(habits.polished, MOST_PLATES) - len(sitters)
        if polished <= 0:
            return sitters
        return (*sitters, *(self.polished(),) * polished)

    def polished(self) -> Special:
        """Return what sets a plate apart that comes polished from the evening before."""
        later = self.studio.habits.seal_later
        tasks = step_lengths.tasks_today(
            self.lengths, self.over_iodine, polished=True, seal_later=later
        )
        return Special(tasks, self.lit.day)

    @property
    def hall(self) -> Hall:
        """The day as sitters find it."""
        return Hall(self.studio, self.date, self.clock, self.lit, self.breaks, self.over_iodine)

    def seat_of(self, special: Special | None) -> Seat | None:
        """Return whose plate it is that is set apart like this; None for nobody's."""
        return next((seat for seat in self.seats if seat.special is special), None)

    def at(self, studio: Studio) -> DaySetting:
        """Return the same day and light at a studio with other habits or instruments."""
        tasks = step_lengths.tasks_today(
            self.lengths, self.over_iodine, seal_later=studio.habits.seal_later
        )
        return replace(self, studio=studio, tasks=tasks)

    def wanted(self, plates: int | None) -> Day:
        """Return the day as the planner is asked for it.

        Parameters
        ----------
        plates : int or None
            How many are wanted; None: as many as are finished on four days in five.
        """
        return Day(
            special=self.special,
            room_counts={
                key: getattr(self.studio, held.of)[0].count
                for key, held in trade_steps.resources().items()
                if held.of and not held.several
            },
            tasks=self.tasks,
            plates=plates,
            workers=self.studio.hours.workers,
            first_minute=min(self.ready_minutes, self.clock.minutes - 1.0),
            last_minute=float(self.clock.minutes),
            breaks=self.breaks,
            light=self.lit.day,
        )


def setting_of(
    studio: Studio,
    day: date,
    *,
    outlook: Outlook = NO_OUTLOOK,
    haze: float | None,
    learned: OwnNumbers | None,
    as_written: bool,
    now: datetime | None,
    seed: int,
    wishes: Wishes = NOTHING_WISHED,
) -> DaySetting:
    """Join the studio, the weather, the light and the trade's steps.

    Parameters
    ----------
    studio : Studio
        The studio.
    day : date
        In its zone.
    outlook : Outlook
        The weather: without a forecast a clear sky, and odds by the season's clouds; the season's
        clouds in the times too where a forecast was wanted or the light was read.
    haze : float or None
        Aerosol optical depth at 500 nm, when known better. [1]
    learned : OwnNumbers or None
        What the studio's plates have taught.
    as_written : bool
        True when learned numbers are left out because that was asked for.
    now : datetime or None
        The moment of planning: hours of this day that are gone by then are left out.
    seed : int
        For the weathers.
    wishes : Wishes
        What is asked of this day alone; hours, breaks and hands are those of `studio`.

    Raises
    ------
    BadInput
        For a weather file that does not cover the day, or a day whose hours are over.
    """
    known = studio_now(studio, learned, as_written=as_written)
    assert known.studio is not None
    studio = known.studio
    place = resolve_place(studio, haze=haze)
    clock = clock_of(studio, day, now)
    sky, skies, lit = _light(studio, place, clock, day, outlook, DAYS, seed)
    box = box_today(studio)
    over_iodine = seconds_over_iodine(box, studio.habits.coat_nm)
    lengths = step_lengths.lengths_today(studio)
    breaks = _breaks(studio, day, clock)
    return DaySetting(
        known=known,
        studio=studio,
        date=day,
        clock=clock,
        sky=sky,
        skies=skies,
        lit=lit,
        box=box,
        over_iodine=over_iodine,
        lengths=lengths,
        tasks=step_lengths.tasks_today(lengths, over_iodine, seal_later=studio.habits.seal_later),
        ready_minutes=float(sum(rule.typical_minutes for rule in step_lengths.day_rules())),
        breaks=breaks,
        wishes=wishes,
        seats=seats_of(Hall(studio, day, clock, lit, breaks, over_iodine), wishes.sitters),
    )


def setting_on(setting: DaySetting, day: date) -> DaySetting:
    """Return the setting of another day under a clear sky, for a first look at its light."""
    clock = clock_of(setting.studio, day)
    sky, skies, lit = _light(setting.studio, setting.sky.place, clock, day, NO_OUTLOOK, 1, SEED)
    breaks = _breaks(setting.studio, day, clock)
    return replace(
        setting, date=day, clock=clock, sky=sky, skies=skies, lit=lit, breaks=breaks,
        wishes=NOTHING_WISHED, seats=(),
    )  # fmt: skip


def _light(
    studio: Studio,
    place: Place,
    clock: Clock,
    day: date,
    outlook: Outlook,
    days: int,
    seed: int,
) -> tuple[SkyDay, SkyDays, LitDay]:
    """Return the sun's day, how the weather may turn on so many days, and the light of the hours.

    A weather file brings its own number of days.
    """
    times = _times_of_day(place, clock, day)
    first, last = clock.first_in(times), len(times)
    through = day_light.filters_of(studio)
    if outlook.varied:
        need = slice(first, first + clock.minutes)
        sky, skies = sky_and_skies(outlook, place, times, through, need, seed=seed)
        skies = skies.part(first, last)
    else:
        sky = sky_day(place, times, through)
        skies = season_days(sky, day, n=days, seed=seed, part=slice(first, last))
    part = sky.part(first, last)
    lit = day_light.lit_day(studio, part, skies, clock.minutes, varied=outlook.varied)
    return sky, skies, lit


def _breaks(studio: Studio, day: date, clock: Clock) -> tuple[tuple[float, float], ...]:
    spans = [
        [clock.minute(wall_time("studio.toml hours.breaks", day, at, clock.zone)) for at in span]
        for span in studio.hours.breaks
    ]
    return tuple((max(low, 0.0), high) for low, high in spans if high > 0.0)


def _times_of_day(place: Place, clock: Clock, day: date) -> Times:
    """Return the middles of the clock's minutes from before the sun's midnight to after it."""
    first, last = sun.solar_day(day, place.longitude_deg)
    hands = clock.times_utc()
    before = max(math.ceil((hands[0] - first) / MINUTE), 0)
    after = max(math.ceil((last - hands[0]) / MINUTE) + 1, clock.minutes)
    return np.asarray(hands[0] + np.arange(-before, after) * MINUTE)
