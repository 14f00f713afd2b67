"""What a run is opened with: its plates, and the list of steps with the lengths of that moment."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from argentry.bench.plan_rows import plan_rows
from argentry.bench.state_json import iso
from argentry.needs.doubt.words import doubt_line
from argentry.needs.frame import cautions_here
from argentry.needs.light_lengths import NO_LIGHT_THEN, light_length
from argentry.needs.step_lengths import Length, opening_length, plate_rules
from argentry.physics.stops import Z80
from argentry.records.day import DayPlan, PlannedStep, Range
from argentry.records.plain import plain
from argentry.records.plate import Plate
from argentry.records.studio import Studio
from argentry.trade import steps as trade_steps
from argentry.trade.step_rule import Resource, StepRule

LIGHT_LAWS = ("exposure", "development")
OF_LABELS, OF_NUMBER = "{day}: {labels}", "{day}: plate {numbers}"
OF_NUMBERS = "{day}: plates {numbers}"


@dataclass(frozen=True)
class Opening:
    """A run about to be opened.

    Attributes
    ----------
    body : Mapping[str, Any]
        Body of ``run_opened``.
    skipped : tuple of (str, str)
        Plate and step done once for the whole run.
    lengths : tuple of (str, str, Length)
        Plate, step and length where one plate's differs from the list.
    """

    body: Mapping[str, Any]
    skipped: tuple[tuple[str, str], ...]
    lengths: tuple[tuple[str, str, Length], ...]


def run_rules() -> tuple[StepRule, ...]:
    """Return the steps of a run: those done once, then each plate's."""
    once = tuple(rule for rule in trade_steps.steps() if rule.scope == "day")
    return once + plate_rules()


def opening(
    studio: Studio,
    plates: Sequence[Plate],
    title: str,
    now: datetime,
    plan: DayPlan | None,
    forecast: str = "",
) -> Opening:
    """Return what a run with these plates is opened with.

    Parameters
    ----------
    studio : Studio
        The studio.
    plates : sequence of Plate
        In the plan's order.
    title : str
        Name of the run; empty for the date and the plates.
    now : datetime
        UTC.
    plan : DayPlan or None
        The day's plan; None: lengths of this moment.
    forecast : str
        File that the plan has its weather from, to make it again.
    """
    constants = _constants(studio, plates, plan)
    if forecast:
        constants["forecast"] = forecast
    local = now.astimezone(ZoneInfo(studio.site.time_zone))
    day = f"{local.date() if plan is None else plan.date:%Y-%m-%d}"
    first = [_lengths(studio, plate, now, constants, plan, i) for i, plate in enumerate(plates)]
    steps = [_step(studio, rule, first[0][rule.key]) for rule in run_rules()]
    site = studio.site
    body = {
        "title": title or _title(day, [plate.label for plate in plates]),
        "plates": [{"id": plate.id, "label": plate.label} for plate in plates],
        "steps": steps,
        "place": {
            "name": site.name,
            "latitude_deg": site.latitude_deg,
            "longitude_deg": site.longitude_deg,
            "elevation_m": site.elevation_m,
            "time_zone": site.time_zone,
        },
        "constants": constants,
        **({} if plan is None else {"plan": plan_rows(plan, [plate.id for plate in plates])}),
    }
    once = [rule.key for rule in run_rules() if rule.scope == "day"]
    skipped = tuple((plate.id, key) for plate in plates[1:] for key in once)
    lengths = tuple(
        (plate.id, key, length)
        for plate, own in zip(plates[1:], first[1:], strict=True)
        for key, length in own.items()
        if key not in once and abs(length.seconds - first[0][key].seconds) >= 1.0
    )
    return Opening(body, skipped, lengths)


