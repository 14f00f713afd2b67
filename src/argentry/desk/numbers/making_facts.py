"""What is known of a making beyond its row: the plate itself, its run, its step wedge."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from argentry.desk.numbers.run_so_far import with_run
from argentry.records.plate import VERDICTS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from argentry.desk.numbers.run_so_far import PlateSoFar
    from argentry.records.plate import Judged, Making, Plate


def with_strips(makings: Sequence[Making], wedges: Sequence[Judged]) -> list[Making]:
    """Return makings with the strips of step wedges that the maker confirmed.

    A wedge belongs to the newest making of its plate by the day on which it was confirmed; of
    several of one making the last word counts.
    """
    strips: dict[str, tuple[tuple[float, str], ...]] = {}
    for one in wedges:
        assert one.confirmed_at is not None
        last = one.confirmed_at.date() + timedelta(days=1)  # its day by any studio's clock
        own = [made for made in makings if made.plate == one.plate and made.day <= last]
        if own:
            made = max(own, key=lambda o: (o.day, o.session, o.order, o.id))
            strips[made.id] = _strips(one.answer.get("strips"))
    return [replace(made, strips=strips.get(made.id, ())) for made in makings]


def _strips(said: Any) -> tuple[tuple[float, str], ...]:
    """Return strips as an answer has them; one that a book from elsewhere spoilt is left out."""
    found = []
    for one in said if isinstance(said, list) else ():
        stops, verdict = (one.get(key) for key in ("stops", "verdict")) if one else (None, None)
        if isinstance(stops, (int, float)) and verdict in VERDICTS:
            found.append((float(stops), verdict))
    return tuple(found)


def with_facts(making: Making, so_far: PlateSoFar | None, plate: Plate) -> Making:
    """Return a making with what the bench saw of it."""
    if so_far is None:
        return of_plate(making, plate)
    return of_plate(with_run(making, so_far), plate, len(so_far.redone))


def as_it_was(plate: Plate, making: Making, backs: Mapping[str, Sequence[date]]) -> Plate:
    """Return a plate as it was when it was made: what was polished back later is not counted.

    Parameters
    ----------
    plate : Plate
        As the book has it now.
    making : Making
        One of its makings.
    backs : Mapping
        Id of a plate to the days on which it was polished back.
    """
    later = sum(day > making.day for day in backs.get(plate.id, ()))
    return replace(plate, times_repolished=plate.times_repolished - later) if later else plate


def of_plate(making: Making, plate: Plate, again: int = 0) -> Making:
    """Return a making with what was written down of the plate itself.

    Given up because something was wrong and never graded it counts as lost.
    """
    up, grade = making.given_up, making.grade
    if grade is None and up is not None and up.reason == "fault":
        grade = "lost"
    conditions = {**_facts(plate, again), **making.conditions}
    return replace(making, conditions=conditions, grade=grade)


def _facts(plate: Plate, again: int) -> dict[str, float | str]:
    """Return what a plate brings with it; `again`: how often it was polished again in its run."""
    facts: dict[str, float | str] = {}
    if plate.silver_um is not None:
        facts["silver_um"] = float(plate.silver_um)
    if plate.times_repolished + again:
        facts["times_repolished"] = float(plate.times_repolished + again)
    return facts


def of_itself(plate: Plate | None, so_far: PlateSoFar) -> dict[str, float | str]:
    """Return what a plate on the bench brings with it."""
    return {} if plate is None else _facts(plate, len(so_far.redone))
