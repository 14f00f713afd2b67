"""Which sitters a day has room for, and what became of each."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from argentry.day.day_clock import wall_time
from argentry.day.sitters import OPTION
from argentry.errors import BadInput
from argentry.plan.choose import RULE_DRAWS, holds
from argentry.plan.problem import problem_of, shop_of
from argentry.plan.solver.solve import solve
from argentry.plan.tasks import EXPOSURE, blocks_of
from argentry.records.day import Appointment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.day.setting import DaySetting
    from argentry.plan.day import Planned
    from argentry.plan.problem import Day, Special
    from argentry.records.wishes import Sitter

FEWER = "fewer plates ({plates}) are asked for than sitters come ({sitters})"
AS_MANY = "give at least {sitters}"
NOT_READY = "no plate can be ready for {who} and finished within the hours"
OTHERWISE = "give another time, longer hours, or more hands"
NO_ROOM = (
    "No plate for {who}: with the others none can be ready at that time and finished within the "
    "hours (another --sitter time, --from, --until or --workers may help)."
)
EFFORT = 0.5  # of the search for whether sitters fit
WHO, WHO_NAMED = "the sitter at {time}", "{name} at {time}"


def with_sitters(
    setting: DaySetting, plates: int | None, seed: int
) -> tuple[DaySetting, int | None]:
    """Return the day with the sitters that it has room for, and how many plates are wanted then.

    Raises
    ------
    BadInput
        If fewer plates are asked for than sitters come, or none of the plates can be made.
    """
    seats = setting.seats
    if not seats:
        return setting, plates
    if plates is not None and plates < len(seats):
        raise BadInput("--plates", FEWER, AS_MANY, plates=plates, sitters=len(seats))
    kept = _placeable(setting.wanted(None), [seat.special for seat in seats], seed)
    held = {id(special) for special in kept}
    if not kept:
        raise BadInput(OPTION, NOT_READY, OTHERWISE, who=_who(seats[0].sitter))
    wanted = None if plates is None else plates - len(seats) + len(kept)
    return replace(setting, seats=tuple(s for s in seats if id(s.special) in held)), wanted


def _placeable(day: Day, plates: Sequence[Special], seed: int) -> tuple[Special, ...]:
    """Return the plates that can be made together, an earlier one going before a later one."""
    kept: tuple[Special, ...] = ()
    for plate in plates:
        tried = (*kept, plate)
        if _fits(replace(day, special=tried, plates=len(tried)), seed):
            kept = tried
    return kept


def _fits(day: Day, seed: int) -> bool:
    """Say whether there is a plan with all the plates of a day."""
    assert day.plates is not None
    shop = shop_of(day, blocks_of(day.tasks), day.plates)
    if holds(shop, seed, RULE_DRAWS):
        return True
    return solve(problem_of(shop), effort=EFFORT, any_plan=True).found


def appointments_of(setting: DaySetting, planned: Planned) -> tuple[Appointment, ...]:
    """Return every sitter who was asked for, with the plate and the pose as planned."""
    pose = next((i for i, b in enumerate(planned.blocks) if b.kind == EXPOSURE), 0)
    seated = {
        id(seat.sitter): plate
        for plate in range(planned.placed)
        if (seat := setting.seat_of(planned.special_of(plate))) is not None
    }
    clock, found = setting.clock, []
    for sitter in sorted(setting.wishes.sitters, key=lambda one: one.time):
        plate = seated.get(id(sitter))
        time = wall_time(OPTION, setting.date, sitter.time, clock.zone)
        if plate is None:
            found.append(Appointment(time, sitter.name, None, None, None))
            continue
        start, end = (clock.at(float(t[plate, pose])) for t in (planned.starts, planned.ends))
        asked = (sitter.size, sitter.f_number)
        found.append(Appointment(time, sitter.name, plate + 1, start, end, *asked))
    return tuple(found)


def sitter_notes(appointments: Sequence[Appointment]) -> tuple[str, ...]:
    """Return a line for every sitter for whom no plate could be placed."""
    return tuple(NO_ROOM.format(who=_told(one)) for one in appointments if one.plate is None)


def _told(one: Appointment) -> str:
    time = f"{one.time:%H:%M}"
    return (WHO_NAMED if one.name else WHO).format(name=one.name, time=time)


def _who(sitter: Sitter) -> str:
    return (WHO_NAMED if sitter.name else WHO).format(name=sitter.name, time=sitter.time)
