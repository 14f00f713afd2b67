"""A studio as it is on one day: what is wished for that day goes before its habits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from argentry.errors import check_range
from argentry.records.instruments import LAMP_FRAME, DevelopmentFrame, lamp_mistake
from argentry.records.studio import Hours, Studio
from argentry.records.wishes import Sitter, Wishes
from argentry.studio.check import read_value
from argentry.studio.file import hours_mistakes
from argentry.studio.keys import section

HABITS = {"polished": "polished", "seal_later": "seal_later", "pose_under": "longest_pose_min"}
POSE_S = (1.0, 3600.0)
HOURS = {name: name for name in ("start", "end", "breaks", "workers")}


def studio_today(studio: Studio, wishes: Wishes, where: Mapping[str, str]) -> Studio:
    """Return a studio with what is wished for one day in the place of its habits.

    Parameters
    ----------
    studio : Studio
        As in its file.
    wishes : Wishes
        Of the day.
    where : Mapping[str, str]
        What each wish is called where it was said, for the sentence of a mistake.

    Raises
    ------
    BadInput
        If a wish is impossible, alone or with the others.
    """
    hours = replace(studio.hours, **_wished("hours", wishes, where, HOURS))
    if wishes.breaks is None:
        hours = replace(hours, breaks=_within(hours))
    for mistake in hours_mistakes(hours, where):
        raise mistake
    frames, boxes, lenses = (
        (replace(rows[0], **_wished(part, wishes, where, {name: "count"})), *rows[1:])
        for part, name, rows in (
            ("frame", "frames", studio.frames),
            ("box", "boxes", studio.boxes),
            ("lens", "cameras", studio.lenses),
        )
    )
    frames += _lamp_frame(studio, wishes, where)
    habits = replace(studio.habits, **_wished("habits", wishes, where, HABITS))
    for sitter in wishes.sitters:
        _check_sitter(sitter, where["sitters"])
    return replace(studio, hours=hours, frames=frames, boxes=boxes, lenses=lenses, habits=habits)


def _check_sitter(sitter: Sitter, where: str) -> None:
    asked = (
        ("hours", "start", sitter.time),
        ("studio", "name", sitter.name or None),
        ("lens", "f_number", sitter.f_number),
        ("habits", "plate_size", sitter.size or None),
    )
    if sitter.pose_s is not None:
        check_range(where, sitter.pose_s, *POSE_S, "s")
    for part, name, value in asked:
        if value is not None:
            read_value(where, next(key for key in section(part).keys if key.name == name), value)


def _lamp_frame(
    studio: Studio, wishes: Wishes, where: Mapping[str, str]
) -> tuple[DevelopmentFrame, ...]:
    """Return the frame under today's lamp, with the filter of the first kind."""
    if wishes.lamp is None:
        return ()
    for key in section("frame.lamp").keys:
        if (value := getattr(wishes.lamp, key.name)) is not None:
            read_value(where["lamp"], key, value)
    if mistake := lamp_mistake(where["lamp"], wishes.lamp, {}):
        raise mistake
    return (replace(studio.frames[0], name=LAMP_FRAME, lamp=wishes.lamp, count=1),)


def _wished(
    part: str, wishes: Wishes, where: Mapping[str, str], keys: Mapping[str, str]
) -> dict[str, Any]:
    """Return what is wished of the keys of a section, checked as the file's are."""
    known = {key.name: key for key in section(part).keys}
    asked = {name: getattr(wishes, name) for name in keys}
    return {
        keys[name]: read_value(where[name], known[keys[name]], _listed(value))
        for name, value in asked.items()
        if value is not None
    }


def _listed(value: object) -> object:
    """Return pairs as a file holds them."""
    return [list(pair) for pair in value] if isinstance(value, tuple) else value


def _within(hours: Hours) -> tuple[tuple[str, str], ...]:
    """Return the usual breaks as far as they fall into the hours of the day."""
    cut = ((max(low, hours.start), min(high, hours.end)) for low, high in hours.breaks)
    return tuple((low, high) for low, high in cut if low < high)
