"""The studio's own numbers behind an answer, in words."""

from __future__ import annotations

from collections.abc import Sequence

from argentry.out.wording import plates, ranged
from argentry.records.decision import Learned
from argentry.records.needs import NumberInUse

NAMES = {
    "plate_speed": ("plate speed", "ISO"),
    "plate_noise": ("spread of plates", "stops"),
    "box_factor": ("box factor", ""),
    "development_dose": ("development dose", "kJ/m2"),
}
LEARNED = "Learned from your plates: {numbers}."
NOT_LEARNED = "No number learned from your plates is used: {numbers}."
AS_WRITTEN = "Numbers learned from your plates are left out, as asked: {numbers}."
FROM_PLATES = "{name} {ranged}, {plates}"
FROM_PLATES_UNTIL = "{name} {ranged}, {plates}, last {day} ({before} before that day)"
SAME = "the same"
FROM_ELSEWHERE = "{name} {ranged}, {source}"
SOURCES = {
    "given": "as given",
    "other studios": "as other studios learned it",
    "studio file": "from studio.toml",
    "trade": "the trade's starting value",
}


def numbers_line(numbers: Sequence[NumberInUse], *, as_written: bool) -> str:
    """Return which numbers an answer used: learned ones with range, count and date, else why not.

    Parameters
    ----------
    numbers : sequence of NumberInUse
        Of the answer.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    """
    learned = [one for one in numbers if one.source == "learned"]
    if learned:
        return LEARNED.format(numbers="; ".join(_said(one) for one in learned))
    whole = "; ".join(_said(one) for one in numbers)
    return (AS_WRITTEN if as_written else NOT_LEARNED).format(numbers=whole)


def _said(one: NumberInUse) -> str:
    name, unit = NAMES.get(one.what, (one.what.replace("_", " "), one.unit))
    span = ranged(one.value, one.low, one.high, unit)
    if one.low == one.high:
        span = f"{one.value:g} {unit}".strip()
    if one.source != "learned":
        return FROM_ELSEWHERE.format(name=name, ranged=span, source=SOURCES[one.source])
    template = FROM_PLATES if one.day is None or one.before is None else FROM_PLATES_UNTIL
    return template.format(
        name=name, ranged=span, plates=plates(one.plates), day=one.day, before=before(one)
    )


def before(one: NumberInUse | Learned) -> str:
    """Return what a number was before its last day, to as many places; "the same" where it is.

    Parameters
    ----------
    one : NumberInUse or Learned
        A number; without a value before its last day the words are empty.
    """
    if one.before is None:
        return ""
    now, was = (ranged(middle, one.low, one.high).split()[0] for middle in (one.value, one.before))
    return SAME if now == was else was
