"""What is asked of one day: read from an option or a field of a page, and planned with."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from argentry import trade
from argentry.errors import BadInput
from argentry.records.day import DayPlan, weekday_and_date
from argentry.records.instruments import Lamp
from argentry.records.studio import Studio
from argentry.records.units import Units, read
from argentry.records.weather import NO_OUTLOOK, Outlook
from argentry.records.wishes import NOTHING_WISHED, Sitter, Wishes

# By the fields of `Wishes`: a text, or several where it may be repeated; an empty one asks nothing.
Wished = Mapping[str, str | Sequence[str]]

# What each wish is called as an option; a page and an address say the same without dashes
# (`argentry.web.answers`).
OPTIONS: Mapping[str, str] = {
    "start": "--from",
    "end": "--until",
    "breaks": "--break",
    "workers": "--workers",
    "frames": "--frames",
    "boxes": "--boxes",
    "cameras": "--cameras",
    "lamp": "--lamp",
    "polished": "--polished",
    "seal_later": "--seal-later",
    "pose_under": "--pose-under",
    "sitters": "--sitter",
}
SPAN = re.compile(r"\s*(\d{1,2}:\d\d)\s*[-–]\s*(\d{1,2}:\d\d)\s*")
NUM, UNIT = r"\d{1,6}(?:\.\d+)?", r"(?:m|cm|mm|ft|in)"
LAMP = re.compile(
    rf"(?P<power>{NUM})\s*W"
    rf"(?:\s+(?P<wide>{NUM})\s*(?:[x×]\s*(?P<high>{NUM})\s*)?(?P<unit>{UNIT}))?"
    rf"\s+at\s+(?P<far>{NUM}\s*{UNIT})",
    re.IGNORECASE,
)
LAMP_READ = re.compile(
    rf"(?P<value>{NUM})\s*(?P<unit>W/m2|W/m²|lx|lux)(?:\s+under the filter)?", re.IGNORECASE
)
LENGTH = re.compile(r"\s*(\d{1,4}(?:\.\d+)?)\s*(min|s|)(?:(?<=min)\s*(\d{1,2})\s*s)?\s*")
SEPARATOR = re.compile(r"[\r\n;]+")
NUMBER = re.compile(r"\d{1,3}(?:\.\d+)?")
NOT_A_NUMBER = "{given!r} is not a number"
OF_SITTER = {"name": "name", "pose": "pose_s", "f": "f_number", "size": "size"}
NOT_OF_A_SITTER = "{given!r} is not something that can be said of a sitter"
A_SITTER = 'write it as "11:00 name=Anna, pose=40 s, f=4, size=quarter"; only the time is needed'
NO_BREAK = "none"
YES_NO = {"yes": True, "no": False}
NOT_YES_NO = "{given!r} is neither yes nor no"
NOT_A_LENGTH = "{given!r} is not a length of time"
A_LENGTH = "write it as 4 min or 90 s"
NOT_A_BREAK = "{given!r} is not a break"
A_BREAK = "write it as 12:00-13:00, or none for no break"
NOT_A_LAMP = "{given!r} is not a lamp"
A_LAMP = (
    'write its power and distance as "500 W at 0.3 m" or "50 W red led 30 x 20 cm at 5 cm", '
    'or what you read under the filter as "12 W/m2" or "900 lx red led"'
)
PAST = "{day} is past: this plan is made as if it were still to come."
NOT_WHOLE = "{given!r} is not a whole number"
WHOLE = "give a number such as 2"


def read_wishes(given: Wished) -> Wishes:
    """Return what is asked of a day from words.

    Raises
    ------
    BadInput
        If a text cannot be read.
    """
    said = {name: value for name, value in given.items() if value}
    read = {
        name: READERS[name](OPTIONS[name], [value] if isinstance(value, str) else list(value))
        for name, value in said.items()
    }
    return Wishes(**read)


def plan_day(
    studio: Studio,
    day: date,
    wishes: Wishes = NOTHING_WISHED,
    *,
    outlook: Outlook = NO_OUTLOOK,
    **how: Any,
) -> DayPlan:
    """Plan a day as it is wished for.

    Parameters
    ----------
    studio : Studio
        With its habits.
    day : date
        In the studio's zone.
    wishes : Wishes
        What is asked of this day alone.
    outlook : Outlook
        The weather, and what is said of it.
    **how
        As `argentry.day.plan.make_day`.

    Raises
    ------
    BadInput
        If a wish is impossible, or as `make_day`.
    """
    from argentry.day.plan import make_day
    from argentry.studio.today import studio_today

    today = studio_today(studio, wishes, OPTIONS)
    plan = make_day(today, day, wishes=wishes, look_ahead=True, outlook=outlook, **how)
    return with_outlook(plan, outlook)


def past_note(day: date, now: datetime) -> str:
    """Return that a day is past, to be said next to its plan; nothing for one that is not.

    Parameters
    ----------
    day : date
        The day of the plan.
    now : datetime
        By the studio's clock, with its zone.
    """
    return PAST.format(day=weekday_and_date(day)) if day < now.date() else ""


def with_outlook(plan: DayPlan, outlook: Outlook) -> DayPlan:
    """Return a plan that says where its weather is from, and what speaks against it."""
    warnings = (*outlook.said, *plan.warnings)
    return replace(plan, warnings=warnings, weather_origin=outlook.origin, light_read=outlook.read)


def _clock(_where: str, texts: list[str]) -> str:
    time = texts[-1].strip()
    return f"0{time}" if re.fullmatch(r"\d:\d\d", time) else time


def _breaks(where: str, texts: list[str]) -> tuple[tuple[str, str], ...]:
    found = []
    for text in (part for one in texts for part in one.split(",") if part.strip()):
        if text.strip().lower() == NO_BREAK:
            continue
        span = SPAN.fullmatch(text)
        if span is None:
            raise BadInput(where, NOT_A_BREAK, A_BREAK, given=text.strip())
        found.append((_clock(where, [span[1]]), _clock(where, [span[2]])))
    return tuple(found)


def _whole(where: str, texts: list[str]) -> int:
    text = texts[-1].strip()
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise BadInput(where, NOT_WHOLE, WHOLE, given=text)
    return int(text)


def _lamp(where: str, texts: list[str]) -> Lamp:
    """Read ``50 W red led 30 x 20 cm at 5 cm``, or ``900 lx red led`` read under the filter."""
    plain = " ".join(texts[-1].split())
    kinds = sorted(trade.toml("development")["lamp"], key=len, reverse=True)
    kind = next((one for one in kinds if one in plain.casefold()), None)
    if kind is not None:
        at = plain.casefold().index(kind)
        plain = " ".join(f"{plain[:at]} {plain[at + len(kind) :]}".replace(",", " ").split())
    if measured := LAMP_READ.fullmatch(plain):
        value, watts = float(measured["value"]), measured["unit"].upper().startswith("W")
        lamp = Lamp(reading_w_m2=value) if watts else Lamp(reading_lux=value)
    elif found := LAMP.fullmatch(plain):
        wide, high = (
            None
            if found[side] is None
            else read(where, f"{found[side]} {found['unit']}", "m", Units())
            for side in ("wide", "high")
        )
        lamp = Lamp(float(found["power"]), read(where, found["far"], "m", Units()))
        lamp = replace(lamp, width_m=wide, height_m=high)
    else:
        raise BadInput(where, NOT_A_LAMP, A_LAMP, given=texts[-1].strip())
    return lamp if kind is None else replace(lamp, kind=kind)


def _yes_no(where: str, texts: list[str]) -> bool:
    if texts[-1] not in YES_NO:
        raise BadInput(where, NOT_YES_NO, "give yes or no", given=texts[-1])
    return YES_NO[texts[-1]]


def _minutes(where: str, texts: list[str]) -> float:
    found = LENGTH.fullmatch(texts[-1])
    if found is None:
        raise BadInput(where, NOT_A_LENGTH, A_LENGTH, given=texts[-1].strip())
    return float(found[1]) / (60.0 if found[2] == "s" else 1.0) + float(found[3] or 0.0) / 60.0


def _sitters(where: str, texts: list[str]) -> tuple[Sitter, ...]:
    lines = [line for text in texts for line in SEPARATOR.split(text) if line.strip()]
    return tuple(_sitter(where, line) for line in lines)


def _sitter(where: str, text: str) -> Sitter:
    """Read ``11:00 name=Anna, pose=40 s, f=4, size=quarter``; a word alone is a name."""
    time, _, rest = text.strip().partition(" ")
    found: dict[str, Any] = {"time": _clock(where, [time])}
    for part in (part for part in rest.split(",") if part.strip()):
        key, mark, value = (one.strip() for one in part.partition("="))
        if not mark and len(found) == 1 and key[0].isalpha():
            key, mark, value = "name", "=", key
        if not mark or key not in OF_SITTER or not value:
            raise BadInput(where, NOT_OF_A_SITTER, A_SITTER, given=part.strip())
        found[OF_SITTER[key]] = value
    if "pose_s" in found:
        found["pose_s"] = 60.0 * _minutes(where, [found["pose_s"]])
    if "f_number" in found:
        found["f_number"] = _number(where, found["f_number"])
    return Sitter(**found)


def _number(where: str, text: str) -> float:
    if not NUMBER.fullmatch(text):
        raise BadInput(where, NOT_A_NUMBER, "give a number such as 4 or 5.6", given=text)
    return float(text)


READERS: Mapping[str, Callable[[str, list[str]], Any]] = {
    "start": _clock,
    "end": _clock,
    "breaks": _breaks,
    "workers": _whole,
    "frames": _whole,
    "boxes": _whole,
    "cameras": _whole,
    "lamp": _lamp,
    "polished": _whole,
    "seal_later": _yes_no,
    "pose_under": _minutes,
    "sitters": _sitters,
}
