"""What makes room for one more plate, when a day does not hold all that are asked for."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import inf
from typing import TYPE_CHECKING

from argentry.day.setting import setting_on
from argentry.errors import BadInput
from argentry.plan.choose import holds
from argentry.plan.problem import cannot_fit, problem_of, shop_of
from argentry.plan.tasks import blocks_of
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from argentry.day.setting import DaySetting
    from argentry.plan.day import Planned
    from argentry.plan.further import Further
    from argentry.plan.problem import Day
    from argentry.plan.tasks import Block
    from argentry.records.studio import Studio

WOULD_FIT = "One more plate would fit with {remedies}."
MORE_HANDS = "another pair of hands (--workers {count})"
MORE_FRAMES = "one more frame (--frames {count})"
MORE_CAMERAS = "one more camera (--cameras {count})"
SEALED_LATER = "sealing left for another day (--seal-later)"
POLISHED = "plates polished the evening before (--polished {count})"
EARLIER = "a beginning an hour earlier (--from {time})"
LONGER = "an hour more at the end (--until {time})"
OR = ", or "
FURTHER = (
    "One more plate may be begun{after} {until} {time:%H:%M}: begun on {begun:.0f} % of days, "
    "finished on {sound:.0f} %."
)
UNTIL, AT_ONCE = "until", "at"  # that time, where it is no later than now
LAST_OF_ALL = "It waits for all other work."
FOLLOWS = (
    "Each of its steps comes after the same step of plate {plate}, about {minutes:.0f} min later."
)
COUNTED = "Materials are counted for it too."
AFTER = " after “{step}” of plate {plate}"
SEED = 1
HOUR = timedelta(hours=1)


def further_notes(setting: DaySetting, planned: Planned) -> tuple[str, ...]:
    """Return when a plate beyond the plan may be begun, where that pays."""
    one = planned.further
    if one is None:
        return ()
    words = further_words(setting, planned.blocks, one, lambda plate: str(plate + 1), -inf)
    turn = (
        FOLLOWS.format(plate=one.follows + 1, minutes=one.behind)
        if one.follows >= 0
        else LAST_OF_ALL
    )
    return (f"{words} {turn} {COUNTED}",)


def further_words(
    setting: DaySetting,
    blocks: Sequence[Block],
    one: Further,
    named: Callable[[int], str],
    now: float,
) -> str:
    """Return when a plate beyond a plan may be begun, and with which odds.

    Parameters
    ----------
    setting : DaySetting
        Studio and light of the day.
    blocks : sequence of Block
        A plate's blocks.
    one : Further
        How it is begun.
    named : Callable[[int], str]
        What a plate of the plan is called.
    now : float
        A step that is over by then need not be named. [min]
    """
    step = trade_steps.step(blocks[one.block].tasks[-1].key).title
    over = one.plate < 0 or bool((one.runs.ends[0, :, one.plate, one.block] <= now).all())
    return FURTHER.format(
        after="" if over else AFTER.format(step=step, plate=named(one.plate)),
        until=AT_ONCE if over and one.until <= now + 1.0 else UNTIL,
        time=setting.clock.at(one.until),
        begun=100 * float(one.begun.mean()),
        sound=100 * float(one.sound.mean()),
    )


def remedy_notes(setting: DaySetting, planned: Planned, asked: int) -> tuple[str, ...]:
    """Return what would make room for one more plate, each tried by itself."""
    if not 0 < planned.placed < asked:
        return ()
    more = planned.placed + 1
    found = [words for words, day in _others(setting, more) if _fits(day, more)]
    return (WOULD_FIT.format(remedies=OR.join(found)),) if found else ()


def _others(setting: DaySetting, plates: int) -> Iterator[tuple[str, Day]]:
    """Return the day with one thing changed, and what that is in words."""
    day, studio = setting.wanted(plates), setting.studio
    habits, lens = studio.habits, studio.lenses[0]
    yield (
        MORE_HANDS.format(count=day.workers + 1),
        replace(day, workers=day.workers + 1),
    )
    first, *others = day.light.frames
    light = replace(day.light, frames=(replace(first, count=first.count + 1), *others))
    if not setting.seats:  # the light of a sitter's plate is its own
        yield MORE_FRAMES.format(count=first.count + 1), replace(day, light=light)
    yield (
        MORE_CAMERAS.format(count=lens.count + 1),
        _with(setting, replace(studio, lenses=(replace(lens, count=lens.count + 1),)), plates),
    )
    if not habits.seal_later and not setting.seats:  # so are its steps
        later = replace(studio, habits=replace(habits, seal_later=True))
        yield SEALED_LATER, _with(setting, later, plates)
    if not habits.polished:
        early = replace(studio, habits=replace(habits, polished=plates))
        yield POLISHED.format(count=plates), _with(setting, early, plates)
    if setting.lit.needs.varied or setting.seats:
        return  # a forecast of the hours, and sitters, are not looked for outside them
    for words, key, by in ((EARLIER, "start", -HOUR), (LONGER, "end", HOUR)):
        moved = _moved(studio, key, by)
        if moved is not None:
            try:
                other = setting_on(replace(setting, studio=moved), setting.date)
            except BadInput:  # the clocks change then
                continue
            yield words.format(time=getattr(moved.hours, key)), other.wanted(plates)


def _with(setting: DaySetting, studio: Studio, plates: int) -> Day:
    """Return the day at a studio with other habits or instruments, in the same light."""
    return setting.at(studio).wanted(plates)


def _moved(studio: Studio, key: str, by: timedelta) -> Studio | None:
    """Return a studio with one end of its hours moved; None past the day's own."""
    hour, minute = (int(part) for part in getattr(studio.hours, key).split(":"))
    if hour == 24:
        return None
    time = datetime(2000, 1, 2, hour, minute) + by  # noqa: DTZ001 - a time of day
    if time.day != 2:
        return None
    hours, said = studio.hours, f"{time:%H:%M}"
    start, end = (said, hours.end) if key == "start" else (hours.start, said)
    return replace(studio, hours=replace(hours, start=start, end=end))


def _fits(day: Day, plates: int) -> bool:
    shop = shop_of(day, blocks_of(day.tasks), plates)
    return not cannot_fit(problem_of(shop)) and holds(shop, SEED)
