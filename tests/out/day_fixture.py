"""An invented day for the sheets' tests: not the planner, only something shaped like its answer."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from argentry.records.day import Amount, DayPlan, HourLight, Pause, PlannedStep, Proof, Range
from argentry.trade.steps import cautions as trade_cautions
from argentry.trade.steps import steps as trade_steps

# Words and lengths are the trade's own, so that the sheets are tried on what they must carry.
RULES = {rule.key: rule for rule in trade_steps()}
PLATE_STEPS = tuple(rule for rule in RULES.values() if rule.scope == "plate")
# What ends before a step with a keeping limit, in the words of the planner.
BEFORE = {"expose": "the end of load", "to_frame": "the end of expose", "fix": "ripe",
          "gild": "the end of look"}  # fmt: skip
HANDS_AGAIN = [rule.key for rule in PLATE_STEPS].index("develop") + 1


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

    def put(plate: int, rule: object, start: datetime, slack: float) -> datetime:
        stop = later(start, rule.typical_minutes * pace)
        since = (start.astimezone(UTC) - opened.astimezone(UTC)).total_seconds() / 60
        steps.append(
            PlannedStep(
                plate, rule.key, rule.title, rule.resource or "hands", rule.attended, start, stop,
                later(start, slack), slack,
                later(start, -(2 + since / 40)), later(start, 4 + since / 20),
                Range(rule.low_minutes * pace, rule.typical_minutes * pace,
                      rule.high_minutes * pace),
                rule.look_for, rule.checks_line,
                tuple(trade_cautions()[key].text for key in rule.cautions),
                BEFORE.get(rule.key, ""),
                rule.start_within_minutes if rule.key in BEFORE else None,
            )
        )  # fmt: skip
        return stop

    put(0, RULES["ready_room"], opened, 35.0)
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
            for rule in PLATE_STEPS[HANDS_AGAIN:]:
                now = put(plate, rule, now, 40.0 + 3 * plate)
        else:
            plate = todo.pop(0)
            for rule in PLATE_STEPS[: HANDS_AGAIN - 1]:
                now = put(plate, rule, now, 25.0 + 5 * plate)
            waiting.append((put(plate, RULES["develop"], now, 15.0), plate))
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
        "date": midnight.date(),
        "time_zone": str(midnight.tzinfo),
        "begin": opened,
        "end": closed,
        "breaks": (Pause(midnight.replace(hour=13), midnight.replace(hour=13, minute=45)),),
        "sunrise": midnight.replace(hour=7, minute=2),
        "sunset": midnight.replace(hour=21, minute=34),
        "weather": "broken cloud, hourly forecast from forecast.csv",
        "warnings": ("Air is damp: warm each plate to 21 °C before it goes over the iodine.",),
        "plates_asked": plates,
        "plates_placed": plates,
        "plates_most": plates + 1,
        "plates_most_proved": plates > 2,
        "plates_one_by_one": max(1, plates // 2),
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
            Amount("iodine", f"{plates * 6} mg"),
            Amount("fixer", f"{plates * 120} mL"),
            Amount("gold solution", f"{plates * 22} mL"),
            Amount("distilled water", f"{plates * 1.5:g} L"),
        ),
        "coat": {
            "thickness": "25 nm",
            "colour": "gold, first cycle",
            "srgb": "#C8A25A",
            "over iodine": "74 s (58 to 95) in box 1 at 20 °C, turned at half time",
        },
        "cautions": tuple(
            trade_cautions()[key].text for key in ("iodine_vapour", "iodine_ammonia", "general")
        ),
    }
    plan.update(changes)
    return DayPlan(**plan)  # type: ignore[arg-type]
