"""An invented day for the sheets' tests: not the planner, only something shaped like its answer."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from argentry.records.day import DayPlan, HourLight, PlannedStep, Proof, Range

# key, title, minutes (low, middle, high), attended, what else it holds, look for, check
STEPS = (
    ("scour", "Scour with fine abrasive, small circles", (4, 6, 12), True, "hands",
     "bright even metal, no film of grease", "look at it by raking light, do not breathe on it"),
    ("rouge_buff", "Buff with rouge, straight strokes", (5, 8, 16), True, "hands",
     "a mirror that hides itself", "view a printed grid in the plate"),
    ("final_buff", "Last buff, no powder, across the finished picture", (5, 8, 16), True, "hands",
     "no bloom, no scum", "turn the plate a quarter under one lamp"),
    ("warm", "Warm the plate above the room", (2, 3, 5), True, "hands",
     "no breath-mark", "infrared thermometer: 3 K or more above the dew point"),
    ("iodise", "Fume over iodine, turn at half time", (1.5, 2, 3), True, "box 1",
     "even gold tinged with rose", "reflect white tissue in the plate"),
    ("load", "Load the holder in deep yellow light", (1, 2, 5), True, "hands",
     "no dust on the plate", "blow it off; note the holder"),
    ("expose", "Expose: uncover, count, cover", (4, 6, 11), True, "camera",
     "the sitter still from first to last", "read the meter before and after"),
    ("to_frame", "Move to the development frame, tape the edges", (2, 3, 6), True, "frame 1",
     "sheet flat, no pinholes", "leak test on a spoilt plate"),
    ("develop", "Develop behind the red filter in the sun", (85, 120, 190), False, "frame 1",
     "whites first, then middle tones", "look at 30, 60, 90 min under the same filter"),
    ("fix", "Take out and fix in one smooth motion", (1.5, 2, 5), True, "hands",
     "the yellow gone evenly", "clearing time on a waste plate"),
    ("wash", "Wash in several changes of distilled water", (3, 5, 9), True, "hands",
     "no iridescence", "a drop of the last rinse leaves nothing on glass"),
    ("gild", "Gild level over a moving flame", (2, 4, 8), True, "fire",
     "dims, then clears; whites whiter, blacks deeper", "water rehearsal for the volume"),
    ("dry", "Dry from the top corner down", (2, 3, 6), True, "hands",
     "a single line going down", ""),
    ("inspect", "Cool, inspect, copy", (6, 10, 20), True, "hands",
     "contrast, no specks, no haze", "photograph at once"),
    ("seal", "Seal under glass, tape all four edges", (12, 20, 40), True, "hands",
     "no dust inside", "torch along the glass"),
)  # fmt: skip
SPLIT = 9  # steps before this one follow each other at once; those after wait for the plate


def later(when: datetime, minutes: float) -> datetime:
    """Return the time that many real minutes later, in the same zone."""
    return (when.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(when.tzinfo)


def make_plan(
    plates: int = 3,
    *,
    date: tuple[int, int, int] = (2026, 6, 14),
    zone: str = "Europe/Madrid",
    begin: str = "07:30",
    end: str = "20:30",
    workers: int = 1,
    pace: float = 1.0,
    **changes: object,
) -> DayPlan:
    """Return an invented day with this many plates, the hands never doing two things at once."""
    tz = ZoneInfo(zone)
    midnight = datetime(*date, tzinfo=tz)
    opened = midnight.replace(hour=int(begin[:2]), minute=int(begin[3:]))
    closed = midnight.replace(hour=int(end[:2]), minute=int(end[3:]))
    free = [opened] * workers
    steps: list[PlannedStep] = []

    def put(plate: int, index: int, start: datetime, slack: float) -> datetime:
        key, title, (low, middle, high), attended, holds, look, check = STEPS[index]
        stop = later(start, middle * pace)
        spread = 4.0 + (start.astimezone(UTC) - opened.astimezone(UTC)).total_seconds() / 1200
        caution = ("Iodine vapour: under the hood, face away.",) if key == "iodise" else ()
        steps.append(
            PlannedStep(
                plate, key, title, holds, attended, start, stop, later(start, slack), slack,
                later(start, -spread / 2), later(start, spread),
                Range(low * pace, middle * pace, high * pace), look, check, caution,
            )
        )  # fmt: skip
        return stop

    ready = Range(10 * pace, 20 * pace, 40 * pace)
    steps.append(
        PlannedStep(
            0, "ready_room", "Ready the room: wipe, air, read the psychrometer", "hands", True,
            opened, later(opened, 20 * pace), later(opened, 35), 35.0, opened, opened, ready,
            "dry and dustless", "torch beam for dust", (),
        )
    )  # fmt: skip
    free = [later(moment, 20 * pace) for moment in free]
    waiting: list[tuple[datetime, int]] = []
    todo = list(range(1, plates + 1))
    while todo or waiting:
        who = min(range(workers), key=lambda i: free[i].timestamp())
        now = free[who]
        due = [item for item in waiting if item[0].timestamp() <= now.timestamp()]
        if due or not todo:
            moment, plate = min(due or waiting, key=lambda item: item[0].timestamp())
            waiting.remove((moment, plate))
            now = max(now, moment, key=lambda when: when.timestamp())
            for index in range(SPLIT, len(STEPS)):
                now = put(plate, index, now, 40.0 + 3 * plate)
        else:
            plate = todo.pop(0)
            for index in range(SPLIT - 1):
                now = put(plate, index, now, 25.0 + 5 * plate)
            waiting.append((put(plate, SPLIT - 1, now, 15.0), plate))
        free[who] = now
    steps.sort(key=lambda step: step.start.timestamp())

    hours = []
    for count in range(6, 22):
        when = later(midnight, 60 * count)
        height = 70 * math.sin(math.pi * (when.hour - 6) / 15) if 6 <= when.hour < 21 else -5.0
        violet = max(0.0, 24 * math.sin(math.radians(max(0.0, height))) ** 1.5)
        red = max(0.0, 260 * math.sin(math.radians(max(0.0, height))) ** 0.8)
        minutes = 90 / violet if violet > 0.5 else math.inf
        odds = 0.95 if violet > 4 else 0.3 if violet > 1 else 0.0
        ripe = 0.93 if when.hour < 15 else 0.5 if when.hour < 17 else 0.02
        hours.append(
            HourLight(
                when, height, Range(0.55 * violet, 0.85 * violet, violet),
                Range(0.4 * red, 0.8 * red, red), Range(0.8 * minutes, minutes, 1.9 * minutes),
                odds, ripe, later(when, 125) if ripe > 0.4 else None,
            )
        )  # fmt: skip
    last = max(step.end.timestamp() for step in steps)
    length = (last - opened.timestamp()) / 60
    plan: dict[str, object] = {
        "studio": "The Swift's Loft (invented)",
        "place": "Peñalarga, an invented hill town",
        "invented": True,
        "date": midnight,
        "begin": opened,
        "end": closed,
        "breaks": ((midnight.replace(hour=13), midnight.replace(hour=13, minute=45)),),
        "sunrise": midnight.replace(hour=7, minute=2),
        "sunset": midnight.replace(hour=21, minute=34),
        "weather": "broken cloud, hourly forecast from forecast.csv",
        "warnings": ("Air is damp: warm each plate to 21 °C before it goes over the iodine.",),
        "plates_asked": plates,
        "plates_placed": plates,
        "plates_most": plates + 1,
        "plates_most_proved": plates > 2,
        "steps": tuple(steps),
        "hours": tuple(hours),
        "minutes_overlapped": length,
        "minutes_one_by_one": 20 + 202 * plates * pace,
        "finished": Range(max(0, plates - 1), plates, plates),
        "all_finished_share": 0.86,
        "light_odds": 0.91,
        "good_share": Range(0.42, 0.58, 0.73),
        "good_share_plates": 41,
        "good_plates": Range(0.3 * plates // 1, 0.6 * plates // 1, 0.9 * plates // 1),
        "proof": Proof(length, length if plates < 6 else 0.93 * length, plates < 6, 0.21, 1.9),
        "days_simulated": 400,
        "materials": (
            ("iodine", f"{plates * 6} mg"),
            ("fixer", f"{plates * 120} mL"),
            ("gold solution", f"{plates * 22} mL"),
            ("distilled water", f"{plates * 1.5:g} L"),
        ),
        "coat": (
            ("thickness", "25 nm"),
            ("colour", "gold, first cycle"),
            ("fuming", "74 s (58 to 95 s)"),
            ("sRGB", "#c8a25a"),
        ),
        "cautions": (
            "Iodine vapour: work under the hood; your local limits and the data sheet decide.",
            "Never bring ammonia near iodine or gold: the product explodes on touch.",
            "Gilding: open flame and hot liquid; goggles, no solvent on the bench.",
        ),
    }
    plan.update(changes)
    return DayPlan(**plan)  # type: ignore[arg-type]