def _title(day: str, labels: Sequence[str]) -> str:
    """Return the name of a run that nobody named; a day in its plates' labels is told once.

    >>> _title("2026-06-21", ["2026-06-21/1", "2026-06-21/2"]), _title("2026-06-21", ["Q-1"])
    ('2026-06-21: plates 1, 2', '2026-06-21: Q-1')
    """
    begin = f"{day}/"
    if not all(label.startswith(begin) for label in labels):
        return OF_LABELS.format(day=day, labels=", ".join(labels))
    numbers = ", ".join(label.removeprefix(begin) for label in labels)
    return (OF_NUMBER if len(labels) == 1 else OF_NUMBERS).format(day=day, numbers=numbers)


def _constants(studio: Studio, plates: Sequence[Plate], plan: DayPlan | None) -> dict[str, Any]:
    frames = [f.name for f in studio.frames]
    ripens = trade_steps.by_law("development").key
    used = [] if plan is None else [s.resource for s in plan.steps if s.step == ripens]
    frame = next((name for name in used if name in frames), frames[0])
    return {
        "basis": "the studio as it is"
        if plan is None
        else "the plan of {date:%Y-%m-%d}".format(date=plan.date),
        "weather": "a clear sky is assumed" if plan is None else plan.weather,
        "resources": {key: _count(studio, held) for key, held in trade_steps.resources().items()},
        "of_a_kind": _of_a_kind(studio),
        "frame": frame,
        "held": _held(studio, plates, plan),
        "box": studio.boxes[0].name,
        "coat_nm": studio.habits.coat_nm,
        "sizes": {plate.id: plate.size or studio.habits.plate_size for plate in plates},
        "hours": [] if plan is None else hours_expected(plan),
        **({} if plan is None else _of_plan(plates, plan)),
    }


def hours_expected(plan: DayPlan) -> list[list[Any]]:
    """Return the light that a plan expects of each hour, and how far it may turn.

    Without a weather file a plan's times are those of a clear sky, and so are the bench's: nothing.

    Returns
    -------
    list of [str, float, float, float, float]
        Start, exposure and development light [W/m2], and their spreads [stops].
    """
    return [
        [
            iso(hour.time),
            hour.exposure_w_m2.middle,
            hour.development_w_m2.middle,
            _sigma_stops(hour.exposure_w_m2),
            _sigma_stops(hour.development_w_m2),
        ]
        for hour in (plan.hours if plan.weather_file else ())
    ]


def hours_told(hours: Sequence[Sequence[Any]]) -> list[tuple[datetime, Range, Range]]:
    """Return light by the hour as `hours_expected` wrote it down: start, and each light's range."""

    def spread(middle: float, sigma_stops: float) -> Range:
        factor = 2.0 ** (Z80 * sigma_stops)
        return Range(middle / factor, middle, middle * factor)

    return [
        (datetime.fromisoformat(start), spread(violet, violet_sd), spread(red, red_sd))
        for start, violet, red, violet_sd, red_sd in hours
    ]


def _sigma_stops(light: Range) -> float:
    """Return how far the light of an hour may turn, as a standard deviation. [stops]."""
    return math.log2(light.high / light.low) / (2.0 * Z80) if light.low > 0.0 else 0.0


def _of_plan(plates: Sequence[Plate], plan: DayPlan) -> dict[str, Any]:
    """Return what was asked of the day, which plates are a sitter's, and which came polished."""
    ids = dict(enumerate((plate.id for plate in plates), 1))
    in_turn = sorted(plan.wishes.sitters, key=lambda one: one.time)
    return {
        "wishes": plain(plan.wishes),
        "asked": plan.plates_asked,
        "sitters": {
            ids[one.plate]: plain(sitter)
            for one, sitter in zip(plan.appointments, in_turn, strict=False)
            if one.plate in ids
        },
        "polished": [ids[number] for number in plan.polished if number in ids],
    }


def _count(studio: Studio, held: Resource) -> int:
    kinds = getattr(studio, held.of) if held.of else ()
    return sum(one.count for one in (kinds if held.several else kinds[:1])) or 1


def _of_a_kind(studio: Studio) -> dict[str, int]:
    """Return how many there are of each kind, where a studio may have several kinds."""
    several = [held.of for held in trade_steps.resources().values() if held.of and held.several]
    return {one.name: one.count for of in several for one in getattr(studio, of)}


