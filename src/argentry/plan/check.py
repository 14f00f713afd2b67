"""Whether a plan can be carried out: every rule checked plainly, with nothing taken from a planner.

It shares no code with what makes the plan: not the tables of ends, not the spans of rooms and
frames. Minutes count from the start of the day's grid.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.daylight import DayLight, Frames
    from argentry.plan.problem import Day, Special
    from argentry.plan.tasks import Block


ROUNDS = 12  # in which the length of an exposure and the dose for that length come together
TOLERANCE = 1e-6  # [min]
ROUNDED = 1.0  # a plan on whole minutes may end a step up to this much after the light does [min]

UNPLANNED = "Plate {plate}: {step} has no start, no end or no frame."
EARLY = "Plate {plate}: {step} begins at minute {minute:g}, before minute {limit:g}."
LATE = "Plate {plate}: {step} ends at minute {minute:g}, after minute {limit:g}."
SHORT = "Plate {plate}: {step} takes {need:g} min and is given {given:g} min."
ORDER = "Plate {plate}: {step} begins at minute {minute:g}, before the end of {before} at {end:g}."
PAUSE = "Plate {plate}: {step} begins {gap:g} min after {before} and must follow at once."
KEEPING = "Plate {plate}: {step} begins {gap:g} min after {before}; {limit:g} min are allowed."
BREAK = "Plate {plate}: {step} needs hands in the break from minute {low:g} to {high:g}."
DARK = "Plate {plate}: {step} begun at minute {minute:g} never gets the light it needs."
TOO_SOON = "Plate {plate}: {step} ends at minute {minute:g}; the light needs until {end:.1f}."
TOO_LATE = "Plate {plate}: {step} ends at minute {minute:g}; the light is enough at {end:.1f}."
TOO_LONG = "Plate {plate}: {step} lasts {given:.1f} min; {limit:.1f} min are allowed."
APPOINTED = (
    "Plate {plate}: {step} begins at minute {minute:g}; the sitter is there from {low:g} to "
    "{high:g}."
)
HANDS = "At minute {minute:g} plates {plates} need {count} pairs of hands; the day has {most}."
ROOM = "At minute {minute:g} plates {plates} hold {room}, of which there is room for {most}."
FRAME = "At minute {minute:g} plates {plates} lie in the frame {room}, which holds {most}."


class _Span(NamedTuple):
    """What one plate takes hold of, and for how long."""

    plate: int
    low: float
    high: float
    begun: bool = False  # before the plan was made: what cannot be helped is not a fault of it


class _Taken:
    """Who takes hold of what: hands, what holds one plate at a time, frames by kind.

    A block that was begun before the plan only adds its spans here.
    """

    def __init__(self) -> None:
        self.hands: list[_Span] = []
        self.rooms: dict[str, list[_Span]] = defaultdict(list)
        self.frames: dict[int, list[_Span]] = defaultdict(list)


def faults(
    day: Day,
    blocks: Sequence[Block],
    starts: Floats,
    ends: Floats,
    frame_kind: Whole,
    begun: Truth | None = None,
) -> tuple[str, ...]:
    """Return what is wrong with a plan, in plain sentences.

    Parameters
    ----------
    day : Day
        What is there: hands, hours, breaks, frames and light.
    blocks : sequence of Block
        A plate's blocks in order.
    starts, ends : Floats, shape (plates, blocks)
        The plan. [min]
    frame_kind : Whole, shape (plates,)
        Kind of frame of each plate.
    begun : Truth, shape (plates, blocks), optional
        Blocks begun before the plan was made: what they did is not asked of it, but they hold what
        they hold.

    Returns
    -------
    tuple of str
        Empty for a plan that keeps every rule.
    """
    kinds = len(day.light.frames)
    missing = [
        UNPLANNED.format(plate=plate + 1, step=_name(block))
        for plate, (row, last) in enumerate(zip(starts, ends, strict=True))
        for index, block in enumerate(blocks)
        if not (math.isfinite(row[index]) and math.isfinite(last[index]))
        or (_law(block) == "development" and not 0 <= frame_kind[plate] < kinds)
    ]
    if missing:  # without times nothing else can be said
        return tuple(missing)
    found: list[str] = []
    taken = _Taken()
    longest = _longest(day.light)
    everyones = blocks
    for plate, (row, last) in enumerate(zip(starts.tolist(), ends.tolist(), strict=True)):
        blocks, light = everyones, day.light
        special = day.special[plate] if plate < len(day.special) else None
        if special is not None:
            blocks, light = _own_blocks(everyones, special), special.light
        limit = longest if special is None else _longest(light)
        past = 0 if begun is None else int(begun[plate].sum())
        found += _of_plate(day, blocks, plate, row, last, (past, begun is not None))
        kind = int(frame_kind[plate])
        found += _of_light(light, blocks, plate, row, last, (kind, past), limit)
        _take(taken, blocks, plate, row, last, (kind, past))
    found += _shared(day, taken)
    return tuple(found)


def _own_blocks(blocks: Sequence[Block], special: Special) -> list[Block]:
    """Return everyone's blocks with a plate's own steps in them."""
    own = {task.key: task for task in special.tasks}
    return [
        replace(block, tasks=tuple(own[task.key] for task in block.tasks if task.key in own))
        for block in blocks
    ]


def _of_plate(
    day: Day,
    blocks: Sequence[Block],
    plate: int,
    starts: list[float],
    ends: list[float],
    past_and_midday: tuple[int, bool],
) -> Iterator[str]:
    """Check a plate's own blocks: hours, lengths, order, keeping limits, breaks.

    The first `past` of them were begun before the plan; a limit that runs from one of those may be
    gone already. In the middle of a day whoever has plates in hand gives up a break before one
    spoils, and lays a card over the frame of a ripe one until hands are free.
    """
    number = plate + 1
    past, midday = past_and_midday
    for index, block in enumerate(blocks):
        start, end, step = starts[index], ends[index], _name(block)
        if index < past:
            continue
        if start < day.first_minute - TOLERANCE:
            yield EARLY.format(plate=number, step=step, minute=start, limit=day.first_minute)
        if end > day.last_minute + TOLERANCE:
            yield LATE.format(plate=number, step=step, minute=end, limit=day.last_minute)
        need = sum(task.minutes for task in block.tasks) if not _law(block) else 0.0
        if end - start < need - 0.01 - TOLERANCE:  # lengths on whole minutes let a hundredth go
            yield SHORT.format(plate=number, step=step, need=need, given=end - start)
        limit = block.tasks[0].within
        if _attended(block) and not (midday and limit is not None):
            for low, high in day.breaks:
                if start < high - TOLERANCE and end > low + TOLERANCE:
                    yield BREAK.format(plate=number, step=step, low=low, high=high)
        if index == 0:
            continue
        before, gap = _name(blocks[index - 1]), start - ends[index - 1]
        if gap < -TOLERANCE:
            yield ORDER.format(
                plate=number, step=step, minute=start, before=before, end=ends[index - 1]
            )
        elif not _attended(block):
            if gap > TOLERANCE and index > past:
                yield PAUSE.format(plate=number, step=step, gap=gap, before=before)
        elif midday and _law(blocks[index - 1]) == "development":
            continue
        elif limit is not None and index > past and gap > limit + TOLERANCE:
            yield KEEPING.format(plate=number, step=step, gap=gap, before=before, limit=limit)


def _of_light(
    light: DayLight,
    blocks: Sequence[Block],
    plate: int,
    starts: list[float],
    ends: list[float],
    kind_and_past: tuple[int, int],
    longest: float,
) -> Iterator[str]:
    """Check that the light of the day ends what it is planned to end."""
    kind, past = kind_and_past
    for block, start, end in list(zip(blocks, starts, ends, strict=True))[past:]:
        law, about = _law(block), {"plate": plate + 1, "step": _name(block)}
        if not law:
            continue
        if law == "exposure" and not light.window[0] <= start <= light.window[1]:
            low, high = light.window
            yield APPOINTED.format(minute=start, low=low, high=high, **about)
        at = np.array([start])
        lit = _exposed(light, at) if law == "exposure" else _ripe(light.frames[kind], at)
        done = float(lit[0])
        if not math.isfinite(done):
            yield DARK.format(minute=start, **about)
            continue
        if end < done - TOLERANCE:
            yield TOO_SOON.format(minute=end, end=done, **about)
        elif end > done + ROUNDED + TOLERANCE:
            yield TOO_LATE.format(minute=end, end=done, **about)
        if law == "exposure" and done - start > longest + TOLERANCE:
            yield TOO_LONG.format(given=done - start, limit=longest, **about)


def _take(
    taken: _Taken,
    blocks: Sequence[Block],
    plate: int,
    starts: list[float],
    ends: list[float],
    kind_and_past: tuple[int, int],
) -> None:
    """Note down what a plate takes hold of."""
    kind, past = kind_and_past
    frame = next((t.resource for b in blocks for t in b.tasks if t.law == "development"), "")
    out, back, taken_before = math.inf, math.nan, False
    for index, block in enumerate(blocks):
        if _attended(block):
            taken.hands.append(_Span(plate, starts[index], ends[index], index < past))
        held: dict[str, _Span] = {}
        now = starts[index]
        for task in block.tasks:
            # what the light decides fills its block; everything else lasts its minutes
            then = ends[index] if _law(block) else now + task.minutes
            if task.resource and task.resource == frame:
                if starts[index] < out:
                    out, taken_before = starts[index], index < past
                back = starts[index + 1] if index + 1 < len(blocks) else ends[index]
            elif task.resource:
                low = held[task.resource].low if task.resource in held else now
                held[task.resource] = _Span(plate, low, then, index < past)
            now = then
        for room, span in held.items():
            taken.rooms[room].append(span)
    if math.isfinite(out):
        taken.frames[kind].append(_Span(plate, out, back, taken_before))


def _shared(day: Day, taken: _Taken) -> Iterator[str]:
    """Check hands, rooms and frames: never more at a time than there are."""
    for minute, plates in _too_many(taken.hands, day.workers):
        yield HANDS.format(
            minute=minute, plates=_listed(plates), count=len(plates), most=day.workers
        )
    for room, spans in taken.rooms.items():
        most = day.room_counts.get(room, 1)
        for minute, plates in _too_many(spans, most):
            yield ROOM.format(minute=minute, plates=_listed(plates), room=room, most=most)
    for kind, spans in taken.frames.items():
        frames = day.light.frames[kind]
        for minute, plates in _too_many(spans, frames.count):
            yield FRAME.format(
                minute=minute, plates=_listed(plates), room=frames.name, most=frames.count
            )


def _too_many(spans: list[_Span], most: int) -> list[tuple[float, list[int]]]:
    """Return the first moment at which more than `most` spans lie over each other, with plates."""
    for moment in sorted(span.low for span in spans):
        # a span that ends now makes room for one that begins now
        over = [s for s in spans if s.low <= moment + TOLERANCE < s.high - TOLERANCE]
        if len(over) > most and not all(span.begun for span in over):
            return [(moment, [span.plate for span in over])]
    return []


def _exposed(light: DayLight, starts: Floats) -> Floats:
    """Return when exposures begun then have their light; inf where they never have it [min]."""
    if light.expected is not None:
        return _read(light.expected, starts)
    ends = _gathered(light.exposure_middle, light.exposure_dose, starts)
    law = light.law
    for _ in range(ROUNDS if law.exponent != 1.0 else 0):
        lit = np.isfinite(ends)
        lengths = np.where(lit, ends - starts, 0.0)
        need = (60.0 * lengths / law.reference_s) ** (1.0 - law.exponent)
        again = _gathered(light.exposure_middle, light.exposure_dose * need, starts)
        ends = np.where(lit, again, np.inf)
    return ends


def _ripe(frames: Frames, starts: Floats) -> Floats:
    if frames.expected is not None:
        return _read(frames.expected, starts)
    return _gathered(frames.middle, frames.dose, starts)


def _longest(light: DayLight) -> float:
    """Return the longest pose a plan may hold [min]."""
    minutes = np.arange(light.minutes + 1.0)
    lengths = _exposed(light, minutes) - minutes
    possible = lengths[lengths <= light.longest_exposure]
    shortest = float(possible.min(initial=math.inf))
    return min(light.longest_exposure, light.patience * shortest)


def _gathered(sums: Floats, dose: float | Floats, starts: Floats) -> Floats:
    """Return when the running sum of light has grown by the dose; inf where it never has."""
    last = sums.shape[0] - 1
    inside = (starts >= 0.0) & (starts <= last)
    begun = np.interp(np.where(inside, starts, 0.0), np.arange(last + 1.0), sums)
    wanted = begun + dose
    over = np.searchsorted(sums, wanted - 1e-9 * np.asarray(dose))
    high = np.clip(over, 1, last)
    before, after = sums[high - 1], sums[high]
    with np.errstate(divide="ignore", invalid="ignore"):
        reached = high - 1 + np.minimum((wanted - before) / (after - before), 1.0)
    ends = np.where(over == 0, starts, np.maximum(starts, reached))
    return np.where(inside & (over <= last), ends, np.inf)


def _read(table: Floats, starts: Floats) -> Floats:
    """Return the ends that a table of ends by starting minute holds; inf where it holds none."""
    last = table.shape[0] - 1
    inside = (np.floor(starts) >= 0.0) & (np.floor(starts) <= last)
    low = np.where(inside, np.floor(starts), 0.0).astype(np.int64)
    part = np.where(inside, starts - low, 0.0)
    between = table[low] + part * (table[np.minimum(low + 1, last)] - table[low])
    ends = np.where(part < TOLERANCE, table[low], between)
    return np.where(inside & ~np.isnan(ends), ends, np.inf)


def _law(block: Block) -> str:
    """Return what of the light ends a block: exposure, development, or nothing."""
    return block.tasks[0].law if block.tasks[0].law in ("exposure", "development") else ""


def _attended(block: Block) -> bool:
    return any(task.attended for task in block.tasks)


def _name(block: Block) -> str:
    return block.tasks[0].key


def _listed(plates: list[int]) -> str:
    return ", ".join(str(plate + 1) for plate in sorted(plates))
