"""How what plates used up is shared out over them: by what each took, its stages and its area."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from argentry.records.plate import GRADES, STAGES, Making, Plate
from argentry.records.studio import USUAL_SIZE

if TYPE_CHECKING:
    from argentry.book.engine import Book

SILVER, GOLD, GLASS, OTHER, HOURS = "silver", "gold", "glass", "other materials", "hours"
PARTS = (SILVER, GOLD, GLASS, OTHER, HOURS)
PART_OF = {"gold": GOLD, "gold_bath": GOLD, "glass": GLASS}


@dataclass(frozen=True)
class CostShare:
    """What a part cost for the plates of some days.

    Attributes
    ----------
    part, basis : str
        As of `CostPart`.
    total : float
        [currency]
    first, until : date
        Of these plates: the first day, and the one after the last.
    """

    part: str
    basis: str
    total: float
    first: date
    until: date


class Shares:
    """How what was used is shared out over the makings: by stages reached, and by area."""

    def __init__(
        self,
        within: Sequence[Making],
        plates: Mapping[str, Plate],
        took: Mapping[str, set[str]],
    ) -> None:
        from argentry.learn.deciding.stage_work import usual_work
        from argentry.trade.sizes import plate_size

        self.days = [one.day for one in within]
        self.areas: list[float] = []
        self.gilded: list[bool] = []
        self.weights: dict[str, list[float]] = {part: [] for part in PARTS}
        for one in within:
            plate = plates.get(one.plate)
            area = plate_size(plate.size if plate else USUAL_SIZE).area_cm2
            own = took.get(one.id)
            reached = STAGES if own else _reached(one, STAGES)
            hours = sum(
                stage.minutes * stage.attended / 60.0
                for stage in usual_work(area)
                if stage.key in reached
            )
            self.areas.append(area)
            finished = "finish" in reached
            gold, glass = (finished if own is None else part in own for part in (GOLD, GLASS))
            self.gilded.append(gold)
            for part, weight in zip(
                PARTS, (area, area * gold, float(glass), area, hours), strict=True
            ):
                self.weights[part].append(weight)
        self.hours = sum(self.weights[HOURS])

    def shared(self, found: Sequence[CostShare]) -> list[float]:
        """Return what falls to each making of its days; where nothing says how, all the same."""
        out = [0.0] * len(self.areas)
        for one in found:
            here = [float(one.first <= day < one.until) for day in self.days]
            own = [there * w for there, w in zip(here, self.weights[one.part], strict=True)]
            own = next((some for some in (own, here) if sum(some)), [1.0] * len(out))
            whole = sum(own)
            for place, weight in enumerate(own):
                out[place] += one.total * weight / whole
        return out


def came_to(making: Making) -> str | None:
    """Return its grade; one without that was given up for a fault counts as lost."""
    fault = making.given_up is not None and making.given_up.reason == "fault"
    return making.grade or (GRADES[0] if fault else None)


def took_of(book: Book, within: Sequence[Making]) -> dict[str, set[str]]:
    """Return of what parts makings at the bench used up their own, by id; others are not in it."""
    from argentry.book.runs.done import steps_done
    from argentry.trade.steps import steps

    parts = {rule.key: {PART_OF[n] for n, _, _ in rule.uses if n in PART_OF} for rule in steps()}
    uses = {step: names for step, names in parts.items() if names}
    done = steps_done(book, sorted({one.run for one in within if one.run}), uses)
    return {
        one.id: {part for plate, step in done[one.run] if plate == one.plate for part in uses[step]}
        for one in within
        if one.run in done
    }


def _reached(making: Making, stages: Sequence[str]) -> tuple[str, ...]:
    """Return the stages a making came to; all of them for a good one of which none is noted.

    The stage in which it was given up is one of them: hands were on it.
    """
    up = making.given_up.stage if making.given_up is not None else ""
    told = [stages.index(one) for one in (*making.stages, up) if one in stages]
    if told:
        return tuple(stages[: max(told) + 1])
    return tuple(stages) if making.grade in GRADES[1:] else tuple(stages[:4])