def _held(
    studio: Studio, plates: Sequence[Plate], plan: DayPlan | None
) -> dict[str, dict[str, str]]:
    """Return by resource and plate which of the studio's it is given; nothing where nobody knows.

    That is the plan's choice, or the only kind that there is.
    """
    found: dict[str, dict[str, str]] = {}
    for key, held in trade_steps.resources().items():
        if not held.several:
            continue
        kinds = [one.name for one in getattr(studio, held.of)]
        rules = {rule.key for rule in run_rules() if rule.resource == key}
        found[key] = {}
        for order, plate in enumerate(plates):
            of_plan = _planned(plan, order)
            named = [of_plan[rule].resource for rule in rules if rule in of_plan]
            names = [name for name in named if name in kinds] or (kinds if len(kinds) == 1 else [])
            if names:
                found[key][plate.id] = names[0]
    return found


def _lengths(
    studio: Studio,
    plate: Plate,
    now: datetime,
    constants: Mapping[str, Any],
    plan: DayPlan | None,
    order: int,
) -> dict[str, Length]:
    """Return the length of every step of one plate."""
    # an imported plate may have no size: it counts as the studio's usual one
    area = trade_steps.plate_size(plate.size or studio.habits.plate_size).area_cm2
    planned = _planned(plan, order)
    lengths: dict[str, Length] = {}
    ahead = 0.0
    for rule in run_rules():
        length = opening_length(studio, rule, area)
        of_plan = planned.get(rule.key)
        # over iodine the bench counts the seconds over iodine, the plan the handling too
        if of_plan is not None and rule.law != "fuming":
            length = _from_plan(of_plan, plan)
        elif rule.law in LIGHT_LAWS:
            start = now + timedelta(seconds=ahead)
            lit = light_length(studio, rule.law, start, start, constants=constants)
            length = replace(length, made_of=NO_LIGHT_THEN) if lit is None else lit.length
        lengths[rule.key] = length
        ahead += length.seconds
    return lengths


def _planned(plan: DayPlan | None, order: int) -> dict[str, PlannedStep]:
    if plan is None:
        return {}
    number = order + 1 if any(step.plate == order + 1 for step in plan.steps) else 1
    return {step.step: step for step in plan.steps if step.plate in (0, number)}


def _from_plan(step: PlannedStep, plan: DayPlan | None) -> Length:
    minutes = step.minutes
    seconds = 60.0 * minutes.middle
    low, high = 60.0 * minutes.low, 60.0 * minutes.high
    if plan is not None and not math.isfinite(high):  # on some days it is never ripe: until the end
        high = (plan.end - step.start).total_seconds()
    made_of = "" if step.doubt is None else doubt_line(step.doubt)
    return Length(
        seconds, min(low, seconds), max(high, seconds), "as planned for this plate", made_of
    )


def _step(studio: Studio, rule: StepRule, length: Length) -> dict[str, Any]:
    # any of the studio's frames may be the one that is free
    frames = range(len(studio.frames))
    due = {one.key: one for frame in frames for one in cautions_here(studio, rule, frame)}
    within = rule.start_within_minutes
    return {
        "key": rule.key,
        "title": rule.title,
        "law": rule.law,
        "planned_s": round(length.seconds, 1),
        "low_s": round(length.low, 1),
        "high_s": round(length.high, 1),
        "made_of": length.made_of,
        "attended": rule.attended,
        "resource": rule.resource,
        "within_s": None if within is None else 60.0 * within,
        "look_for": rule.look_for,
        "checks": [
            {"when": check.when, "text": check.text, "at_minutes": check.at_minutes}
            for check in rule.checks
        ],
        "cautions": [
            {"key": key, "text": due[key].text, "asks_again": due[key].asks_again}
            for key in rule.cautions
            if key in due
        ],
        "speak": rule.title,
        "stage": rule.stage,
    }
