"""Plan a day: join the studio, the weather, the light, the trade's steps and the planner."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np

from argentry.day import good_count
from argentry.day import notes as day_notes
from argentry.day import tables as day_tables
from argentry.day.appointments import appointments_of, sitter_notes, with_sitters
from argentry.day.day_clock import Clock
from argentry.day.fading import fading_notes
from argentry.day.lamp import lamp_notes
from argentry.day.missed import missed_by_cause, too_dark
from argentry.day.next_day import with_next_day
from argentry.day.pose import pose_notes
from argentry.day.remedies import further_notes, remedy_notes
from argentry.day.setting import DaySetting, setting_of
from argentry.errors import BadInput
from argentry.needs.numbers import NAMES, numbers_in_use
from argentry.physics.lights import sun
from argentry.plan.day import Planned, plan_day
from argentry.records.day import MOST_PLATES, DayPlan, Pause, Proof
from argentry.records.decision import OwnNumbers
from argentry.records.learned import GoodOdds
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook, Weather
from argentry.records.wishes import NOTHING_WISHED, Wishes
from argentry.sky.place import zone_note
from argentry.sky.sky_day import SkyDay
from argentry.trade import steps as trade_steps


def make_day(
    studio: Studio,
    day: date,
    *,
    plates: int | None = None,
    weather: Weather | None = None,
    haze: float | None = None,
    learned: OwnNumbers | None = None,
    as_written: bool = False,
    good: Callable[[], GoodOdds | None] | None = None,
    effort: float = 1.5,
    simulated_days: int = 200,
    seed: int = 1,
    now: datetime | None = None,
    wishes: Wishes = NOTHING_WISHED,
    look_ahead: bool = False,
    outlook: Outlook = NO_OUTLOOK,
    by_rule: bool = False,
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
        Longest search of the solver, see `argentry.plan.solver.solve.solve`. [1]
    simulated_days : int
        Days by which plans are compared; four times as many are behind every range.
    seed : int
        For weathers and durations; the same seed gives the same sheet.
    now : datetime, optional
        The moment of planning: hours of this day that are gone by then are left out.
    wishes : Wishes, optional
        What is asked of this day alone; hours, breaks and hands are those of `studio`.
    look_ahead : bool
        True tells, of a day that holds no plate, the next one that does.
    outlook : Outlook
        The same weather with what else is known of the sky; `weather` goes before it.
    by_rule : bool
        True for a first plan in a second, see `argentry.plan.day.plan_day`; what would help a day
        that holds too few plates is not looked for.
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
    progress("light and weather")
    setting = setting_of(
        studio, day, outlook=outlook if weather is None else replace(outlook, weather=weather),
        haze=haze, learned=learned, as_written=as_written, now=now, seed=seed, wishes=wishes,
    )  # fmt: skip
    progress("order of the day and its proof, hundreds of simulated days")
    setting, wanted = with_sitters(setting, plates, seed)
    planned = plan_day(
        setting.wanted(wanted), effort=effort, simulated_days=simulated_days, seed=seed,
        by_rule=by_rule,
    )  # fmt: skip
    progress("sheet")
    asked = planned.placed if plates is None else plates
    odds = good() if good is not None else None if learned is None else learned.good
    plan = printed(setting, planned, asked, odds, seed=seed, help_=not by_rule)
    return with_next_day(plan, setting, seed=seed) if look_ahead and not by_rule else plan


def printed(
    setting: DaySetting,
    planned: Planned,
    asked: int,
    odds: GoodOdds | None,
    *,
    seed: int,
    help_: bool = True,
) -> DayPlan:
    """Return a plan as sheets show it and the bench runs it.

    Parameters
    ----------
    setting : DaySetting
        Studio and light of the day.
    planned : Planned
        The plan.
    asked : int
        Plates wanted.
    odds : GoodOdds or None
        Of a good plate, as learned.
    seed : int
        For the draws.
    help_ : bool
        False leaves out what would help a day that holds too few plates: it takes a plan for each.
    """
    studio, clock, lit, day = setting.studio, setting.clock, setting.lit, setting.date
    blocks = planned.blocks
    tables = day_tables.end_tables(lit, seed)
    hours = day_tables.hours(clock, lit, blocks, tables)
    served = day_tables.light_serves(planned, blocks, float(clock.minutes), tables)
    frames = sum(frame.count for frame in studio.frames)
    causes: dict[str, float] = {}
    dark = 1.0
    if planned.days is not None:
        causes = missed_by_cause(planned, frames, served, float(clock.minutes))
        dark = float(too_dark(planned, served).mean())
    share, behind = good_count.good_share(studio, odds)
    appointments = appointments_of(setting, planned)
    more = (
        *sitter_notes(appointments),
        *pose_notes(setting),
        *(lamp_notes(setting, planned, asked) if help_ else ()),
        *fading_notes(planned),
    )
    if help_:
        more = (*further_notes(setting, planned), *remedy_notes(setting, planned, asked), *more)
    sunrise, sunset = _sun_times(setting.sky, day, clock)
    area = trade_steps.plate_size(studio.habits.plate_size).area_cm2
    zone = zone_note(studio.site.time_zone, studio.site.longitude_deg, day.year)
    steps = day_tables.steps(setting, planned)
    return DayPlan(
        studio=studio.name,
        place=studio.site.name,
        invented=studio.invented,
        date=day,
        time_zone=str(clock.zone),
        begin=clock.begin,
        end=clock.end,
        breaks=tuple(Pause(clock.at(low), clock.at(high)) for low, high in setting.breaks),
        sunrise=sunrise,
        sunset=sunset,
        weather=setting.skies.note,
        weather_file=setting.lit.needs.varied,
        warnings=(
            *((zone,) if zone else ()),
            *day_notes.warnings(
                studio, setting.skies, lit, planned, hours, setting.box, asked, causes, more
            ),
        ),
        plates_asked=asked,
        plates_placed=planned.placed,
        plates_most=planned.most,
        plates_most_proved=planned.most_proved,
        plates_one_by_one=planned.one_by_one,
        steps=steps,
        hours=hours,
        minutes_overlapped=planned.finish,
        minutes_one_by_one=planned.one_by_one_minutes,
        finished=good_count.finished(planned),
        all_finished_share=planned.days.all_sound if planned.days is not None else 0.0,
        light_odds=1.0 - dark,
        good_share=share,
        good_share_plates=behind,
        good_plates=good_count.good_plates(planned, studio, seed, odds),
        proof=Proof(
            finish_minutes=planned.finish,
            bound_minutes=planned.bound,
            optimal=planned.proved,
            first_plan_seconds=planned.first_plan_seconds,
            seconds=planned.seconds,
            earliest_minutes=planned.earliest,
        ),
        days_simulated=0 if planned.days is None else len(planned.days.sound),
        materials=day_notes.materials(area, planned),
        coat=day_notes.coat(studio, setting.box, setting.over_iodine),
        cautions=day_notes.cautions(steps),
        learned=setting.known.learned,
        over_iodine_seconds=setting.over_iodine,
        numbers_in_use=numbers_in_use(setting.known, *NAMES),
        as_written=setting.known.as_written,
        wishes=setting.wishes,
        appointments=appointments,
        polished=day_tables.polished(planned),
        another_day=day_tables.another_day(planned),
        units=studio.units,
        one_more=planned.further is not None,
    )


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
